//! What other ways of working come to on the same problem.
//!
//! Every strategy is added up exactly, branch by branch, but for branches less probable than a cutoff:
//! there it ends by `repair_now`. What going on as well as can be could still save on those is reported as
//! `cut`, so the strategy without a cutoff that goes on only where that pays lies within `cut` below the
//! figure.

use super::problem::Problem;
use super::ranking::{FEWEST_BITS, OrderBy, bits, ranking};
use super::repair_now::{RepairScratch, repair_by_probability, repair_now_cost};
use super::set_up::{InPlace, WayMemory};

/// A way of working, to be compared with the plan.
#[derive(Clone, Debug, PartialEq)]
pub enum Strategy {
    /// The measurement that separates most a minute, while some measurement saves one step ahead; then
    /// `repair_now`.
    OneStep,
    /// These measurements in this order, each left out where it tells nothing, given its best chance: before
    /// each it stops and repairs if that is cheaper than going on along the list.
    Fixed(Vec<usize>),
    /// The measurement of fewest minutes from what is in place, given its best chance in the same way.
    CheapestFirst,
    /// No measuring: repairs in the order of probability alone, escalation in its best place.
    RepairByProbability,
}

/// What a strategy comes to.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Comparison {
    /// Expected cost.
    pub cost: f64,
    /// Of that, for measuring.
    pub testing: f64,
    /// What going on could save at most on the branches cut off.
    pub cut: f64,
    /// Nodes added up.
    pub nodes: u64,
}

/// Branches less probable than this are cut off.
pub const CUTOFF: f64 = 1e-4;

/// Evaluates a strategy. Weights need not add up to 1. Cost: a node an outcome of every step, as long as the
/// branch is more probable than the cutoff.
#[must_use]
pub fn compare(
    problem: &Problem,
    weights: &[f64],
    in_place: InPlace,
    taken: &[usize],
    strategy: &Strategy,
    cutoff: f64,
) -> Comparison {
    let total: f64 = weights.iter().sum();
    if total <= 0.0 {
        return Comparison::default();
    }
    if *strategy == Strategy::RepairByProbability {
        let cost = repair_by_probability(problem, weights).cost;
        return Comparison {
            cost,
            nodes: 1,
            ..Comparison::default()
        };
    }
    let mut walk = Walk {
        problem,
        strategy,
        smallest: cutoff * total,
        ways: WayMemory::default(),
        scratch: RepairScratch::default(),
        nodes: 0,
    };
    let sum = walk.from(weights, in_place, &mut taken.to_vec());
    Comparison {
        cost: sum.cost / total,
        testing: sum.testing / total,
        cut: sum.cut / total,
        nodes: walk.nodes,
    }
}

/// Sums times the weight of the node.
#[derive(Clone, Copy, Default)]
struct Sum {
    cost: f64,
    testing: f64,
    cut: f64,
}

struct Walk<'a> {
    problem: &'a Problem,
    strategy: &'a Strategy,
    smallest: f64,
    ways: WayMemory,
    scratch: RepairScratch,
    nodes: u64,
}

impl Walk<'_> {
    fn from(&mut self, weights: &[f64], in_place: InPlace, taken: &mut Vec<usize>) -> Sum {
        self.nodes += 1;
        let problem = self.problem;
        let weight: f64 = weights.iter().sum();
        let repair = repair_now_cost(problem, weights, &mut self.scratch);
        let stop = Sum {
            cost: repair,
            ..Sum::default()
        };
        let known = known_for_nothing(problem, weights);
        if weight < self.smallest {
            return Sum {
                cut: (repair - known).max(0.0),
                ..stop
            };
        }
        // Where even the right end for nothing would not pay for a step, every strategy stops here.
        let next = match self.strategy {
            Strategy::OneStep => one_step(problem, weights, in_place, taken),
            Strategy::Fixed(order) => {
                let next = order.iter().copied().filter(|m| !taken.contains(m));
                self.first_useful(next, weights, in_place)
            }
            Strategy::CheapestFirst => {
                let mut open: Vec<(f64, usize)> = (0..problem.measurements())
                    .filter(|m| !taken.contains(m))
                    .filter_map(|m| Some((self.minutes(in_place, m)?.0, m)))
                    .collect();
                open.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
                self.first_useful(open.into_iter().map(|o| o.1), weights, in_place)
            }
            Strategy::RepairByProbability => None,
        };
        let Some((measurement, minutes, leaves)) = next else {
            return stop;
        };
        let own = minutes * problem.per_minute() * weight;
        let best_chance = *self.strategy != Strategy::OneStep;
        if best_chance && known + own >= repair {
            return stop;
        }
        let mut on = Sum {
            cost: own,
            testing: own,
            cut: 0.0,
        };
        let mut after = vec![0.0; weights.len()];
        taken.push(measurement);
        for outcome in 0..problem.outcomes(measurement) {
            if problem.after(measurement, outcome, weights, &mut after) > 0.0 {
                let then = self.from(&after, leaves, taken);
                on.cost += then.cost;
                on.testing += then.testing;
                on.cut += then.cut;
            }
        }
        taken.pop();
        if best_chance && repair <= on.cost {
            // Stopped only because branches were cut: that much might still be saved.
            return Sum {
                cut: (repair - on.cost + on.cut).clamp(0.0, on.cut),
                ..stop
            };
        }
        on
    }

    fn minutes(&mut self, in_place: InPlace, m: usize) -> Option<(f64, InPlace)> {
        let way = self
            .ways
            .cheapest(self.problem.set_ups(), in_place, self.problem.needed(m))?;
        Some((
            way.minutes + self.problem.measurement(m).minutes,
            way.leaves,
        ))
    }

    fn first_useful(
        &mut self,
        mut order: impl Iterator<Item = usize>,
        weights: &[f64],
        in_place: InPlace,
    ) -> Option<(usize, f64, InPlace)> {
        order.find_map(|m| {
            if bits(self.problem, weights, m) < FEWEST_BITS {
                return None;
            }
            let (minutes, leaves) = self.minutes(in_place, m)?;
            Some((m, minutes, leaves))
        })
    }
}

fn one_step(
    problem: &Problem,
    weights: &[f64],
    in_place: InPlace,
    taken: &[usize],
) -> Option<(usize, f64, InPlace)> {
    let list = ranking(
        problem,
        weights,
        in_place,
        taken,
        OrderBy::SeparatesPerMinute,
    );
    let first = list.first()?;
    list.iter().any(|r| r.saves > 0.0).then_some((
        first.measurement,
        first.minutes,
        first.way.leaves,
    ))
}

/// `Σ_H w_H · min(cost(H), escalation)`: the right end if the cause were known for nothing. Method §4.
#[must_use]
pub fn known_for_nothing(problem: &Problem, weights: &[f64]) -> f64 {
    let escalation = problem.escalation_cost();
    let groups = problem.groups();
    let listed: f64 = problem
        .group_of()
        .iter()
        .zip(weights)
        .map(|(&g, w)| w * groups[g].cost.min(escalation))
        .sum();
    listed
        + weights
            .get(problem.candidates())
            .map_or(0.0, |w| w * escalation)
}
