//! The policy as a tree that can be walked, drawn and added up.

use super::graph::{Choice, Graph, NEVER};
use crate::plan::repair_now::{RepairNow, repair_now};
use crate::plan::set_up::Way;

/// What the policy does, and then on from each outcome.
#[derive(Clone, Debug, PartialEq)]
pub enum PolicyNode {
    /// A measurement.
    Measure(Box<Measure>),
    /// No more measuring: repair in this order.
    Repair(RepairNow),
}

/// A measurement of the policy.
#[derive(Clone, Debug, PartialEq)]
pub struct Measure {
    /// The measurement, by index.
    pub measurement: usize,
    /// The set-ups entered before it.
    pub way: Way,
    /// Minutes of set-ups and measurement.
    pub minutes: f64,
    /// What those minutes cost.
    pub cost: f64,
    /// Each outcome that can come about, ascending.
    pub branches: Vec<Branch>,
}

/// An outcome and what the policy does then.
#[derive(Clone, Debug, PartialEq)]
pub struct Branch {
    /// The outcome, by index.
    pub outcome: usize,
    /// Its probability once the measurement is taken.
    pub probability: f64,
    /// What follows.
    pub then: PolicyNode,
}

/// What a policy is expected to come to from a node on.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spending {
    /// Cost of measuring.
    pub testing: f64,
    /// Cost of repairs.
    pub repair: f64,
    /// Cost of escalation.
    pub escalation: f64,
    /// Minutes of all.
    pub minutes: f64,
}

impl Spending {
    /// The sum of the three costs.
    #[must_use]
    pub fn cost(&self) -> f64 {
        self.testing + self.repair + self.escalation
    }

    fn add(&mut self, share: f64, other: &Self) {
        self.testing += share * other.testing;
        self.repair += share * other.repair;
        self.escalation += share * other.escalation;
        self.minutes += share * other.minutes;
    }
}

impl PolicyNode {
    /// Expected spending from here on, added up branch by branch.
    #[must_use]
    pub fn spending(&self) -> Spending {
        match self {
            Self::Repair(repair) => {
                let repairs = repair.steps.iter().map(|s| s.reached * s.cost).sum::<f64>() + 0.0;
                let escalation = (repair.cost - repairs).max(0.0);
                Spending {
                    testing: 0.0,
                    repair: repairs,
                    escalation: if repair.escalates.is_some() {
                        escalation
                    } else {
                        0.0
                    },
                    minutes: repair.minutes,
                }
            }
            Self::Measure(measure) => {
                let mut sum = Spending {
                    testing: measure.cost,
                    minutes: measure.minutes,
                    ..Spending::default()
                };
                for branch in &measure.branches {
                    sum.add(branch.probability, &branch.then.spending());
                }
                sum
            }
        }
    }

    /// How many measurements the longest path takes.
    #[must_use]
    pub fn depth(&self) -> usize {
        match self {
            Self::Repair(_) => 0,
            Self::Measure(measure) => {
                1 + measure
                    .branches
                    .iter()
                    .map(|b| b.then.depth())
                    .max()
                    .unwrap_or(0)
            }
        }
    }
}

/// Brings the best known policy up to date, deepest nodes first.
pub(super) fn freshen(graph: &mut Graph, number: u32) {
    if let Choice::Measure(action) = graph.nodes[number as usize].choice {
        for child in children(graph, number, action) {
            freshen(graph, child);
        }
        graph.settle(number);
    }
}

fn children(graph: &Graph, number: u32, action: usize) -> Vec<u32> {
    let actions = graph.nodes[number as usize].actions.as_ref();
    let children = actions
        .and_then(|a| a[action].children.as_deref())
        .unwrap_or(&[]);
    children.iter().copied().filter(|&c| c != NEVER).collect()
}

/// The best known policy from a node on.
pub(super) fn policy_from(graph: &mut Graph, number: u32) -> PolicyNode {
    let Choice::Measure(action) = graph.nodes[number as usize].choice else {
        return PolicyNode::Repair(repair_now(
            graph.problem,
            &graph.nodes[number as usize].weights,
        ));
    };
    graph.look_further(number, action);
    let node = &graph.nodes[number as usize];
    let weight = node.weight;
    let chosen = node
        .actions
        .as_ref()
        .map(|a| (a[action].measurement, a[action].children.clone()));
    let Some((measurement, Some(children))) = chosen else {
        return PolicyNode::Repair(repair_now(graph.problem, &node.weights));
    };
    let problem = graph.problem;
    let way = problem
        .set_ups()
        .cheapest(node.in_place, problem.needed(measurement))
        .unwrap_or_default();
    let minutes = way.minutes + problem.measurement(measurement).minutes;
    let mut branches = Vec::with_capacity(children.len());
    for (outcome, &child) in children.iter().enumerate() {
        if child != NEVER {
            let probability = graph.nodes[child as usize].weight / weight;
            branches.push(Branch {
                outcome,
                probability,
                then: policy_from(graph, child),
            });
        }
    }
    let cost = minutes * problem.per_minute();
    PolicyNode::Measure(Box::new(Measure {
        measurement,
        way,
        minutes,
        cost,
        branches,
    }))
}
