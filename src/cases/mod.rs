//! The worked cases of a family, played again: readings in, and whether the expected answer comes out.
//!
//! A run keeps names, not ids, so that the runs of two versions of a family can be compared.

mod fault;
mod finding;
mod reading;
mod run;

use serde::Serialize;

pub use fault::Fault;
pub use finding::findings;
pub use run::{FIRST, run};

/// A worked case as it came out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CaseRun {
    /// The family, by its name.
    pub family: String,
    /// The file of the case, by its path in the folder.
    pub file: String,
    /// What the case is about.
    pub title: String,
    /// The answer that it expects.
    pub expected: Expected,
    /// The first proposal that it expects, where it states one.
    pub expected_first: Option<String>,
    /// The answer after its last reading; `None` where it could not be played so far.
    pub answer: Option<Answer>,
    /// The first proposal, where the case states one.
    pub first: Option<Proposal>,
    /// The belief before any reading, then after each.
    pub chain: Vec<Stage>,
    /// The stage whose reading took most from the expected answer, by its odds; `None` where none did.
    pub lost_most: Option<usize>,
    /// What is not as expected.
    pub faults: Vec<Fault>,
}

impl CaseRun {
    /// Whether the case comes out as expected.
    #[must_use]
    pub fn passes(&self) -> bool {
        self.faults.is_empty()
    }
}

/// The answer that a case expects, in names.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Expected {
    /// These repairs together lead.
    Repairs(Vec<String>),
    /// These causes lead, and nothing tells which.
    Ambiguity(Vec<String>),
    /// No listed cause is believed as much as the unlisted one.
    Unlisted,
}

/// Where a case stands after its last reading.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answer {
    /// The repairs that would cure the vehicle, the most probable first.
    pub repairs: Vec<Believed>,
    /// The causes, the most believed first.
    pub causes: Vec<Believed>,
    /// The belief in the unlisted cause.
    pub unlisted: f64,
    /// Whether no listed candidate is believed as much as the unlisted cause.
    pub nothing_fits: bool,
}

/// Something believed: a set of repairs done together, or one cause.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Believed {
    /// Its names.
    pub names: Vec<String>,
    /// How probable it is.
    pub probability: f64,
}

/// What is proposed before any reading.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Proposal {
    /// Take this measurement.
    Measure(String),
    /// Repair at once, in this order.
    Repair(Vec<String>),
    /// Hand the job on.
    Escalate,
}

/// A stage of a case: a reading, and the belief after it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stage {
    /// What was read; `None` before any reading.
    pub reading: Option<Read>,
    /// The leading repairs, the most probable first.
    pub leading: Vec<Believed>,
    /// The belief in the expected answer.
    pub expected: f64,
    /// The belief in the unlisted cause.
    pub unlisted: f64,
}

/// A reading of a case.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Read {
    /// What was measured.
    pub measurement: String,
    /// What was typed.
    pub typed: String,
    /// The outcome that it means most.
    pub outcome: String,
}
