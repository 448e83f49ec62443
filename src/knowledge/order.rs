//! What comes before what: rules that bind every order of work.

use serde::Serialize;

use super::ids::{MeasurementId, OutcomeId, SymptomId};
use super::stated::is_default;

/// When something is not offered.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Unless {
    /// Once the latest reading of one of these measurements is one of these outcomes.
    #[serde(skip_serializing_if = "is_default")]
    pub outcomes: Vec<(MeasurementId, Vec<OutcomeId>)>,
    /// While one of these symptoms is among the job's.
    #[serde(rename = "complaint")]
    pub symptoms: Vec<SymptomId>,
}

/// What must have been read before a repair is advised.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Requires {
    /// Each of these.
    pub all: Vec<MeasurementId>,
    /// One of these; nothing where the list is empty.
    pub any: Vec<MeasurementId>,
}

impl Requires {
    /// Whether nothing need be read.
    pub fn is_empty(&self) -> bool {
        self.all.is_empty() && self.any.is_empty()
    }
}
