//! Complaints: the top events of the fault trees.

use serde::Serialize;

use super::ids::{CauseId, MeasurementId};
use super::pattern::Pattern;
use crate::fault_tree::FaultTree;

/// A complaint, with the tree of what brings it about.
#[derive(Clone, Debug, Serialize)]
pub struct Symptom {
    /// Its id in the files.
    pub name: String,
    /// Ids it had before, by which older records may name it.
    pub formerly: Vec<String>,
    /// The top event, in the trade's words.
    pub title: String,
    /// Patterns for the customer's words.
    pub complaints: Vec<Pattern>,
    /// Customers' wordings that must be recognised.
    pub examples: Vec<String>,
    /// The measurements taken before any other, in this order.
    pub first_looks: Vec<MeasurementId>,
    /// What brings it about.
    #[serde(skip)]
    pub tree: FaultTree<CauseId>,
}

impl Symptom {
    /// How many of the symptom's patterns the words match.
    pub fn matches(&self, words: &str) -> usize {
        self.complaints
            .iter()
            .filter(|complaint| complaint.find(words).is_some())
            .count()
    }
}
