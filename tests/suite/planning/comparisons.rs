//! Other ways of working, added up on the same problems.

use super::models::{Model, belief, number, random_model, sure, textbook};
use super::ranks::five_tests;
use super::repairs::by_trial;
use halfsplit::plan::{
    InPlace, Limits, OrderBy, Problem, Strategy, bits, compare, known_for_nothing, plan, ranking,
};

#[track_caller]
fn near(found: f64, expected: f64) {
    assert!(
        (found - expected).abs() <= 1e-9 * expected.abs().max(1.0),
        "{found}, expected {expected}"
    );
}

fn cost(model: &Model, strategy: &Strategy) -> f64 {
    compare(
        &model.problem,
        &model.weights,
        model.in_place,
        &[],
        strategy,
        0.0,
    )
    .cost
}

/// The list gone along or stopped, both tried at every point.
fn along(problem: &Problem, weights: &[f64], in_place: InPlace, list: &[usize]) -> f64 {
    let stop = by_trial(problem, weights, &[], problem.groups().len());
    let Some((&m, rest)) = list.split_first() else {
        return stop;
    };
    let Some(way) = problem.set_ups().cheapest(in_place, problem.needed(m)) else {
        return along(problem, weights, in_place, rest);
    };
    if bits(problem, weights, m) < 0.001 {
        return along(problem, weights, in_place, rest);
    }
    let minutes = way.minutes + problem.parts().measurements[m].minutes.get();
    let mut on = weights.iter().sum::<f64>() * minutes * 1.5;
    for outcome in 0..problem.outcomes(m) {
        let after: Vec<f64> = weights
            .iter()
            .zip(problem.column(m, outcome))
            .map(|(w, p)| w * p)
            .collect();
        on += along(problem, &after, way.leaves, rest);
    }
    stop.min(on)
}

fn one_step(problem: &Problem, weights: &[f64], in_place: InPlace, taken: &[usize]) -> f64 {
    let list = ranking(
        problem,
        weights,
        in_place,
        taken,
        OrderBy::SeparatesPerMinute,
    );
    if list.iter().all(|r| r.saves <= 0.0) {
        return by_trial(problem, weights, &[], problem.groups().len());
    }
    let first = &list[0];
    let mut cost = weights.iter().sum::<f64>() * first.minutes * 1.5;
    for outcome in 0..problem.outcomes(first.measurement) {
        let column = problem.column(first.measurement, outcome);
        let after: Vec<f64> = weights.iter().zip(column).map(|(w, p)| w * p).collect();
        cost += one_step(
            problem,
            &after,
            first.way.leaves,
            &[taken, &[first.measurement]].concat(),
        );
    }
    cost
}

#[test]
fn strategies_match_their_words_and_the_plan_is_never_dearer() {
    for seed in 0..120 {
        let model = random_model(seed);
        let Model {
            problem,
            weights,
            in_place,
        } = &model;
        let all: Vec<usize> = (0..problem.measurements()).collect();
        let fixed = cost(&model, &Strategy::Fixed(all.clone()));
        near(fixed, along(problem, weights, *in_place, &all));
        let ranked = cost(&model, &Strategy::OneStep);
        near(ranked, one_step(problem, weights, *in_place, &[]));
        let best = plan(
            problem,
            weights,
            *in_place,
            &[],
            &Limits::default(),
            &mut |_| {},
        );
        let least = best.expected_cost * (1.0 - 1e-9);
        let cheapest = cost(&model, &Strategy::CheapestFirst);
        let by_probability = cost(&model, &Strategy::RepairByProbability);
        for (name, other) in [
            ("fixed", fixed),
            ("ranked", ranked),
            ("cheapest", cheapest),
            ("at once", by_probability),
        ] {
            assert!(
                other >= least,
                "seed {seed}: {name} {other} under the plan {least}"
            );
        }
        assert!(
            best.lower_bound >= known_for_nothing(problem, weights) * (1.0 - 1e-9),
            "seed {seed}"
        );
    }
}

#[test]
fn the_most_bits_first_costs_2_86_where_the_plan_takes_2_18() {
    // TS-07: every test costs a minute, so separates per minute is the order of bits.
    let (problem, prior) = five_tests(1000.0);
    let weights = belief(&prior);
    let greedy = compare(
        &problem,
        &weights,
        InPlace::NOTHING,
        &[],
        &Strategy::OneStep,
        0.0,
    );
    near(greedy.cost, 1002.86);
    near(greedy.testing, 2.86);
}

#[test]
fn by_probability_ro_01_costs_76() {
    let problem = textbook(&[60.0, 20.0, 30.0], &[]);
    let weights = belief(&[0.5, 0.3, 0.2]);
    let found = compare(
        &problem,
        &weights,
        InPlace::NOTHING,
        &[],
        &Strategy::RepairByProbability,
        0.0,
    );
    near(found.cost, 76.0);
}

#[test]
fn what_the_cutoff_hides_is_within_what_it_says() {
    let tests: Vec<_> = (0..6)
        .map(|t| {
            (
                1.0,
                sure(&(0..12).map(|h| h * (t + 3) / 5 % 2).collect::<Vec<_>>(), 2),
            )
        })
        .collect();
    let costs: Vec<f64> = (0..12).map(|h| 30.0 + 7.0 * number(h)).collect();
    let problem = textbook(&costs, &tests);
    let prior: Vec<f64> = (0..12).map(|h| 0.5_f64.powi(h)).collect();
    let strategy = Strategy::Fixed((0..6).collect());
    let of = |cutoff| {
        compare(
            &problem,
            &belief(&prior),
            InPlace::NOTHING,
            &[],
            &strategy,
            cutoff,
        )
    };
    let whole = of(0.0);
    let rough = of(0.05);
    assert_eq!(whole.cut, 0.0);
    assert!(rough.nodes < whole.nodes);
    assert!(
        whole.cost <= rough.cost && rough.cost - rough.cut <= whole.cost,
        "{whole:?} {rough:?}"
    );
}
