//! Where a diagnosis is: what would cure the vehicle, what can be measured, what it took so far.

use serde::Serialize;

use super::at_hand::standing as standing_events;
use super::recorded::{RecordedCase, recorded_case};
use crate::decide::Standing;
use crate::infer::Model;
use crate::knowledge::Family;
use crate::record::{Event, History, State};

/// Where a diagnosis is.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Outlook {
    /// The symptoms reported.
    pub present: Vec<String>,
    /// The symptoms confirmed absent.
    pub absent: Vec<String>,
    /// The repairs that did not cure it.
    pub repaired: Vec<String>,
    /// How many causes can explain the complaint by themselves.
    pub single: usize,
    /// How many sets of causes can explain it only together.
    pub sets: usize,
    /// To how many equally likely candidates the belief amounts.
    pub in_play: f64,
    /// What would cure it, the most probable first.
    pub repairs: Vec<Cure>,
    /// How probable it is that no listed cause is at work.
    pub unlisted: f64,
    /// The causes, the most probable first.
    pub causes: Vec<Suspect>,
    /// The cheapest way to end without measuring again.
    pub repair_now: RepairOrder,
    /// The measurements on offer, the best first.
    pub offers: Vec<Offer>,
    /// The set-ups in place.
    pub in_place: Vec<String>,
    /// The minutes that the readings, set-ups and repairs so far take by the knowledge.
    pub minutes: f64,
}

/// Repairs that would cure the vehicle together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cure {
    /// The repairs.
    pub repairs: Vec<String>,
    /// How probable it is that they cure it.
    pub probability: f64,
}

/// A cause that may be at work.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Suspect {
    /// Its id.
    pub cause: String,
    /// What is wrong.
    pub title: String,
    /// How probable it is.
    pub probability: f64,
}

/// The order to repair in, where nothing more is measured.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RepairOrder {
    /// What it costs on average, in the shop's currency.
    pub cost: f64,
    /// The repairs in order.
    pub steps: Vec<RepairOrderStep>,
    /// How probable it is that the job is handed on in the end; none where it is repaired to the last.
    pub escalates: Option<f64>,
    /// Whether the order is the best there is, rather than by probability over cost.
    pub exact: bool,
}

/// One step of an order to repair in.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RepairOrderStep {
    /// The repairs.
    pub repairs: Vec<String>,
    /// How probable it is that they cure it.
    pub probability: f64,
    /// What they cost, in the shop's currency.
    pub cost: f64,
}

/// A measurement on offer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Offer {
    /// Its id.
    pub measurement: String,
    /// What is measured.
    pub title: String,
    /// How many candidates it is expected to set apart.
    pub separates: f64,
    /// The same in bits.
    pub bits: f64,
    /// Its minutes, set-ups included.
    pub minutes: f64,
    /// What it saves one step ahead, in the shop's currency.
    pub saves: f64,
}

/// What the last answer changed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Change {
    /// The line of the answer in the record.
    pub line: u64,
    /// To how many equally likely candidates the belief amounted before it.
    pub in_play_before: f64,
    /// The candidates that it ruled out.
    pub ruled_out: Vec<String>,
    /// The candidates that it brought back.
    pub back: Vec<String>,
}

impl Outlook {
    pub(super) fn of(standing: &Standing<'_, '_>, state: &State) -> Self {
        let model = standing.model;
        let family = model.family;
        let complaint = &model.complaint;
        let candidates = &model.candidates;
        let single = candidates
            .iter()
            .filter(|candidate| candidate.causes.len() == 1)
            .count();
        let symptom = |id: &_| family.symptom(*id).name.clone();
        let repair = |id: &_| family.repair(*id).name.clone();
        let mut causes = model.marginals(&standing.belief);
        causes.sort_by(|a, b| b.1.total_cmp(&a.1));
        Self {
            present: complaint.present.iter().map(symptom).collect(),
            absent: complaint.absent.iter().map(symptom).collect(),
            repaired: complaint.repaired.iter().map(repair).collect(),
            single,
            sets: candidates.len() - single,
            in_play: standing.belief.in_play(),
            repairs: standing
                .repairs_by_probability()
                .into_iter()
                .map(|(repairs, probability)| Cure {
                    repairs: repairs.iter().map(repair).collect(),
                    probability,
                })
                .collect(),
            unlisted: standing.belief.unlisted,
            causes: causes
                .into_iter()
                .map(|(id, probability)| Suspect {
                    cause: family.cause(id).name.clone(),
                    title: family.cause(id).title.clone(),
                    probability,
                })
                .collect(),
            repair_now: RepairOrder::of(standing),
            offers: standing
                .ranking
                .iter()
                .map(|ranked| {
                    let measurement = family.measurement(standing.ranked(ranked));
                    Offer {
                        measurement: measurement.name.clone(),
                        title: measurement.title.clone(),
                        separates: ranked.separates,
                        bits: ranked.bits,
                        minutes: ranked.minutes,
                        saves: ranked.saves,
                    }
                })
                .collect(),
            in_place: state.in_place.clone(),
            minutes: 0.0,
        }
    }
}

impl RepairOrder {
    /// The order of a standing.
    pub fn of(standing: &Standing<'_, '_>) -> Self {
        let family = standing.model.family;
        let now = &standing.repair_now;
        let steps = now.steps.iter().enumerate();
        Self {
            cost: now.cost,
            steps: steps
                .map(|(place, step)| RepairOrderStep {
                    repairs: standing
                        .repairs(place)
                        .iter()
                        .map(|id| family.repair(*id).name.clone())
                        .collect(),
                    probability: step.probability,
                    cost: step.cost,
                })
                .collect(),
            escalates: now.escalates,
            exact: now.exact,
        }
    }
}

/// What the last answer, or the last going back, changed in the belief.
pub(super) fn change(
    family: &Family,
    history: &History,
    case: &RecordedCase,
    standing: &Standing<'_, '_>,
) -> Option<Change> {
    let last = standing_events(history)
        .find(|entry| entry.event.is_answer() || matches!(entry.event, Event::Back { .. }))?;
    if !matches!(last.event, Event::Reading(_) | Event::Back { .. }) {
        return None;
    }
    let before = usize::try_from(last.line).ok()?.checked_sub(1)?;
    let before = State::of(history.entries().get(..before)?).ok()?;
    let before = recorded_case(family, &before);
    if before.complaint != case.complaint || before.evidence == case.evidence {
        return None;
    }
    let model = standing.model;
    let (before, now) = (model.update(&before.evidence), &standing.belief);
    let names = |was: &dyn Fn(usize) -> bool, is: &dyn Fn(usize) -> bool| -> Vec<String> {
        (0..model.candidates.len())
            .filter(|candidate| was(*candidate) && is(*candidate))
            .map(|candidate| candidate_name(model, candidate))
            .collect()
    };
    Some(Change {
        line: last.line,
        in_play_before: before.in_play(),
        ruled_out: names(&|c| before.is_live(c), &|c| !now.is_live(c)),
        back: names(&|c| !before.is_live(c), &|c| now.is_live(c)),
    })
}

/// The names of a candidate's causes, joined.
fn candidate_name(model: &Model<'_>, candidate: usize) -> String {
    let names: Vec<&str> = model.candidates[candidate]
        .causes
        .iter()
        .map(|cause| model.family.cause(*cause).name.as_str())
        .collect();
    names.join(" + ")
}

/// The minutes that a job took so far by the knowledge: its readings, the set-ups entered, its repairs.
pub(super) fn minutes_so_far(family: &Family, history: &History) -> f64 {
    let mut in_place: Vec<&str> = family
        .in_place
        .iter()
        .map(|id| family.set_up(*id).name.as_str())
        .collect();
    let mut minutes = 0.0;
    for entry in history.entries() {
        match &entry.event {
            Event::InPlace { set_ups } => {
                minutes += set_ups
                    .iter()
                    .filter(|name| !in_place.contains(&name.as_str()))
                    .filter_map(|name| family.set_up_known_as(name))
                    .map(|id| family.set_up(id).minutes.get())
                    .sum::<f64>();
                in_place = set_ups.iter().map(String::as_str).collect();
            }
            Event::Reading(reading) => {
                minutes += family
                    .measurement_known_as(&reading.measurement)
                    .map_or(0.0, |id| family.measurement(id).minutes.get());
            }
            Event::Repair(repair) => {
                minutes += repair
                    .repairs
                    .iter()
                    .filter_map(|name| family.repair_known_as(name))
                    .map(|id| family.repair(id).minutes.get())
                    .sum::<f64>();
            }
            _ => {}
        }
    }
    minutes
}
