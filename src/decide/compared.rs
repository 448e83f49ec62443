//! The plan's competitors on the same vehicle: what other ways of working come to.

use super::standing::Standing;
use super::{
    Comparison, Limits, Policy, Search, Strategy, Vehicles, by_use, compare, fixed_order, followed,
    until,
};
use crate::knowledge::MeasurementId;
use std::iter;

/// A way of working that a shop may have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WayOfWorking {
    /// The plan, searched on after every reading.
    Plan,
    /// The first of the plain ranking, while one step ahead pays.
    OneStep,
    /// The best fixed order that was found.
    BestFixed,
    /// The same order until the leading repair is so probable, at the probability that was found best.
    BestFixedUntil,
    /// The order that the family states as the trade's habit.
    Habit,
    /// The cheapest measurement from what is in place.
    CheapestFirst,
    /// Repairing at once, the likeliest first.
    AtOnce,
}

/// What a way of working comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// The way of working.
    pub way: WayOfWorking,
    /// What it comes to.
    pub comparison: Comparison,
    /// The order of measurements, where it has a fixed one.
    pub order: Vec<MeasurementId>,
}

/// How much is spent on a comparison.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effort {
    /// Vehicles that each way of working is followed on.
    pub vehicles: usize,
    /// The search for the plan at the start.
    pub first: Limits,
    /// The nodes that the plan opens at every point that a vehicle comes to.
    pub each: u64,
    /// Changes tried in looking for a better fixed order.
    pub changes: usize,
    /// Vehicles that a changed order is tried on.
    pub tried_on: usize,
}

/// The seed of the vehicles that ways of working are judged by.
const SEED: u64 = 20_261_125;

/// What other ways of working come to, on the same drawn vehicles.
#[must_use]
pub fn compared(standing: &Standing<'_, '_>, policy: &Policy, effort: &Effort) -> Vec<Compared> {
    let problem = &standing.problem;
    let weights = standing.belief.weights();
    let places = || 0..problem.measurements();
    let habit: Vec<usize> = standing
        .model
        .family
        .habit
        .iter()
        .filter_map(|id| places().find(|place| standing.named(*place) == *id))
        .collect();
    // A list of some measurements goes on with the others, as they are ranked at the start.
    let whole = |first: &[usize]| {
        let ranked = standing.ranking.iter().map(|ranked| ranked.measurement);
        let mut order = first.to_vec();
        order.extend(ranked.filter(|m| !first.contains(m)));
        order
    };
    let mut used = by_use(problem, &policy.tree);
    used.retain(|m| standing.ranking.iter().any(|r| r.measurement == *m));
    let search = Search {
        weights: &weights,
        in_place: standing.in_place,
        starts: &[whole(&used), whole(&habit), whole(&[])],
        changes: effort.changes,
        vehicles: effort.tried_on,
    };
    let best = fixed_order(problem, &search);
    let until_sure = until(problem, &search, &best);
    let drawn = Vehicles::drawn(problem, &weights, effort.vehicles, SEED);
    let plan = Compared {
        way: WayOfWorking::Plan,
        comparison: followed(
            problem,
            &weights,
            standing.in_place,
            &effort.first,
            effort.each,
            &drawn,
        ),
        order: Vec::new(),
    };
    let others = [
        (WayOfWorking::OneStep, Strategy::OneStep),
        (WayOfWorking::BestFixed, Strategy::Fixed(best)),
        (WayOfWorking::BestFixedUntil, until_sure),
        (WayOfWorking::Habit, Strategy::Fixed(habit)),
        (WayOfWorking::CheapestFirst, Strategy::CheapestFirst),
        (WayOfWorking::AtOnce, Strategy::RepairByProbability),
    ]
    .into_iter()
    .map(|(way, strategy)| Compared {
        way,
        comparison: compare(problem, &weights, standing.in_place, &[], &strategy, &drawn),
        order: match strategy {
            Strategy::Fixed(order) | Strategy::FixedUntil(order, _) => {
                order.into_iter().map(|m| standing.named(m)).collect()
            }
            _ => Vec::new(),
        },
    });
    iter::once(plan).chain(others).collect()
}
