//! The decision problem of a model in the circumstances of a job.

use super::problem::{Foreseen, Misshapen, Parts, Problem, RepairWork};
use super::set_up::{InPlace, SetUp, SetUps};
use crate::infer::Model;
use crate::knowledge::{Family, MeasurementId, RepairId, SetUpId};
use crate::units::Minutes;

/// What is in place at this moment, and what is not to be proposed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Circumstances {
    /// The set-ups in place.
    pub in_place: Vec<SetUpId>,
    /// Measurements that are not offered: taken, skipped, or not possible here.
    pub left_out: Vec<MeasurementId>,
}

impl Circumstances {
    /// A vehicle that just came in.
    pub fn on_arrival(family: &Family) -> Self {
        Self {
            in_place: family.in_place.clone(),
            left_out: Vec::new(),
        }
    }

    /// Enters a set-up: it leaves the others of its group and ends what it ends. Its needs
    /// are not checked.
    pub fn enter(&mut self, family: &Family, entered: SetUpId) {
        let set_up = family.set_up(entered);
        self.in_place.retain(|standing| {
            let other = family.set_up(*standing);
            *standing != entered
                && !set_up.ends.contains(standing)
                && (set_up.group.is_none() || set_up.group != other.group)
        });
        self.in_place.push(entered);
        self.in_place.sort_unstable();
    }

    /// The set-ups in place, as the plan counts them.
    pub fn standing(&self) -> InPlace {
        self.in_place
            .iter()
            .fold(InPlace::default(), |in_place, set_up| {
                in_place.with(set_up.index())
            })
    }
}

/// The family's set-ups, as the plan counts them: in the family's order.
pub fn set_ups(family: &Family) -> Option<SetUps> {
    let mut groups: Vec<&str> = family
        .set_ups
        .iter()
        .filter_map(|set_up| set_up.group.as_deref())
        .collect();
    groups.sort_unstable();
    groups.dedup();
    let places = |ids: &[SetUpId]| ids.iter().map(|id| id.index()).collect();
    let listed = family
        .set_ups
        .iter()
        .map(|set_up| SetUp {
            minutes: set_up.minutes,
            group: set_up
                .group
                .as_deref()
                .and_then(|group| groups.binary_search(&group).ok()),
            needs: places(&set_up.needs),
            ends: places(&set_up.ends),
        })
        .collect();
    SetUps::new(listed)
}

/// The problem of a model: its candidates, their repairs, and every measurement that its symptoms,
/// its vehicle and the circumstances leave on offer. A candidate needs what is left of its repairs once those
/// done are left out, so that two with the same left are one group; what a repair has shown on the way needs no
/// set-up and no time any more.
///
/// # Errors
///
/// [`Misshapen`] where the knowledge is larger than the plan can weigh.
pub fn problem(model: &Model<'_>, circumstances: &Circumstances) -> Result<Problem, Misshapen> {
    let family = model.family;
    let measurements: Vec<Foreseen> = (0..family.measurements.len())
        .map(MeasurementId::at)
        .filter(|id| {
            !circumstances.left_out.contains(id)
                && family.measurement(*id).is_for(&model.complaint.present)
        })
        .filter_map(|id| {
            let table = model.foreseen(id).ok()?;
            let measurement = family.measurement(id);
            let (minutes, set_ups) = if open_to_view(model, id) {
                (Minutes::default(), &[][..])
            } else {
                (measurement.minutes, &measurement.set_ups[..])
            };
            Some(Foreseen {
                id: id.index(),
                minutes,
                needs: set_ups.iter().map(|set_up| set_up.index()).collect(),
                outcomes: table.outcomes(),
                rows: table.numbers().to_vec(),
            })
        })
        .collect();
    let done = |id: &RepairId| model.complaint.repaired.contains(id);
    let work = |id: RepairId| {
        let repair = family.repair(id);
        RepairWork {
            minutes: repair.minutes,
            parts: repair.parts,
        }
    };
    let shows = (0..family.repairs.len())
        .map(RepairId::at)
        .map(|id| {
            let place = |id: &MeasurementId| measurements.iter().position(|m| m.id == id.index());
            family.repair(id).reveals.iter().filter_map(place).collect()
        })
        .collect();
    Problem::new(Parts {
        candidates: (0..model.candidates.len())
            .map(|candidate| {
                let repairs = model.repairs(candidate).into_iter();
                let left = repairs.filter(|repair| !done(repair));
                left.map(RepairId::index).collect()
            })
            .collect(),
        repairs: (0..family.repairs.len())
            .map(RepairId::at)
            .map(work)
            .collect(),
        escalation: RepairWork {
            minutes: family.shop.escalation.minutes,
            parts: family.shop.escalation.parts,
        },
        labour_rate: family.shop.labour_rate,
        measurements,
        set_ups: set_ups(family).ok_or(Misshapen::SetUp(0))?,
        shows,
    })
}

/// Whether a repair done in vain has shown a measurement on the way.
pub(super) fn open_to_view(model: &Model<'_>, id: MeasurementId) -> bool {
    let mut repaired = model.complaint.repaired.iter();
    repaired.any(|repair| model.family.repair(*repair).reveals.contains(&id))
}
