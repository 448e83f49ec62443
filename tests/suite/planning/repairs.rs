//! Repair without measuring again: published orders, and every order tried.

use super::models::{Dice, money, work};
use halfsplit::decide::{
    Parts, Problem, RepairScratch, known_for_nothing, repair_now, repair_now_cost,
};

fn problem(candidates: &[&[usize]], repairs: &[(f64, f64)], escalation: (f64, f64)) -> Problem {
    Problem::new(Parts {
        candidates: candidates.iter().map(|c| c.to_vec()).collect(),
        repairs: repairs
            .iter()
            .map(|&(minutes, parts)| work(minutes, parts))
            .collect(),
        escalation: work(escalation.0, escalation.1),
        labour_rate: money(90.0),
        ..Parts::default()
    })
    .unwrap()
}

#[track_caller]
fn expect(problem: &Problem, weights: &[f64], cost: f64, order: &[usize], escalates: Option<f64>) {
    let plan = repair_now(problem, weights);
    assert!((plan.cost - cost).abs() < 1e-9, "{plan:?}");
    assert_eq!(
        plan.steps.iter().map(|s| s.group).collect::<Vec<_>>(),
        order
    );
    match (plan.escalates, escalates) {
        (None, None) => {}
        (Some(found), Some(expected)) => assert!((found - expected).abs() < 1e-12, "{found}"),
        (found, _) => panic!("{found:?}"),
    }
    let quick = repair_now_cost(problem, weights, &mut RepairScratch::default());
    let sum: f64 = weights.iter().sum();
    assert!((quick - cost * sum).abs() < 1e-9 * sum, "{quick}");
}

/// Source, computed: Kadane and Simon 1977, probability over cost.
#[test]
fn the_order_is_by_probability_over_cost() {
    // 60, 20, 30: b, a, c costs 20 + 0.7·60 + 0.2·30 = 68.
    let three = problem(
        &[&[0], &[1], &[2]],
        &[(30.0, 15.0), (10.0, 5.0), (20.0, 0.0)],
        (480.0, 0.0),
    );
    expect(&three, &[0.5, 0.3, 0.2, 0.0], 68.0, &[1, 0, 2], None);
    expect(&three, &[5.0, 3.0, 2.0, 0.0], 68.0, &[1, 0, 2], None);
    // 10 + 0.7·30 + 0.2·20 minutes.
    assert!((repair_now(&three, &[0.5, 0.3, 0.2, 0.0]).minutes - 35.0).abs() < 1e-9);
}

/// Source, computed: Kadane and Simon 1977, with an unlisted cause.
#[test]
fn escalation_comes_last() {
    let three = problem(
        &[&[0], &[1], &[2]],
        &[(30.0, 15.0), (10.0, 5.0), (20.0, 0.0)],
        (480.0, 0.0),
    );
    expect(
        &three,
        &[0.49, 0.294, 0.196, 0.02],
        83.24,
        &[1, 0, 2],
        Some(0.02),
    );
    expect(&three, &[0.0, 0.0, 0.0, 1.0], 720.0, &[], Some(1.0));
    // No way of working comes below Σ P·cost, the unlisted cause at 720.
    let known = known_for_nothing(&three, &[0.49, 0.294, 0.196, 0.02]);
    assert!((known - 55.56).abs() < 1e-9, "{known}");
}

/// Source, computed: Kadane and Simon 1977, with an unlisted cause.
#[test]
fn escalation_comes_before_an_unpromising_repair() {
    let two = problem(&[&[0], &[1]], &[(0.0, 60.0), (0.0, 2000.0)], (480.0, 0.0));
    expect(&two, &[0.90, 0.08, 0.02], 132.0, &[0], Some(0.10));
}

/// Source, computed: Kadane and Simon 1977, outside their theorem: both orders tried.
#[test]
fn a_candidate_of_two_causes_is_cured_once_both_repairs_are_done() {
    let pair = problem(
        &[&[0], &[1], &[0, 1]],
        &[(0.0, 60.0), (0.0, 20.0)],
        (480.0, 0.0),
    );
    expect(&pair, &[0.5, 0.3, 0.2, 0.0], 62.0, &[1, 0], None);
    let plan = repair_now(&pair, &[0.5, 0.3, 0.2, 0.0]);
    assert!(plan.exact);
    assert!(
        (plan.steps[1].probability - 0.7).abs() < 1e-12,
        "the pair ends with its second repair"
    );
}

#[test]
fn candidates_with_the_same_repair_form_one_group() {
    let same = problem(
        &[&[0], &[1], &[0]],
        &[(0.0, 60.0), (0.0, 30.0)],
        (480.0, 0.0),
    );
    // Together 0.8 at 60 goes before 0.2 at 30: 60 + 0.2·30.
    expect(&same, &[0.5, 0.2, 0.3, 0.0], 66.0, &[0, 1], None);
}

/// Every order of the groups and every prefix, tried one by one.
fn by_trial(problem: &Problem, weights: &[f64], done: &[usize], limit: usize) -> f64 {
    let cured = |g: usize| problem.groups()[g].repairs.iter().all(|r| done.contains(r));
    let open: f64 = (0..problem.candidates())
        .filter(|&h| !cured(problem.group_of()[h]))
        .map(|h| weights[h])
        .sum::<f64>()
        + weights[problem.candidates()];
    let mut best = open * problem.escalation_cost();
    if limit == 0 {
        return best;
    }
    for g in (0..problem.groups().len()).filter(|&g| !cured(g)) {
        let next: Vec<usize> = problem.groups()[g]
            .repairs
            .iter()
            .copied()
            .filter(|r| !done.contains(r))
            .collect();
        let cost: f64 = next
            .iter()
            .map(|&r| problem.parts().repairs[r].cost(problem.parts().labour_rate))
            .sum();
        let after = [done, &next].concat();
        best = best.min(open * cost + by_trial(problem, weights, &after, limit - 1));
    }
    best
}

#[test]
fn the_order_matches_trying_every_order_and_every_prefix() {
    let mut shared = 0;
    for seed in 0..300 {
        let dice = &mut Dice::new(seed);
        let count = 2 + dice.below(4);
        let candidates: Vec<Vec<usize>> = (0..count)
            .map(|h| {
                if seed % 2 == 0 {
                    vec![h]
                } else {
                    vec![dice.below(count), dice.below(count)]
                }
            })
            .collect();
        let candidates: Vec<&[usize]> = candidates.iter().map(Vec::as_slice).collect();
        let repairs: Vec<(f64, f64)> = (0..count)
            .map(|_| (dice.between(10.0, 800.0), dice.between(0.0, 900.0)))
            .collect();
        let problem = problem(&candidates, &repairs, (dice.between(50.0, 900.0), 0.0));
        let mut weights: Vec<f64> = (0..count).map(|_| dice.unit()).collect();
        weights.push(if dice.below(2) == 0 { 0.0 } else { 0.1 });
        let expected = by_trial(&problem, &weights, &[], problem.groups().len());
        let found = repair_now_cost(&problem, &weights, &mut RepairScratch::default());
        assert!(
            (found - expected).abs() < 1e-9 * expected,
            "seed {seed}: {found}, {expected}"
        );
        let plan = repair_now(&problem, &weights);
        let sum: f64 = weights.iter().sum();
        assert!(
            (plan.cost * sum - expected).abs() < 1e-9 * expected,
            "seed {seed}: {plan:?}"
        );
        assert!(plan.exact);
        // The steps say the same as the cost.
        let spent: f64 = plan.steps.iter().map(|s| s.reached * s.cost).sum::<f64>()
            + plan.escalates.unwrap_or(0.0) * problem.escalation_cost();
        assert!(
            (spent - plan.cost).abs() < 1e-9 * plan.cost,
            "seed {seed}: {spent} {plan:?}"
        );
        let ends: f64 =
            plan.steps.iter().map(|s| s.probability).sum::<f64>() + plan.escalates.unwrap_or(0.0);
        assert!((ends - 1.0).abs() < 1e-9, "seed {seed}: {plan:?}");
        shared += usize::from(problem.groups().iter().any(|g| g.repairs.len() > 1));
    }
    assert!(shared > 50);
}

#[test]
fn beyond_eight_groups_that_share_the_result_says_it_is_not_exact() {
    let candidates: Vec<Vec<usize>> = (0..10).map(|h| vec![h, (h + 1) % 10]).collect();
    let candidates: Vec<&[usize]> = candidates.iter().map(Vec::as_slice).collect();
    let ten = problem(&candidates, &[(60.0, 0.0); 10], (4800.0, 0.0));
    let plan = repair_now(&ten, &[0.1; 11]);
    assert!(!plan.exact);
    // All alike: the first group at 180, then its right-hand neighbours at 90 each, and the last two cured
    // together by the ninth repair but one: every step after the first adds one repair until all ten are in.
    assert_eq!(plan.steps.len(), 9);
    let quick = repair_now_cost(&ten, &[0.1; 11], &mut RepairScratch::default());
    assert!((quick - plan.cost * 1.1).abs() < 1e-9);
}
