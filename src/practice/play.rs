//! An exercise as it is played: what a trainee does, and what comes of it.

use jiff::Timestamp;

use super::hidden::{Hidden, Unplayable};
use crate::entry::yes_or_no;
use crate::infer::{Complaint, Model};
use crate::knowledge::{
    Exercise, Family, Help, Id, Knowledge, Measurement, MeasurementId, RepairId, SetUpId, Timed,
    Vehicle,
};
use crate::record::{Closed, Event, Found, History, Mark, Repair, State};
use crate::session::{
    Answer, Ask, Prompt, RecordedCase, Session, Step, called, recorded_case, several_called,
};
use crate::text::figures::{minutes, money, percent};
use crate::text::{plain, quoted};
use crate::units::System;

/// How many suspects are named.
const SUSPECTS: usize = 5;
/// How often a reading is confirmed that a person would be asked about.
const ASKED_BACK: usize = 3;

/// An exercise that is played.
#[derive(Clone, Debug)]
pub struct Practice<'k> {
    /// The family of the vehicle.
    pub family: &'k Family,
    /// The vehicle whose sheet gives the limits.
    pub vehicle: Option<&'k Vehicle>,
    /// The exercise.
    pub exercise: Exercise,
    /// The vehicle with its fault.
    pub hidden: Hidden<'k>,
    session: Session<'k>,
    system: System,
    help: Help,
}

/// What a trainee does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Move {
    /// Takes a measurement, by words of its title.
    Take(String),
    /// Enters a set-up, by words of its title.
    Prepare(String),
    /// Does a repair, by words of its title.
    Repair(String),
    /// Answers what is asked before a reading.
    Answered(String),
    /// Leaves the measurement at hand.
    Skip,
    /// Asks for help.
    Ask(Mark),
    /// Hands the job on.
    HandOn,
    /// Keeps a remark.
    Note(String),
}

/// What comes of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reply {
    /// What goes into the record, in order.
    pub events: Vec<Event>,
    /// What would happen, where a rule is broken.
    pub warned: Vec<String>,
    /// What is said.
    pub said: Vec<String>,
}

/// What is asked of the trainee.
#[derive(Clone, Debug, PartialEq)]
pub enum Asked {
    /// What to do next.
    Free,
    /// Something before the reading that was chosen: a condition, or how long a stall is held.
    Before(Box<Prompt>),
    /// Nothing: the vehicle gives its reading.
    Reading(Box<Prompt>),
    /// Nothing: the job is closed, or was handed on.
    Over,
}

impl Reply {
    fn say(words: impl Into<String>) -> Self {
        Self {
            said: vec![words.into()],
            ..Self::default()
        }
    }

    fn mark(&mut self, mark: Mark, about: &str) {
        self.events.push(Event::Marked {
            mark,
            about: Some(about.to_owned()),
        });
    }
}

impl<'k> Practice<'k> {
    /// An exercise to be played on a record that was opened for it; `help` is what may be asked for at the most.
    pub fn new(
        knowledge: &'k Knowledge,
        family: &'k Family,
        exercise: Exercise,
        state: &State,
        help: Help,
        system: Option<System>,
    ) -> Result<Self, Unplayable> {
        let vehicle = exercise.vehicle.as_deref();
        let vehicle = vehicle.and_then(|name| knowledge.vehicle(name));
        let hidden = Hidden::of(family, vehicle, &exercise)?;
        let own = vehicle.map_or(System::Metric, |vehicle| vehicle.units);
        let session = Session::new(knowledge, state, None, system)
            .map_err(|_| Unplayable::NoSuchFault(exercise.name.clone()))?;
        Ok(Self {
            family,
            vehicle,
            hidden,
            session,
            system: system.unwrap_or(own),
            help: help.min(exercise.help),
            exercise,
        })
    }

    /// The same, where no help is given.
    #[must_use]
    pub fn without_help(self) -> Self {
        Self {
            help: Help::None,
            ..self
        }
    }

    /// Whether a kind of help is given.
    pub fn helps(&self, mark: Mark) -> bool {
        match self.help {
            Help::None => false,
            Help::Hints => mark == Mark::Hint,
            Help::All => true,
        }
    }

    /// What is asked now.
    pub fn asked(&self, history: &History) -> Asked {
        if is_over(history) {
            return Asked::Over;
        }
        if self.session.taking(history).is_none() {
            return Asked::Free;
        }
        let mut prompt = self.session.next(history, now(history));
        // What the program thinks is help.
        prompt.outlook = None;
        prompt.change = None;
        prompt.advice = None;
        if let Some(measure) = &mut prompt.measure {
            measure.reason = None;
            measure.prospects.clear();
        }
        match prompt.ask {
            Ask::Reading(_) => Asked::Reading(Box::new(prompt)),
            Ask::Condition { .. } | Ask::Hold { .. } => Asked::Before(Box::new(prompt)),
            _ => Asked::Free,
        }
    }

    /// What a trainee does, and what comes of it.
    pub fn does(&self, history: &History, done: Move) -> Reply {
        let case = recorded_case(self.family, history.state());
        let reply = match done {
            Move::Take(text) => self.take(history, &case, &text),
            Move::Prepare(text) => self.prepare(&case, &text),
            Move::Repair(text) => self.repair(history, &case, &text),
            Move::Answered(text) => match self.asked(history) {
                Asked::Before(prompt) => Ok(self.before(history, &prompt, &text)),
                _ => Err(
                    "`take` and words of a title take a measurement; `help` lists the words."
                        .to_owned(),
                ),
            },
            Move::Skip => match self.asked(history) {
                Asked::Before(prompt) | Asked::Reading(prompt) => {
                    Ok(self.kept(history, &prompt, Answer::Skip))
                }
                _ => Err("There is nothing to leave.".to_owned()),
            },
            Move::Ask(mark) => self.helped(history, mark),
            Move::HandOn => Ok(Reply {
                events: vec![Event::Marked {
                    mark: Mark::HandedOn,
                    about: None,
                }],
                ..Reply::default()
            }),
            Move::Note(words) => Ok(Reply {
                events: vec![Event::note(words)],
                said: vec!["Noted.".to_owned()],
                ..Reply::default()
            }),
        };
        reply.unwrap_or_else(Reply::say)
    }

    /// The reading that the vehicle gives.
    pub fn reads(&self, history: &History, prompt: &Prompt) -> Reply {
        let cannot = |words: &str| {
            let mut reply = self.kept(history, prompt, Answer::Cannot(Some(words.to_owned())));
            reply.said = vec![words.to_owned()];
            reply
        };
        let (Some(measure), Ask::Reading(asked)) = (&prompt.measure, &prompt.ask) else {
            return Reply::default();
        };
        let name = &measure.measurement;
        let again = history.state().next_attempt(name) - 1;
        let id = self.family.measurement_named(name);
        let Some(read) = id.and_then(|id| self.hidden.reads(id, again, self.system)) else {
            return cannot("That cannot be read on this vehicle.");
        };
        let typed = if asked.parts.is_empty() {
            read.clone()
        } else {
            format!("= {read}")
        };
        let mut step = self.session.take(history, prompt, Answer::Typed(typed));
        // A reading far out is asked about; the instrument did show it.
        for _ in 0..ASKED_BACK {
            let Some(again) = step.again.take() else {
                break;
            };
            let yes = Answer::Typed("yes".to_owned());
            step = self.session.take(history, &again, yes);
        }
        let Step { events, .. } = step;
        let Some(reading) = events.iter().find_map(|event| match event {
            Event::Reading(reading) => Some(reading),
            _ => None,
        }) else {
            return cannot("That cannot be read on this vehicle.");
        };
        let measurement = id.map(|id| self.family.measurement(id));
        let words = measurement.and_then(|measurement| {
            let outcome = measurement.outcome(&reading.outcome)?;
            let outcome = &measurement.outcomes[outcome.index()];
            (reading.value.is_none()).then(|| outcome.words())
        });
        let said = words.unwrap_or(read);
        let mut reply = Reply::say(format!("It reads: {said}"));
        if let Some(why) = &reading.why_not {
            reply.said.push(format!("It does not count: {why}"));
        }
        reply.events = without_advice(events);
        reply
    }

    fn take(&self, history: &History, case: &RecordedCase, text: &str) -> Result<Reply, String> {
        let present = &case.complaint.present;
        let ids = (0..self.family.measurements.len()).map(MeasurementId::at);
        let id = one_of(
            text,
            ids.filter(|id| self.family.measurement(*id).is_for(present)),
            |id| {
                let measurement = self.family.measurement(*id);
                (&measurement.name, &measurement.title)
            },
        )?;
        let measurement = self.family.measurement(id);
        let mut reply = Reply::default();
        let unread = measurement.after.iter().filter(|first| {
            self.family.measurement(**first).is_for(present)
                && !case.circumstances.left_out.contains(first)
        });
        let unread: Vec<MeasurementId> = unread.copied().collect();
        let stall = matches!(measurement.timed, Some(Timed::Stall { .. }));
        if case.way_to(self.family, id, &[]).is_none() {
            reply.mark(Mark::Unsafe, &measurement.name);
            reply.warned = self.ruled_out(case, measurement);
            reply
                .said
                .push("By what was read before, this is not to be done now.".to_owned());
        } else if !unread.is_empty() {
            let mark = if stall {
                Mark::Unsafe
            } else {
                Mark::OutOfOrder
            };
            reply.mark(mark, &measurement.name);
            let said = unread
                .iter()
                .flat_map(|id| &self.family.measurement(*id).unread);
            reply.warned = self.texts(said);
            let titles = unread.iter();
            let titles = titles.map(|id| self.family.measurement(*id).title.as_str());
            let titles: Vec<&str> = titles.collect();
            reply
                .said
                .push(format!("To be read before it: {}.", titles.join("; ")));
        }
        let prompt = self.session.next(history, now(history));
        let step = self
            .session
            .take(history, &prompt, Answer::Take(measurement.name.clone()));
        if step.events.is_empty() {
            return Err(step.said.join(" "));
        }
        reply.events.extend(without_advice(step.events));
        Ok(reply)
    }

    /// What comes of a measurement that was ruled out by what was read; its own cautions where nothing says so.
    fn ruled_out(&self, case: &RecordedCase, measurement: &Measurement) -> Vec<String> {
        let read = case.evidence.iter().filter_map(|reading| {
            let known = self.family.measurement(reading.measurement);
            let mut said = known.ruled_out.iter();
            let mut rules = measurement.unless.outcomes.iter();
            let (_, forbids) = rules.find(|(of, _)| *of == reading.measurement)?;
            let (_, said) = said.find(|(outcome, _)| {
                forbids.contains(outcome) && reading.outcome() == outcome.index()
            })?;
            Some(said)
        });
        let said = self.texts(read.flatten());
        if said.is_empty() {
            return self.family.caution_texts(&measurement.cautions);
        }
        said
    }

    /// The texts of cautions, each once.
    fn texts<'c>(&self, cautions: impl Iterator<Item = &'c usize>) -> Vec<String> {
        let mut places: Vec<usize> = Vec::new();
        for place in cautions {
            if !places.contains(place) {
                places.push(*place);
            }
        }
        self.family.caution_texts(&places)
    }

    fn prepare(&self, case: &RecordedCase, text: &str) -> Result<Reply, String> {
        let ids = (0..self.family.set_ups.len()).map(SetUpId::at);
        let id = one_of(text, ids, |id| {
            let set_up = self.family.set_up(*id);
            (&set_up.name, &set_up.title)
        })?;
        let set_up = self.family.set_up(id);
        let here = &case.circumstances.in_place;
        let lacks = set_up.needs.iter().filter(|need| !here.contains(need));
        let lacks: Vec<&str> = lacks
            .map(|need| self.family.set_up(*need).title.as_str())
            .collect();
        let mut reply = Reply::default();
        if !lacks.is_empty() {
            reply.mark(Mark::Unsafe, &set_up.name);
            reply.warned = self.family.caution_texts(&set_up.cautions);
            let lacks = lacks.join("; ");
            reply
                .said
                .push(format!("Not done. What it needs first: {lacks}."));
            return Ok(reply);
        }
        let mut now = case.circumstances.clone();
        now.enter(self.family, id);
        reply.mark(Mark::Prepared, &set_up.name);
        reply.events.push(Event::InPlace {
            set_ups: self.family.names_of(&now.in_place),
        });
        let took = minutes(set_up.minutes.get());
        reply.said.push(format!("{}: done, {took}.", set_up.title));
        Ok(reply)
    }

    fn repair(&self, history: &History, case: &RecordedCase, text: &str) -> Result<Reply, String> {
        let ids = (0..self.family.repairs.len()).map(RepairId::at);
        let id = one_of(text, ids, |id| {
            let repair = self.family.repair(*id);
            (&repair.name, &repair.title)
        })?;
        let repair = self.family.repair(id);
        if case.complaint.repaired.contains(&id) {
            return Err(format!("{}: done already.", repair.title));
        }
        let mut reply = Reply::default();
        let lacks = case.unread_before(self.family, id);
        if !lacks.is_empty() {
            reply.mark(Mark::Unproved, &repair.name);
            reply.warned.extend(self.family.unproved.clone());
            let lacks = lacks.join("; ");
            reply.said.push(format!("Not read before it: {lacks}."));
        }
        let repairs = vec![repair.name.clone()];
        reply.events.push(Event::Repair(Repair {
            repairs: repairs.clone(),
            causes: Vec::new(),
            probability: self.believed(history, id),
        }));
        let mut now = case.circumstances.clone();
        let before = now.in_place.clone();
        now.repaired(self.family, &[id]);
        if now.in_place != before {
            reply.events.push(Event::InPlace {
                set_ups: self.family.names_of(&now.in_place),
            });
        }
        let mut done = case.complaint.repaired.clone();
        done.push(id);
        let fixed = self.hidden.is_cured_by(&done);
        let causes = if fixed { self.hidden.causes() } else { &[] };
        reply.events.push(Event::Closed(Closed {
            fixed,
            causes: self.family.names_of(causes),
            repairs,
            found: fixed.then_some(Found::Stated),
            among: Vec::new(),
            words: None,
        }));
        let took = minutes(self.family.repair_minutes(id).get());
        let cost = money(self.family.repair_cost(id).get());
        reply
            .said
            .push(format!("{}: {took}, {cost}.", repair.title));
        reply.said.push(if fixed {
            "The complaint is gone.".to_owned()
        } else {
            "The complaint is still there.".to_owned()
        });
        Ok(reply)
    }

    /// How probable it is by the readings that a repair cures the vehicle by itself.
    fn believed(&self, history: &History, repair: RepairId) -> f64 {
        let case = recorded_case(self.family, history.state());
        let model = Model::new(self.family, self.vehicle, case.complaint);
        model.map_or(0.0, |model| {
            let belief = model.update(&case.evidence);
            let groups = model.by_repairs(&belief);
            let found = groups.iter().find(|(group, _)| *group == [repair]);
            found.map_or(0.0, |(_, p)| *p)
        })
    }

    /// What was answered before a reading.
    fn before(&self, history: &History, prompt: &Prompt, text: &str) -> Reply {
        let name = prompt.measure.as_ref().map(|of| of.measurement.clone());
        let name = name.unwrap_or_default();
        if let Ask::Condition {
            condition,
            unit,
            from,
            to,
            ..
        } = &prompt.ask
        {
            return match yes_or_no(text) {
                None => Reply::say("Type yes to see to it, or no to go on without."),
                Some(true) => {
                    let value = match (from, to) {
                        (Some(from), Some(to)) => f64::midpoint(*from, *to),
                        (Some(from), None) => from + 1.0,
                        (None, Some(to)) => to / 2.0,
                        (None, None) => 0.0,
                    };
                    let typed = unit.as_ref().map_or_else(
                        || "yes".to_owned(),
                        |unit| format!("{} {unit}", plain(value)),
                    );
                    self.kept(history, prompt, Answer::Typed(typed))
                }
                Some(false) => {
                    let mut reply = Reply::default();
                    reply.mark(Mark::OutOfCondition, &name);
                    reply
                        .events
                        .push(Event::Condition(crate::record::Condition {
                            condition: condition.clone(),
                            raw: text.to_owned(),
                            holds: false,
                            value: None,
                            unit: None,
                        }));
                    reply
                }
            };
        }
        let mut reply = self.kept(history, prompt, Answer::Typed(text.to_owned()));
        let held = reply.events.iter().find_map(|event| match event {
            Event::Timed(timed) => Some(timed.seconds),
            _ => None,
        });
        if let (Ask::Hold { limit, .. }, Some(held)) = (&prompt.ask, held)
            && held > *limit
        {
            reply.mark(Mark::Unsafe, &name);
            let measure = prompt.measure.as_ref();
            let cautions = measure.map(|measure| measure.cautions.clone());
            reply.warned = cautions.unwrap_or_default();
        }
        reply
    }

    /// What the session makes of an answer.
    fn kept(&self, history: &History, prompt: &Prompt, answer: Answer) -> Reply {
        let step = self.session.take(history, prompt, answer);
        Reply {
            events: without_advice(step.events),
            warned: Vec::new(),
            said: step.said,
        }
    }

    /// The help that was asked for, where it may be.
    fn helped(&self, history: &History, mark: Mark) -> Result<Reply, String> {
        if !self.helps(mark) {
            return Err("That help is not given in this exercise.".to_owned());
        }
        let prompt = self.session.next(history, now(history));
        let measure = prompt.measure.as_deref();
        let measurement = measure.and_then(|of| self.family.measurement_named(&of.measurement));
        let measurement = measurement.map(|id| self.family.measurement(id));
        let outlook = prompt.outlook.as_deref();
        let mut reply = Reply::default();
        reply.events.push(Event::Marked { mark, about: None });
        let repair = match &prompt.ask {
            Ask::Repair(sheet) => {
                let titles = sheet.repairs.iter().map(|of| of.title.as_str());
                Some(titles.collect::<Vec<_>>().join("; "))
            }
            _ => None,
        };
        match (mark, measurement, outlook) {
            (Mark::Hint, Some(measurement), _) => {
                reply
                    .said
                    .push(format!("What divides the suspects: {}", measurement.ask));
            }
            (Mark::Hint, None, _) => reply
                .said
                .push("No question divides them any more for what it costs.".to_owned()),
            (Mark::Advice, Some(measurement), Some(outlook)) => {
                let took = minutes(measurement.minutes.get());
                reply
                    .said
                    .push(format!("Take: {}, {took}.", measurement.title));
                reply.said.push(format!(
                    "Repairing now would cost {} on average.",
                    money(outlook.repair_now.cost)
                ));
            }
            (Mark::Advice, ..) => reply.said.push(repair.map_or_else(
                || "Hand the job on.".to_owned(),
                |titles| format!("Repair: {titles}."),
            )),
            (_, _, Some(outlook)) => {
                for cure in outlook.repairs.iter().take(SUSPECTS) {
                    let p = percent(cure.probability);
                    reply.said.push(format!("{p:>7}  {}", cure.title));
                }
                let p = percent(outlook.unlisted);
                reply
                    .said
                    .push(format!("{p:>7}  none of the listed causes"));
            }
            _ => reply.said.push("No listed cause is left.".to_owned()),
        }
        Ok(reply)
    }

    /// The complaint, with the repairs done so far.
    pub(super) fn complaint(&self, repaired: &[RepairId]) -> Complaint {
        Complaint {
            present: vec![self.exercise.symptom],
            absent: Vec::new(),
            repaired: repaired.to_vec(),
        }
    }
}

/// The time at which the next question is asked: that of the last event, and after a cool-down. Practice does not wait.
fn now(history: &History) -> Timestamp {
    let last = history.entries().last();
    let last = last.map_or(Timestamp::UNIX_EPOCH, |entry| entry.time);
    let left = history.state().cool_down_left(last);
    left.map_or(last, |left| last.checked_add(left).unwrap_or(last))
}

/// Whether a job is closed, or was handed on.
pub fn is_over(history: &History) -> bool {
    let handed_on = |event: &Event| {
        matches!(
            event,
            Event::Marked {
                mark: Mark::HandedOn,
                ..
            }
        )
    };
    history.state().closed.is_some()
        || history
            .entries()
            .iter()
            .any(|entry| handed_on(&entry.event))
}

/// What the program advises is help that nobody asked for.
fn without_advice(events: Vec<Event>) -> Vec<Event> {
    let told = events.into_iter();
    told.filter(|event| !matches!(event, Event::Advice(_)))
        .collect()
}

/// The one thing whose title has these words.
fn one_of<'n, I: Id + Copy>(
    text: &str,
    ids: impl Iterator<Item = I>,
    named: impl Fn(&I) -> (&'n String, &'n String),
) -> Result<I, String> {
    let text = text.trim();
    let mut fitting: Vec<I> = Vec::new();
    for id in ids {
        let (name, title) = named(&id);
        if name == text || title.eq_ignore_ascii_case(text) {
            return Ok(id);
        }
        if called(text, name, title) {
            fitting.push(id);
        }
    }
    match fitting.as_slice() {
        [only] => Ok(*only),
        [] => Err(format!(
            "No title has {}: `list` and `find` show them.",
            quoted(text)
        )),
        several => {
            let titles = several.iter().map(|id| named(id).1.as_str());
            Err(several_called(text, titles))
        }
    }
}
