//! The repair to do: how sure, what speaks against it, what it is not told apart from, what verifies it.

use serde::Serialize;

use crate::decide::{Advice, Repairing, Standing};
use crate::infer::counting;
use crate::knowledge::CauseId;

/// A reading speaks against a repair where it lowered its belief to less than this share.
const AGAINST: f64 = 0.8;
/// A cause that is not told apart is named while its belief is at least this share of the first's.
const NAMED_WITH: f64 = 0.1;

/// A repair to do now.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RepairSheet {
    /// The repairs, to be done together.
    pub repairs: Vec<RepairAsked>,
    /// The causes they are done for, which act together.
    pub causes: Vec<String>,
    /// How probable it is that they cure the vehicle.
    pub probability: f64,
    /// Whether what they show on the way decides how to go on, rather than to repair to the end.
    pub goes_on: bool,
    /// What measuring on would save on average, in the shop's currency, where the technician chose to repair.
    pub measuring_saves: Option<f64>,
    /// The readings that speak against it.
    pub against: Vec<Against>,
    /// The causes that it is not told apart from.
    pub alike: Vec<Alike>,
    /// What the repairs ask care for.
    pub care: Vec<String>,
    /// The measurements to take while the repair has them open.
    pub look_at: Vec<Opened>,
    /// What stands on every screen that starts work.
    pub notice: String,
}

/// A repair.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RepairAsked {
    /// Its id.
    pub repair: String,
    /// What is to be done.
    pub title: String,
    /// The minutes it takes.
    pub minutes: f64,
    /// What it costs with parts, in the shop's currency.
    pub cost: f64,
    /// How it is verified.
    pub verify: String,
}

/// A reading that speaks against a repair.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Against {
    /// The measurement.
    pub measurement: String,
    /// What it read.
    pub outcome: String,
    /// How probable the repair would be without it.
    pub without: f64,
}

/// Causes that a repair's own are not told apart from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Alike {
    /// The other causes.
    pub causes: Vec<String>,
    /// Why they look the same.
    pub why: String,
    /// The measurements not taken yet that would tell them apart.
    pub parted_by: Vec<String>,
}

/// A measurement that a repair opens.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Opened {
    /// Its id.
    pub measurement: String,
    /// What is measured.
    pub title: String,
}

impl RepairSheet {
    /// The sheet of the repairs to do now. `advice` is what is advised, which need not be to repair.
    pub fn of(standing: &Standing<'_, '_>, now: &Repairing, advice: &Advice) -> Self {
        let family = standing.model.family;
        let mut care: Vec<usize> = now
            .repairs
            .iter()
            .flat_map(|repair| family.repair(*repair).care.iter().copied())
            .collect();
        care.sort_unstable();
        care.dedup();
        Self {
            repairs: now
                .repairs
                .iter()
                .map(|id| {
                    let repair = family.repair(*id);
                    RepairAsked {
                        repair: repair.name.clone(),
                        title: repair.title.clone(),
                        minutes: repair.minutes.get(),
                        cost: family.repair_cost(*id).get(),
                        verify: repair.verify.clone(),
                    }
                })
                .collect(),
            causes: family.names_of(likeliest(standing, now.group)),
            probability: now.probability,
            goes_on: now.goes_on,
            measuring_saves: match advice {
                Advice::Measure { saves, .. } => Some(*saves),
                _ => None,
            },
            against: against(standing, now.group),
            alike: alike(standing, now.group),
            care: care
                .into_iter()
                .filter_map(|place| family.care.get(place))
                .map(|care| care.text.clone())
                .collect(),
            look_at: standing
                .shown_by(now.group)
                .into_iter()
                .map(|id| family.measurement(id))
                .map(|measurement| Opened {
                    measurement: measurement.name.clone(),
                    title: measurement.title.clone(),
                })
                .collect(),
            notice: family.notice.clone(),
        }
    }
}

/// The causes of the likeliest candidate of a group, the first of equals.
fn likeliest<'s>(standing: &'s Standing<'_, '_>, group: usize) -> &'s [CauseId] {
    let posterior = &standing.belief.posterior;
    standing.problem.groups()[group]
        .candidates
        .iter()
        .min_by(|one, other| posterior[**other].total_cmp(&posterior[**one]))
        .map_or(&[], |candidate| {
            &standing.model.candidates[*candidate].causes
        })
}

/// The readings that speak against a group: each lowered the belief in it.
fn against(standing: &Standing<'_, '_>, group: usize) -> Vec<Against> {
    let model = standing.model;
    let candidates = &standing.problem.groups()[group].candidates;
    let share = |posterior: &[f64]| -> f64 {
        let shares = candidates.iter().map(|candidate| posterior[*candidate]);
        shares.sum()
    };
    let with = share(&standing.belief.posterior);
    let readings = counting(model.family, &standing.evidence);
    let all = readings.iter().enumerate();
    all.filter_map(|(place, reading)| {
        let others = readings.iter().enumerate();
        let others = others.filter(|(other, _)| *other != place);
        let without = share(&model.after(others.map(|(_, other)| *other)).posterior);
        let measurement = model.family.measurement(reading.measurement);
        (with < AGAINST * without).then(|| Against {
            measurement: measurement.name.clone(),
            outcome: measurement.outcomes[reading.outcome()].name.clone(),
            without,
        })
    })
    .collect()
}

/// The causes that are not told apart from the group's, and what the family says of such.
fn alike(standing: &Standing<'_, '_>, group: usize) -> Vec<Alike> {
    let model = standing.model;
    let family = model.family;
    let first = &standing.problem.groups()[group].candidates;
    let leading = first
        .iter()
        .map(|candidate| standing.belief.posterior[*candidate])
        .fold(0.0, f64::max);
    let causes: Vec<CauseId> = first
        .iter()
        .flat_map(|candidate| model.candidates[*candidate].causes.iter().copied())
        .collect();
    let believed = model.marginals(&standing.belief);
    let believed = |cause: CauseId| {
        let found = believed.iter().find(|(id, _)| *id == cause);
        found.map_or(0.0, |(_, p)| *p)
    };
    let taken = |id| {
        standing
            .evidence
            .iter()
            .any(|reading| reading.measurement == id)
    };
    family
        .ambiguities
        .iter()
        .filter(|ambiguity| ambiguity.causes.iter().any(|cause| causes.contains(cause)))
        .map(|ambiguity| Alike {
            causes: ambiguity
                .causes
                .iter()
                .filter(|cause| {
                    !causes.contains(cause) && believed(**cause) >= NAMED_WITH * leading
                })
                .map(|cause| family.name_of(*cause))
                .collect(),
            why: ambiguity.why.clone(),
            parted_by: ambiguity
                .parted_by
                .iter()
                .filter(|id| !taken(**id))
                .map(|id| family.name_of(*id))
                .collect(),
        })
        .filter(|alike| !alike.causes.is_empty())
        .collect()
}
