//! Other ways of working, added up on the same problems.

use super::models::{Model, belief, number, random_model, sure, textbook};
use super::ranks::five_tests;
use super::repairs::by_trial;
use halfsplit::decide::{
    AHEAD, InPlace, Limits, OrderBy, Problem, Search, Strategy, Vehicles, bits, compare, exactly,
    fixed_order, known_for_nothing, plan, ranking,
};

#[track_caller]
fn near(found: f64, expected: f64) {
    assert!(
        (found - expected).abs() <= 1e-9 * expected.abs().max(1.0),
        "{found}, expected {expected}"
    );
}

fn cost(model: &Model, strategy: &Strategy) -> f64 {
    exactly(
        &model.problem,
        &model.weights,
        model.in_place,
        &[],
        strategy,
    )
    .cost
}

/// What the next few measurements of a list come to at best, stopping tried after each; and whether going
/// on is cheaper than stopping.
fn few(
    problem: &Problem,
    weights: &[f64],
    in_place: InPlace,
    list: &[usize],
    ahead: usize,
) -> (f64, bool) {
    let stop = by_trial(problem, weights, &[], problem.groups().len());
    let Some((&m, rest)) = list.split_first().filter(|_| ahead > 0) else {
        return (stop, false);
    };
    let way = problem.set_ups().cheapest(in_place, problem.needed(m));
    let Some(way) = way.filter(|_| bits(problem, weights, m) >= 0.001) else {
        return few(problem, weights, in_place, rest, ahead);
    };
    let minutes = way.minutes + problem.parts().measurements[m].minutes.get();
    let mut on = weights.iter().sum::<f64>() * minutes * 1.5;
    for outcome in 0..problem.outcomes(m) {
        let after: Vec<f64> = weights
            .iter()
            .zip(problem.column(m, outcome))
            .map(|(w, p)| w * p)
            .collect();
        on += few(problem, &after, way.leaves, rest, ahead - 1).0;
    }
    (stop.min(on), on < stop)
}

/// The list gone along while going on pays within the next few.
fn along(problem: &Problem, weights: &[f64], in_place: InPlace, list: &[usize]) -> f64 {
    if !few(problem, weights, in_place, list, AHEAD).1 {
        return by_trial(problem, weights, &[], problem.groups().len());
    }
    let m = list[0];
    let way = problem.set_ups().cheapest(in_place, problem.needed(m));
    let Some(way) = way.filter(|_| bits(problem, weights, m) >= 0.001) else {
        return along(problem, weights, in_place, &list[1..]);
    };
    let minutes = way.minutes + problem.parts().measurements[m].minutes.get();
    let mut on = weights.iter().sum::<f64>() * minutes * 1.5;
    for outcome in 0..problem.outcomes(m) {
        let after: Vec<f64> = weights
            .iter()
            .zip(problem.column(m, outcome))
            .map(|(w, p)| w * p)
            .collect();
        on += along(problem, &after, way.leaves, &list[1..]);
    }
    on
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
    // Pattipati and Alexandridis 1990: every test costs a minute, so separates per minute is the order of bits.
    let (problem, prior) = five_tests(1000.0);
    let weights = belief(&prior);
    let greedy = exactly(
        &problem,
        &weights,
        InPlace::NOTHING,
        &[],
        &Strategy::OneStep,
    );
    near(greedy.cost, 1002.86);
    near(greedy.testing, 2.86);
}

#[test]
fn by_probability_ro_01_costs_76() {
    let problem = textbook(&[60.0, 20.0, 30.0], &[]);
    let weights = belief(&[0.5, 0.3, 0.2]);
    let found = exactly(
        &problem,
        &weights,
        InPlace::NOTHING,
        &[],
        &Strategy::RepairByProbability,
    );
    near(found.cost, 76.0);
}

/// Twelve causes, six tests, the dear ones first: small enough to add up, large enough to draw from.
fn twelve() -> (Problem, Vec<f64>) {
    let tests: Vec<_> = (0..6)
        .map(|t| {
            (
                number(12 - 2 * t),
                sure(&(0..12).map(|h| h * (t + 3) / 5 % 2).collect::<Vec<_>>(), 2),
            )
        })
        .collect();
    let costs: Vec<f64> = (0..12).map(|h| 30.0 + 7.0 * number(h)).collect();
    let prior: Vec<f64> = (0..12).map(|h| 0.8_f64.powi(h)).collect();
    (textbook(&costs, &tests), belief(&prior))
}

#[test]
fn what_drawn_vehicles_cost_is_what_adding_up_gives_within_its_interval() {
    let (problem, weights) = twelve();
    let from = InPlace::NOTHING;
    for strategy in [
        Strategy::Fixed((0..6).collect()),
        Strategy::Fixed((0..6).rev().collect()),
        Strategy::OneStep,
        Strategy::CheapestFirst,
    ] {
        let whole = exactly(&problem, &weights, from, &[], &strategy);
        assert_eq!(whole.within, 0.0);
        let mut inside = 0;
        for seed in 0..20 {
            let drawn = Vehicles::drawn(&problem, &weights, 3000, seed);
            let found = compare(&problem, &weights, from, &[], &strategy, &drawn);
            let off = (found.cost - whole.cost).abs();
            assert!(found.within < 0.02 * whole.cost && off < 2.0 * found.within);
            inside += usize::from(off <= found.within);
            // The same vehicles, the same figure.
            assert_eq!(
                found,
                compare(&problem, &weights, from, &[], &strategy, &drawn)
            );
        }
        assert!(inside >= 17, "{strategy:?}: {inside} of 20");
    }
}

#[test]
fn the_fixed_order_found_is_the_best_of_all_720_within_a_hundredth() {
    let (problem, weights) = twelve();
    let from = InPlace::NOTHING;
    let cost = |order: &[usize]| {
        let strategy = Strategy::Fixed(order.to_vec());
        exactly(&problem, &weights, from, &[], &strategy).cost
    };
    let mut best = f64::INFINITY;
    for code in 0..720_usize {
        let mut left: Vec<usize> = (0..6).collect();
        let mut rest = code;
        let order: Vec<usize> = (1..=6)
            .rev()
            .map(|count| {
                let taken = left.remove(rest % count);
                rest /= count;
                taken
            })
            .collect();
        best = best.min(cost(&order));
    }
    let found = fixed_order(
        &problem,
        &Search {
            weights: &weights,
            in_place: from,
            starts: &[(0..6).collect()],
            changes: 200,
            vehicles: 2000,
        },
    );
    assert!(cost(&found) <= 1.01 * best, "{} {best}", cost(&found));
    let start = cost(&[0, 1, 2, 3, 4, 5]);
    assert!(
        start > 1.02 * best,
        "{start} {best}: a start that good is no trial"
    );
}

#[test]
fn a_list_is_followed_until_a_repair_is_likely_enough() {
    // 65 to 35, repairs at 100 each; on the list a test that tells nothing for 5 and one that tells all for 1.
    let tests = [(5.0, vec![vec![0.5, 0.5]; 2]), (1.0, sure(&[0, 1], 2))];
    let problem = textbook(&[100.0, 100.0], &tests);
    let weights = belief(&[0.65, 0.35]);
    for (enough, expected) in [
        // Likely enough from the start: 100, and in 35 of 100 another 100.
        (0.6, 135.0),
        // What tells nothing is left out, what tells all is taken.
        (0.9, 101.0),
    ] {
        let strategy = Strategy::FixedUntil(vec![0, 1], enough);
        near(
            exactly(&problem, &weights, InPlace::NOTHING, &[], &strategy).cost,
            expected,
        );
    }
}
