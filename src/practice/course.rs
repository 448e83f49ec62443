//! What a trainee did, step by step: what it took, what it told, what would have told more.

use super::play::Practice;
use crate::decide::{Circumstances, InPlace, OrderBy, Standing, set_ups};
use crate::infer::{Belief, Model};
use crate::knowledge::{MeasurementId, RepairId, SetUpId};
use crate::record::{Event, History, Mark, State};
use crate::session::{RecordedCase, recorded_case};

/// Another measurement would have told more for the time where it sets this many times as much apart a minute.
const TELLS_MORE: f64 = 1.5;
/// The answer is certain from this belief in the right repairs on.
const CERTAIN: f64 = 0.95;

/// What was done.
#[derive(Clone, Debug, PartialEq)]
pub enum What {
    /// A measurement was taken.
    Read(MeasurementId),
    /// A repair was done; whether the complaint is gone.
    Repaired(RepairId, bool),
    /// The job was handed on.
    HandedOn,
}

/// Something that was done, and what came of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What was done.
    pub what: What,
    /// What it was, in words.
    pub title: String,
    /// What it read, in words; empty for a repair.
    pub read: String,
    /// The minutes it took, set-ups included.
    pub minutes: f64,
    /// What it cost, in the shop's currency.
    pub cost: f64,
    /// How many suspects there were before it,
    pub before: usize,
    /// and after it.
    pub after: usize,
    /// Whether it could tell anything at all.
    pub tells: bool,
    /// Whether the reading counts.
    pub counts: bool,
    /// What would have told more for the time: its title and its minutes.
    pub better: Option<(String, f64)>,
    /// The rules broken on the way to it.
    pub marks: Vec<Mark>,
    /// How probable the right repairs are after it, 0 to 1; 0 where the fault is not listed.
    pub right: f64,
}

/// A job of practice so far.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Course {
    /// The steps.
    pub steps: Vec<Step>,
    /// The minutes of it all.
    pub minutes: f64,
    /// What it all cost, in the shop's currency.
    pub cost: f64,
    /// How often each kind of help was asked for: hints, advice, suspects.
    pub helps: [usize; 3],
    /// How many entries of the record are counted already.
    seen: usize,
    /// What is known of the measurement that was chosen.
    chosen: Option<Chosen>,
    marks: Vec<Mark>,
}

/// A measurement that was chosen, seen from before its set-ups were entered.
#[derive(Clone, Debug, PartialEq)]
struct Chosen {
    minutes: f64,
    cost: f64,
    tells: bool,
    better: Option<(String, f64)>,
}

impl Course {
    /// The whole course of a record.
    pub fn of(practice: &Practice<'_>, history: &History) -> Self {
        let mut course = Self::default();
        course.follow(practice, history);
        course
    }

    /// Counts what was recorded since the last time.
    pub fn follow(&mut self, practice: &Practice<'_>, history: &History) {
        let entries = history.entries();
        while let Some(entry) = entries.get(self.seen) {
            let before = &entries[..self.seen];
            self.seen += 1;
            let case = || {
                let state = State::of(before).unwrap_or_default();
                recorded_case(practice.family, &state)
            };
            match &entry.event {
                Event::Marked { mark, about } => {
                    self.marked(practice, *mark, about.as_deref(), case);
                }
                Event::TakenUp { measurement, .. } => {
                    let id = practice.family.measurement_known_as(measurement);
                    self.chosen = id.and_then(|id| chosen(practice, &case(), id));
                }
                Event::Reading(reading) => {
                    if let Some(id) = practice.family.measurement_known_as(&reading.measurement) {
                        let measurement = practice.family.measurement(id);
                        let outcome = measurement.outcome(&reading.outcome);
                        let words = outcome.map(|id| measurement.outcomes[id.index()].words());
                        let value = reading.value.is_some().then(|| reading.raw.clone());
                        let chosen = self.chosen.take();
                        let (was, is) = (case(), State::of(&entries[..self.seen]));
                        let is = is.map(|state| recorded_case(practice.family, &state));
                        let now = is.unwrap_or_else(|_| was.clone());
                        let of = chosen.unwrap_or(Chosen {
                            minutes: 0.0,
                            cost: 0.0,
                            tells: false,
                            better: None,
                        });
                        self.step(
                            practice,
                            &was,
                            &now,
                            Step {
                                what: What::Read(id),
                                title: measurement.title.clone(),
                                read: value.or(words).unwrap_or_default(),
                                minutes: of.minutes,
                                cost: of.cost,
                                tells: of.tells,
                                counts: reading.counts,
                                better: of.better,
                                ..Step::empty()
                            },
                        );
                    }
                }
                Event::Repair(repair) => {
                    let names = repair.repairs.iter();
                    let ids = names.filter_map(|name| practice.family.repair_known_as(name));
                    for id in ids {
                        let was = case();
                        let mut now = was.clone();
                        now.complaint.repaired.push(id);
                        let of = practice.family.repair(id);
                        let gone = practice.hidden.is_cured_by(&now.complaint.repaired);
                        self.step(
                            practice,
                            &was,
                            &now,
                            Step {
                                what: What::Repaired(id, gone),
                                title: of.title.clone(),
                                minutes: practice.family.repair_minutes(id).get(),
                                cost: practice.family.repair_cost(id).get(),
                                ..Step::empty()
                            },
                        );
                    }
                }
                _ => {}
            }
        }
    }

    fn marked(
        &mut self,
        practice: &Practice<'_>,
        mark: Mark,
        about: Option<&str>,
        case: impl Fn() -> RecordedCase,
    ) {
        let family = practice.family;
        match mark {
            Mark::Hint => self.helps[0] += 1,
            Mark::Advice => self.helps[1] += 1,
            Mark::Suspects => self.helps[2] += 1,
            Mark::Prepared => {
                if let Some(id) = about.and_then(|name| family.set_up_known_as(name)) {
                    self.prepared(practice, &case().circumstances, id);
                }
            }
            Mark::HandedOn => {
                let (was, escalation) = (case(), &family.shop.escalation);
                self.step(
                    practice,
                    &was,
                    &was,
                    Step {
                        what: What::HandedOn,
                        title: "Handed on".to_owned(),
                        minutes: escalation.minutes.get(),
                        cost: family.escalation_cost().get(),
                        ..Step::empty()
                    },
                );
            }
            Mark::Unsafe | Mark::OutOfOrder | Mark::OutOfCondition | Mark::Unproved => {
                self.marks.push(mark);
            }
        }
    }

    /// A set-up that was entered by itself.
    fn prepared(&mut self, practice: &Practice<'_>, now: &Circumstances, id: SetUpId) {
        let needed = InPlace::default().with(id.index());
        let listed = set_ups(practice.family);
        let way = listed.and_then(|all| all.cheapest(now.standing(), needed, InPlace::NOTHING));
        if let Some(way) = way {
            self.minutes += way.minutes;
            self.cost += way.cost;
        }
    }

    fn step(
        &mut self,
        practice: &Practice<'_>,
        was: &RecordedCase,
        now: &RecordedCase,
        step: Step,
    ) {
        self.minutes += step.minutes;
        self.cost += step.cost;
        let (before, _) = suspects(practice, was);
        let (after, right) = suspects(practice, now);
        self.steps.push(Step {
            before,
            after,
            right,
            marks: std::mem::take(&mut self.marks),
            ..step
        });
    }

    /// How many readings were taken.
    pub fn readings(&self) -> usize {
        let steps = self.steps.iter();
        steps
            .filter(|step| matches!(step.what, What::Read(_)))
            .count()
    }

    /// How many repairs did not cure it.
    pub fn wrong(&self, practice: &Practice<'_>) -> usize {
        let cure = practice.hidden.cure().unwrap_or_default();
        let steps = self.steps.iter();
        let wrong =
            |step: &&Step| matches!(&step.what, What::Repaired(id, _) if !cure.contains(id));
        steps.filter(wrong).count()
    }

    /// After which step, from 1, the answer was certain; none where it never was.
    pub fn certain(&self) -> Option<usize> {
        let place = self.steps.iter().position(|step| step.right >= CERTAIN)?;
        Some(place + 1)
    }

    /// How often something dangerous was done.
    pub fn unsafe_marks(&self) -> usize {
        let marks = self.steps.iter().flat_map(|step| &step.marks);
        let marks = marks.chain(&self.marks);
        marks.filter(|mark| **mark == Mark::Unsafe).count()
    }
}

impl Step {
    /// Nothing done yet.
    fn empty() -> Self {
        Self {
            what: What::HandedOn,
            title: String::new(),
            read: String::new(),
            minutes: 0.0,
            cost: 0.0,
            before: 0,
            after: 0,
            tells: true,
            counts: true,
            better: None,
            marks: Vec::new(),
            right: 0.0,
        }
    }
}

/// What a measurement takes from here, and whether another tells more for the time.
fn chosen(practice: &Practice<'_>, case: &RecordedCase, id: MeasurementId) -> Option<Chosen> {
    let complaint = practice.complaint(&case.complaint.repaired);
    let model = Model::new(practice.family, practice.vehicle, complaint).ok()?;
    let by = OrderBy::default();
    let standing = Standing::new(&model, case.evidence.clone(), &case.circumstances, by).ok()?;
    let taking = standing.taking(id)?;
    let (minutes, cost) = if taking.shown {
        (0.0, 0.0)
    } else {
        (taking.minutes, taking.cost)
    };
    let own = standing.rank_of(id);
    let a_minute = |bits: f64, minutes: f64| bits / minutes.max(1.0);
    let told = own.map_or(0.0, |ranked| a_minute(ranked.bits, ranked.minutes));
    // What has to wait for another is not what to take instead.
    let ready = standing
        .ranking
        .iter()
        .filter(|ranked| ranked.before.is_empty());
    let most = ready.max_by(|one, other| {
        a_minute(one.bits, one.minutes).total_cmp(&a_minute(other.bits, other.minutes))
    });
    let better = most
        .filter(|most| a_minute(most.bits, most.minutes) > TELLS_MORE * told)
        .filter(|most| standing.ranked(most) != id)
        .map(|most| {
            let title = practice
                .family
                .measurement(standing.ranked(most))
                .title
                .clone();
            (title, most.minutes)
        });
    Some(Chosen {
        minutes,
        cost,
        tells: own.is_some(),
        better,
    })
}

/// How many suspects there are, and how probable the right repairs are.
fn suspects(practice: &Practice<'_>, case: &RecordedCase) -> (usize, f64) {
    let complaint = practice.complaint(&case.complaint.repaired);
    let Ok(model) = Model::new(practice.family, practice.vehicle, complaint) else {
        return (0, 0.0);
    };
    let belief: Belief = model.update(&case.evidence);
    let live = (0..model.candidates.len()).filter(|place| belief.is_live(*place));
    let cure = practice.hidden.cure();
    let right = cure.map_or(0.0, |mut cure| {
        cure.sort_unstable();
        let groups = model.by_repairs(&belief);
        let found = groups.into_iter().find(|(group, _)| *group == cure);
        found.map_or(0.0, |(_, p)| p)
    });
    (live.count(), right)
}
