//! What the shop knows: families, causes, repairs, measurements, vehicles and cases, all checked.
//!
//! Nothing here can be misspelt any more: a name has become an index into its family. The room
//! `load` builds these from YAML.

mod case;
mod cause;
mod complaint;
mod condition;
pub mod defaults;
mod exercise;
mod family;
mod ids;
mod limit;
mod measurement;
mod order;
mod pattern;
mod signal;
mod stated;
mod symptom;
mod vehicle;
mod workshop;

use std::borrow::Cow;
use std::collections::BTreeMap;

use serde::Serialize;

pub use case::{Case, CaseReading, Claim, Expect};
pub use cause::{Cause, Repair, Verify};
pub use complaint::Listener;
pub use condition::{Condition, ConditionKind};
pub use exercise::{Exercise, Help, Level};
pub use family::{
    Accepted, Ambiguity, Entering, Escalation, Family, Figures, Id, Instrument, NamedText,
    Recorder, SetUp, Shop,
};
pub use ids::{
    CauseId, ConditionId, InstrumentId, MeasurementId, OutcomeId, RepairId, SetUpId, SignalId,
    SymptomId,
};
pub use limit::{Bound, Limit, LimitBand, LimitMissing};
pub use measurement::{
    Chance, Check, CodeMeaning, Measurement, Number, Outcome, Reading, Rest, Row, Take, Timed,
    ToldBy,
};
pub use order::{Requires, Unless};
pub use pattern::Pattern;
pub use signal::{During, EventKind, Judged, Recording, Role, Signal, Statistic};
pub use symptom::Symptom;
pub use vehicle::{SheetLimit, Vehicle};
pub use workshop::Workshop;

use crate::files::fingerprint;

/// Everything one knowledge folder holds.
#[derive(Clone, Debug)]
pub struct Knowledge {
    /// The families, by name.
    pub families: Vec<Family>,
    /// The vehicles of all families, by name.
    pub vehicles: Vec<Vehicle>,
    /// The files it was read from: the path of each in the folder, and its text.
    pub files: Vec<(String, Cow<'static, str>)>,
    /// The learned figures that were laid over it.
    pub overlay: Option<LaidOver>,
}

/// Where among the fingerprints the one of the learned figures stands that were laid over.
const OVERLAY: &str = "overlay";

/// Learned figures that were laid over those of a family.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LaidOver {
    /// The file they come from.
    pub file: String,
    /// Its fingerprint.
    pub fingerprint: String,
    /// The family.
    #[serde(skip)]
    pub family: String,
    /// The jobs they were learned from.
    pub jobs: u64,
    /// The days that the first and the last of those were closed on.
    pub dates: Option<[String; 2]>,
}

impl Knowledge {
    /// The family of a name.
    pub fn family(&self, name: &str) -> Option<&Family> {
        self.families.iter().find(|family| family.name == name)
    }

    /// The families that jobs are opened on.
    pub fn finished_families(&self) -> impl Iterator<Item = &Family> {
        self.families.iter().filter(|family| !family.unfinished)
    }

    /// The family of a name, where jobs are opened on it.
    pub fn finished_family(&self, name: &str) -> Option<&Family> {
        self.family(name).filter(|family| !family.unfinished)
    }

    /// A fingerprint of every file by its path, and of the learned figures: a job record keeps them.
    pub fn fingerprints(&self) -> BTreeMap<String, String> {
        let files = self.files.iter();
        let files = files.map(|(path, text)| (path.clone(), fingerprint(text.as_bytes())));
        let overlay = self.overlay.iter();
        let overlay = overlay.map(|overlay| (OVERLAY.to_owned(), overlay.fingerprint.clone()));
        files.chain(overlay).collect()
    }

    /// The learned figures that a family is used with.
    pub fn overlay_of(&self, family: &Family) -> Option<&LaidOver> {
        self.overlay
            .as_ref()
            .filter(|overlay| overlay.family == family.name)
    }

    /// The vehicle of a name.
    pub fn vehicle(&self, name: &str) -> Option<&Vehicle> {
        self.vehicles.iter().find(|vehicle| vehicle.name == name)
    }
}
