//! Worked cases: readings in, expected answer out.

use std::collections::BTreeMap;
use std::fmt;

use serde::Serialize;

use super::ids::{CauseId, MeasurementId, RepairId, SymptomId};
use super::stated::is_default;

/// A vehicle that was diagnosed, as an example and as a check.
#[derive(Clone, Debug, Serialize)]
pub struct Case {
    /// Its name: that of its file, without folder and ending.
    pub name: String,
    /// What it is about.
    pub title: String,
    /// The file it stands in, by its path in the folder.
    #[serde(skip)]
    pub file: String,
    /// The customer's words.
    pub complaint: Option<String>,
    /// The symptoms present.
    pub symptoms: Vec<SymptomId>,
    /// The symptoms confirmed absent.
    pub absent: Vec<SymptomId>,
    /// The name of the vehicle.
    pub vehicle: Option<String>,
    /// The readings in the order they were taken.
    #[serde(skip)]
    pub readings: Vec<CaseReading>,
    /// The measurements that must have been read before a repair is advised.
    #[serde(skip_serializing_if = "is_default")]
    pub not_before: Vec<(RepairId, Vec<MeasurementId>)>,
    /// The first proposal expected.
    pub first: Option<MeasurementId>,
    /// The answer.
    #[serde(skip)]
    pub expect: Expect,
    /// What was found, in words.
    pub found: Option<String>,
}

/// One reading of a case, as it would be typed.
#[derive(Clone, Debug)]
pub struct CaseReading {
    /// What was measured.
    pub measurement: MeasurementId,
    /// What was typed; empty where the raw readings were typed instead.
    pub value: String,
    /// What was typed for each raw reading of a computed number, by its name in the formula.
    pub parts: BTreeMap<String, String>,
}

/// The answer that a case expects.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Expect {
    /// The repairs to be advised, all of them.
    Repairs(Vec<RepairId>),
    /// Causes between which nothing left can tell.
    Ambiguity(Vec<CauseId>),
    /// No listed cause fits.
    Unlisted,
    /// What is stated of single causes, where a case shows a distinction and not an answer.
    Causes(Vec<(Claim, CauseId)>),
}

/// What a case states of a cause after its last reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Claim {
    /// The most probable candidate is this cause alone, or one of those listed.
    Leads,
    /// A candidate with this cause is live.
    Live,
    /// No candidate with this cause is live.
    RuledOut,
    /// The cause is more probable than before any reading.
    Raised,
    /// The cause is less probable than before any reading.
    Lowered,
}

impl fmt::Display for Claim {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Leads => "leads",
            Self::Live => "live",
            Self::RuledOut => "ruled out",
            Self::Raised => "raised",
            Self::Lowered => "lowered",
        })
    }
}
