//! The plan: the policy of least expected cost, searched for from both sides.
//!
//! At every point the policy repairs now or measures and goes on from the outcome; its state is what has
//! been read and what is in place. The search keeps, for every state it has seen, what the best policy known
//! from there costs and what none can undercut, opens the leaf where the two are furthest apart, and may be
//! stopped at any time. docs/method.md, "The plan".

mod ahead;
mod bounds;
mod follow;
mod graph;
mod search;
mod shown;
mod tree;

pub use follow::followed;
pub use search::{Limits, PROVEN, Progress, Stopped};
pub use tree::{Branch, Measure, PolicyNode, RepairOn, Spending};

use crate::decide::problem::Problem;
use crate::decide::set_up::InPlace;
use ahead::Act;
use graph::Choice;

/// What to do next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Take this measurement.
    Measure(usize),
    /// Do the repairs of this group, which show something, and go on if they do not cure it.
    RepairOn(usize),
    /// Measure no more.
    RepairNow,
}

/// The best policy found, and how near to the best possible it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Policy {
    /// Expected cost of everything.
    pub expected_cost: f64,
    /// Expected minutes of everything, escalation included.
    pub expected_minutes: f64,
    /// The cost by kind.
    pub spending: Spending,
    /// No policy costs less than this.
    pub lower_bound: f64,
    /// `(expected_cost − lower_bound) / expected_cost`.
    pub gap: f64,
    /// Whether the gap is zero within rounding.
    pub proven: bool,
    /// What repairing at once would cost.
    pub repair_now: f64,
    /// The first step.
    pub first: Step,
    /// The whole of it.
    pub tree: PolicyNode,
    /// Why the search ended.
    pub stopped: Stopped,
    /// Nodes opened.
    pub opened: u64,
    /// Bytes that the search took, about.
    pub bytes: usize,
}

/// The best next step that could be found in a short time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NextStep {
    /// What to do.
    pub step: Step,
    /// Expected cost of going on so, as far as the search has come: no more than this.
    pub expected_cost: f64,
    /// What repairing now would cost.
    pub repair_now: f64,
    /// No way to go on costs less.
    pub lower_bound: f64,
}

impl NextStep {
    /// What going on saves over repairing now.
    #[must_use]
    pub fn saves(&self) -> f64 {
        self.repair_now - self.expected_cost
    }
}

/// The policy of least expected cost, as near as the limits allow. `taken` are the measurements no longer
/// offered. Weights need not add up to 1; if they are all zero there is nothing to do, at no cost. For a
/// given number of opened nodes the result is always the same; a limit of time may cut the same search off
/// elsewhere.
pub fn plan(
    problem: &Problem,
    weights: &[f64],
    in_place: InPlace,
    taken: &[usize],
    limits: &Limits,
    watch: &mut dyn FnMut(&Progress),
) -> Policy {
    plan_after(problem, weights, (in_place, 0), taken, limits, watch)
}

/// As [`plan`], where the repairs of some bits have been done in vain.
pub(super) fn plan_after(
    problem: &Problem,
    weights: &[f64],
    from: (InPlace, u128),
    taken: &[usize],
    limits: &Limits,
    watch: &mut dyn FnMut(&Progress),
) -> Policy {
    let (mut graph, stopped) = search::search(problem, weights, from, taken, limits, watch);
    tree::freshen(&mut graph, 0);
    let tree = tree::policy_from(&mut graph, 0);
    let root = &graph.nodes[0];
    let weight = root.weight.max(f64::MIN_POSITIVE);
    let spending = tree.spending();
    let expected_cost = spending.cost();
    let lower_bound = (root.lower / weight).min(expected_cost);
    let gap = if expected_cost > 0.0 {
        (expected_cost - lower_bound) / expected_cost
    } else {
        0.0
    };
    let first = match &tree {
        PolicyNode::Measure(measure) => Step::Measure(measure.measurement),
        PolicyNode::RepairOn(on) => Step::RepairOn(on.group),
        PolicyNode::Repair(_) => Step::RepairNow,
    };
    Policy {
        expected_cost,
        expected_minutes: spending.minutes,
        spending,
        lower_bound,
        gap,
        proven: gap <= PROVEN,
        repair_now: root.repair / weight,
        first,
        tree,
        stopped,
        opened: graph.opened(),
        bytes: graph.bytes(),
    }
}

/// The next step after a reading, within short limits: the same search, cut off. Where it was not at its end,
/// the step is, of all that saves something, what tells most for the money, since the search is taken up again
/// after the next reading: docs/method.md, "Worked by".
#[must_use]
pub fn advise(
    problem: &Problem,
    weights: &[f64],
    in_place: InPlace,
    taken: &[usize],
    limits: &Limits,
) -> NextStep {
    let from = (in_place, 0);
    let (graph, _) = search::search(problem, weights, from, taken, limits, &mut |_| {});
    let root = &graph.nodes[0];
    let weight = root.weight.max(f64::MIN_POSITIVE);
    let (step, cost) = match (root.next_step(), &root.actions) {
        (Choice::Act(action), Some(actions)) => {
            let step = match actions[action].act {
                Act::Measure(measurement) => Step::Measure(measurement),
                Act::Repair(group) => Step::RepairOn(group),
            };
            (step, actions[action].upper)
        }
        _ => (Step::RepairNow, root.upper),
    };
    NextStep {
        step,
        expected_cost: cost / weight,
        repair_now: root.repair / weight,
        lower_bound: root.lower / weight,
    }
}
