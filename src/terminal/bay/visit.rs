//! A visit: from the complaint to the verified repair, or to the next stop.

use std::io;
use std::time::Duration;

use super::talk::Talk;
use super::word::{WORDS, Word};
use crate::decide::{Advice, Standing};
use crate::decide::{Misshapen, OrderBy};
use crate::infer::Model;
use crate::knowledge::{Family, InstrumentId, Knowledge, MeasurementId, SetUpId, Vehicle};
use crate::record;
use crate::record::{AdviceKind, Event, Record, RecordError, State};
use crate::session::{NotKnown, RecordedCase, opened_on, recorded_case};
use crate::terminal;
use crate::text::nearest;
use crate::text::{Tone, figures};
use crate::units::System;
use crate::units::timing::whole_seconds;

/// A vehicle in the bay, with its record.
pub struct Visit<'k, 's> {
    pub(super) family: &'k Family,
    pub(super) vehicle: Option<&'k Vehicle>,
    pub(super) record: Record,
    pub(super) talk: Talk<'s>,
    /// The plain ranking asked for, instead of the plan's choice.
    pub(super) by: Option<OrderBy>,
    pub(super) system: System,
    /// The measurement chosen instead of the proposal.
    pub(super) chosen: Option<MeasurementId>,
    /// How many events the record had when it was chosen.
    pub(super) chosen_at: usize,
    /// The instrument really used for the measurement at hand.
    pub(super) instrument: Option<InstrumentId>,
    /// The set-ups that the measurement at hand has entered.
    pub(super) entering: Vec<SetUpId>,
    /// All set-ups that stand once they are entered; empty where nothing is entered, or it is kept.
    pub(super) arriving: Vec<SetUpId>,
    /// Whether the technician asked to repair now, whatever the advice.
    pub(super) repair_now: bool,
    /// The case as the last screen showed it.
    before: Option<RecordedCase>,
}

/// How a visit ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// The job is closed.
    Closed,
    /// The job goes on later.
    Stopped,
}

/// What keeps a visit from going on.
#[derive(Debug, thiserror::Error)]
pub enum BayError {
    /// The record could not be kept.
    #[error(transparent)]
    Record(#[from] RecordError),
    /// The record does not hold together.
    #[error(transparent)]
    OutOfPlace(#[from] record::OutOfPlace),
    /// The knowledge is larger than a plan can weigh.
    #[error(transparent)]
    Misshapen(#[from] Misshapen),
    /// The knowledge lacks what the record was opened with.
    #[error(transparent)]
    NotKnown(#[from] NotKnown),
    /// The screen or the input failed.
    #[error(transparent)]
    Io(#[from] io::Error),
}

/// What a word at the prompt led to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Turn {
    /// Nothing changed: the same prompt again.
    Again,
    /// Something was said: work out anew where the job stands.
    On,
    /// Leave, the record is saved.
    Stop,
}

impl<'k, 's> Visit<'k, 's> {
    /// A visit on an open record.
    ///
    /// # Errors
    ///
    /// [`BayError::NotKnown`] where the knowledge lacks the record's family or vehicle.
    pub fn new(
        knowledge: &'k Knowledge,
        record: Record,
        talk: Talk<'s>,
        by: Option<OrderBy>,
        system: Option<System>,
    ) -> Result<Self, BayError> {
        let state = State::of(record.events())?;
        let (family, vehicle) = opened_on(knowledge, &state)?;
        Ok(Self {
            system: system
                .or(vehicle.map(|vehicle| vehicle.units))
                .unwrap_or(System::Metric),
            family,
            vehicle,
            record,
            talk,
            by,
            chosen: None,
            chosen_at: 0,
            instrument: None,
            entering: Vec::new(),
            arriving: Vec::new(),
            repair_now: false,
            before: None,
        })
    }

    /// Goes on until the job is closed or left.
    ///
    /// # Errors
    ///
    /// [`BayError`]; whatever was answered before is in the record.
    pub fn run(&mut self) -> Result<Ended, BayError> {
        let mut again = true;
        loop {
            let state = State::of(self.record.events())?;
            if state.closed.is_some() {
                self.say_closed(&state)?;
                // A job that was closed before this visit may be told what was found since.
                if again && self.tell_cause(&state)? {
                    again = false;
                    continue;
                }
                return Ok(Ended::Closed);
            }
            again = false;
            let turn = if state.verifying {
                self.verify(&state)?
            } else if state.present.is_empty() {
                self.ask_complaint(&state)?
            } else {
                self.step(&state)?
            };
            if turn == Turn::Stop {
                self.say_saved()?;
                return Ok(Ended::Stopped);
            }
        }
    }

    /// Keeps an event: it is on disk when this returns.
    pub(super) fn keep(&mut self, event: Event) -> Result<(), BayError> {
        Ok(self.record.append(event)?)
    }

    /// One step: what the last answer changed, what to do next, and the prompt.
    fn step(&mut self, state: &State) -> Result<Turn, BayError> {
        let case = recorded_case(self.family, state);
        let model = match Model::new(self.family, self.vehicle, case.complaint.clone()) {
            Ok(model) => model,
            Err(unexplained) => {
                let mut page = self.talk.page();
                page.gap()?;
                page.text(Tone::Strong, 0, &format!("Nothing fits: {unexplained}."))?;
                page.text(
                    Tone::Plain,
                    0,
                    "Take one back (`back`), or treat them as two jobs.",
                )?;
                return self.prompt_bare();
            }
        };
        let by = self.by.unwrap_or_default();
        let standing = Standing::new(&model, case.evidence.clone(), &case.circumstances, by)?;
        self.show_change(&model, &case, &standing)?;
        self.before = Some(case.clone());

        let advice = standing.advise(
            &taken_again(self.family, state),
            self.by.is_some(),
            &self.talk.thinking,
        );
        self.keep_advice(state, &standing, &advice)?;
        let proposal = match (&self.chosen, &advice) {
            (Some(chosen), _) => Some(*chosen),
            (None, _) if self.repair_now => None,
            (None, Advice::Measure { measurement, .. }) => Some(*measurement),
            (None, Advice::TakeAgain(misfit)) => Some(misfit.measurement),
            (None, Advice::Repair { .. } | Advice::Escalate) => None,
        };
        match proposal {
            Some(measurement) => self.measure(state, &standing, &advice, measurement),
            None => self.repair(state, &standing, &advice),
        }
    }

    /// Shows what the last answer changed.
    fn show_change(
        &mut self,
        model: &Model<'_>,
        case: &RecordedCase,
        after: &Standing<'_, '_>,
    ) -> Result<(), BayError> {
        let Some(before) = self
            .before
            .take()
            .filter(|before| before.complaint == case.complaint)
        else {
            let mut page = self.talk.page();
            page.gap()?;
            if case.complaint.repaired.is_empty() {
                let single = model
                    .candidates
                    .iter()
                    .filter(|candidate| candidate.causes.len() == 1)
                    .count();
                let sets = model.candidates.len() - single;
                let causes = match (single, sets) {
                    (single, 0) => format!("{single} causes can explain this"),
                    (0, sets) => format!("{sets} sets of causes acting together can explain this"),
                    (single, sets) => {
                        let noun = if sets == 1 { "set" } else { "sets" };
                        format!(
                            "{single} causes alone and {sets} {noun} acting together can explain this"
                        )
                    }
                };
                let text = format!(
                    "{causes}; as some are rarer than others, it is as if {} equally likely ones were in play.",
                    figures::count(after.belief.in_play())
                );
                page.text(Tone::Plain, 0, &text)?;
            }
            page.text(Tone::Plain, 0, "What would cure it, as it stands:")?;
            terminal::repairs(&mut page, after)?;
            return Ok(());
        };
        if before.evidence == case.evidence {
            return Ok(());
        }
        let circumstances = &before.circumstances;
        let before = Standing::new(
            model,
            before.evidence.clone(),
            circumstances,
            OrderBy::default(),
        )?;
        let mut page = self.talk.page();
        page.gap()?;
        terminal::change(&mut page, &before, after)?;
        Ok(())
    }

    /// Keeps the advice, where it is not the one kept last.
    fn keep_advice(
        &mut self,
        state: &State,
        standing: &Standing<'_, '_>,
        advice: &Advice,
    ) -> Result<(), BayError> {
        let name = |id: MeasurementId| Some(self.family.measurement(id).name.clone());
        let cost = Some(standing.repair_now.cost);
        let (kind, measurement, repairs) = match advice {
            Advice::Measure { measurement, .. } => {
                (AdviceKind::Measure, name(*measurement), Vec::new())
            }
            Advice::TakeAgain(misfit) => {
                (AdviceKind::TakeAgain, name(misfit.measurement), Vec::new())
            }
            Advice::Repair { first, .. } => {
                let repairs = first
                    .iter()
                    .map(|repair| self.family.repair(*repair).name.clone())
                    .collect();
                (AdviceKind::Repair, None, repairs)
            }
            Advice::Escalate => (AdviceKind::Escalate, None, Vec::new()),
        };
        let advice = record::Advice {
            advice: kind,
            measurement,
            repairs,
            cost,
        };
        if state
            .advice
            .as_ref()
            .is_some_and(|last| last.what == advice)
        {
            return Ok(());
        }
        self.keep(Event::Advice(advice))
    }

    /// A prompt with no question of its own: only words.
    fn prompt_bare(&mut self) -> Result<Turn, BayError> {
        loop {
            let Some(word) = self.talk.word(">")? else {
                return Ok(Turn::Stop);
            };
            let turn = match word {
                Word::Answer(_) => {
                    self.say("There is no question here. `back` takes an answer back, `help` lists the words.")?;
                    Turn::Again
                }
                word => self.heed(word, None)?,
            };
            if turn != Turn::Again {
                return Ok(turn);
            }
        }
    }

    /// Does what a word asks for; `standing` where there is one to explain or to choose from.
    pub(super) fn heed(
        &mut self,
        word: Word,
        standing: Option<&Standing<'_, '_>>,
    ) -> Result<Turn, BayError> {
        match word {
            Word::Stop => return Ok(Turn::Stop),
            Word::Help => self.help()?,
            Word::Incomplete(words) => self.say(words)?,
            Word::Note(words) => {
                self.keep(Event::Note { words })?;
                self.say("Noted.")?;
            }
            Word::Back(steps) => return self.back(steps),
            Word::Also(name) => return self.symptom(&name, true),
            Word::Absent(name) => return self.symptom(&name, false),
            Word::InPlace(name) => return self.in_place(&name),
            Word::Wait => self.wait()?,
            Word::List => match standing {
                Some(standing) => self.list(standing)?,
                None => self.say("There is nothing to list yet.")?,
            },
            Word::Why(name) => match standing {
                Some(standing) => self.why(standing, name.as_deref())?,
                None => self.say("There is nothing to explain yet.")?,
            },
            Word::Take(name) => match standing {
                Some(standing) => return self.take(standing, &name),
                None => self.say("There is no list to take from yet.")?,
            },
            Word::Repair if standing.is_none() => self.say("There is nothing to repair yet.")?,
            Word::Repair => {
                self.repair_now = true;
                self.chosen = None;
                return Ok(Turn::On);
            }
            Word::Skip | Word::Cannot(_) | Word::With(_) | Word::Answer(_) => {
                self.say("That does not fit here. `help` lists what can be typed.")?;
            }
        }
        Ok(Turn::Again)
    }

    /// Says one thing, wrapped.
    pub(super) fn say(&mut self, text: &str) -> Result<(), BayError> {
        Ok(self.talk.page().text(Tone::Plain, 2, text)?)
    }

    fn help(&mut self) -> Result<(), BayError> {
        let mut page = self.talk.page();
        page.text(
            Tone::Plain,
            2,
            "Answer with a word of the list or its number, or with a number and its unit. Or:",
        )?;
        for (word, does) in WORDS {
            page.item(Tone::Plain, 2, &format!("{word:20} "), does)?;
        }
        Ok(())
    }

    /// Takes answers back.
    fn back(&mut self, steps: u32) -> Result<Turn, BayError> {
        let answered = State::of(self.record.events())?
            .answers
            .last()
            .copied()
            .unwrap_or(0);
        if steps == 1 && self.chosen.is_some() && answered <= self.chosen_at as u64 {
            self.chosen = None;
            self.say("Back to what is proposed; no answer is taken back.")?;
            return Ok(Turn::On);
        }
        match self.record.back(steps) {
            Ok(()) => {
                self.chosen = None;
                self.repair_now = false;
                let answers = if steps == 1 {
                    "The last answer is".to_owned()
                } else {
                    format!("{steps} answers are")
                };
                self.say(&format!("{answers} taken back; the record keeps that."))?;
                Ok(Turn::On)
            }
            Err(RecordError::OutOfPlace(out_of_place)) => {
                self.say(&out_of_place.to_string())?;
                Ok(Turn::Again)
            }
            Err(error) => Err(error.into()),
        }
    }

    /// Keeps a symptom as present or absent.
    pub(super) fn symptom(&mut self, name: &str, present: bool) -> Result<Turn, BayError> {
        let names = || {
            self.family
                .symptoms
                .iter()
                .map(|symptom| symptom.name.as_str())
        };
        if self.family.symptom_named(name).is_none() {
            let text = match nearest(name, names()) {
                Some(nearest) => format!("There is no symptom `{name}`: did you mean `{nearest}`?"),
                None => format!(
                    "There is no symptom `{name}`; there are: {}.",
                    names().collect::<Vec<_>>().join(", ")
                ),
            };
            self.say(&text)?;
            return Ok(Turn::Again);
        }
        self.keep(Event::Symptom {
            symptom: name.to_owned(),
            present,
        })?;
        Ok(Turn::On)
    }

    /// Keeps a set-up as in place.
    fn in_place(&mut self, name: &str) -> Result<Turn, BayError> {
        let Some(entered) = self.family.set_up_named(name) else {
            let names: Vec<&str> = self
                .family
                .set_ups
                .iter()
                .map(|set_up| set_up.name.as_str())
                .collect();
            let text = match nearest(name, names.iter().copied()) {
                Some(nearest) => format!("There is no set-up `{name}`: did you mean `{nearest}`?"),
                None => format!(
                    "There is no set-up `{name}`; there are: {}.",
                    names.join(", ")
                ),
            };
            self.say(&text)?;
            return Ok(Turn::Again);
        };
        let state = State::of(self.record.events())?;
        let mut circumstances = recorded_case(self.family, &state).circumstances;
        circumstances.enter(self.family, entered);
        self.keep_in_place(&circumstances.in_place)?;
        Ok(Turn::On)
    }

    /// Keeps the whole list of what is in place.
    pub(super) fn keep_in_place(
        &mut self,
        in_place: &[crate::knowledge::SetUpId],
    ) -> Result<(), BayError> {
        let set_ups = in_place
            .iter()
            .map(|set_up| self.family.set_up(*set_up).name.clone())
            .collect();
        self.keep(Event::InPlace { set_ups })
    }

    /// Waits until the cool-down has passed.
    fn wait(&mut self) -> Result<(), BayError> {
        let state = State::of(self.record.events())?;
        match state.cool_down_left(self.talk.clock.now()) {
            Some(left) => {
                self.count_down(left.unsigned_abs(), "Cooling down, engine idling in P or N")
            }
            None => self.say("There is nothing to wait for."),
        }
    }

    /// Lets a span of time pass, second by second where a person looks on, who can cut it short.
    pub(super) fn count_down(&mut self, left: Duration, words: &str) -> Result<(), BayError> {
        let seconds = whole_seconds(left);
        if !self.talk.interactive {
            self.say(&format!("{words}: {seconds} s."))?;
            (self.talk.pause)(Duration::from_secs(seconds));
            return Ok(());
        }
        for second in (1..=seconds).rev() {
            write!(self.talk.out, "\r  {words}: {second:3} s ")?;
            self.talk.out.flush()?;
            if (self.talk.pause)(Duration::from_secs(1)) {
                self.talk.hear("")?;
                return Ok(());
            }
        }
        // The bell says that it is over.
        writeln!(self.talk.out, "\r  {words}: over. \u{7}")?;
        Ok(())
    }

    fn say_saved(&mut self) -> Result<(), BayError> {
        let path = self.record.path().display().to_string();
        let mut page = self.talk.page();
        page.gap()?;
        page.text(Tone::Plain, 0, "Saved. Go on with:")?;
        // On a line of its own and whole, to be copied.
        page.lines(2, &format!("halfsplit diagnose --job {}", in_shell(&path)))?;
        Ok(())
    }
}

/// A path as a shell takes it.
fn in_shell(path: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "/._-+:,\\".contains(c);
    if path.chars().all(plain) {
        path.to_owned()
    } else {
        format!("'{}'", path.replace('\'', r"'\''"))
    }
}

/// The measurements that were taken more than once, or passed over: they are not asked for again.
fn taken_again(family: &Family, state: &State) -> Vec<MeasurementId> {
    family
        .measurements
        .iter()
        .enumerate()
        .filter(|(_, measurement)| {
            state.next_attempt(&measurement.name) > 2
                || state.set_aside.contains_key(&measurement.name)
        })
        .map(|(place, _)| MeasurementId::at(place))
        .collect()
}
