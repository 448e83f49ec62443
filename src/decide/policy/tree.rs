//! The policy as a tree that can be walked, drawn and added up.

use super::ahead::Act;
use super::graph::{Choice, Graph, NEVER};
use crate::decide::repair_now::{RepairNow, repair_now_after};
use crate::decide::set_up::Way;

/// What the policy does, and then on from each outcome.
#[derive(Clone, Debug, PartialEq)]
pub enum PolicyNode {
    /// A measurement.
    Measure(Box<Measure>),
    /// A repair that shows something; what follows where it does not cure it.
    RepairOn(Box<RepairOn>),
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
    /// Whether a repair just done has shown it: it is read for nothing then.
    pub shown: bool,
    /// Each outcome that can come about, ascending.
    pub branches: Vec<Branch>,
}

/// Repairs of one group, done before the rest is measured since they show something on the way.
#[derive(Clone, Debug, PartialEq)]
pub struct RepairOn {
    /// The group, by index into [`crate::decide::Problem::groups`].
    pub group: usize,
    /// The repairs still to be done for it, ascending.
    pub repairs: Vec<usize>,
    /// The probability that the job ends here.
    pub probability: f64,
    /// What the repairs cost.
    pub cost: f64,
    /// Minutes of the repairs.
    pub minutes: f64,
    /// What follows where the job does not end here: first what the repairs have shown is read.
    pub then: PolicyNode,
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
            Self::RepairOn(on) => {
                let mut sum = Spending {
                    repair: on.cost,
                    minutes: on.minutes,
                    ..Spending::default()
                };
                sum.add(1.0 - on.probability, &on.then.spending());
                sum
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

    /// How many measurements and repairs to go on from the longest path takes.
    #[must_use]
    pub fn depth(&self) -> usize {
        match self {
            Self::Repair(_) => 0,
            Self::RepairOn(on) => 1 + on.then.depth(),
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
    if let Choice::Act(action) = graph.nodes[number as usize].choice {
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
    let at = number as usize;
    let ends = |graph: &Graph| {
        let node = &graph.nodes[at];
        PolicyNode::Repair(repair_now_after(graph.problem, node.done, &node.weights))
    };
    let Choice::Act(action) = graph.nodes[at].choice else {
        return ends(graph);
    };
    graph.look_further(number, action);
    let chosen = graph.nodes[at]
        .actions
        .as_ref()
        .map(|a| (a[action].act, a[action].children.clone()));
    match chosen {
        Some((Act::Measure(measurement), Some(children))) => {
            measure(graph, number, measurement, &children)
        }
        Some((Act::Repair(group), Some(children))) if children[0] != NEVER => {
            let then = policy_from(graph, children[0]);
            let (problem, node) = (graph.problem, &graph.nodes[at]);
            let bits = problem.groups()[group].bits & !node.done;
            PolicyNode::RepairOn(Box::new(RepairOn {
                group,
                repairs: problem.repairs_of(bits),
                probability: 1.0 - graph.nodes[children[0] as usize].weight / node.weight,
                cost: problem.cost_of(bits),
                minutes: problem.minutes_of(bits),
                then,
            }))
        }
        _ => ends(graph),
    }
}

/// A measurement of the best known policy, with what follows.
fn measure(graph: &mut Graph, number: u32, measurement: usize, children: &[u32]) -> PolicyNode {
    let at = number as usize;
    let problem = graph.problem;
    let shown = graph.is_to_view(number, measurement);
    let node = &graph.nodes[at];
    let weight = node.weight;
    let way = if shown {
        Way {
            leaves: node.in_place,
            ..Way::default()
        }
    } else {
        let needed = problem.needed(measurement);
        let set_ups = problem.set_ups();
        set_ups.cheapest(node.in_place, needed).unwrap_or_default()
    };
    let own = if shown {
        0.0
    } else {
        problem.measurement(measurement).minutes
    };
    let minutes = way.minutes + own;
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
        shown,
        branches,
    }))
}
