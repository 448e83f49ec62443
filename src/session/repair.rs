//! The repair to do: how sure, what speaks against it, what it is not told apart from, what verifies it.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::measure::SetUpAsked;
use super::recorded::said_lacking;
use crate::decide::{Advice, Repairing, Standing};
use crate::infer::counting;
use crate::knowledge::{CauseId, Family, MeasurementId, Repair};
use crate::record::State;

/// A reading speaks against a repair where it lowered its belief to less than this share.
const AGAINST: f64 = 0.8;
/// A cause that is not told apart is named while its belief is at least this share of the first's.
const NAMED_WITH: f64 = 0.1;

/// What is said where what was read leaves no way to prepare a repair.
pub const NO_WAY: &str =
    "What was read rules its usual preparation out: see the service information first.";

/// What is said where a repair comes before what would be cheapest to begin with.
pub const LIKELIER: &str =
    "Likelier to cure than what is cheapest to begin with, which costs hardly less.";

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
    /// Whether they come before what would be cheapest to begin with, since they are likelier to cure it.
    pub likelier: bool,
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
    /// The set-ups to enter before it is begun, in order, after the repairs before it; its minutes hold those of its own
    /// dismantling. None where what was read rules one of them out.
    pub prepare: Option<Vec<SetUpAsked>>,
    /// What can hurt, in its dismantling too: to be read before it is begun.
    pub cautions: Vec<String>,
    /// How it is verified.
    pub verify: String,
    /// The equipment that it takes and that is not here.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub lacks: Vec<String>,
}

/// A reading that speaks against a repair.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Against {
    /// The measurement.
    pub measurement: String,
    /// What it measures.
    pub title: String,
    /// What it read.
    pub outcome: String,
    /// What that means.
    pub words: String,
    /// How probable the repair would be without it.
    pub without: f64,
}

/// Causes that a repair's own are not told apart from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Alike {
    /// The other causes.
    pub causes: Vec<String>,
    /// What is wrong with them.
    pub titles: Vec<String>,
    /// Why they look the same.
    pub why: String,
    /// The measurements not taken yet that would tell them apart.
    pub parted_by: Vec<String>,
    /// What they measure.
    pub parted_by_titles: Vec<String>,
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
        let repairs = now.repairs.iter().map(|id| (*id, family.repair(*id)));
        let care = repairs.clone().flat_map(|(_, repair)| &repair.care);
        let care: BTreeSet<usize> = care.copied().collect();
        let care = care.iter().filter_map(|place| family.care.get(*place));
        let cautions = |repair: &Repair| {
            let set_ups = repair.set_ups.iter().map(|id| family.set_up(*id));
            let first = set_ups.flat_map(|set_up| &set_up.cautions);
            family.caution_texts(first.chain(&repair.cautions))
        };
        let look_at = standing.shown_by(now.group).into_iter();
        Self {
            repairs: repairs
                .zip(standing.ways_to(&now.repairs))
                .map(|((id, repair), way)| RepairAsked {
                    prepare: way.map(|way| SetUpAsked::along(family, &way)),
                    repair: repair.name.clone(),
                    title: repair.title.clone(),
                    minutes: family.repair_minutes(id).get(),
                    cost: family.repair_cost(id).get(),
                    cautions: cautions(repair),
                    verify: repair.verify.clone(),
                    lacks: Vec::new(),
                })
                .collect(),
            causes: family.names_of(likeliest(standing, now.group)),
            probability: now.probability,
            goes_on: now.goes_on,
            likelier: now.likelier,
            measuring_saves: match advice {
                Advice::Measure { saves, .. } if *saves > 0.0 => Some(*saves),
                _ => None,
            },
            against: against(standing, now.group),
            alike: alike(standing, now.group),
            care: care.map(|care| care.text.clone()).collect(),
            look_at: look_at
                .map(|id| Opened {
                    measurement: family.name_of(id),
                    title: family.measurement(id).title.clone(),
                })
                .collect(),
        }
    }
}

impl RepairSheet {
    /// The same with the equipment that the repairs take and that is not here.
    pub(super) fn lacking(mut self, family: &Family, state: &State) -> Self {
        let mut workshop = said_lacking(state);
        let shop = state.opened.shop.iter();
        workshop
            .lacks
            .extend(shop.flat_map(|shop| shop.lacks.clone()));
        for asked in &mut self.repairs {
            if let Some(id) = family.repair_known_as(&asked.repair) {
                asked.lacks = workshop.lacks_for(family, &family.repair(id).set_ups);
            }
        }
        self
    }
}

/// The causes of the likeliest candidate of a group, the first of equals.
pub(super) fn likeliest<'s>(standing: &'s Standing<'_, '_>, group: usize) -> &'s [CauseId] {
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
    let speaks = |place: usize| {
        let mut others = readings.clone();
        let reading = others.remove(place);
        let without = share(&model.after(others).posterior);
        let measurement = model.family.measurement(reading.measurement);
        (with < AGAINST * without).then(|| Against {
            measurement: measurement.name.clone(),
            title: measurement.title.clone(),
            outcome: measurement.outcomes[reading.outcome()].name.clone(),
            words: measurement.outcomes[reading.outcome()].words(),
            without,
        })
    };
    (0..readings.len()).filter_map(speaks).collect()
}

/// The causes that are not told apart from the group's, and what the family says of such.
fn alike(standing: &Standing<'_, '_>, group: usize) -> Vec<Alike> {
    let model = standing.model;
    let family = model.family;
    let posterior = &standing.belief.posterior;
    let candidates = standing.problem.groups()[group].candidates.iter();
    let first = candidates.clone().map(|place| posterior[*place]);
    let least = NAMED_WITH * first.fold(0.0, f64::max);
    let causes = candidates.flat_map(|place| &model.candidates[*place].causes);
    let causes: BTreeSet<CauseId> = causes.copied().collect();
    let believed: BTreeMap<CauseId, f64> = model.marginals(&standing.belief).into_iter().collect();
    let named = |cause: &&CauseId| {
        let p = believed.get(cause).copied().unwrap_or(0.0);
        !causes.contains(cause) && p >= least
    };
    let taken = |id: &MeasurementId| {
        let mut readings = standing.evidence.iter();
        readings.any(|reading| reading.measurement == *id)
    };
    let ambiguities = family.ambiguities.iter();
    ambiguities
        .filter(|ambiguity| ambiguity.causes.iter().any(|cause| causes.contains(cause)))
        .map(|ambiguity| {
            let others = ambiguity.causes.iter().filter(named);
            let parted_by = ambiguity.parted_by.iter().filter(|id| !taken(id));
            let titles = others.clone().map(|id| family.cause(*id).title.clone());
            let measured = parted_by
                .clone()
                .map(|id| family.measurement(*id).title.clone());
            Alike {
                titles: titles.collect(),
                causes: family.names_of(others),
                why: ambiguity.why.clone(),
                parted_by_titles: measured.collect(),
                parted_by: family.names_of(parted_by),
            }
        })
        .filter(|alike| !alike.causes.is_empty())
        .collect()
}
