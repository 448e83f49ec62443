//! The plan beside every policy there is, on random small models.

use super::models::{Model, random_model, textbook_parts};
use super::policies::at_most;
use super::repairs::by_trial;
use halfsplit::decide::{InPlace, PolicyNode, Problem, Progress, Spending, Step, plan};
use std::collections::HashMap;

/// What was read, as pairs of measurement and outcome; what is in place; the repairs done.
type State = (Vec<(usize, usize)>, InPlace, Vec<usize>);

/// The least that any policy costs, every one tried: a state met again is not worked out again.
struct EveryPolicy<'a> {
    problem: &'a Problem,
    met: HashMap<State, f64>,
}

impl EveryPolicy<'_> {
    fn least(&mut self, weights: &[f64], state: &State) -> f64 {
        if let Some(&known) = self.met.get(state) {
            return known;
        }
        let problem = self.problem;
        let (read, in_place, done) = state;
        let weight: f64 = weights.iter().sum();
        let mut best = by_trial(problem, weights, done, problem.groups().len());
        let unread = |m: &usize| read.iter().all(|(taken, _)| taken != m);
        let shows = |r: &usize| problem.parts().shows[*r].iter().copied();
        let to_view = |m: usize| done.iter().flat_map(shows).any(|shown| shown == m);
        for m in (0..problem.measurements()).filter(unread) {
            // What a repair has shown costs nothing, whenever it is read.
            let (minutes, leaves) = if to_view(m) {
                (0.0, *in_place)
            } else {
                match problem.set_ups().cheapest(*in_place, problem.needed(m)) {
                    Some(way) => {
                        let own = problem.parts().measurements[m].minutes.get();
                        (way.minutes + own, way.leaves)
                    }
                    None => continue,
                }
            };
            let mut cost = weight * minutes * 90.0 / 60.0;
            for outcome in 0..problem.outcomes(m) {
                let after: Vec<f64> = weights
                    .iter()
                    .zip(problem.column(m, outcome))
                    .map(|(w, p)| w * p)
                    .collect();
                let mut read = [&read[..], &[(m, outcome)]].concat();
                read.sort_unstable();
                cost += self.least(&after, &(read, leaves, done.clone()));
            }
            best = best.min(cost);
        }
        for group in problem.groups() {
            let next: Vec<usize> = group
                .repairs
                .iter()
                .copied()
                .filter(|r| !done.contains(r))
                .collect();
            // A repair to go on from shows something that nobody has read or seen.
            let mut shown = next.iter().flat_map(shows);
            if shown.any(|m| unread(&m) && !to_view(m)) {
                let price =
                    |&r: &usize| problem.parts().repairs[r].cost(problem.parts().labour_rate);
                let mut after = weights.to_vec();
                let mut all = [&done[..], &next].concat();
                all.sort_unstable();
                for (h, weight) in after.iter_mut().enumerate().take(problem.candidates()) {
                    let repairs = &problem.groups()[problem.group_of()[h]].repairs;
                    if repairs.iter().all(|r| all.contains(r)) {
                        *weight = 0.0;
                    }
                }
                let paid = weight * next.iter().map(price).sum::<f64>();
                let then = self.least(&after, &(read.clone(), *in_place, all));
                best = best.min(paid + then);
            }
        }
        self.met.insert(state.clone(), best);
        best
    }
}

fn least(problem: &Problem, weights: &[f64], in_place: InPlace) -> f64 {
    let mut every = EveryPolicy {
        problem,
        met: HashMap::new(),
    };
    every.least(weights, &(vec![], in_place, vec![]))
}

/// How often a policy repairs before it measures on.
fn repairs_on(node: &PolicyNode) -> usize {
    match node {
        PolicyNode::Repair(_) => 0,
        PolicyNode::RepairOn(on) => 1 + repairs_on(&on.then),
        PolicyNode::Measure(measure) => measure.branches.iter().map(|b| repairs_on(&b.then)).sum(),
    }
}

#[test]
fn the_plan_matches_trying_every_policy_and_its_bounds_hold_all_the_time() {
    let mut measured = 0;
    let mut repaired_on = 0;
    let mut watched = 0;
    for seed in 0..500 {
        let Model {
            problem,
            weights,
            in_place,
        } = random_model(seed);
        let optimum = least(&problem, &weights, in_place);
        let mut check = |p: &Progress| {
            watched += 1;
            let slack = 1e-9 * optimum;
            assert!(
                p.lower <= optimum + slack,
                "seed {seed}: lower {} above {optimum}",
                p.lower
            );
            assert!(
                p.upper >= optimum - slack,
                "seed {seed}: upper {} below {optimum}",
                p.upper
            );
        };
        let limits = at_most(100_000);
        let policy = plan(&problem, &weights, in_place, &[], &limits, &mut check);
        let error = (policy.expected_cost - optimum).abs();
        assert!(
            error <= 1e-9 * optimum,
            "seed {seed}: {} {optimum}",
            policy.expected_cost
        );
        assert!(policy.proven, "seed {seed}: gap {}", policy.gap);
        measured += usize::from(policy.first != Step::RepairNow);
        repaired_on += usize::from(repairs_on(&policy.tree) > 0);
        // The tree adds up to what it says.
        let Spending {
            testing,
            repair,
            escalation,
            minutes,
        } = policy.tree.spending();
        assert!(
            (testing + repair + escalation - optimum).abs() <= 1e-9 * optimum,
            "seed {seed}"
        );
        assert!((minutes - policy.expected_minutes).abs() < 1e-9);
        // Cut off at any moment, it is never worse than one step of look-ahead, and its bounds still hold.
        for opened in [1, 3, 10] {
            let limits = at_most(opened);
            let early = plan(&problem, &weights, in_place, &[], &limits, &mut |_| {});
            assert!(
                early.lower_bound <= optimum * (1.0 + 1e-9),
                "seed {seed}: {early:?}"
            );
            assert!(
                early.expected_cost >= optimum * (1.0 - 1e-9),
                "seed {seed}: {early:?}"
            );
            let one_step = one_step(&problem, &weights, in_place);
            assert!(
                early.expected_cost <= one_step * (1.0 + 1e-9),
                "seed {seed}: {one_step} {early:?}"
            );
        }
    }
    assert!(
        measured > 100,
        "only {measured} of the models were worth measuring"
    );
    assert!(repaired_on > 40, "only {repaired_on} repaired to go on");
    assert!(watched > 1000, "{watched}");
}

fn one_step(problem: &Problem, weights: &[f64], in_place: InPlace) -> f64 {
    let now = by_trial(problem, weights, &[], problem.groups().len());
    let list = halfsplit::decide::ranking(
        problem,
        weights,
        in_place,
        &[],
        halfsplit::decide::OrderBy::Saves,
    );
    now - list.first().map_or(0.0, |r| r.saves.max(0.0))
}

#[test]
fn a_repair_that_shows_what_else_is_wrong_is_done_before_the_test_that_says_it() {
    // A 0.5 at 100, B and C 0.25 at 300; a test for 200 parts B from C, and A reads either way.
    // At once: A, B, C: 100 + 0.5·300 + 0.25·300 = 325. The test first: 200 + 100 + 0.5·300 = 450.
    // Where repairing A shows the same: 100, and with 0.5 one of B and C for 300: 250.
    let tests = [(200.0, vec![vec![0.5, 0.5], vec![1.0, 0.0], vec![0.0, 1.0]])];
    let mut parts = textbook_parts(&[100.0, 300.0, 300.0], &tests);
    let weights = [0.5, 0.25, 0.25, 0.0];
    let planned = |problem: &Problem| {
        plan(
            problem,
            &weights,
            InPlace::NOTHING,
            &[],
            &at_most(1000),
            &mut |_| {},
        )
    };
    let blind = planned(&Problem::new(parts.clone()).unwrap());
    assert_eq!(blind.first, Step::RepairNow);
    assert!((blind.expected_cost - 325.0).abs() < 1e-9 && blind.proven);
    parts.shows = vec![vec![0]];
    let seeing = planned(&Problem::new(parts).unwrap());
    assert_eq!(seeing.first, Step::RepairOn(0));
    assert!((seeing.expected_cost - 250.0).abs() < 1e-9 && seeing.proven);
    let PolicyNode::RepairOn(on) = &seeing.tree else {
        panic!("{seeing:?}")
    };
    assert_eq!((on.repairs.as_slice(), on.probability), (&[0][..], 0.5));
    let PolicyNode::Measure(read) = &on.then else {
        panic!("{on:?}")
    };
    assert!(read.shown && read.measurement == 0);
    assert_eq!((read.minutes, read.cost), (0.0, 0.0));
    assert!(
        read.branches
            .iter()
            .all(|b| (b.probability - 0.5).abs() < 1e-12)
    );
}

#[test]
fn work_done_in_vain_costs_nothing_again() {
    // A 0.5, {A, B} 0.25, C 0.25; A 100, B 60, C 300; escalation dear. Repairing A shows a test for 900 that
    // parts B from C. A, then on: 100 + 0.5·(60 or 300 by what it showed, evenly) = 190: B alone is left of
    // {A, B}. At once A, B, C: 100 + 0.5·60 + 0.25·300 = 205.
    let tests = [(900.0, vec![vec![0.5, 0.5], vec![1.0, 0.0], vec![0.0, 1.0]])];
    let mut parts = textbook_parts(&[100.0, 60.0, 300.0], &tests);
    parts.candidates = vec![vec![0], vec![0, 1], vec![2]];
    parts.shows = vec![vec![0]];
    let problem = Problem::new(parts).unwrap();
    let weights = [0.5, 0.25, 0.25, 0.0];
    let limits = at_most(1000);
    let policy = plan(
        &problem,
        &weights,
        InPlace::NOTHING,
        &[],
        &limits,
        &mut |_| {},
    );
    assert!((policy.expected_cost - 190.0).abs() < 1e-9 && policy.proven);
    assert_eq!(policy.first, Step::RepairOn(0));
}
