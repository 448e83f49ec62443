//! The names of one edition's family, as the newer edition calls them.

use std::collections::BTreeMap;

use super::thing::Kind;
use crate::knowledge::{
    CauseId, ConditionId, Family, InstrumentId, Measurement, MeasurementId, RepairId, SetUpId,
    SymptomId,
};

/// What is called otherwise in the newer edition.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Renames {
    to_new: BTreeMap<(Kind, String), String>,
    to_old: BTreeMap<(Kind, String), String>,
}

impl Renames {
    pub(super) fn insert(&mut self, kind: Kind, old: &str, new: &str) {
        self.to_new.insert((kind, old.to_owned()), new.to_owned());
        self.to_old.insert((kind, new.to_owned()), old.to_owned());
    }

    /// What a name of the older edition is called in the newer.
    pub(super) fn to_new<'n>(&'n self, kind: Kind, name: &'n str) -> &'n str {
        self.to_new
            .get(&(kind, name.to_owned()))
            .map_or(name, String::as_str)
    }

    /// What a name of the newer edition is called in the older.
    pub(super) fn to_old<'n>(&'n self, kind: Kind, name: &'n str) -> &'n str {
        self.to_old
            .get(&(kind, name.to_owned()))
            .map_or(name, String::as_str)
    }

    /// Every rename: kind, old name, new name.
    pub(super) fn all(&self) -> impl Iterator<Item = (Kind, &str, &str)> {
        self.to_new
            .iter()
            .map(|((kind, old), new)| (*kind, old.as_str(), new.as_str()))
    }
}

/// The name of an outcome in a table of renames.
pub(super) fn outcome_key(measurement: &str, outcome: &str) -> String {
    format!("{measurement}/{outcome}")
}

/// A family whose ids are told as the newer edition's names.
#[derive(Clone, Copy)]
pub(super) struct Named<'a> {
    pub(super) family: &'a Family,
    pub(super) renames: &'a Renames,
}

impl Named<'_> {
    pub(super) fn name(self, kind: Kind, name: &str) -> String {
        self.renames.to_new(kind, name).to_owned()
    }

    pub(super) fn cause(self, id: CauseId) -> String {
        self.name(Kind::Cause, &self.family.cause(id).name)
    }

    pub(super) fn repair(self, id: RepairId) -> String {
        self.name(Kind::Repair, &self.family.repair(id).name)
    }

    pub(super) fn measurement(self, id: MeasurementId) -> String {
        self.name(Kind::Measurement, &self.family.measurement(id).name)
    }

    pub(super) fn measurements(self, ids: &[MeasurementId]) -> Vec<String> {
        ids.iter().map(|id| self.measurement(*id)).collect()
    }

    pub(super) fn set_ups(self, ids: &[SetUpId]) -> Vec<String> {
        ids.iter()
            .map(|id| self.name(Kind::SetUp, &self.family.set_up(*id).name))
            .collect()
    }

    pub(super) fn symptoms(self, ids: &[SymptomId]) -> Vec<String> {
        ids.iter()
            .map(|id| self.name(Kind::Symptom, &self.family.symptom(*id).name))
            .collect()
    }

    pub(super) fn conditions(self, ids: &[ConditionId]) -> Vec<String> {
        ids.iter()
            .map(|id| self.name(Kind::Condition, &self.family.condition(*id).name))
            .collect()
    }

    pub(super) fn instrument(self, id: InstrumentId) -> String {
        self.name(Kind::Instrument, &self.family.instrument(id).name)
    }

    pub(super) fn cautions(self, places: &[usize]) -> Vec<String> {
        places
            .iter()
            .filter_map(|place| self.family.cautions.get(*place))
            .map(|caution| self.name(Kind::Caution, &caution.name))
            .collect()
    }

    pub(super) fn care(self, places: &[usize]) -> Vec<String> {
        places
            .iter()
            .filter_map(|place| self.family.care.get(*place))
            .map(|care| self.name(Kind::Care, &care.name))
            .collect()
    }

    /// What an outcome of a measurement is called: the name itself where it is none of its outcomes.
    pub(super) fn outcome(self, measurement: &Measurement, outcome: &str) -> String {
        let key = outcome_key(&measurement.name, outcome);
        match self.renames.to_new(Kind::Outcome, &key) {
            same if same == key => outcome.to_owned(),
            renamed => renamed
                .rsplit_once('/')
                .map_or(outcome, |(_, name)| name)
                .to_owned(),
        }
    }
}
