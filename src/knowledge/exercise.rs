//! Exercises: a vehicle whose fault is hidden, to practise on.

use serde::Serialize;

use super::ids::{CauseId, SymptomId};

/// An exercise: a vehicle whose fault the trainee does not know.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Exercise {
    /// Its name: that of its file, without folder and ending.
    pub name: String,
    /// The complaint of the customer, in a few words.
    pub title: String,
    /// How hard it is.
    pub level: Level,
    /// The complaint.
    pub symptom: SymptomId,
    /// The name of the vehicle; none for one without a sheet.
    pub vehicle: Option<String>,
    /// The causes that are at work together; empty where what is wrong is not listed.
    pub fault: Vec<CauseId>,
    /// Whether it comes and goes; none where the knowledge's figures decide.
    pub intermittent: Option<bool>,
    /// The customer's words.
    pub customer: String,
    /// The order number.
    pub order: String,
    /// What is to be learnt from it.
    pub learn: String,
    /// What help may be asked for.
    pub help: Help,
    /// What decides, with the fault, what the vehicle reads.
    pub seed: u64,
}

/// How hard an exercise is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Level {
    /// One reading settles it.
    Easy,
    /// Several readings do.
    Medium,
    /// They mislead, or come and go.
    Hard,
}

impl Level {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Easy => "easy",
            Self::Medium => "medium",
            Self::Hard => "hard",
        }
    }
}

/// What help may be asked for in an exercise.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Help {
    /// None.
    None,
    /// Which question divides the suspects.
    Hints,
    /// That, the advice, and what is likely so far.
    #[default]
    All,
}
