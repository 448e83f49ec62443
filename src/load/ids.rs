//! The ids of a folder by what they are ids of.

use std::collections::{BTreeMap, BTreeSet};

use super::code::Code;

/// What an id is the id of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "each is called what it is")]
pub enum IdKind {
    Family,
    Vehicle,
    Cause,
    Repair,
    Measurement,
    Outcome,
    Symptom,
    Shared,
    SetUp,
    Instrument,
    Condition,
    Signal,
    Caution,
    Care,
}

impl IdKind {
    /// What a schema calls it.
    pub(super) fn name(self) -> String {
        self.about().0.replace(' ', "-")
    }

    /// What it is called, where it is described, and the code of a finding about one that is not there.
    #[rustfmt::skip] // a table reads as a table
    pub(super) const fn about(self) -> (&'static str, &'static str, Code) {
        match self {
            Self::Family => ("a family", "`family:` in family.yaml", Code::UnknownFamily),
            Self::Vehicle => ("a vehicle", "`vehicle:` in a file in vehicles", Code::UnknownVehicle),
            Self::Cause => ("a cause", "`causes:` in causes.yaml", Code::UnknownCause),
            Self::Repair => ("a repair", "`repairs:` in causes.yaml", Code::UnknownRepair),
            Self::Measurement => ("a measurement", "`measurements:` in a file in measurements", Code::UnknownMeasurement),
            Self::Outcome => ("an outcome", "a measurement", Code::UnknownOutcome),
            Self::Symptom => ("a symptom", "`symptom:` in a file in trees", Code::UnknownSymptom),
            Self::Shared => ("a shared part", "`shared:` in a file in trees", Code::UnknownShared),
            Self::SetUp => ("a set-up", "`set_ups:` in family.yaml", Code::UnknownSetUp),
            Self::Instrument => ("an instrument", "`instruments:` in family.yaml", Code::UnknownInstrument),
            Self::Condition => ("a condition", "`conditions:` in family.yaml", Code::UnknownCondition),
            Self::Signal => ("a signal", "`signals:` in family.yaml", Code::UnknownSignal),
            Self::Caution => ("a caution", "`cautions:` in family.yaml", Code::UnknownCaution),
            Self::Care => ("a kind of care", "`care:` in family.yaml", Code::UnknownCare),
        }
    }
}

/// Ids by kind, each once, in order.
#[derive(Clone, Debug, Default)]
pub struct Ids(BTreeMap<IdKind, BTreeSet<String>>);

impl Ids {
    /// The ids of a kind.
    pub fn of(&self, kind: IdKind) -> impl Iterator<Item = &str> + Clone {
        self.0.get(&kind).into_iter().flatten().map(String::as_str)
    }

    /// Whether there is such an id.
    pub fn has(&self, kind: IdKind, id: &str) -> bool {
        self.0.get(&kind).is_some_and(|ids| ids.contains(id))
    }

    /// Puts in an id.
    pub(super) fn add(&mut self, kind: IdKind, id: &str) {
        self.0.entry(kind).or_default().insert(id.to_owned());
    }

    /// Puts in what other ids there are.
    pub(super) fn extend(&mut self, other: &Self) {
        for (kind, ids) in &other.0 {
            self.0.entry(*kind).or_default().extend(ids.iter().cloned());
        }
    }
}
