//! What a workshop is like, as far as it bears on a diagnosis.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::family::{Family, Recorder};
use super::ids::{MeasurementId, SetUpId};
use crate::units::Money;

/// What a workshop is like, as far as it bears on a diagnosis; a job's record keeps it. Names are those of the
/// knowledge: what one family has no name for changes nothing there.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Workshop {
    /// The equipment and the instruments that it lacks; also measurements that cannot be taken there.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lacks: Vec<String>,
    /// Money per hour of labour, where it differs from the family's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub labour_rate: Option<f64>,
    /// What its money is called.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// What it reads before anything else, in order, instead of what the complaints say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first_looks: Option<Vec<String>>,
}

impl Workshop {
    /// The measurements of a family that cannot be taken there: those of an instrument that it lacks, those with a
    /// set-up that ties up equipment it lacks, or needs such a set-up, and those that it names.
    pub fn left_out(&self, family: &Family) -> Vec<MeasurementId> {
        let lacks = |name: &str| self.lacks.iter().any(|lacking| lacking == name);
        let mut barred: BTreeSet<SetUpId> = BTreeSet::new();
        // Each round bars what needs what was barred in the round before.
        loop {
            let more = (0..family.set_ups.len()).map(SetUpId::at).filter(|id| {
                let set_up = family.set_up(*id);
                set_up.equipment.as_deref().is_some_and(lacks)
                    || set_up.needs.iter().any(|need| barred.contains(need))
            });
            let more: BTreeSet<SetUpId> = more.collect();
            if more.len() == barred.len() {
                break;
            }
            barred = more;
        }
        let all = (0..family.measurements.len()).map(MeasurementId::at);
        all.filter(|id| {
            let measurement = family.measurement(*id);
            let mut instruments = measurement.number().into_iter().flat_map(|number| {
                let takes = number.takes.iter().filter_map(|take| take.instrument);
                takes.chain(number.instrument)
            });
            lacks(&measurement.name)
                || instruments.any(|id| lacks(&family.instrument(id).name))
                || measurement
                    .set_ups
                    .iter()
                    .any(|set_up| barred.contains(set_up))
        })
        .collect()
    }

    /// Whether it says that it cannot record a drive.
    pub fn lacks_recorder(&self) -> bool {
        self.lacks.iter().any(|name| name == Recorder::NAME)
    }

    /// The equipment that it lacks and that these set-ups tie up, or that those do which they need.
    pub fn lacks_for(&self, family: &Family, set_ups: &[SetUpId]) -> Vec<String> {
        let mut needed: Vec<SetUpId> = set_ups.to_vec();
        let mut place = 0;
        while let Some(id) = needed.get(place).copied() {
            let needs = family.set_up(id).needs.iter();
            let more: Vec<SetUpId> = needs.filter(|id| !needed.contains(id)).copied().collect();
            needed.extend(more);
            place += 1;
        }
        let equipment = needed.iter();
        let equipment = equipment.filter_map(|id| family.set_up(*id).equipment.as_ref());
        let lacked: BTreeSet<&String> =
            equipment.filter(|name| self.lacks.contains(name)).collect();
        lacked.into_iter().cloned().collect()
    }

    /// What it reads before anything else in a family.
    pub fn first_looks(&self, family: &Family) -> Option<Vec<MeasurementId>> {
        let names = self.first_looks.as_ref()?.iter();
        Some(
            names
                .filter_map(|name| family.measurement_known_as(name))
                .collect(),
        )
    }

    /// Puts its labour rate in the place of a family's.
    pub fn price(&self, family: &mut Family) {
        if let Some(rate) = self.labour_rate.and_then(Money::new) {
            family.shop.labour_rate = rate;
        }
    }
}

impl Family {
    /// The names of what a workshop can lack: instruments, the equipment of set-ups, and what records a drive.
    pub fn equipment(&self) -> BTreeSet<&str> {
        let instruments = self
            .instruments
            .iter()
            .map(|instrument| instrument.name.as_str());
        let equipment = self
            .set_ups
            .iter()
            .filter_map(|set_up| set_up.equipment.as_deref());
        let recorder = self.recorder.iter().map(|_| Recorder::NAME);
        instruments.chain(equipment).chain(recorder).collect()
    }
}
