//! What a record amounts to: the fold of its events.

use std::collections::{BTreeMap, BTreeSet};

use jiff::{SignedDuration, Timestamp};

use super::clock::later;
use super::difference::{Difference, differences};
use super::event::{
    Closed, Condition, Event, Judged, Opened, Phase, Reading, Repair, SetAside, Timed, Verification,
};
use super::line::Entry;
use super::stage::{OutOfPlace, Stage, Why};

/// Something, and when it was recorded.
#[derive(Clone, Debug, PartialEq)]
pub struct Dated<T> {
    /// When.
    pub time: Timestamp,
    /// On which line, from 1.
    pub line: u64,
    /// What.
    pub what: T,
}

impl<T> Dated<T> {
    fn new(time: Timestamp, line: u64, what: T) -> Self {
        Self { time, line, what }
    }
}

/// A reading that was not taken back.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// When.
    pub time: Timestamp,
    /// On which line, from 1.
    pub line: u64,
    /// The reading.
    pub reading: Reading,
    /// The line of the later reading of the same measurement that replaces it.
    pub replaced_by: Option<u64>,
}

/// A repair done, with its verification so far.
#[derive(Clone, Debug, PartialEq)]
pub struct Repaired {
    /// When.
    pub time: Timestamp,
    /// On which line, from 1.
    pub line: u64,
    /// The repair.
    pub repair: Repair,
    /// The verification readings since, in order.
    pub verifications: Vec<Verification>,
}

/// A cool-down after a timed test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoolDown {
    /// When the cool-down is over.
    pub ends: Timestamp,
    /// How long from its event to `ends`, in seconds.
    pub seconds: f64,
}

/// What a job has come to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct State {
    /// How it was opened.
    pub opened: Opened,
    /// When it was opened.
    pub opened_at: Timestamp,
    /// The vehicle's spec sheet: that of the opening, or of the last change; none without one.
    pub vehicle: Option<String>,
    /// The complaints, in order.
    pub complaints: Vec<String>,
    /// The symptoms confirmed present, in the order they were first named.
    pub present: Vec<String>,
    /// The symptoms confirmed absent, in the order they were first named.
    pub absent: Vec<String>,
    /// Whether the complaint means no symptom of the family.
    pub no_symptom: bool,
    /// The line of the last word on each symptom.
    pub symptom_lines: BTreeMap<String, u64>,
    /// What is in place.
    pub in_place: Vec<String>,
    /// The line that says so, where one does.
    pub in_place_line: Option<u64>,
    /// Every set-up that was ever entered.
    pub entered: BTreeSet<String>,
    /// The measurement that was read last, where nothing was entered since.
    pub last_read: Option<String>,
    /// The last word on each condition, with its time: whether it is stale is the caller's to judge.
    pub conditions: BTreeMap<String, Dated<Condition>>,
    /// Every reading that was not taken back, in order, those that do not count among them.
    pub readings: Vec<Taken>,
    /// The measurements set aside and neither taken up nor read since.
    pub set_aside: BTreeMap<String, Dated<SetAside>>,
    /// The remarks, in order.
    pub notes: Vec<Dated<String>>,
    /// Every repair done, in order.
    pub repairs: Vec<Repaired>,
    /// Whether the last of `repairs` waits for its verification.
    pub verifying: bool,
    /// The closing, where the job is closed as fixed.
    pub closed: Option<Dated<Closed>>,
    /// The cool-downs of timed tests, over or not: of each measurement the one that ends last, by the
    /// measurement and whether the test's end is missing.
    pub cool_downs: BTreeMap<(String, bool), CoolDown>,
    /// The lines of the answers that were not taken back, in order.
    pub answers: Vec<u64>,
    /// The lines taken back.
    pub taken_back: BTreeSet<u64>,
    /// Where the job was after each of `answers`.
    stages: Vec<Stage>,
    /// Where in `readings` the last counting one of each measurement is.
    latest: BTreeMap<String, usize>,
}

impl State {
    /// The fold of a record's events.
    ///
    /// # Errors
    ///
    /// [`OutOfPlace`] for the first event that is out of place.
    pub fn of(entries: &[Entry]) -> Result<Self, OutOfPlace> {
        let Some(Entry {
            time,
            event: Event::Opened(opened),
            ..
        }) = entries.first()
        else {
            return Err(OutOfPlace {
                line: 1,
                why: Why::NotOpened,
            });
        };
        let mut state = Self::begin(opened.clone(), *time);
        for (line, entry) in (2..).zip(&entries[1..]) {
            let admitted = state.admit(entries, line, &entry.event);
            admitted.map_err(|why| OutOfPlace { line, why })?;
        }
        state.replay(entries);
        Ok(state)
    }

    /// The state with one entry more, where it can come now; `before` are the entries before it.
    ///
    /// Costs no more than the entry itself, except after a going back.
    pub(super) fn add(&mut self, before: &[Entry], entry: &Entry) -> Result<(), Why> {
        self.admit(before, entry.line, &entry.event)?;
        if matches!(entry.event, Event::Back { .. } | Event::Withdrawn { .. }) {
            self.replay(before);
        } else {
            self.apply(entry.line, entry);
        }
        Ok(())
    }

    /// The lines of the last `steps` answers that can be taken back, latest first.
    pub(super) fn last_answers(&self, steps: u32) -> Result<Vec<u64>, Why> {
        let count = usize::try_from(steps).unwrap_or(usize::MAX);
        if count == 0 || count > self.answers.len() {
            return Err(Why::Steps {
                asked: steps,
                standing: self.answers.len(),
            });
        }
        Ok(self.answers.iter().rev().take(count).copied().collect())
    }

    /// Counts an event among the answers, or takes answers back, where it can come now.
    fn admit(&mut self, entries: &[Entry], line: u64, event: &Event) -> Result<(), Why> {
        match event {
            Event::Opened(_) => return Err(Why::OpenedAgain),
            Event::Back { steps, lines } => {
                let last = self.last_answers(*steps)?;
                if *lines != last {
                    return Err(Why::Lines);
                }
                self.answers.truncate(self.answers.len() - last.len());
                self.stages.truncate(self.answers.len());
                self.taken_back.extend(last);
            }
            Event::Withdrawn { reading } => {
                let place = self.answers.iter().position(|answer| answer == reading);
                let place = place.filter(|_| {
                    let mut at = entries.iter().filter(|entry| entry.line == *reading);
                    at.any(|entry| matches!(entry.event, Event::Reading(_)))
                });
                let place = place.ok_or(Why::NoReading(*reading))?;
                // A reading leaves the job where it is, so that the stages of the others stand.
                self.answers.remove(place);
                self.stages.remove(place);
                self.taken_back.insert(*reading);
            }
            answer if answer.is_answer() => {
                let stage = self.stages.last().copied().unwrap_or_default();
                self.stages.push(stage.after(answer)?);
                self.answers.push(line);
            }
            _ => {}
        }
        Ok(())
    }

    /// What the entries amount to without those taken back.
    fn replay(&mut self, entries: &[Entry]) {
        let mut state = Self::begin(self.opened.clone(), self.opened_at);
        state.answers = std::mem::take(&mut self.answers);
        state.stages = std::mem::take(&mut self.stages);
        state.taken_back = std::mem::take(&mut self.taken_back);
        for (line, entry) in (1..).zip(entries) {
            if !state.taken_back.contains(&line) {
                state.apply(line, entry);
            }
        }
        *self = state;
    }

    /// The state of a job that was just opened.
    pub(super) fn begin(opened: Opened, opened_at: Timestamp) -> Self {
        Self {
            vehicle: opened.vehicle.clone(),
            opened,
            opened_at,
            ..Self::default()
        }
    }

    fn apply(&mut self, line: u64, entry: &Entry) {
        let time = entry.time;
        match &entry.event {
            Event::Opened(_)
            | Event::Back { .. }
            | Event::Withdrawn { .. }
            | Event::Advice(_)
            | Event::Marked { .. } => {}
            Event::Complaint { words } => {
                self.complaints.push(words.clone());
                self.no_symptom = false;
            }
            Event::NoSymptom {} => self.no_symptom = true,
            Event::Vehicle { vehicle, readings } => {
                self.vehicle.clone_from(vehicle);
                for judged in readings {
                    self.judged(judged);
                }
            }
            Event::Symptom { symptom, present } => {
                let before = self.symptom_lines.insert(symptom.clone(), line);
                self.symptom(symptom, *present, before.is_some());
            }
            Event::InPlace { set_ups } => {
                self.in_place.clone_from(set_ups);
                self.in_place_line = Some(line);
                self.entered.extend(set_ups.iter().cloned());
                self.last_read = None;
            }
            Event::Condition(condition) => {
                let dated = Dated::new(time, line, condition.clone());
                self.conditions.insert(condition.condition.clone(), dated);
            }
            Event::Reading(reading) => self.reading(time, line, reading),
            Event::Timed(timed) => self.timed(time, timed),
            Event::SetAside(set_aside) => {
                let dated = Dated::new(time, line, set_aside.clone());
                self.set_aside.insert(set_aside.measurement.clone(), dated);
            }
            Event::TakenUp { measurement, .. } => {
                self.set_aside.remove(measurement);
            }
            Event::Note { words, .. } => {
                self.notes.push(Dated::new(time, line, words.clone()));
            }
            Event::Repair(repair) => {
                self.verifying = true;
                let repair = repair.clone();
                self.repairs.push(Repaired {
                    time,
                    line,
                    repair,
                    verifications: Vec::new(),
                });
            }
            Event::Verification(verification) => {
                if let Some(repaired) = self.repairs.last_mut() {
                    repaired.verifications.push(verification.clone());
                }
            }
            Event::Closed(closed) if closed.fixed => {
                self.closed = Some(Dated::new(time, line, closed.clone()));
            }
            Event::Closed(_) => self.verifying = false,
            // The repair that had fixed it is in question again.
            Event::Reopened { .. } => self.closed = None,
        }
    }

    /// The last word on a symptom; one that was not named before stands in neither list.
    fn symptom(&mut self, symptom: &str, present: bool, named_before: bool) {
        let (into, from) = if present {
            (&mut self.present, &mut self.absent)
        } else {
            (&mut self.absent, &mut self.present)
        };
        if named_before {
            from.retain(|other| other != symptom);
        }
        if !named_before || !into.iter().any(|other| other == symptom) {
            into.push(symptom.to_owned());
        }
    }

    fn reading(&mut self, time: Timestamp, line: u64, reading: &Reading) {
        let measurement = &reading.measurement;
        if reading.counts {
            let earlier = self.latest.insert(measurement.clone(), self.readings.len());
            if let Some(taken) = earlier.and_then(|at| self.readings.get_mut(at)) {
                taken.replaced_by = Some(line);
            }
        }
        self.last_read = Some(measurement.clone());
        self.set_aside.remove(measurement);
        self.readings.push(Taken {
            time,
            line,
            reading: reading.clone(),
            replaced_by: None,
        });
    }

    /// A reading judged again.
    fn judged(&mut self, judged: &Judged) {
        let mut readings = self.readings.iter_mut();
        if let Some(taken) = readings.find(|taken| taken.line == judged.reading) {
            let Judged {
                reading: _,
                outcome,
                weights,
                counts,
                why_not,
            } = judged.clone();
            taken.reading = Reading {
                outcome,
                weights,
                counts,
                why_not,
                ..taken.reading.clone()
            };
        }
    }

    fn timed(&mut self, time: Timestamp, timed: &Timed) {
        let measurement = timed.measurement.clone();
        let unfinished = timed.phase == Phase::Started;
        let mut seconds = timed.cool_down.max(0.0);
        if unfinished {
            seconds += timed.seconds.max(0.0);
        } else {
            self.cool_downs.remove(&(measurement.clone(), true));
        }
        let ends = later(time, seconds);
        let key = (measurement, unfinished);
        let before = self.cool_downs.get(&key);
        if before.is_none_or(|other| other.ends <= ends) {
            self.cool_downs.insert(key, CoolDown { ends, seconds });
        }
    }

    /// The readings that move the diagnosis, in order: they count and no later one replaces them.
    pub fn counting(&self) -> impl Iterator<Item = &Taken> {
        self.readings
            .iter()
            .filter(|taken| taken.reading.counts && taken.replaced_by.is_none())
    }

    /// Which taking of a measurement the next reading of it is, from 1.
    pub fn next_attempt(&self, measurement: &str) -> u32 {
        let readings = self.readings.iter();
        let takings = readings.filter(|taken| taken.reading.measurement == measurement);
        let takings = u32::try_from(takings.count()).unwrap_or(u32::MAX);
        takings.saturating_add(1)
    }

    /// The repair that waits for its verification.
    pub fn under_verification(&self) -> Option<&Repaired> {
        self.repairs
            .last()
            .filter(|_| self.verifying && self.closed.is_none())
    }

    /// How long is left of the cool-downs; `None` where none is running.
    ///
    /// Never longer than the cool-down itself, even where the clock was set back in between.
    pub fn cool_down_left(&self, now: Timestamp) -> Option<SignedDuration> {
        let left = |cool_down: &CoolDown| {
            let whole =
                SignedDuration::try_from_secs_f64(cool_down.seconds).unwrap_or(SignedDuration::MAX);
            cool_down.ends.duration_since(now).min(whole)
        };
        self.cool_downs
            .values()
            .map(left)
            .max()
            .filter(SignedDuration::is_positive)
    }

    /// Where today's knowledge differs from the knowledge that the job was opened with.
    pub fn differs(&self, today: &BTreeMap<String, String>) -> Vec<Difference> {
        differences(&self.opened.knowledge, today)
    }
}
