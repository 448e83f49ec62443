//! Figures that pint and scipy computed: tests/reference/reference.py, which CI runs with `--check`.

use halfsplit::recording::spectrum::{power, swing};
use halfsplit::units::conformity::{Band, End, Known, blur, weights};
use halfsplit::units::{Dimension, Unit};
use serde_json::Value;
use std::collections::BTreeSet;

fn expected() -> Value {
    serde_json::from_str(include_str!("../reference/expected.json")).unwrap()
}

fn number(item: &Value, key: &str) -> f64 {
    item[key].as_f64().unwrap()
}

fn text<'a>(item: &'a Value, key: &str) -> &'a str {
    item[key].as_str().unwrap()
}

fn list<'a>(item: &'a Value, key: &str) -> &'a Vec<Value> {
    let found = item[key].as_array().unwrap();
    assert!(!found.is_empty(), "{key}");
    found
}

/// The bands of a named set of outcomes.
fn outcomes(all: &Value, item: &Value) -> Vec<Vec<Band>> {
    let end = |value: &Value| value.as_f64().map(|at| End { at, closed: true });
    let band = |ends: &Value| Band {
        from: end(&ends[0]),
        to: end(&ends[1]),
    };
    list(&all["outcomes"], text(item, "outcomes"))
        .iter()
        .map(|bands| bands.as_array().unwrap().iter().map(band).collect())
        .collect()
}

#[track_caller]
fn alike(found: &[f64], expected: &Value, tolerance: f64, of: &Value) {
    let expected = expected.as_array().unwrap();
    assert_eq!(found.len(), expected.len());
    for (found, expected) in found.iter().zip(expected) {
        let expected = expected.as_f64().unwrap();
        assert!(
            (found - expected).abs() <= tolerance,
            "{found} is not {expected} in {of}"
        );
    }
}

#[test]
fn every_conversion_agrees_with_pint() {
    let all = expected();
    let mut seen = BTreeSet::new();
    for item in list(&all, "conversions") {
        let dimension = Dimension::named(text(item, "dimension")).unwrap();
        let from = Unit::named(text(item, "from"), dimension).unwrap();
        let to = Unit::named(text(item, "to"), dimension).unwrap();
        let found = from.convert(number(item, "value"), to).unwrap();
        let result = number(item, "result");
        let slack = if dimension == Dimension::Temperature {
            1e-9
        } else {
            0.0
        };
        assert!(
            (found - result).abs() <= slack + 1e-12 * result.abs(),
            "{found}: {item}"
        );
        seen.insert((from, to));
    }
    for &from in Unit::ALL {
        for to in Unit::of(from.dimension()) {
            assert!(
                seen.contains(&(from, to)),
                "{from} to {to} is not among the figures"
            );
        }
    }
}

#[test]
fn the_weights_of_a_reading_agree_with_scipy() {
    let all = expected();
    for item in list(&all, "readings") {
        let known = Known::Normal {
            value: number(item, "value"),
            u: number(item, "u"),
        };
        alike(
            &weights(known, &outcomes(&all, item)),
            &item["weights"],
            1e-14,
            item,
        );
    }
}

#[test]
fn the_weights_of_a_swing_agree_with_integration() {
    let all = expected();
    for item in list(&all, "swings") {
        let known = Known::Swing {
            from: number(item, "from"),
            to: number(item, "to"),
            u: number(item, "u"),
        };
        alike(
            &weights(known, &outcomes(&all, item)),
            &item["weights"],
            1e-12,
            item,
        );
    }
}

#[test]
fn foresight_agrees_with_integration() {
    let all = expected();
    for item in list(&all, "foresight") {
        let found = blur(&outcomes(&all, item), number(item, "u"), None);
        for (row, expected) in found.iter().zip(list(item, "rows")) {
            alike(row, expected, 1e-12, item);
        }
    }
}

#[test]
fn the_spectrum_of_uneven_samples_agrees_with_scipy() {
    let all = expected();
    let numbers = |item: &Value, key: &str| -> Vec<f64> {
        list(item, key)
            .iter()
            .map(|number| number.as_f64().unwrap())
            .collect()
    };
    for item in list(&all, "spectra") {
        let (times, values) = (numbers(item, "times"), numbers(item, "values"));
        let at = numbers(item, "frequencies");
        let powers: Vec<f64> = at.iter().map(|at| power(&times, &values, *at)).collect();
        alike(&powers, &item["powers"], 1e-8, item);
        let swing = swing(&times, &values, 2.0, 20.0).unwrap();
        // The peak of scipy's is told to 0.0005 Hz; ours is the top of a parabola through three powers.
        let peak = number(item, "peak");
        assert!(
            (swing.frequency - peak).abs() < 0.2 * swing.u + 0.001,
            "{swing:?} {peak}"
        );
    }
}
