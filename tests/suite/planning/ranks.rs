//! Bits and separates, against published examples.

use super::models::{belief, sure, textbook};
use halfsplit::decide::{InPlace, OrderBy, Point, Problem, Ranked, bits, entropy, ranking};

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
    ranking(problem, &at, OrderBy::Saves)
}

/// The measurements with the most bits first.
fn by_bits(problem: &Problem, prior: &[f64]) -> Vec<Ranked> {
    let mut list = ranked(problem, prior);
    list.sort_by(|a, b| b.bits.total_cmp(&a.bits));
    list
}

#[test]
fn ts_01_entropy() {
    let h = |prior: &[f64]| entropy(&only_tests(prior.len(), &[]), &belief(prior));
    near(h(&[0.5, 0.25, 0.125, 0.125]), 1.75, 1e-10);
    near(
        h(&[1.0 / 2.0, 1.0 / 3.0, 1.0 / 6.0]),
        1.459_147_917_03,
        1e-10,
    );
    near(h(&[1.0; 24]), 4.584_962_500_72, 1e-10);
    near(h(&[0.0, 1.0]), 0.0, 0.0);
}

#[test]
fn ts_02_four_outcomes() {
    let rows = vec![
        vec![0.25, 0.125, 0.125, 0.5],
        vec![0.25, 0.5, 0.25, 0.0],
        vec![0.25, 0.25, 0.5, 0.0],
        vec![0.25, 0.25, 0.5, 0.0],
    ];
    let prior = [0.5, 0.25, 0.125, 0.125];
    near(
        bits(&only_tests(4, &[(1.0, rows)]), &belief(&prior), 0),
        0.375,
        1e-12,
    );
}

#[test]
fn ts_03_imperfect_tests() {
    let of = |prior: &[f64], rows: Vec<Vec<f64>>| {
        bits(&only_tests(2, &[(1.0, rows)]), &belief(prior), 0)
    };
    near(
        of(&[0.9, 0.1], vec![vec![0.85, 0.15], vec![0.15, 0.85]]),
        0.150_327_198_25,
        1e-9,
    );
    near(
        of(&[0.9, 0.1], vec![vec![1.0, 0.0], vec![0.15, 0.85]]),
        0.358_572_465_77,
        1e-9,
    );
    near(
        of(&[0.5, 0.5], vec![vec![0.9, 0.1], vec![0.1, 0.9]]),
        0.531_004_405_6,
        1e-9,
    );
}

#[test]
fn ts_04_half_splitting_comes_first() {
    let tests: Vec<_> = (1..=4)
        .map(|k| {
            let outcome_of: Vec<usize> = (0..8).map(|i| usize::from(i >= k)).collect();
            (1.0, sure(&outcome_of, 2))
        })
        .collect();
    let list = by_bits(&only_tests(8, &tests), &[0.125; 8]);
    let order: Vec<usize> = list.iter().map(|r| r.measurement).collect();
    assert_eq!(order, [3, 2, 1, 0]);
    let expected = [
        (1.0, 4.0),
        (0.954_434_003, 3.871_647_97),
        (0.811_278_124, 3.440_985_89),
        (0.543_564_443, 2.511_410_06),
    ];
    for (row, (bits, separates)) in list.iter().zip(expected) {
        near(row.bits, bits, 1e-9);
        near(row.separates, separates, 1e-8);
        near(row.in_play, 8.0, 1e-12);
    }
}

#[test]
fn ts_05_the_first_probe_of_the_two_adder_circuit_is_x() {
    // Candidates {A1}, {M1}, {A2,M2}, {M2,M3}.
    let tests = vec![
        (1.0, sure(&[0, 1, 0, 0], 2)),
        (1.0, sure(&[0, 0, 1, 1], 2)),
        (1.0, sure(&[0, 0, 0, 1], 2)),
    ];
    let list = by_bits(&only_tests(4, &tests), &[0.495, 0.495, 0.005, 0.005]);
    let found: Vec<(usize, f64)> = list.iter().map(|r| (r.measurement, r.bits)).collect();
    assert_eq!(found.iter().map(|f| f.0).collect::<Vec<_>>(), [0, 1, 2]);
    near(found[0].1, 0.999_927_864, 1e-9);
    near(found[1].1, 0.080_793_136, 1e-9);
    near(found[2].1, 0.045_414_692, 1e-9);
}

#[test]
fn ts_06_the_first_weighing_of_twelve_balls_is_four_against_four() {
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
    assert_eq!(by_bits(&problem, &[1.0; 24])[0].measurement, 3);
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

#[test]
fn ts_07_bits_of_the_five_tests() {
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
        ranking(&problem, &at, OrderBy::Minutes)
            .iter()
            .map(|r| r.measurement)
            .collect::<Vec<_>>()
    };
    assert_eq!(rows(&[]), [1, 2]);
    assert_eq!(rows(&[1]), [2]);
}

#[test]
fn ro_05_what_a_perfect_test_saves() {
    let problem = textbook(&[100.0, 300.0], &[(20.0, sure(&[0, 1], 2))]);
    let list = ranked(&problem, &[0.6, 0.4]);
    near(list[0].saves, 20.0, 1e-9);
}

#[test]
fn ro_06_what_an_imperfect_test_saves() {
    let problem = textbook(
        &[100.0, 300.0],
        &[(5.0, vec![vec![0.9, 0.1], vec![0.2, 0.8]])],
    );
    let list = ranked(&problem, &[0.6, 0.4]);
    // 220 − 206 = 14, less its cost 5.
    near(list[0].saves, 9.0, 1e-9);
}
