//! The ids of a folder by what they are ids of.

use std::collections::{BTreeMap, BTreeSet};

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
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Family => "a-family",
            Self::Vehicle => "a-vehicle",
            Self::Cause => "a-cause",
            Self::Repair => "a-repair",
            Self::Measurement => "a-measurement",
            Self::Outcome => "an-outcome",
            Self::Symptom => "a-symptom",
            Self::Shared => "a-shared-part",
            Self::SetUp => "a-set-up",
            Self::Instrument => "an-instrument",
            Self::Condition => "a-condition",
            Self::Signal => "a-signal",
            Self::Caution => "a-caution",
            Self::Care => "a-kind-of-care",
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
