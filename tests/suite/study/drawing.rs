//! Drawn numbers and drawn vehicles against what they are drawn from.

use halfsplit::infer::Model;
use halfsplit::knowledge::{MeasurementId, SymptomId};
use halfsplit::simulate::{Chance, Drawn, Seen, World};

use super::near;
use crate::family_text::{Test, Textbook};
use crate::shop::{family, vehicle};

const MANY: u32 = 20_000;

/// `N` draws of words and a number.
fn drawn(draw: impl Fn(&[&str]) -> f64) -> Vec<f64> {
    (0..MANY)
        .map(|number| draw(&["test", &number.to_string()]))
        .collect()
}

fn moments(numbers: &[f64]) -> (f64, f64) {
    let count = f64::from(u32::try_from(numbers.len()).unwrap());
    let mean = numbers.iter().sum::<f64>() / count;
    let variance = numbers.iter().map(|n| (n - mean).powi(2)).sum::<f64>() / count;
    (mean, variance)
}

#[test]
fn a_number_follows_from_the_seed_and_the_words_alone() {
    let of = |seed, words: &[&str]| Chance::new(seed).uniform(words);
    assert_eq!(of(1, &["a", "b"]), of(1, &["a", "b"]));
    // Another seed, other words, the same letters in other words, and words longer than eight bytes.
    let numbers = [
        of(1, &["a", "b"]),
        of(2, &["a", "b"]),
        of(1, &["b", "a"]),
        of(1, &["ab", ""]),
        of(1, &["ab"]),
        of(1, &["line-pressure"]),
        of(1, &["line-pressurf"]),
    ];
    for (place, one) in numbers.iter().enumerate() {
        for other in &numbers[place + 1..] {
            assert!((one - other).abs() > 1e-9, "{numbers:?}");
        }
    }
}

#[test]
fn drawn_numbers_are_even_and_normal_as_they_should_be() {
    // The mean of n even numbers has the standard deviation 1/√(12 n); 4.5 of them is once in 150,000.
    let chance = Chance::new(3);
    let root = f64::from(MANY).sqrt();
    let even = drawn(|words| chance.uniform(words));
    let (mean, variance) = moments(&even);
    near(mean, 0.5, 4.5 / (12.0_f64.sqrt() * root));
    near(variance, 1.0 / 12.0, 0.003);
    // Kolmogorov and Smirnov: sup |F_n − F| is over 2.2/√n once in 8,000 (2·exp(−2·2.2²)).
    let mut sorted = even;
    sorted.sort_by(f64::total_cmp);
    let farthest = sorted
        .iter()
        .zip(1_u32..)
        .map(|(number, rank)| (number - f64::from(rank) / f64::from(MANY)).abs())
        .fold(0.0, f64::max);
    assert!(farthest < 2.2 / root, "{farthest}");

    let (mean, variance) = moments(&drawn(|words| chance.normal(words)));
    near(mean, 0.0, 4.5 / root);
    near(variance, 1.0, 4.5 * 2.0_f64.sqrt() / root);
}

#[test]
fn outcomes_turn_up_as_often_as_their_row_says() {
    let knowledge = Textbook::hypotheses(&[("a", 0.5), ("b", 0.5)])
        .test(
            Test::new("look", &["clean", "dusty", "wet"])
                .row("a", &[0.2, 0.5, 0.3])
                .row("b", &[0.9, 0.1, 0.0]),
        )
        .load();
    let family = &knowledge.families[0];
    let world = World::new(family, None, SymptomId::at(0), Chance::new(5), 0.0).unwrap();
    for (hypothesis, row) in [(0, [0.2, 0.5, 0.3]), (1, [0.9, 0.1, 0.0])] {
        let mut seen = [0_u32; 3];
        for number in 0..MANY {
            let Some(Seen::Word(word)) = world.read(Drawn { hypothesis, number }, "look", 0) else {
                panic!("words are read as words");
            };
            let place = ["clean", "dusty", "wet"].iter().position(|w| *w == word);
            seen[place.unwrap()] += 1;
        }
        for (count, p) in seen.iter().zip(row) {
            let sigma = (p * (1.0 - p) / f64::from(MANY)).sqrt();
            near(f64::from(*count) / f64::from(MANY), p, 4.5 * sigma + 1e-12);
        }
    }
}

#[test]
fn one_vehicle_reads_the_same_whenever_and_in_whatever_order_it_is_asked() {
    let sheet = vehicle("demo-estate");
    let world = World::new(family(), Some(sheet), SymptomId::at(0), Chance::new(5), 0.0).unwrap();
    let drawn = Drawn {
        hypothesis: 3,
        number: 4,
    };
    let names: Vec<&str> = world
        .measurements()
        .map(|measurement| measurement.name.as_str())
        .collect();
    let once: Vec<Option<Seen>> = names
        .iter()
        .map(|name| world.read(drawn, name, 0))
        .collect();
    let mut again: Vec<Option<Seen>> = names
        .iter()
        .rev()
        .map(|name| world.read(drawn, name, 0))
        .collect();
    again.reverse();
    assert_eq!(once, again);
}

#[test]
fn readings_of_gauges_fall_into_the_bands_as_often_as_is_foreseen() {
    // What is foreseen is an integral (JCGM 106 for the reading, an even spread over the band for the true
    // value); what is drawn is a number with an error. Both must put as many readings in each band.
    let sheet = vehicle("demo-estate");
    let family = family();
    let mut checked = 0;
    for symptom in (0..family.symptoms.len()).map(SymptomId::at) {
        let world = World::new(family, Some(sheet), symptom, Chance::new(11), 0.0).unwrap();
        let model: &Model<'_> = world.model();
        for measurement in world.measurements() {
            // A reading with percent of reading has another uncertainty at each value.
            let Some(number) = measurement.number() else {
                continue;
            };
            if number.instrument.is_none() || measurement.name.contains("resistance") {
                continue;
            }
            let id = family.measurement_named(&measurement.name).unwrap();
            let bands = halfsplit::infer::bands_on(measurement, Some(sheet)).unwrap();
            if bands.iter().any(Vec::is_empty) {
                continue;
            }
            let (hypothesis, draws) = (model.candidates.len() / 2, 4000_u32);
            let foreseen = model.foreseen(id).unwrap().row(hypothesis);
            let mut seen = vec![0.0; foreseen.len()];
            for number in 0..draws {
                let drawn = Drawn { hypothesis, number };
                let Some(Seen::Number { value, .. }) = world.read(drawn, &measurement.name, 0)
                else {
                    panic!("{} is a number", measurement.name);
                };
                let place = bands
                    .iter()
                    .position(|bands| bands.iter().any(|band| band.holds(value)))
                    .unwrap();
                seen[place] += 1.0 / f64::from(draws);
            }
            for (found, expected) in seen.iter().zip(foreseen) {
                let sigma = (expected * (1.0 - expected) / f64::from(draws)).sqrt();
                // The uncertainty is taken in the middle of the limits there, at the reading here.
                near(*found, *expected, 4.5 * sigma + 0.01);
            }
            checked += 1;
        }
    }
    assert!(checked > 10, "{checked}");
}

#[test]
fn a_misread_vehicle_never_reads_what_it_would_give() {
    let knowledge = Textbook::hypotheses(&[("a", 0.5), ("b", 0.5)])
        .test(Test::new("look", &["clean", "dusty", "wet"]).certain(&["a", "b"], |place| place))
        .load();
    let family = &knowledge.families[0];
    let world = World::new(family, None, SymptomId::at(0), Chance::new(5), 1.0).unwrap();
    let mut others = [0, 0];
    for number in 0..1000 {
        match world.read(
            Drawn {
                hypothesis: 0,
                number,
            },
            "look",
            0,
        ) {
            Some(Seen::Word("dusty")) => others[0] += 1,
            Some(Seen::Word("wet")) => others[1] += 1,
            other => panic!("{other:?}"),
        }
    }
    // 500 each, give or take 4.5 times √(1000/4).
    assert!(
        others.iter().all(|count| (429..=571).contains(count)),
        "{others:?}"
    );
}

#[test]
fn what_the_sheet_cannot_judge_is_not_read() {
    let sheet = vehicle("demo-estate");
    let world = World::new(family(), Some(sheet), SymptomId::at(0), Chance::new(5), 0.0).unwrap();
    let drawn = Drawn {
        hypothesis: 0,
        number: 0,
    };
    assert_eq!(world.read(drawn, "no-such-measurement", 0), None);
    for id in (0..family().measurements.len()).map(MeasurementId::at) {
        let read = world.read(drawn, &family().measurement(id).name, 0);
        assert_eq!(read.is_some(), world.model().foreseen(id).is_ok());
    }
}
