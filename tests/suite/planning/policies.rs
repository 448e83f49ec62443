//! The plan: published optima, and exhaustive search on small models.

use super::models::{belief, number, sure, textbook};
use super::ranks::{five_tests, weighing};
use halfsplit::decide::{
    InPlace, Limits, Policy, PolicyNode, Problem, Step, Stopped, advise, plan,
};
use std::time::Duration;

pub(super) fn at_most(opened: u64) -> Limits {
    Limits {
        time: Duration::from_mins(10),
        opened,
        ..Limits::default()
    }
}

fn planned(problem: &Problem, prior: &[f64]) -> Policy {
    plan(
        problem,
        &belief(prior),
        InPlace::NOTHING,
        &[],
        &at_most(1_000_000),
        &mut |_| {},
    )
}

#[track_caller]
fn expect(problem: &Problem, prior: &[f64], cost: f64) -> Policy {
    let policy = planned(problem, prior);
    assert!(
        policy.proven,
        "gap {} after {} nodes",
        policy.gap, policy.opened
    );
    assert_eq!(policy.stopped, Stopped::Proven);
    let error = (policy.expected_cost - cost).abs();
    assert!(
        error <= 1e-9 * cost,
        "{} instead of {cost}",
        policy.expected_cost
    );
    policy
}

#[test]
fn ts_06_three_weighings_find_the_odd_ball_of_twelve() {
    let three: [(&[usize], &[usize]); 3] = [
        (&[1, 2, 3, 4], &[9, 10, 11, 12]),
        (&[5, 6, 7, 9], &[3, 4, 11, 12]),
        (&[3, 5, 8, 11], &[2, 4, 7, 10]),
    ];
    let tests: Vec<_> = three
        .iter()
        .map(|(left, right)| {
            let less_one = |pan: &[usize]| pan.iter().map(|b| b - 1).collect::<Vec<_>>();
            (1.0, sure(&weighing(&less_one(left), &less_one(right)), 3))
        })
        .collect();
    let prior = [1.0 / 24.0; 24];
    expect(&textbook(&[1000.0; 24], &tests), &prior, 1003.0);
}

#[test]
fn seven_questions_find_one_of_128() {
    let tests: Vec<_> = (0..7)
        .map(|bit| {
            let outcome_of: Vec<usize> = (0..128).map(|h| h >> bit & 1).collect();
            (1.0, sure(&outcome_of, 2))
        })
        .collect();
    expect(
        &textbook(&[1000.0; 128], &tests),
        &[1.0 / 128.0; 128],
        1007.0,
    );
}

#[test]
fn ts_07_looking_ahead_beats_the_most_bits_first() {
    let (problem, prior) = five_tests(1000.0);
    // 2.18, against 2.86 for the greedy order; t2 and t4 tie.
    let policy = expect(&problem, &prior, 1002.18);
    assert!(
        [Step::Measure(1), Step::Measure(3)].contains(&policy.first),
        "{:?}",
        policy.first
    );
}

#[test]
fn ts_08_cheap_repairs_are_not_worth_identifying_first() {
    for (repair, cost) in [(1.0, 1.60), (10.0, 11.82), (100.0, 102.18)] {
        let (problem, prior) = five_tests(repair);
        let policy = expect(&problem, &prior, cost);
        match policy.tree {
            PolicyNode::Repair(now) => {
                assert_eq!(repair, 1.0);
                // In order of prior: 0.70, 0.12, 0.10, 0.05, 0.02, 0.01.
                let order: Vec<usize> = now.steps.iter().map(|s| s.group).collect();
                assert_eq!(order, [0, 5, 3, 4, 2, 1]);
            }
            PolicyNode::Measure(measure) if repair == 10.0 => {
                assert_eq!(measure.measurement, 0);
                let PolicyNode::Repair(now) = &measure.branches[0].then else {
                    panic!("on 0 repair s0, s2, s1")
                };
                assert_eq!(
                    now.steps.iter().map(|s| s.group).collect::<Vec<_>>(),
                    [0, 2, 1]
                );
                let PolicyNode::Measure(next) = &measure.branches[1].then else {
                    panic!("on 1 measure t3")
                };
                assert_eq!(next.measurement, 2);
            }
            PolicyNode::Measure(_) => assert_eq!(repair, 100.0),
            PolicyNode::RepairOn(on) => panic!("no repair shows anything: {on:?}"),
        }
    }
    // Testing starts to pay above M = 124/51.
    for (repair, first) in [(2.431, true), (2.432, false)] {
        let (problem, prior) = five_tests(repair);
        assert_eq!(
            planned(&problem, &prior).first == Step::RepairNow,
            first,
            "M = {repair}"
        );
    }
}

#[test]
fn ts_09_every_two_way_split_gives_huffmans_lengths() {
    let tests: Vec<_> = (1..32_usize)
        .map(|split| {
            let outcome_of: Vec<usize> = (0..6).map(|h| split >> h & 1).collect();
            (1.0, sure(&outcome_of, 2))
        })
        .collect();
    let prior = [0.70, 0.01, 0.02, 0.10, 0.05, 0.12];
    expect(&textbook(&[1000.0; 6], &tests), &prior, 1001.59);
}

#[test]
fn ts_10_a_line_of_27_suspects_is_halved_as_gilbert_and_moore_say() {
    let prior = [
        0.1859, 0.0642, 0.0127, 0.0218, 0.0317, 0.1031, 0.0208, 0.0152, 0.0467, 0.0575, 0.0008,
        0.0049, 0.0321, 0.0198, 0.0574, 0.0632, 0.0152, 0.0008, 0.0484, 0.0514, 0.0796, 0.0228,
        0.0083, 0.0175, 0.0013, 0.0164, 0.0005,
    ];
    let tests: Vec<_> = (1..27)
        .map(|k| {
            let outcome_of: Vec<usize> = (0..27).map(|h| usize::from(h >= k)).collect();
            (1.0, sure(&outcome_of, 2))
        })
        .collect();
    expect(&textbook(&[1000.0; 27], &tests), &prior, 1004.1978);
}

#[test]
fn ts_11_three_bands_make_an_optimal_search_tree() {
    // d0 k1 d1 .. k5 d5; test i: below, at or above ki.
    let prior = [
        0.05, 0.15, 0.10, 0.10, 0.05, 0.05, 0.05, 0.10, 0.05, 0.20, 0.10,
    ];
    let tests: Vec<_> = (0..5)
        .map(|i| {
            let key = 2 * i + 1;
            let outcome_of: Vec<usize> = (0..11)
                .map(|h: usize| match h.cmp(&key) {
                    std::cmp::Ordering::Less => 0,
                    std::cmp::Ordering::Equal => 1,
                    std::cmp::Ordering::Greater => 2,
                })
                .collect();
            (1.0, sure(&outcome_of, 3))
        })
        .collect();
    let policy = expect(&textbook(&[1000.0; 11], &tests), &prior, 1002.35);
    assert!(
        [Step::Measure(1), Step::Measure(3)].contains(&policy.first),
        "{:?}",
        policy.first
    );
}

#[test]
fn ro_05_a_perfect_test_is_worth_forty() {
    for (cost, expected, first) in [
        (20.0, 200.0, Step::Measure(0)),
        (39.9, 219.9, Step::Measure(0)),
        (40.1, 220.0, Step::RepairNow),
    ] {
        let problem = textbook(&[100.0, 300.0], &[(cost, sure(&[0, 1], 2))]);
        assert_eq!(expect(&problem, &[0.6, 0.4], expected).first, first);
    }
}

#[test]
fn ro_06_an_imperfect_test_changes_the_repair_order() {
    let problem = textbook(
        &[100.0, 300.0],
        &[(5.0, vec![vec![0.9, 0.1], vec![0.2, 0.8]])],
    );
    let policy = expect(&problem, &[0.6, 0.4], 211.0);
    let PolicyNode::Measure(measure) = &policy.tree else {
        panic!("{policy:?}")
    };
    let found: Vec<(f64, f64, usize)> = measure
        .branches
        .iter()
        .map(|b| match &b.then {
            PolicyNode::Repair(now) => (b.probability, now.cost, now.steps[0].group),
            other => panic!("{other:?}"),
        })
        .collect();
    assert!((found[0].0 - 0.62).abs() < 1e-12);
    assert!((found[0].1 - 138.709_677).abs() < 1e-6);
    assert!((found[1].1 - 315.789_474).abs() < 1e-6);
    assert_eq!((found[0].2, found[1].2), (0, 1));
}

#[test]
fn a_measurement_taken_is_not_taken_again() {
    let problem = textbook(&[100.0, 300.0], &[(20.0, sure(&[0, 1], 2))]);
    let policy = plan(
        &problem,
        &belief(&[0.6, 0.4]),
        InPlace::NOTHING,
        &[0],
        &at_most(100),
        &mut |_| {},
    );
    assert_eq!(policy.first, Step::RepairNow);
    assert!((policy.expected_cost - 220.0).abs() < 1e-9);
}

#[test]
fn the_same_number_of_opened_nodes_gives_the_same_plan() {
    let tests: Vec<_> = (0..12_u32)
        .map(|t| {
            let rows = (0..12_u32)
                .map(|h| {
                    let p = 0.05 + 0.9 * f64::from((h * 7 + t * 5) % 11) / 11.0;
                    vec![p, 1.0 - p]
                })
                .collect();
            (1.0 + f64::from(t % 4), rows)
        })
        .collect();
    let costs: Vec<f64> = (0..12).map(|h| 40.0 + 9.0 * number(h)).collect();
    let problem = textbook(&costs, &tests);
    let weights = belief(&[1.0 / 12.0; 12]);
    let run = || {
        plan(
            &problem,
            &weights,
            InPlace::NOTHING,
            &[],
            &at_most(500),
            &mut |_| {},
        )
    };
    let (first, second) = (run(), run());
    assert_eq!(first, second);
    assert_eq!(first.stopped, Stopped::Opened);
    assert!(first.lower_bound < first.expected_cost && first.expected_cost < first.repair_now);
    // Weights need not add up to 1.
    let heavier: Vec<f64> = weights.iter().map(|w| w * 8.0).collect();
    let third = plan(
        &problem,
        &heavier,
        InPlace::NOTHING,
        &[],
        &at_most(500),
        &mut |_| {},
    );
    assert!((third.expected_cost - first.expected_cost).abs() < 1e-9 * first.expected_cost);
}

#[test]
fn the_memory_cap_is_respected() {
    let tests: Vec<_> = (0..30_u32)
        .map(|t| {
            let rows = (0..20_u32)
                .map(|h| {
                    let p = 0.1 + 0.8 * f64::from((h * 7 + t * 5) % 13) / 13.0;
                    vec![p, 1.0 - p]
                })
                .collect();
            (1.0, rows)
        })
        .collect();
    let problem = textbook(&[100.0; 20], &tests);
    let limits = Limits {
        bytes: 1 << 20,
        ..at_most(1_000_000)
    };
    let policy = plan(
        &problem,
        &belief(&[0.05; 20]),
        InPlace::NOTHING,
        &[],
        &limits,
        &mut |_| {},
    );
    assert_eq!(policy.stopped, Stopped::Bytes);
    assert!(policy.bytes < 2 << 20, "{}", policy.bytes);
}

#[test]
fn nothing_to_weigh_costs_nothing() {
    let problem = textbook(&[100.0, 300.0], &[(20.0, sure(&[0, 1], 2))]);
    let policy = planned(&problem, &[0.0, 0.0]);
    assert_eq!(
        (policy.first, policy.expected_cost, policy.proven),
        (Step::RepairNow, 0.0, true)
    );
}

#[test]
fn advice_comes_within_its_time() {
    let problem = textbook(&[100.0, 300.0], &[(20.0, sure(&[0, 1], 2))]);
    let advice = advise(
        &problem,
        &belief(&[0.6, 0.4]),
        InPlace::NOTHING,
        &[],
        &Limits {
            time: Duration::from_millis(200),
            ..Limits::default()
        },
    );
    assert_eq!(advice.step, Step::Measure(0));
    assert!((advice.saves() - 20.0).abs() < 1e-9);
}
