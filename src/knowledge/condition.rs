//! What must hold for a reading to count.

use serde::Serialize;

use super::ids::{InstrumentId, SetUpId};
use super::limit::LimitBand;
use crate::units::{Minutes, Unit};

/// Something that must hold for a reading to count, asked once and then remembered.
#[derive(Clone, Debug, Serialize)]
pub struct Condition {
    /// Its id in the files.
    pub name: String,
    /// Ids it had before, by which older records may name it.
    pub formerly: Vec<String>,
    /// The question.
    pub ask: String,
    /// What holds it.
    #[serde(flatten)]
    pub kind: ConditionKind,
    /// How long an answer stays good; `None` while its set-ups stand.
    pub lasts: Option<Minutes>,
    /// Entering one of these ends it.
    pub ended_by: Vec<SetUpId>,
    /// Who says so.
    pub source: String,
}

/// What an answer to a condition looks like.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "answer")]
pub enum ConditionKind {
    /// Yes or no.
    #[serde(rename = "yes or no")]
    YesNo,
    /// A number within a band.
    #[serde(rename = "a number")]
    Number {
        /// The unit the band is in.
        unit: Unit,
        /// What reads it.
        instrument: Option<InstrumentId>,
        /// Where it must lie.
        holds: LimitBand,
    },
}
