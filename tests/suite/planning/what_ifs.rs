//! Other figures, other plans.

use super::models::{belief, money, sure, textbook};
use halfsplit::decide::{
    Ask, Figure, InPlace, Limits, Problem, Step, plan, repair_now, sensitivity, with_rate,
};
use std::time::Duration;

/// After Howard 1966, recomputed: A 0.6 at 100, B 0.4 at 300, a perfect test; worth 40.
fn perfect(cost: f64) -> Problem {
    textbook(&[100.0, 300.0], &[(cost, sure(&[0, 1], 2))])
}

fn ask<'a>(weights: &'a [f64], figures: &'a [Figure]) -> Ask<'a> {
    Ask {
        weights,
        in_place: InPlace::NOTHING,
        taken: &[],
        figures,
        opened: 1000,
        time: Duration::from_mins(1),
    }
}

#[test]
fn the_first_step_hangs_on_the_minutes_of_the_test() {
    let problem = perfect(25.0);
    let weights = belief(&[0.6, 0.4]);
    let figures = [
        Figure::MeasurementMinutes { measurement: 0 },
        Figure::Price { repair: 0 },
        Figure::Price { repair: 1 },
        Figure::Rate { candidate: 0 },
        Figure::Rate { candidate: 1 },
    ];
    let found = sensitivity(&problem, &ask(&weights, &figures)).unwrap();
    assert_eq!((found.tried, found.of), (5, 5));
    let list: Vec<(Figure, f64)> = found.found.iter().map(|s| (s.figure, s.factor)).collect();
    // Worth of the test: (1 − p) · C of the one done first. Doubled to 50 it exceeds 40.
    // A at 200: order A (0.6/200 over 0.4/300), worth 0.4·200 = 80 > 25; A at 50: 0.4·50 = 20 < 25, stop.
    // B at 600: worth 40; B at 150: order A, 0.4·100 = 40; both stay.
    // A twice as common: 0.75 and 0.25, worth 25: a tie, no change; half: 0.4286 and 0.5714, A first 57: stays.
    // B twice as common: the same; half: 0.75 and 0.25, the tie again.
    assert_eq!(
        list,
        [
            (Figure::MeasurementMinutes { measurement: 0 }, 2.0),
            (Figure::Price { repair: 0 }, 0.5)
        ]
    );
    let longer = &found.found[0];
    assert_eq!(longer.then, Step::RepairNow);
    assert!(
        (longer.cost - 220.0).abs() < 1e-9,
        "repair at once: 100 + 0.4·300"
    );
    assert!(
        (longer.cost_of_staying - 230.0).abs() < 1e-9,
        "known for 180, the test for 50"
    );
}

#[test]
fn a_row_that_tells_less_is_not_worth_its_minutes() {
    // A reads 0 in 0.9, B in 0.2: worth 14 at cost 5 (after Howard 1966). B in 0.4: P(0) 0.70; after 0 A first:
    // 0.54·100 + 0.16·400 = 118; after 1, 0.06 A and 0.24 B: A first 0.06·100 + 0.24·400 = 102, B first
    // 0.24·300 + 0.06·400 = 96; 214 in all, worth 6, still above 5. At cost 7 it is not.
    let rows = vec![vec![0.9, 0.1], vec![0.2, 0.8]];
    let weights = belief(&[0.6, 0.4]);
    let figures = [Figure::Shows {
        candidate: 1,
        measurement: 0,
        outcome: 0,
    }];
    let at = |cost: f64| {
        let problem = textbook(&[100.0, 300.0], &[(cost, rows.clone())]);
        sensitivity(&problem, &ask(&weights, &figures))
            .unwrap()
            .found
    };
    assert_eq!(at(5.0), []);
    let found = at(7.0);
    assert_eq!(
        (found.len(), found[0].factor, found[0].then),
        (1, 2.0, Step::RepairNow)
    );
    assert!((found[0].cost - 220.0).abs() < 1e-9);
    assert!((found[0].cost_of_staying - 221.0).abs() < 1e-9, "214 + 7");
}

#[test]
fn doubling_a_rate_leaves_the_unlisted_cause_its_share() {
    let problem = perfect(20.0);
    let doubled = with_rate(&problem, &[0.49, 0.49, 0.02], 0, 2.0);
    let expected = [0.98 * 2.0 / 3.0, 0.98 / 3.0, 0.02];
    for (found, expected) in doubled.iter().zip(expected) {
        assert!((found - expected).abs() < 1e-12, "{doubled:?}");
    }
}

#[test]
fn labour_and_parts_change_the_costs_they_touch() {
    let problem = perfect(20.0);
    let weights = belief(&[0.6, 0.4]);
    let cost = |problem: &Problem| {
        plan(
            problem,
            &weights,
            InPlace::NOTHING,
            &[],
            &Limits::default(),
            &mut |_| {},
        )
        .expected_cost
    };
    assert!((cost(&problem) - 200.0).abs() < 1e-9);
    // The textbook's repairs are parts alone: dearer labour makes only the test dearer, 180 + 30.
    assert!((cost(&problem.at_labour_rate(money(90.0)).unwrap()) - 210.0).abs() < 1e-9);
    // B at 400: known 60 + 160, the test 20.
    let dearer = problem.with_parts_price(1, money(400.0)).unwrap();
    assert!((cost(&dearer) - 240.0).abs() < 1e-9);
    assert!((repair_now(&dearer, &weights).cost - 260.0).abs() < 1e-9);
}

#[test]
fn a_forbidden_measurement_is_planned_around() {
    let problem = textbook(
        &[100.0, 300.0],
        &[(20.0, sure(&[0, 1], 2)), (30.0, sure(&[0, 1], 2))],
    );
    let weights = belief(&[0.6, 0.4]);
    let without = |taken: &[usize]| {
        plan(
            &problem,
            &weights,
            InPlace::NOTHING,
            taken,
            &Limits::default(),
            &mut |_| {},
        )
    };
    assert_eq!(without(&[]).first, Step::Measure(0));
    assert_eq!(without(&[0]).first, Step::Measure(1));
    assert!((without(&[0]).expected_cost - 210.0).abs() < 1e-9);
}
