//! What readings found by themselves, beside what the complaint is about.

use serde::Serialize;

use crate::infer::{Evidence, counting};
use crate::knowledge::{Family, RepairId};

/// A repair that a reading calls for by itself, whatever leads.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OnTheWay {
    /// The repair.
    pub repair: String,
    /// What is to be done.
    pub title: String,
    /// The causes that were found.
    pub causes: Vec<String>,
    /// The measurement that found them.
    pub measurement: String,
    /// What it read.
    pub outcome: String,
    /// What that means.
    pub words: String,
    /// The minutes of the repair.
    pub minutes: f64,
    /// The price of its parts, in the shop's currency.
    pub parts: f64,
}

/// What the readings that count found on the way and `done` has not put right, each repair once, in the order found.
pub(super) fn on_the_way(
    family: &Family,
    evidence: &[Evidence],
    done: &[RepairId],
) -> Vec<OnTheWay> {
    let mut found: Vec<OnTheWay> = Vec::new();
    for reading in counting(family, evidence) {
        let measurement = family.measurement(reading.measurement);
        let read = measurement.finds.iter();
        let read = read.filter(|(outcome, _)| outcome.index() == reading.outcome());
        for (outcome, cause) in
            read.flat_map(|(outcome, causes)| causes.iter().map(move |cause| (outcome, *cause)))
        {
            let (id, cause) = (family.cause(cause).repair, family.name_of(cause));
            let repair = family.repair(id);
            if let Some(known) = found.iter_mut().find(|known| known.repair == repair.name) {
                if !known.causes.contains(&cause) {
                    known.causes.push(cause);
                }
            } else if !done.contains(&id) {
                found.push(OnTheWay {
                    repair: repair.name.clone(),
                    title: repair.title.clone(),
                    causes: vec![cause],
                    measurement: measurement.name.clone(),
                    outcome: measurement.outcomes[outcome.index()].name.clone(),
                    words: measurement.outcomes[outcome.index()].words(),
                    minutes: repair.minutes.get(),
                    parts: repair.parts.get(),
                });
            }
        }
    }
    found
}
