//! The ids of the older edition as the newer edition names them.

use std::collections::BTreeMap;

use super::thing::{Kind, Thing};
use crate::knowledge::{
    CauseId, ConditionId, Family, InstrumentId, Knowledge, Measurement, MeasurementId, RepairId,
    SetUpId, SymptomId,
};

/// The entries that have another id in the newer edition: the older entry, and the newer id.
///
/// The family of an entry is named as in the newer edition.
#[derive(Clone, Debug, Default)]
pub(super) struct Renames(pub(super) BTreeMap<Thing, String>);

impl Renames {
    /// What the newer edition calls an entry of the older one.
    pub(super) fn to_new(&self, kind: Kind, family: Option<&str>, name: &str) -> String {
        let renamed = self.0.get(&Thing::new(kind, family, name));
        renamed.map_or(name, String::as_str).to_owned()
    }

    /// What the older edition calls an entry of the newer one.
    pub(super) fn to_old(&self, kind: Kind, family: Option<&str>, name: &str) -> String {
        self.0
            .iter()
            .find(|(was, now)| was.kind == kind && was.family.as_deref() == family && *now == name)
            .map_or(name, |(was, _)| was.name.as_str())
            .to_owned()
    }
}

/// Both editions, and what the newer one calls otherwise.
pub(super) struct Editions<'k> {
    pub(super) old: &'k Knowledge,
    pub(super) new: &'k Knowledge,
    pub(super) renames: Renames,
}

impl<'k> Editions<'k> {
    /// The families that both editions have.
    pub(super) fn families(&self) -> impl Iterator<Item = [&'k Family; 2]> {
        self.new.families.iter().filter_map(|now| {
            let was = self.renames.to_old(Kind::Family, None, &now.name);
            Some([self.old.family(&was)?, now])
        })
    }
}

/// An index into a family: an entry of one kind.
pub(super) trait Id: Copy {
    const KIND: Kind;
    fn of(self, family: &Family) -> &str;
}

macro_rules! ids {
    ($($id:ident, $kind:ident, $get:ident;)+) => {$(
        impl Id for $id {
            const KIND: Kind = Kind::$kind;
            fn of(self, family: &Family) -> &str {
                &family.$get(self).name
            }
        }
    )+};
}

ids! {
    CauseId, Cause, cause;
    RepairId, Repair, repair;
    MeasurementId, Measurement, measurement;
    SymptomId, Symptom, symptom;
    SetUpId, SetUp, set_up;
    InstrumentId, Instrument, instrument;
    ConditionId, Condition, condition;
}

/// A family of either edition whose ids are written as the newer edition's names.
#[derive(Clone)]
pub(super) struct Named<'a> {
    pub(super) family: &'a Family,
    /// What the newer edition calls the family.
    pub(super) name: String,
    renames: &'a Renames,
}

impl<'a> Named<'a> {
    pub(super) fn new(family: &'a Family, renames: &'a Renames) -> Self {
        let name = renames.to_new(Kind::Family, None, &family.name);
        Self {
            family,
            name,
            renames,
        }
    }

    pub(super) fn name(&self, kind: Kind, name: &str) -> String {
        self.renames.to_new(kind, Some(&self.name), name)
    }

    pub(super) fn vehicle(&self, name: &str) -> String {
        self.renames.to_new(Kind::Vehicle, None, name)
    }

    pub(super) fn one<I: Id>(&self, id: I) -> String {
        self.name(I::KIND, id.of(self.family))
    }

    /// The names in the order of the ids.
    pub(super) fn all<I: Id>(&self, ids: &[I]) -> Vec<String> {
        ids.iter().map(|id| self.one(*id)).collect()
    }

    /// The names in alphabetical order, where the order of the ids says nothing.
    pub(super) fn set<I: Id>(&self, ids: &[I]) -> Vec<String> {
        sorted(self.all(ids))
    }

    /// What an outcome of a measurement is called.
    pub(super) fn outcome(&self, measurement: &Measurement, outcome: &str) -> String {
        let of = self.name(Kind::Measurement, &measurement.name);
        let name = self.name(Kind::Outcome, &format!("{of}/{outcome}"));
        name.rsplit('/').next().unwrap_or(outcome).to_owned()
    }
}

/// Names in alphabetical order.
pub(super) fn sorted(mut names: Vec<String>) -> Vec<String> {
    names.sort_unstable();
    names
}
