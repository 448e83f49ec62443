//! Where a diagnosis is: what would cure the vehicle, what can be measured, what it took so far.

use std::collections::BTreeSet;

use serde::Serialize;

use super::at_hand::standing as standing_events;
use super::on_the_way::{OnTheWay, on_the_way};
use super::recorded::{RecordedCase, recorded_case};
use super::repair::RepairAsked;
use crate::decide::Standing;
use crate::infer::{Belief, MOST_AGAIN, Model};
use crate::knowledge::{CauseId, Family, MeasurementId, SetUpId};
use crate::record::{Event, History, Leading, State};

/// Where a diagnosis is.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Outlook {
    /// The symptoms reported.
    pub present: Vec<String>,
    /// The symptoms confirmed absent.
    pub absent: Vec<String>,
    /// The repairs that did not cure it.
    pub repaired: Vec<String>,
    /// The sets of causes that explain the complaint, the most probable first.
    pub candidates: Vec<Candidate>,
    /// The number of equally likely candidates that the belief amounts to.
    pub in_play: f64,
    /// What would cure it, the most probable first.
    pub repairs: Vec<Cure>,
    /// How probable it is that no listed cause is at work, 0 to 1.
    pub unlisted: f64,
    /// The readings that fit worst, the worst first, where the readings fit nothing well; empty where they fit.
    pub fits_badly: Vec<String>,
    /// The causes, the most probable first.
    pub causes: Vec<Suspect>,
    /// The cheapest way to end without measuring again.
    pub repair_now: RepairOrder,
    /// The measurements on offer, the best first.
    pub offers: Vec<Offer>,
    /// What readings found by themselves, whatever leads.
    pub on_the_way: Vec<OnTheWay>,
    /// The set-ups in place.
    pub in_place: Vec<String>,
    /// The minutes that the readings, set-ups and repairs so far take by the knowledge.
    pub minutes: f64,
}

/// Causes that together explain the complaint.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Candidate {
    /// The causes.
    pub causes: Vec<String>,
    /// How probable it is that they are at work, 0 to 1.
    pub posterior: f64,
    /// Whether it is still in question.
    pub live: bool,
    /// What is wrong.
    #[serde(skip)]
    pub title: String,
}

/// Repairs that would cure the vehicle together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cure {
    /// The repairs.
    pub repairs: Vec<String>,
    /// What is to be done.
    pub title: String,
    /// How probable it is that they cure it, 0 to 1.
    pub probability: f64,
}

/// A cause that may be at work.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Suspect {
    /// Its id.
    pub cause: String,
    /// How probable it is that it is at work, 0 to 1.
    pub posterior: f64,
    /// What is wrong.
    pub title: String,
}

/// The order to repair in, where nothing more is measured.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RepairOrder {
    /// What it costs on average, in the shop's currency.
    pub cost: f64,
    /// The minutes it takes on average.
    pub minutes: f64,
    /// The repairs in order.
    pub order: Vec<RepairOrderStep>,
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
    /// What is to be done.
    pub title: String,
    /// How probable it is that they cure it, 0 to 1.
    pub probability: f64,
    /// What they cost, in the shop's currency.
    pub cost: f64,
}

/// A measurement on offer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Offer {
    /// Its id.
    pub id: String,
    /// How many candidates it is expected to set apart.
    pub separates: f64,
    /// The same in bits.
    pub bits: f64,
    /// Its minutes, set-ups included.
    pub minutes: f64,
    /// What it saves one step ahead, in the shop's currency.
    pub saves: f64,
    /// The set-ups to enter, in order.
    pub set_ups: Vec<String>,
    /// What is measured.
    pub title: String,
    /// The measurements that come before it.
    pub before: Vec<String>,
    /// What they measure.
    pub before_titles: Vec<String>,
    /// The equipment that its set-ups tie up.
    pub equipment: Vec<String>,
}

/// What the last answer changed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Change {
    /// The line of the answer in the record.
    pub line: u64,
    /// To how many equally likely candidates the belief amounted before it.
    pub in_play_before: f64,
    /// The repairs whose chances it moved most, the most first.
    pub moved: Vec<Shift>,
    /// What it made unlikely: the candidates no longer in question.
    pub ruled_out: Vec<String>,
    /// The candidates that it brought back.
    pub back: Vec<String>,
}

/// How far an answer moved the chance of a repair.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Shift {
    /// What is to be done.
    pub title: String,
    /// How probable it was that it cures the vehicle, 0 to 1.
    pub before: f64,
    /// How probable it is now.
    pub after: f64,
}

impl Outlook {
    /// What is repaired next where these repairs do not cure the vehicle and nothing more is measured.
    pub fn after(&self, repairs: &[RepairAsked]) -> Option<&RepairOrderStep> {
        let same = |step: &RepairOrderStep| {
            let asked = repairs.iter().map(|asked| &asked.repair);
            step.repairs.iter().eq(asked)
        };
        self.repair_now.order.iter().find(|step| !same(step))
    }

    /// What would most probably cure the vehicle, as the record keeps it.
    pub(super) fn leading(&self) -> Option<Leading> {
        self.repairs.first().map(|cure| Leading {
            repairs: cure.repairs.clone(),
            probability: cure.probability,
        })
    }

    /// The outlook of a standing. The minutes so far are not known from it, and so are 0.
    pub fn of(standing: &Standing<'_, '_>) -> Self {
        let (model, belief) = (standing.model, &standing.belief);
        let (family, complaint) = (model.family, &model.complaint);
        let mut causes: Vec<Suspect> = model
            .marginals(belief)
            .into_iter()
            .map(|(id, posterior)| Suspect {
                cause: family.name_of(id),
                posterior,
                title: family.cause(id).title.clone(),
            })
            .collect();
        causes.sort_by(|a, b| {
            let by_name = || a.cause.cmp(&b.cause);
            b.posterior.total_cmp(&a.posterior).then_with(by_name)
        });
        let cures = standing.repairs_by_probability().into_iter();
        let in_place: Vec<SetUpId> = standing.in_place.indices().map(SetUpId::at).collect();
        Self {
            present: family.names_of(&complaint.present),
            absent: family.names_of(&complaint.absent),
            repaired: family.names_of(&complaint.repaired),
            candidates: candidates(model, belief),
            in_play: belief.in_play(),
            repairs: cures
                .map(|(repairs, probability)| Cure {
                    repairs: family.names_of(&repairs),
                    title: family.repair_titles(&repairs),
                    probability,
                })
                .collect(),
            unlisted: belief.unlisted,
            fits_badly: fits_badly(standing),
            causes,
            repair_now: RepairOrder::of(standing),
            offers: offers(standing),
            on_the_way: on_the_way(family, &standing.evidence, &complaint.repaired),
            in_place: family.names_of(&in_place),
            minutes: 0.0,
        }
    }
}

/// The readings that fit worst, where nothing fits well.
fn fits_badly(standing: &Standing<'_, '_>) -> Vec<String> {
    let worst = standing.fit.worst.iter();
    let worst = worst.filter(|_| standing.fit.is_poor()).take(MOST_AGAIN);
    let name = |(id, _): &(MeasurementId, f64)| standing.model.family.name_of(*id);
    worst.map(name).collect()
}

/// The candidates, the most probable first, then by id.
fn candidates(model: &Model<'_>, belief: &Belief) -> Vec<Candidate> {
    let family = model.family;
    let all = model.candidates.iter().enumerate();
    let mut candidates: Vec<Candidate> = all
        .map(|(place, candidate)| Candidate {
            causes: family.names_of(&candidate.causes),
            posterior: belief.posterior[place],
            live: belief.is_live(place),
            title: title_of(family, &candidate.causes),
        })
        .collect();
    candidates.sort_by(|a, b| {
        let by_name = || a.causes.cmp(&b.causes);
        b.posterior.total_cmp(&a.posterior).then_with(by_name)
    });
    candidates
}

/// What is wrong, where these causes act together.
fn title_of(family: &Family, causes: &[CauseId]) -> String {
    let titles = causes.iter().map(|id| family.cause(*id).title.as_str());
    titles.collect::<Vec<_>>().join("; and ")
}

/// The measurements on offer, in the order of the ranking.
fn offers(standing: &Standing<'_, '_>) -> Vec<Offer> {
    let family = standing.model.family;
    let ranking = standing.ranking.iter();
    ranking
        .map(|ranked| {
            let measurement = family.measurement(standing.ranked(ranked));
            let set_ups = ranked.way.order.iter();
            let before = ranked.before.iter();
            let before: Vec<MeasurementId> = before.map(|place| standing.named(*place)).collect();
            Offer {
                id: measurement.name.clone(),
                separates: ranked.separates,
                bits: ranked.bits,
                minutes: ranked.minutes,
                saves: ranked.saves,
                set_ups: set_ups
                    .map(|place| family.set_ups[*place].name.clone())
                    .collect(),
                title: measurement.title.clone(),
                before: family.names_of(&before),
                before_titles: before
                    .iter()
                    .map(|id| family.measurement(*id).title.clone())
                    .collect(),
                equipment: {
                    let entered = ranked.way.order.iter().map(|place| SetUpId::at(*place));
                    let needed = measurement.set_ups.iter().copied().chain(entered);
                    let needed = needed.map(|id| family.set_up(id));
                    let tied = needed.filter_map(|set_up| set_up.equipment.clone());
                    tied.collect::<BTreeSet<_>>().into_iter().collect()
                },
            }
        })
        .collect()
}

impl RepairOrder {
    /// The order of a standing.
    fn of(standing: &Standing<'_, '_>) -> Self {
        let now = &standing.repair_now;
        let steps = now.steps.iter().enumerate();
        Self {
            cost: now.cost,
            minutes: now.minutes,
            order: steps
                .map(|(place, step)| RepairOrderStep {
                    repairs: standing.model.family.names_of(&standing.repairs(place)),
                    title: standing
                        .model
                        .family
                        .repair_titles(&standing.repairs(place)),
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
            .filter(|place| was(*place) && is(*place))
            .map(|place| title_of(family, &model.candidates[place].causes))
            .collect()
    };
    let groups = standing.problem.groups().iter();
    let mut moved: Vec<Shift> = groups
        .map(|group| {
            let chance = |belief: &Belief| {
                let candidates = group.candidates.iter();
                candidates.map(|place| belief.posterior[*place]).sum()
            };
            Shift {
                title: standing.repair_titles(&group.repairs),
                before: chance(&before),
                after: chance(now),
            }
        })
        .collect();
    let far = |shift: &Shift| (shift.after - shift.before).abs();
    moved.retain(|shift| far(shift) >= 0.01);
    moved.sort_by(|a, b| far(b).total_cmp(&far(a)));
    Some(Change {
        line: last.line,
        in_play_before: before.in_play(),
        moved,
        ruled_out: names(&|c| before.is_live(c), &|c| !now.is_live(c)),
        back: names(&|c| !before.is_live(c), &|c| now.is_live(c)),
    })
}
