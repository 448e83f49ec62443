//! The fault tree of a complaint, with what the readings leave of it.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use crate::fault_tree::{FaultTree, Gate, Node, NodeId};
use crate::infer::{Belief, Model};
use crate::knowledge::{CauseId, Family, RepairId, SymptomId};

/// The fault tree of a complaint.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tree {
    /// The complaint.
    pub symptom: String,
    /// What can bring it about.
    pub below: Vec<Branch>,
}

/// An event or a cause of the tree.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Branch {
    /// What it is.
    pub title: String,
    /// How many of the branches below it takes, in words; none for a cause.
    pub takes: Option<String>,
    /// What the readings leave of it.
    pub now: Likely,
    /// How probable a cause is now, from 0 to 1; none for an event.
    pub probability: Option<f64>,
    /// What brings it about.
    pub below: Vec<Branch>,
}

/// What is left of a branch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Likely {
    /// Still in question.
    InQuestion,
    /// Unlikely by the readings.
    Unlikely,
    /// Repaired, and that did not cure it.
    Repaired,
    /// Found.
    Found,
    /// The part stands higher up in the tree.
    Above,
}

/// What is left of the tree of a symptom. `found` are the causes that the job was closed with.
pub fn tree(
    model: &Model<'_>,
    belief: &Belief,
    symptom: SymptomId,
    found: &BTreeSet<CauseId>,
) -> Tree {
    let family = model.family;
    let symptom = family.symptom(symptom);
    let candidates = model.candidates.iter().enumerate();
    let live = candidates.filter(|(place, _)| belief.is_live(*place));
    let mut walk = Walk {
        family,
        tree: &symptom.tree,
        live: live
            .flat_map(|(_, candidate)| candidate.causes.clone())
            .collect(),
        likely: model.marginals(belief).into_iter().collect(),
        repaired: &model.complaint.repaired,
        found,
        seen: BTreeSet::new(),
    };
    let top = symptom.tree.top();
    let below = match symptom.tree.node(top) {
        Node::Gate { event, .. } if event.is_empty() || *event == symptom.title => walk.below(top),
        _ => walk.branches(top),
    };
    Tree {
        symptom: symptom.title.clone(),
        below,
    }
}

/// A walk down a tree.
struct Walk<'w> {
    family: &'w Family,
    tree: &'w FaultTree<CauseId>,
    live: BTreeSet<CauseId>,
    likely: BTreeMap<CauseId, f64>,
    repaired: &'w [RepairId],
    found: &'w BTreeSet<CauseId>,
    /// The parts that were walked already.
    seen: BTreeSet<NodeId>,
}

impl Walk<'_> {
    fn below(&mut self, place: NodeId) -> Vec<Branch> {
        let inputs = self.tree.inputs(place);
        inputs
            .into_iter()
            .flat_map(|input| self.branches(input))
            .collect()
    }

    fn branches(&mut self, place: NodeId) -> Vec<Branch> {
        match self.tree.node(place) {
            Node::Sometimes { .. } => self.below(place),
            Node::Leaf { cause, .. } => vec![self.cause(*cause)],
            Node::Gate { gate, event, .. } => {
                let takes = match gate {
                    Gate::Any => "any of".to_owned(),
                    Gate::All => "all of".to_owned(),
                    Gate::AtLeast(least) => {
                        format!("at least {least} of {}", self.tree.inputs(place).len())
                    }
                };
                let mut branch = Branch {
                    title: event.clone(),
                    takes: Some(takes),
                    now: Likely::Above,
                    probability: None,
                    below: Vec::new(),
                };
                if self.seen.insert(place) {
                    branch.below = self.below(place);
                    branch.now = all_of(&branch.below);
                }
                vec![branch]
            }
        }
    }

    fn cause(&self, id: CauseId) -> Branch {
        let cause = self.family.cause(id);
        let now = if self.found.contains(&id) {
            Likely::Found
        } else if self.repaired.contains(&cause.repair) {
            Likely::Repaired
        } else if self.live.contains(&id) {
            Likely::InQuestion
        } else {
            Likely::Unlikely
        };
        Branch {
            title: cause.title.clone(),
            takes: None,
            now,
            probability: Some(self.likely.get(&id).copied().unwrap_or(0.0)),
            below: Vec::new(),
        }
    }
}

/// An event is as likely as the likeliest below it. What stands higher up decides nothing here.
fn all_of(below: &[Branch]) -> Likely {
    let has = |now: Likely| below.iter().any(|branch| branch.now == now);
    [Likely::Found, Likely::InQuestion, Likely::Above]
        .into_iter()
        .find(|now| has(*now))
        .map_or(Likely::Unlikely, |now| match now {
            Likely::Above => Likely::InQuestion,
            now => now,
        })
}
