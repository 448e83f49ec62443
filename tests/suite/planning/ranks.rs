//! Bits and separates, against published examples.

use super::models::{belief, sure, textbook};
use halfsplit::decide::{InPlace, OrderBy, Point, Policy, Problem, Ranked, bits, ranking};

fn only_tests(candidates: usize, tests: &[(f64, Vec<Vec<f64>>)]) -> Problem {
    textbook(&vec![1000.0; candidates], tests)
}

#[track_caller]
fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found}, expected {expected}"
    );
}

fn ranked(problem: &Problem, prior: &[f64]) -> Vec<Ranked> {
    let at = Point::new(belief(prior), InPlace::NOTHING);
    ranking(&mut Policy::new(problem), &at, OrderBy::Saves)
}

/// Source, seen: `MacKay` 2003, ex. 4.1, twelve balls.
#[test]
fn the_first_weighing_of_twelve_balls_is_four_against_four() {
    let expected = [0.816_689, 1.251_629, 1.5, 1.584_963, 1.483_356, 1.0];
    let tests: Vec<_> = (1..=6)
        .map(|k| {
            let left: Vec<usize> = (0..k).collect();
            let right: Vec<usize> = (k..2 * k).collect();
            (1.0, sure(&weighing(&left, &right), 3))
        })
        .collect();
    let problem = only_tests(24, &tests);
    for (k, expected) in expected.into_iter().enumerate() {
        near(
            bits(&problem, &belief(&[1.0 / 24.0; 24]), k),
            expected,
            1e-6,
        );
    }
    let mut list = ranked(&problem, &[1.0; 24]);
    list.sort_by(|a, b| b.bits.total_cmp(&a.bits));
    assert_eq!(list[0].measurement, 3);
}

/// Hypothesis 2i: ball i heavy; 2i + 1: light. Outcomes: balance, left down, right down.
pub(super) fn weighing(left: &[usize], right: &[usize]) -> Vec<usize> {
    (0..24)
        .map(
            |h| match (left.contains(&(h / 2)), right.contains(&(h / 2)), h % 2) {
                (true, _, 0) | (_, true, 1) => 1,
                (true, _, 1) | (_, true, 0) => 2,
                _ => 0,
            },
        )
        .collect()
}

/// Source, from memory: Pattipati and Alexandridis 1990, five tests.
#[test]
fn five_tests_have_these_bits() {
    let expected = [0.841_465, 0.680_077, 0.584_239, 0.795_040, 0.499_916];
    let (problem, prior) = five_tests(1000.0);
    for (t, expected) in expected.into_iter().enumerate() {
        near(bits(&problem, &belief(&prior), t), expected, 1e-6);
    }
}

/// The five-test example after Pattipati and Alexandridis 1990, repairs at one cost, tests at 1.
pub(super) fn five_tests(repair: f64) -> (Problem, [f64; 6]) {
    let states = ["00000", "01001", "00110", "10011", "11000", "11110"];
    let tests: Vec<_> = (0..5)
        .map(|t| {
            let outcome_of: Vec<usize> = states
                .iter()
                .map(|s| usize::from(s.as_bytes()[t] == b'1'))
                .collect();
            (1.0, sure(&outcome_of, 2))
        })
        .collect();
    (
        textbook(&[repair; 6], &tests),
        [0.70, 0.01, 0.02, 0.10, 0.05, 0.12],
    )
}

#[test]
fn a_useless_or_taken_measurement_is_not_offered() {
    let useless = (1.0, vec![vec![0.5, 0.5]; 2]);
    let useful = (1.0, sure(&[0, 1], 2));
    let problem = only_tests(2, &[useless, useful.clone(), useful]);
    let rows = |taken: &[usize]| {
        let mut at = Point::new(vec![0.5, 0.4, 0.1], InPlace::NOTHING);
        at.taken.extend(taken);
        ranking(&mut Policy::new(&problem), &at, OrderBy::Minutes)
            .iter()
            .map(|r| r.measurement)
            .collect::<Vec<_>>()
    };
    assert_eq!(rows(&[]), [1, 2]);
    assert_eq!(rows(&[1]), [2]);
}

/// Source, computed: Howard 1966.
#[test]
fn a_perfect_test_saves_what_it_is_worth_less_its_cost() {
    let problem = textbook(&[100.0, 300.0], &[(20.0, sure(&[0, 1], 2))]);
    let list = ranked(&problem, &[0.6, 0.4]);
    near(list[0].saves, 20.0, 1e-9);
}

/// Source, computed: Howard 1966.
#[test]
fn an_imperfect_test_saves_less() {
    let problem = textbook(
        &[100.0, 300.0],
        &[(5.0, vec![vec![0.9, 0.1], vec![0.2, 0.8]])],
    );
    let list = ranked(&problem, &[0.6, 0.4]);
    // 220 − 206 = 14, less its cost 5.
    near(list[0].saves, 9.0, 1e-9);
}
