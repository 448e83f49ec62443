//! The policy beside every policy there is, on random small models.

use super::models::{Model, hard_model, random_model, textbook_parts};
use halfsplit::decide::{
    Course, InPlace, Outlook, Plan, PlanNode, Point, Policy, Problem, Step, Stop, Vehicles,
    exactly, followed, known_for_nothing, mean_of_drawn, outlook,
};
use std::collections::HashMap;

/// Where a job is.
#[derive(Clone, Default, PartialEq, Eq, Hash)]
struct State {
    /// Pairs of measurement and outcome.
    read: Vec<(usize, usize)>,
    in_place: InPlace,
    done: Vec<usize>,
    /// The drives recorded.
    recorded: Vec<usize>,
}

/// The least that any policy costs, every one tried: at every point a measurement, a repair and then on, or
/// escalation. A state met again is not worked out again.
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
        let State {
            read,
            in_place,
            done,
            recorded,
        } = state;
        let weight: f64 = weights.iter().sum();
        let mut best = weight * problem.escalation_cost();
        let shows = |r: &usize| problem.parts().shows[*r].iter().copied();
        let drives = &problem.parts().drives;
        let to_view = |m: usize| {
            done.iter().flat_map(shows).any(|shown| shown == m)
                || recorded.iter().any(|d| drives[*d].answers.contains(&m))
        };
        for (place, drive) in drives.iter().enumerate() {
            let needed = drive.needs.iter().copied().collect();
            let way = problem
                .set_ups()
                .cheapest(*in_place, needed, InPlace::NOTHING);
            let Some(way) = way.filter(|_| !recorded.contains(&place)) else {
                continue;
            };
            let minutes = way.minutes + drive.minutes.get();
            let next = State {
                in_place: way.leaves,
                recorded: [&recorded[..], &[place]].concat(),
                ..state.clone()
            };
            best = best.min(weight * minutes * problem.per_minute() + self.least(weights, &next));
        }
        for m in 0..problem.measurements() {
            if read.iter().any(|(taken, _)| *taken == m) {
                continue;
            }
            // What a repair has shown costs nothing, whenever it is read.
            let (minutes, leaves) = if to_view(m) {
                (0.0, *in_place)
            } else {
                match problem
                    .set_ups()
                    .cheapest(*in_place, problem.needed(m), InPlace::NOTHING)
                {
                    Some(way) => {
                        let own = problem.parts().measurements[m].minutes.get();
                        (way.minutes + own, way.leaves)
                    }
                    None => continue,
                }
            };
            let mut cost = weight * minutes * problem.per_minute();
            for outcome in 0..problem.outcomes(m) {
                let after: Vec<f64> = weights
                    .iter()
                    .zip(problem.column(m, outcome))
                    .map(|(w, p)| w * p)
                    .collect();
                let mut read = [&read[..], &[(m, outcome)]].concat();
                read.sort_unstable();
                let next = State {
                    read,
                    in_place: leaves,
                    ..state.clone()
                };
                cost += self.least(&after, &next);
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
            let price = |&r: &usize| problem.parts().repairs[r].cost(problem.parts().labour_rate);
            let cost: f64 = next.iter().map(price).sum();
            // A repair dearer than escalation is never worth its money.
            if next.is_empty() || cost >= problem.escalation_cost() {
                continue;
            }
            let mut after = weights.to_vec();
            let mut all = [&done[..], &next].concat();
            all.sort_unstable();
            for (h, weight) in after.iter_mut().enumerate().take(problem.candidates()) {
                let repairs = &problem.groups()[problem.group_of()[h]].repairs;
                if repairs.iter().all(|r| all.contains(r)) {
                    *weight = 0.0;
                }
            }
            let next = State {
                done: all,
                ..state.clone()
            };
            let then = self.least(&after, &next);
            best = best.min(weight * cost + then);
        }
        self.met.insert(state.clone(), best);
        best
    }
}

pub(super) fn least(model: &Model) -> f64 {
    let mut every = EveryPolicy {
        problem: &model.problem,
        met: HashMap::new(),
    };
    let start = State {
        in_place: model.in_place,
        ..State::default()
    };
    every.least(&model.weights, &start)
}

pub(super) fn point(model: &Model) -> Point {
    Point::new(model.weights.clone(), model.in_place)
}

/// The cost of following the policy, every branch added up.
pub(super) fn cost(problem: &Problem, start: &Point) -> f64 {
    let mut policy = Policy::new(problem);
    let courses = exactly(problem, start, |at: &Point| policy.decide(at).step);
    courses.iter().map(|c| c.probability * c.cost()).sum()
}

#[test]
fn the_policy_stays_within_a_fraction_of_a_percent_of_the_best_there_is() {
    let mut excess: Vec<f64> = (0..300)
        .map(|seed| {
            let model = hard_model(seed);
            let best = least(&model);
            let found = cost(&model.problem, &point(&model));
            assert!(found >= best * (1.0 - 1e-9), "seed {seed}: {found} {best}");
            let known = known_for_nothing(&model.problem, &model.weights);
            assert!(known <= best * (1.0 + 1e-9), "seed {seed}: {known} {best}");
            100.0 * (found / best - 1.0)
        })
        .collect();
    excess.sort_by(f64::total_cmp);
    let mean = excess.iter().sum::<f64>() / 300.0;
    let (most, worst) = (excess[285], excess[299]);
    assert!(mean <= 0.15, "mean excess {mean} %");
    assert!(most <= 0.8, "95th percentile {most} %");
    assert!(worst <= 3.0, "worst {worst} %");
}

/// The cost of a plan written out to the end, and how many repairs it goes on from.
pub(super) fn added_up(node: &PlanNode) -> (f64, usize) {
    match node {
        PlanNode::Repair(now) => (now.cost, 0),
        PlanNode::RepairOn(on) => {
            let then = added_up(on.then.as_ref().unwrap());
            let left = 1.0 - on.step.probability;
            (on.step.cost + left * then.0, then.1 + 1)
        }
        PlanNode::Measure(measure) => {
            let own = measure.taking.cost;
            measure.branches.iter().fold((own, 0), |sum, branch| {
                let then = added_up(&branch.then);
                (sum.0 + branch.probability * then.0, sum.1 + then.1)
            })
        }
    }
}

#[test]
fn a_plan_written_out_to_the_end_adds_up_to_the_cost_of_following_it() {
    let mut repaired_on = 0;
    for seed in 0..100 {
        let model = random_model(seed);
        let plan = Plan::new(&model.problem, &point(&model), 20, Stop::never());
        let (cost, on) = added_up(&plan.tree);
        repaired_on += on;
        let Outlook {
            within,
            testing,
            repair,
            escalation,
            ends,
            handed_on,
            ..
        } = &plan.outlook;
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-9 * b.max(1.0);
        assert!(*within == 0.0, "seed {seed}");
        assert!(
            close(cost, plan.outlook.cost),
            "seed {seed}: {cost} {plan:?}"
        );
        assert!(close(testing + repair + escalation, cost), "seed {seed}");
        assert!(
            close(ends.iter().sum::<f64>() + handed_on, 1.0),
            "seed {seed}"
        );
        assert!(cost <= plan.repair_now * 1.0001, "seed {seed}: {cost}");
    }
    assert!(repaired_on > 20, "only {repaired_on} repairs to go on from");
}

#[test]
fn what_drawn_vehicles_cost_is_what_adding_up_gives_within_its_interval() {
    let mut inside = 0;
    for seed in 0..20 {
        let model = hard_model(seed);
        let start = point(&model);
        let whole = cost(&model.problem, &start);
        let drawn = Vehicles::drawn(&model.problem, &model.weights, 1000, seed);
        let courses = followed(&start, &drawn, || {
            let mut policy = Policy::new(&model.problem);
            move |at: &Point| policy.decide(at).step
        });
        let costs: Vec<f64> = courses.iter().map(Course::cost).collect();
        let (mean, within) = mean_of_drawn(&costs);
        let off = (mean - whole).abs();
        assert!(
            off < 2.5 * within + 1e-9,
            "seed {seed}: {mean} ±{within}, {whole}"
        );
        inside += usize::from(off <= within + 1e-9);
    }
    assert!(inside >= 16, "{inside} of 20");
}

#[test]
fn the_policy_depends_on_nothing_but_where_the_job_is() {
    for seed in 0..20 {
        let model = hard_model(seed);
        let start = point(&model);
        let first = Policy::new(&model.problem).decide(&start);
        // A policy that has decided elsewhere before decides the same here.
        let mut used = Policy::new(&model.problem);
        for (group, _) in model.problem.groups().iter().enumerate() {
            let after = used.in_vain(&start, group).1;
            used.decide(&after);
        }
        assert_eq!(used.decide(&start), first, "seed {seed}");
        // Weights need not add up to 1.
        let mut heavier = start.clone();
        heavier.weights.iter_mut().for_each(|w| *w *= 8.0);
        assert_eq!(used.decide(&heavier).step, first.step, "seed {seed}");
    }
}

#[test]
fn a_repair_that_shows_what_else_is_wrong_is_done_before_the_test_that_says_it() {
    // A 0.5 at 100, B and C 0.25 at 300; a test for 200 parts B from C, and A reads either way.
    // At once: A, B, C: 100 + 0.5·300 + 0.25·300 = 325. The test first: 200 + 100 + 0.5·300 = 450.
    // Where repairing A shows the same: 100, and with 0.5 one of B and C for 300: 250.
    let tests = [(200.0, vec![vec![0.5, 0.5], vec![1.0, 0.0], vec![0.0, 1.0]])];
    let mut parts = textbook_parts(&[100.0, 300.0, 300.0], &tests);
    let start = Point::new(vec![0.5, 0.25, 0.25, 0.0], InPlace::NOTHING);
    let blind = Problem::new(parts.clone()).unwrap();
    assert!((outlook(&blind, &start, Stop::never()).cost - 325.0).abs() < 1e-9);
    parts.shows = vec![vec![0]];
    let seeing = Problem::new(parts).unwrap();
    let plan = Plan::new(&seeing, &start, 3, Stop::never());
    assert_eq!(plan.first, Step::Repair(0));
    assert!((plan.outlook.cost - 250.0).abs() < 1e-9);
    let PlanNode::RepairOn(on) = &plan.tree else {
        panic!("{plan:?}")
    };
    assert_eq!(
        (on.step.repairs.as_slice(), on.step.probability),
        (&[0][..], 0.5)
    );
    let Some(PlanNode::Measure(read)) = &on.then else {
        panic!("{on:?}")
    };
    assert!(read.taking.shown && read.measurement == 0);
    assert_eq!(read.taking.minutes, 0.0);
    assert!(
        read.branches
            .iter()
            .all(|b| (b.probability - 0.5).abs() < 1e-12)
    );
}

#[test]
fn measuring_goes_on_after_a_repair_in_vain_that_shows_nothing() {
    // A 0.6 at 20, B and C 0.2 at 300; a test for 30 parts B from C, and A reads either way.
    // At once: A, B, C: 20 + 0.4·300 + 0.2·300 = 200. The test first: 30, A for 20, the other for 0.4·300: 170.
    // A first, the test where it was in vain: 20 + 0.4·(30 + 300) = 152.
    let tests = [(30.0, vec![vec![0.5, 0.5], vec![1.0, 0.0], vec![0.0, 1.0]])];
    let problem = Problem::new(textbook_parts(&[20.0, 300.0, 300.0], &tests)).unwrap();
    let start = Point::new(vec![0.6, 0.2, 0.2, 0.0], InPlace::NOTHING);
    let plan = Plan::new(&problem, &start, 3, Stop::never());
    assert_eq!(plan.first, Step::Repair(0));
    assert!((plan.outlook.cost - 152.0).abs() < 1e-9, "{plan:?}");
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
    let start = Point::new(vec![0.5, 0.25, 0.25, 0.0], InPlace::NOTHING);
    let plan = Plan::new(&problem, &start, 3, Stop::never());
    assert!((plan.outlook.cost - 190.0).abs() < 1e-9);
    assert_eq!(plan.first, Step::Repair(0));
}
