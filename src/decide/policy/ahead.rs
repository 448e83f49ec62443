//! One step ahead: what may be done at a node, what it costs at least, at most and likely.

use super::bounds::Bounds;
use super::graph::{Choice, Node};
use super::shown::Revealing;
use crate::decide::problem::Problem;
use crate::decide::repair_now::{RepairScratch, repair_now_cost_after};

/// By which action the search goes down from a node.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Lead {
    /// The least lower bound: what the optimum might be.
    Lower,
    /// The least likely cost.
    Guess,
    /// What the best known policy does.
    Best,
    /// The most bits for the money.
    Bits,
}

pub(super) const LEADS: [Lead; 4] = [Lead::Lower, Lead::Guess, Lead::Best, Lead::Bits];

/// What may be done at a node, and then on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Act {
    /// Take a measurement.
    Measure(usize),
    /// Do what is left of the repairs of a group, and go on if that does not cure it.
    Repair(usize),
}

/// An action at a node. Costs and bounds are times the weight of the node.
#[derive(Clone, Debug)]
pub(super) struct Action {
    pub(super) act: Act,
    /// Of the act itself, set-ups included.
    pub(super) cost: f64,
    pub(super) lower: f64,
    pub(super) upper: f64,
    /// What it is likely to come to: no bound.
    pub(super) guess: f64,
    /// Bits for the money.
    pub(super) yields: f64,
    /// A node an outcome, once somebody looked further; one after a repair in vain.
    pub(super) children: Option<Box<[u32]>>,
}

/// Room for sums, used again and again.
#[derive(Clone, Debug, Default)]
pub(super) struct Room {
    pub(super) repair: RepairScratch,
    pub(super) after: Vec<f64>,
    pub(super) masses: Vec<f64>,
}

/// One step of look-ahead from a node.
pub(super) struct Ahead<'a> {
    pub(super) problem: &'a Problem,
    pub(super) bounds: &'a Bounds,
    pub(super) node: &'a Node,
    pub(super) known: f64,
    pub(super) entropy: f64,
    pub(super) bit: f64,
    /// Whether more can be read for nothing after the measurement.
    pub(super) free: bool,
}

impl Ahead<'_> {
    /// A measurement, with its cost and a floor under what it comes to.
    pub(super) fn look(
        &self,
        (measurement, cost, floor): (usize, f64, f64),
        room: &mut Room,
    ) -> Action {
        let Self {
            problem,
            bounds,
            node,
            entropy,
            bit,
            free,
            known: _,
        } = *self;
        let Room {
            repair,
            after,
            masses,
        } = room;
        after.resize(problem.weights(), 0.0);
        let mut yields = entropy;
        let (mut lower, mut upper, mut guess) = (cost, cost, cost);
        for outcome in 0..problem.outcomes(measurement) {
            let weight = problem.after(measurement, outcome, &node.weights, after);
            if weight > 0.0 {
                let now = repair_now_cost_after(problem, node.done, after, repair);
                let bits = bounds.entropy(after, weight, masses);
                let known = bounds.if_known(problem, node.done, after);
                yields -= bits;
                upper += now;
                guess += (known + bit * bits).min(now);
                lower += if free {
                    known.min(now)
                } else {
                    bounds.one_more(problem, node.done, after, weight, (now, repair.masses()))
                };
            }
        }
        Action {
            act: Act::Measure(measurement),
            cost,
            lower: lower.max(floor).min(upper),
            upper,
            guess,
            yields: yields / cost.max(f64::MIN_POSITIVE),
            children: None,
        }
    }

    /// The repairs of a group, and going on with what they show; `None` where they show nothing new, or where
    /// that cannot pay. The room holds the weights of the classes and of the groups at the node.
    pub(super) fn look_behind(
        &self,
        revealing: &Revealing,
        information: &[f64],
        room: &Room,
    ) -> Option<Action> {
        let Self {
            problem,
            bounds,
            node,
            known,
            entropy,
            bit,
            free: _,
        } = *self;
        let group = revealing.group;
        let masses = room.repair.masses();
        if masses[group] <= 0.0 || revealing.bits & !node.done == 0 {
            return None;
        }
        let cost = problem.left_of(group, node.done);
        // Whatever shares a repair with the group has at most that much less to pay; all else pays in vain.
        let mates = problem.groups()[group].neighbours.iter();
        let others = node.weight - mates.map(|&o| masses[o]).sum::<f64>();
        if known + cost * others >= node.repair {
            return None;
        }
        let shown = problem.shown(revealing.bits & !node.done);
        let given: f64 = shown.iter().map(|&m| information[m]).sum();
        let escalation = problem.escalation_cost();
        if given <= 0.0 || cost >= escalation {
            return None;
        }
        let done = node.done | revealing.bits;
        let cured: f64 = problem.cured_with(group, done).map(|o| masses[o]).sum();
        let left = node.weight - cured;
        if left <= 0.0 {
            return None;
        }
        let known_after = if problem.groups()[group].overlaps {
            let mut after = node.weights.clone();
            for o in problem.cured_with(group, done) {
                for &candidate in &problem.groups()[o].candidates {
                    after[candidate] = 0.0;
                }
            }
            bounds.if_known(problem, done, &after)
        } else {
            known - cured * cost
        };
        // Only the class of the group has lost weight.
        let class = room.masses[bounds.class_of(problem, group)];
        let terms = |x: f64| if x > 0.0 { x * x.log2() } else { 0.0 };
        let others = terms(node.weight) - entropy - terms(class);
        let entropy_after = (terms(left) - others - terms(class - cured)).max(0.0);
        let paid = node.weight * cost;
        let upper = paid + left * escalation;
        let lower =
            paid + known_after + bounds.after_repair(left, entropy_after, (&shown, information));
        if lower >= node.repair {
            return None;
        }
        let bits = given * left / node.weight;
        let guess = paid + known_after + bit * (entropy_after - bits).max(0.0);
        let wasted = paid + known_after - known;
        Some(Action {
            act: Act::Repair(group),
            cost: paid,
            lower: lower.min(upper),
            upper,
            guess: guess.min(upper),
            yields: (entropy - entropy_after + bits) / wasted.max(f64::MIN_POSITIVE),
            children: None,
        })
    }
}

/// The action that a lead goes by.
pub(super) fn pick(actions: &[Action], upper: f64, choice: Choice, lead: Lead) -> Option<usize> {
    if lead == Lead::Best
        && let Choice::Act(a) = choice
    {
        return Some(a);
    }
    let mut best: Option<(f64, usize)> = None;
    for (a, action) in actions.iter().enumerate() {
        let value = match lead {
            Lead::Lower => action.lower,
            Lead::Guess => action.guess,
            Lead::Best => action.upper,
            Lead::Bits => -action.yields,
        };
        if action.lower < upper && best.is_none_or(|b| value < b.0) {
            best = Some((value, a));
        }
    }
    best.map(|b| b.1)
}
