//! What an answer adds to the record.

use super::answer::{Answer, Step};
use super::at_hand::at_hand;
use super::closing::{NOT_TAKEN, at_place, choices, cured_by, listed, seen};
use super::conditions::{broken, judge, seconds_held, too_long, yes_or_no};
use super::core::Session;
use super::measure::Measure;
use super::prompt::{Ask, Choice, Prompt};
use super::recorded::recorded_case;
use crate::knowledge::{SetUpId, SymptomId};
use crate::record::{
    self, AdviceKind, Closed, Event, History, Phase, Repaired, SetAside, SetAsideHow, Verification,
};
use crate::text::{nearest, plain, quoted};

impl Session<'_> {
    /// What an answer to a prompt of this job adds to its record. Nothing is recorded here.
    pub fn take(&self, history: &History, prompt: &Prompt, answer: Answer) -> Step {
        let mut step = match (&prompt.ask, answer) {
            (Ask::Found { .. } | Ask::Closed { .. }, answer) => {
                self.found(history, prompt, &answer)
            }
            (_, Answer::Typed(text)) => self.typed(history, prompt, text.trim()),
            (_, answer) => self.word(history, prompt, answer),
        };
        // What was advised is kept with what was done about it.
        let advised = prompt.advice.as_ref();
        let advised = advised.filter(|advice| at_hand(history).advised != Some(advice));
        let is_note = |event: &Event| matches!(event, Event::Note { .. });
        if let Some(advice) = advised.filter(|_| !step.events.iter().all(is_note)) {
            step.events.insert(0, Event::Advice(advice.clone()));
        }
        step
    }

    /// What a word does that stands for no answer to the question.
    fn word(&self, history: &History, prompt: &Prompt, answer: Answer) -> Step {
        let family = self.family;
        match answer {
            Answer::Skip => Self::set_aside(prompt, SetAsideHow::Skipped, None),
            Answer::Cannot(why) => Self::set_aside(prompt, SetAsideHow::NotPossible, why),
            Answer::With(name) => self.with(prompt, &name),
            Answer::Take(name) => self.take_up(prompt, &name),
            Answer::Back(steps) => back(history, prompt, steps),
            Answer::Note(words) => Step {
                events: vec![note(words)],
                ..Step::again(prompt, "Noted.")
            },
            Answer::Also(name) => match self.symptom(&name) {
                Ok(id) => self.symptoms(history, prompt, &[id], true),
                Err(words) => Step::again(prompt, words),
            },
            Answer::Absent(name) => match self.symptom(&name) {
                Ok(id) => self.symptoms(history, prompt, &[id], false),
                Err(words) => Step::again(prompt, words),
            },
            Answer::InPlace(name) => {
                let Some(entered) = family.set_up_named(&name) else {
                    let known = family.set_ups.iter().map(|set_up| set_up.name.as_str());
                    return Step::again(prompt, unknown("set-up", &name, known));
                };
                let mut circumstances = recorded_case(family, history.state()).circumstances;
                circumstances.enter(family, entered);
                Step::record(vec![self.in_place(&circumstances.in_place)])
            }
            Answer::Repair => match (&prompt.outlook, &prompt.ask) {
                (None, _) => Step::again(prompt, "There is nothing to repair yet."),
                (Some(_), Ask::HandOn { .. }) => Step::again(prompt, NOTHING_LEFT),
                (Some(outlook), _) => {
                    let first = outlook.repair_now.steps.first();
                    Step::record(vec![Event::Advice(record::Advice {
                        advice: AdviceKind::Repair,
                        measurement: None,
                        repairs: first.map_or_else(Vec::new, |step| step.repairs.clone()),
                        cost: Some(outlook.repair_now.cost),
                        asked: true,
                    })])
                }
            },
            Answer::Start | Answer::Held(_) => self.clock(prompt, &answer),
            Answer::Typed(text) => self.typed(history, prompt, &text),
        }
    }

    /// What a typed answer says.
    fn typed(&self, history: &History, prompt: &Prompt, text: &str) -> Step {
        let state = history.state();
        match &prompt.ask {
            Ask::Lost { lost } => match yes_or_no(text) {
                Some(true) => Step::record(vec![Event::Note {
                    words: "goes on without what the knowledge no longer has".to_owned(),
                    without: lost.clone(),
                }]),
                _ => Step::again(prompt, LOST),
            },
            Ask::Complaint if text.is_empty() => {
                Step::default().saying("A few words, please: what it does, and when.")
            }
            Ask::Complaint => Step::record(vec![Event::Complaint {
                words: text.to_owned(),
            }]),
            Ask::Symptoms { choices, .. } => match self.chosen_symptoms(text, choices) {
                Ok(chosen) => self.symptoms(history, prompt, &chosen, true),
                Err(words) => Step::again(prompt, words),
            },
            Ask::Stuck { .. } => Step::again(
                prompt,
                "There is no question here. `back` takes an answer back, `help` lists the words.",
            ),
            Ask::Condition { condition, .. } => self.condition(prompt, condition, text),
            Ask::Hold { .. } => match seconds_held(text) {
                Ok(seconds) => self.clock(prompt, &Answer::Held(seconds)),
                Err(words) => Step::again(prompt, words),
            },
            Ask::Reading(asked) => self.reading(history, prompt, asked, text),
            Ask::Repair(sheet) if text.eq_ignore_ascii_case("done") => {
                Step::record(vec![Event::Repair(record::Repair {
                    repairs: sheet.repairs.iter().map(|r| r.repair.clone()).collect(),
                    causes: sheet.causes.clone(),
                    probability: sheet.probability,
                })])
            }
            Ask::Repair(_) => Step::again(
                prompt,
                "Type `done` when the repair is done; `help` lists the words.",
            ),
            Ask::HandOn { .. } => Step::again(prompt, NOTHING_LEFT),
            Ask::Fixed { .. } => match (yes_or_no(text), state.under_verification()) {
                (Some(true), Some(done)) => self.fixed(history, prompt, done),
                (Some(false), Some(done)) => not_fixed(done),
                _ => Step::again(prompt, "Answer yes or no."),
            },
            Ask::Cooling { .. } | Ask::Found { .. } | Ask::Closed { .. } => Step::default(),
        }
    }

    /// A condition that was answered.
    fn condition(&self, prompt: &Prompt, name: &str, text: &str) -> Step {
        let Some(id) = self.family.condition_named(name) else {
            return Step::default();
        };
        let condition = self.family.condition(id);
        let found = match judge(self, condition, text) {
            Ok(found) => found,
            Err(words) => return Step::again(prompt, words),
        };
        let mut step = Step::record(self.arrival(prompt));
        if let (Some(value), Some(unit)) = (found.value, &found.unit) {
            step = step.saying(format!("Taken as {} {unit}.", plain(value)));
        }
        if let Some(why) = broken(condition, &found) {
            step = step.saying(format!(
                "{why} A reading taken so is kept in the record and does not count: put it right and \
                 type `back`, or go on all the same."
            ));
        }
        step.events.push(Event::Condition(found));
        step
    }

    /// The clock of a stall test began or ended.
    fn clock(&self, prompt: &Prompt, answer: &Answer) -> Step {
        let (Ask::Hold { limit, cool_down }, Some(measure)) = (&prompt.ask, &prompt.measure) else {
            return Step::again(prompt, NO_FIT);
        };
        let (phase, seconds) = match answer {
            Answer::Held(seconds) => (Phase::Ended, *seconds),
            _ => (Phase::Started, *limit),
        };
        let mut step = Step::record(self.arrival(prompt));
        step.events.push(Event::Timed(record::Timed {
            measurement: measure.measurement.clone(),
            phase,
            seconds,
            cool_down: *cool_down,
        }));
        if phase == Phase::Started {
            step.again = Some(Prompt {
                measure: Some(Box::new(measure.arrived())),
                ..prompt.clone()
            });
            return step;
        }
        step.caution = Some(format!(
            "Now at least {} s at idle in P or N; do not switch the engine off.",
            plain(*cool_down)
        ));
        match too_long(seconds, *limit) {
            Some(excuse) => step.saying(format!(
                "That was too long: {excuse} The reading is kept and does not count."
            )),
            None => step,
        }
    }

    /// That the set-ups of the measurement are in place: an answer to the first of its questions says so.
    pub(super) fn arrival(&self, prompt: &Prompt) -> Vec<Event> {
        let arriving = prompt.measure.as_ref().map(|measure| &measure.arriving);
        let arriving = arriving.filter(|arriving| !arriving.is_empty());
        arriving
            .iter()
            .map(|set_ups| self.in_place(set_ups))
            .collect()
    }

    /// Everything that is in place, as an event.
    fn in_place(&self, in_place: &[SetUpId]) -> Event {
        let set_ups = in_place
            .iter()
            .map(|id| self.family.set_up(*id).name.clone());
        Event::InPlace {
            set_ups: set_ups.collect(),
        }
    }

    /// The measurement is left out.
    fn set_aside(prompt: &Prompt, how: SetAsideHow, why: Option<String>) -> Step {
        let Some(measure) = &prompt.measure else {
            return Step::again(prompt, NO_FIT);
        };
        let measurement = measure.measurement.clone();
        Step::record(vec![if measure.number.is_some() {
            Event::SetAside(SetAside {
                measurement,
                how,
                why,
            })
        } else {
            Event::Verification(Verification {
                measurement,
                raw: "not taken".to_owned(),
                outcome: NOT_TAKEN.to_owned(),
                as_expected: false,
            })
        }])
    }

    /// Names the instrument in use.
    fn with(&self, prompt: &Prompt, name: &str) -> Step {
        let Some(measure) = &prompt.measure else {
            return Step::again(prompt, NO_FIT);
        };
        let Some(id) = self.family.instrument_named(name) else {
            let names = || self.family.instruments.iter().map(|i| i.name.as_str());
            let words = nearest(name, names()).map_or_else(
                || {
                    let names: Vec<&str> = names().collect();
                    format!("The instruments are: {}.", names.join(", "))
                },
                |near| format!("There is no instrument `{name}`: did you mean `{near}`?"),
            );
            return Step::again(prompt, words);
        };
        let title = &self.family.instrument(id).title;
        let mut step = Step::again(prompt, format!("Reading with: {title}."));
        if let Some(Prompt {
            ask: Ask::Reading(asked),
            ..
        }) = &mut step.again
        {
            asked.instrument = Some(name.to_owned());
        }
        step.events.push(Event::TakenUp {
            measurement: measure.measurement.clone(),
            instrument: Some(name.to_owned()),
        });
        step
    }

    /// Takes another measurement than the one asked for: by its name, or its place in the list.
    fn take_up(&self, prompt: &Prompt, name: &str) -> Step {
        let family = self.family;
        let Some(outlook) = &prompt.outlook else {
            return Step::again(prompt, "There is no list to take from yet.");
        };
        let offers: Vec<&str> = outlook
            .offers
            .iter()
            .map(|offer| offer.measurement.as_str())
            .collect();
        let name = at_place(name, &offers).unwrap_or(name);
        let Some(id) = family.measurement_named(name) else {
            let known = family.measurements.iter().map(|m| m.name.as_str());
            let words = nearest(name, known).map_or_else(
                || format!("There is no measurement `{name}`: `list` shows what is on offer."),
                |near| format!("There is no measurement `{name}`: did you mean `{near}`?"),
            );
            return Step::again(prompt, words);
        };
        let measurement = family.measurement(id);
        let name = &measurement.name;
        let present = outlook.present.iter();
        let present: Vec<SymptomId> = present.filter_map(|s| family.symptom_named(s)).collect();
        if !measurement.is_for(&present) {
            return Step::again(prompt, format!("{name} is not for this complaint."));
        }
        let judged = self
            .vehicle
            .map(|vehicle| crate::infer::bands_on(measurement, vehicle));
        if let Some(Err(missing)) = judged {
            return Step::again(prompt, format!("{name} cannot be judged: {missing}."));
        }
        Step::record(vec![Event::TakenUp {
            measurement: name.clone(),
            instrument: None,
        }])
    }

    /// A symptom by its name.
    fn symptom(&self, name: &str) -> Result<SymptomId, String> {
        self.family.symptom_named(name).ok_or_else(|| {
            let known = self
                .family
                .symptoms
                .iter()
                .map(|symptom| symptom.name.as_str());
            unknown("symptom", name, known)
        })
    }

    /// The symptoms that were typed: numbers of the list or names; nothing takes the first that the words match.
    fn chosen_symptoms(&self, text: &str, choices: &[Choice]) -> Result<Vec<SymptomId>, String> {
        let names: Vec<&str> = choices.iter().map(|choice| choice.name.as_str()).collect();
        let mut typed: Vec<&str> = listed(text).collect();
        if typed.is_empty() {
            let first = choices.first().filter(|first| first.matches);
            typed.push(&first.ok_or("Type a number or a name.")?.name);
        }
        typed
            .into_iter()
            .map(|part| {
                let name = at_place(part, &names).unwrap_or(part);
                self.family
                    .symptom_named(name)
                    .ok_or_else(|| format!("{} is no number or name of the list.", quoted(part)))
            })
            .collect()
    }

    /// Symptoms that are present or absent, once it is known that the complaint can be worked out with them.
    fn symptoms(
        &self,
        history: &History,
        prompt: &Prompt,
        symptoms: &[SymptomId],
        present: bool,
    ) -> Step {
        let mut case = recorded_case(self.family, history.state());
        let complaint = &mut case.complaint;
        complaint.present.retain(|id| !symptoms.contains(id));
        complaint.absent.retain(|id| !symptoms.contains(id));
        let list = if present {
            &mut complaint.present
        } else {
            &mut complaint.absent
        };
        list.extend(symptoms);
        list.sort_unstable();
        let present_any = !case.complaint.present.is_empty();
        if let Some(why) = self
            .with_standing(&case, |_| ())
            .err()
            .filter(|_| present_any)
        {
            let words = format!("{why} Nothing is recorded: treat them as two jobs.");
            return Step::again(prompt, words);
        }
        let names = symptoms
            .iter()
            .map(|id| self.family.symptom(*id).name.clone());
        Step::record(
            names
                .map(|symptom| Event::Symptom { symptom, present })
                .collect(),
        )
    }

    /// The repair cured the complaint: closes the job, or asks which cause it was.
    fn fixed(&self, history: &History, prompt: &Prompt, done: &Repaired) -> Step {
        let cured = cured_by(self, history.state(), done);
        if cured.among.is_empty() {
            let closed = cured.closing(self.family, done, Vec::new());
            return Step::record(vec![Event::Closed(closed)]);
        }
        Step {
            again: Some(prompt.asking(Ask::Found {
                choices: choices(self.family, &cured.among),
            })),
            ..Step::default()
        }
    }

    /// Which cause was found.
    fn found(&self, history: &History, prompt: &Prompt, answer: &Answer) -> Step {
        let state = history.state();
        let Some(done) = state.repairs.last() else {
            return Step::default();
        };
        let cured = cured_by(self, state, done);
        let repairs = &done.repair.repairs;
        let seen = match answer {
            Answer::Typed(text) => match seen(self.family, text, &cured.among, repairs) {
                Ok(seen) => seen,
                Err(words) => return Step::again(prompt, words),
            },
            Answer::Skip | Answer::Cannot(_) => Vec::new(),
            // Nothing of this answer is kept yet: the question before is asked again.
            Answer::Back(1) => return Step::default(),
            Answer::Note(_) => return self.word(history, prompt, answer.clone()),
            _ if state.closed.is_some() => {
                return Step::again(
                    prompt,
                    "The job is closed: here it can only be said which cause it was.",
                );
            }
            answer => return self.word(history, prompt, answer.clone()),
        };
        let closed = cured.closing(self.family, done, seen);
        let Some(before) = &state.closed else {
            return Step::record(vec![Event::Closed(closed)]);
        };
        if closed == before.what || closed.found == Some(record::Found::Unknown) {
            return Step::default();
        }
        Step::record(vec![
            Event::Reopened {
                words: Some("to say which cause was found".to_owned()),
            },
            Event::Closed(closed),
        ])
    }
}

/// What is said where a word has nothing to do at a prompt.
const NO_FIT: &str = "That does not fit here. `help` lists what can be typed.";
/// What is said where nothing listed is worth repairing.
const NOTHING_LEFT: &str =
    "Nothing listed is left to repair here. `note` keeps what was found elsewhere.";
/// What is said to a technician who does not go on without what the knowledge lacks.
const LOST: &str = "Type yes to go on without it. `stop` leaves the job as it is: once the knowledge has the name again, \
                    or states it as `formerly`, the job can go on with it.";

/// A remark, as an event.
fn note(words: String) -> Event {
    Event::Note {
        words,
        without: Vec::new(),
    }
}

/// Takes answers back; a choice among them is taken back with them and does not count.
fn back(history: &History, prompt: &Prompt, steps: u32) -> Step {
    let is_choice = |line: &u64| {
        let place = usize::try_from(line - 1).unwrap_or(usize::MAX);
        let entry = history.entries().get(place);
        entry.is_some_and(|entry| matches!(entry.event, Event::TakenUp { .. }))
    };
    let answers = &history.state().answers;
    if steps == 1 && answers.last().is_some_and(is_choice) {
        return Step::record(vec![Event::back(1)])
            .saying("Your choice is taken back; the record keeps that.");
    }
    let wanted = usize::try_from(steps).unwrap_or(usize::MAX);
    let lines = answers.iter().rev().enumerate();
    let last = lines.filter(|(_, line)| !is_choice(line)).nth(wanted - 1);
    let Some(back) = last.and_then(|(place, _)| u32::try_from(place + 1).ok()) else {
        let standing = answers.iter().filter(|line| !is_choice(line)).count();
        return Step::again(
            prompt,
            format!("{steps} steps back asked for, and {standing} answers can be taken back"),
        );
    };
    let answers = if steps == 1 {
        "The last answer is".to_owned()
    } else {
        format!("{steps} answers are")
    };
    Step::record(vec![Event::back(back)])
        .saying(format!("{answers} taken back; the record keeps that."))
}

/// The repair did not cure the complaint.
fn not_fixed(done: &Repaired) -> Step {
    let repairs = done.repair.repairs.clone();
    let words = format!(
        "Not fixed: what {} would have cured is ruled out, and the diagnosis goes on.",
        repairs.join(" and ")
    );
    Step::record(vec![Event::Closed(Closed {
        fixed: false,
        causes: done.repair.causes.clone(),
        repairs,
        found: None,
        among: Vec::new(),
        words: None,
    })])
    .saying(words)
}

/// Words for a name that is not known.
fn unknown<'n>(kind: &str, name: &str, known: impl Iterator<Item = &'n str> + Clone) -> String {
    match nearest(name, known.clone()) {
        Some(near) => format!("There is no {kind} `{name}`: did you mean `{near}`?"),
        None => {
            let known: Vec<&str> = known.collect();
            format!(
                "There is no {kind} `{name}`; there are: {}.",
                known.join(", ")
            )
        }
    }
}

impl Measure {
    /// The same measurement with its set-ups in place.
    fn arrived(&self) -> Self {
        Self {
            set_ups: Vec::new(),
            arriving: Vec::new(),
            ..self.clone()
        }
    }
}
