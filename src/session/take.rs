//! What an answer adds to the record.

use super::answer::{Answer, Step};
use super::at_hand::at_hand;
use super::closing::{NOT_TAKEN, SKIPPED, WAITS, at_place, confirmed, listed};
use super::conditions::{seconds_held, too_long, yes_or_no};
use super::core::Session;
use super::other_repair::said_done;
use super::prompt::{Ask, Choice, Prompt};
use super::recorded::recorded_case;
use super::search::{called, measurements_called, several_called};
use super::turn::{NO_FIT, Turn};
use crate::entry::{self, NoChoice, choose, folded};
use crate::infer::bands_on;
use crate::knowledge::{Family, Id, InstrumentId, MeasurementId, RepairId, SymptomId, Workshop};
use crate::record::{
    Advice, AdviceKind, Event, History, Phase, SetAside, SetAsideHow, Timed, Verification,
};
use crate::text::{nearest, plain, quoted, sentence};
use crate::units::Unit;

/// What is said where nothing listed is worth repairing.
const NOTHING_LEFT: &str =
    "Nothing listed is left to repair here. `note` keeps what was found elsewhere.";
/// What is said where the complaint means no symptom and the general looks are taken.
const NO_SYMPTOM: &str = "There is nothing more to ask here. `also` and a complaint looks into that one, `note` keeps \
                          what was found, `back` takes an answer back, `stop` leaves.";
/// What is said to a technician who does not go on without what the knowledge lacks.
const LOST: &str = "Type yes to go on without it. `stop` leaves the job as it is: once the knowledge has the name again, \
                    or states it as `formerly`, the job can go on with it.";

impl Session<'_> {
    /// What an answer to a prompt of this job adds to its record. Nothing is recorded here.
    pub fn take(&self, history: &History, prompt: &Prompt, answer: Answer) -> Step {
        let turn = Turn {
            session: self.at(history.state()),
            history,
            prompt,
        };
        let taken = match prompt.ask {
            Ask::Found { .. } | Ask::Closed { .. } => turn.found(answer),
            _ => turn.answer(answer),
        };
        let mut step = taken.unwrap_or_else(|words| Step::again(prompt, words));
        // What was advised is kept with what was done about it.
        let advised = prompt.advice.as_ref();
        let advised = advised.filter(|advice| at_hand(history).advised != Some(advice));
        let is_note = |event: &Event| matches!(event, Event::Note { .. });
        if let Some(advice) = advised.filter(|_| !step.events.iter().all(is_note)) {
            step.events.insert(0, Event::Advice(advice.clone()));
        }
        step
    }
}

impl Turn<'_> {
    /// What an answer does at any prompt of an open job.
    pub(super) fn answer(&self, answer: Answer) -> Result<Step, String> {
        match (&self.prompt.ask, &answer) {
            // Nothing is kept of it yet: the question before is asked again.
            (Ask::Did { .. }, Answer::Back(1)) => return Ok(Step::default()),
            (Ask::Fixed { .. }, Answer::Skip | Answer::Cannot(_)) => {
                return Err(WAITS.to_owned());
            }
            _ => {}
        }
        match answer {
            Answer::Typed(text) => self.typed(text.trim()),
            Answer::Skip => self.set_aside(SetAsideHow::Skipped, None),
            Answer::Cannot(why) => self.set_aside(SetAsideHow::NotPossible, why),
            Answer::With(name) => self.with(&name),
            Answer::Take(name) => self.take_up(&name),
            Answer::Back(steps) => self.back(steps),
            Answer::Correct(number) => self.correct(number),
            Answer::Note(words) => Ok(self.note(words)),
            Answer::Also(name) => self.symptoms(&[self.symptom(&name)?], true),
            Answer::Absent(name) => self.symptoms(&[self.symptom(&name)?], false),
            Answer::InPlace(name) => self.enter(&name),
            Answer::Vehicle(name) => self.vehicle(&name),
            Answer::Repair => self.repair(),
            Answer::Repaired(words) => self.did(&words),
            Answer::Recording(recording) => self.recording(*recording),
            Answer::Start => self.clock(None),
            Answer::Held(seconds) => self.clock(Some(seconds)),
        }
    }

    /// What a typed answer says.
    fn typed(&self, text: &str) -> Result<Step, String> {
        if self.prompt.outlook.is_some()
            && let Some(words) = said_done(self.session.family, text)
        {
            return self.did(words);
        }
        match &self.prompt.ask {
            Ask::Lost { lost } if yes_or_no(text) == Some(true) => {
                Ok(Step::record(vec![Event::Note {
                    words: "goes on without what the knowledge no longer has".to_owned(),
                    without: lost.clone(),
                    recording: None,
                }]))
            }
            Ask::Lost { .. } => Err(LOST.to_owned()),
            Ask::Still { choices } => self.stands(choices, text),
            Ask::Complaint if text.is_empty() => {
                Ok(Step::default().saying("A few words, please: what it does, and when."))
            }
            Ask::Complaint => Ok(Step::record(vec![Event::Complaint {
                words: text.to_owned(),
            }])),
            Ask::Symptoms { words, choices } => self.symptoms_chosen(text, words, choices),
            Ask::Told { told } => self.told(text, told),
            Ask::NoSymptom { .. } => Err(NO_SYMPTOM.to_owned()),
            Ask::Stuck { .. } => Err(
                "There is no question here. `back` takes an answer back, `help` lists the words."
                    .to_owned(),
            ),
            Ask::Condition {
                condition, meant, ..
            } => Ok(match self.session.family.condition_named(condition) {
                Some(id) => self.condition(self.session.family.condition(id), meant, text),
                None => Step::default(),
            }),
            Ask::Hold { .. } => self.clock(Some(seconds_held(text)?)),
            Ask::Reading(asked) => match self.reading(asked, text) {
                // As a note says where a question may be passed over.
                Ok(step) if step.events.is_empty() && folded(text) == "not tried" => {
                    self.set_aside(SetAsideHow::Skipped, None)
                }
                taken => taken,
            },
            Ask::Repair(sheet) if text.eq_ignore_ascii_case("done") => {
                let family = self.session.family;
                let done = sheet.repairs.iter();
                let done: Vec<RepairId> = done
                    .filter_map(|asked| family.repair_named(&asked.repair))
                    .collect();
                Ok(self.repaired(&done, sheet.causes.clone(), sheet.probability))
            }
            Ask::Repair(_) => Err(
                "Type `done` when the repair is done, or `repair` and words of another that was done; \
                 `help` lists the words."
                    .to_owned(),
            ),
            Ask::Did { repair, .. } => self.did_it(repair, text),
            Ask::HandOn { .. } => Err(NOTHING_LEFT.to_owned()),
            Ask::Confirm { question, .. } => confirmed(question, text),
            Ask::Fixed { .. } => self.fixed(text),
            Ask::Cooling { .. } | Ask::Found { .. } | Ask::Closed { .. } => Ok(Step::default()),
        }
    }

    /// Keeps a remark; the question stays open.
    pub(super) fn note(&self, words: String) -> Step {
        Step {
            events: vec![Event::note(words)],
            ..Step::again(self.prompt, "Noted.")
        }
    }

    /// The clock of a stall test began, or ended after so many seconds.
    fn clock(&self, held: Option<f64>) -> Result<Step, String> {
        let held = held.map(|seconds| (10.0 * seconds).round() / 10.0);
        let measure = self.measure()?;
        let Ask::Hold {
            limit, cool_down, ..
        } = self.prompt.ask
        else {
            return Err(NO_FIT.to_owned());
        };
        let mut step = Step::record(self.arrival());
        step.events.push(Event::Timed(Timed {
            measurement: measure.measurement.clone(),
            phase: held.map_or(Phase::Started, |_| Phase::Ended),
            seconds: held.unwrap_or(limit),
            cool_down,
        }));
        let Some(held) = held else {
            // The clock runs now: the same question, with the set-ups in place.
            let mut again = self.prompt.clone();
            if let Some(measure) = &mut again.measure {
                measure.set_ups.clear();
                measure.arriving.clear();
            }
            step.again = Some(again);
            return Ok(step);
        };
        step.caution = Some(format!(
            "Now at least {} s at idle in P or N; do not switch the engine off.",
            plain(cool_down)
        ));
        Ok(match too_long(held, limit) {
            Some(excuse) => step.saying(format!(
                "That was too long: {excuse} The reading is kept and does not count."
            )),
            None => step,
        })
    }

    /// Leaves the measurement out, and with it all that needs equipment which is said not to be here.
    fn set_aside(&self, how: SetAsideHow, why: Option<String>) -> Result<Step, String> {
        let measure = self.measure()?;
        let measurement = measure.measurement.clone();
        let mut said = None;
        let event = if measure.number.is_some() {
            let family = self.session.family;
            let lacks = why.as_ref();
            let lacks = lacks.and_then(|why| missing(family, measure.at, why));
            if let Some((equipment, others)) = &lacks {
                let present = recorded_case(family, self.history.state())
                    .complaint
                    .present;
                let others = others.iter().map(|id| family.measurement(*id));
                let others = others.filter(|other| other.is_for(&present)).count();
                said = Some(format!(
                    "No {equipment}: all that needs it is set aside, {others} measurements. `back` takes that back."
                ));
            }
            Event::SetAside(SetAside {
                measurement,
                how,
                why,
                lacks: lacks.map(|(equipment, _)| equipment.to_owned()),
            })
        } else {
            Event::Verification(Verification {
                measurement,
                raw: SKIPPED.to_owned(),
                outcome: NOT_TAKEN.to_owned(),
                as_expected: false,
            })
        };
        Ok(Step {
            said: said.into_iter().collect(),
            ..Step::record(vec![event])
        })
    }

    /// Names the instrument in use.
    fn with(&self, name: &str) -> Result<Step, String> {
        let (family, measure) = (self.session.family, self.measure()?);
        let number = family.measurement(measure.at).number();
        let Some(number) = number else {
            return Err("It is answered in words, without an instrument.".to_owned());
        };
        let takes = number.takes.iter().map(|take| take.unit);
        let units: Vec<Unit> = takes.chain([number.unit]).collect();
        let all = (0..family.instruments.len()).map(InstrumentId::at);
        let reads = |id: &InstrumentId| {
            let own = family.instrument(*id).unit.dimension();
            units.iter().any(|unit| unit.dimension() == own)
        };
        let title = |id: &InstrumentId| family.instrument(*id).title.as_str();
        let called = |id: &InstrumentId| called(name, &family.instrument(*id).name, title(id));
        let known: Vec<InstrumentId> = all.filter(reads).collect();
        let named: Vec<InstrumentId> = match family.instrument_named(name) {
            Some(id) => vec![id],
            None => known.iter().copied().filter(called).collect(),
        };
        let list = |ids: &[InstrumentId]| ids.iter().map(title).collect::<Vec<_>>().join("; ");
        let id = match named.as_slice() {
            [only] => *only,
            [] if name == "?" => return Err(format!("The instruments are: {}.", list(&known))),
            // A misspelt id is refused with the id that is near.
            [] if nearest(name, InstrumentId::names(family)).is_some() => {
                return self.find::<InstrumentId>(name).map(|_| Step::default());
            }
            [] => {
                return Err(format!(
                    "No instrument for this has {} in its title: {}.",
                    quoted(name),
                    list(&known)
                ));
            }
            several => {
                return Err(format!(
                    "{} can be: {}. Say more of the title.",
                    quoted(name),
                    list(several)
                ));
            }
        };
        let (name, title) = (&family.instrument(id).name, title(&id));
        let mut step = Step::again(self.prompt, format!("Reading with: {title}."));
        if let Some(prompt) = &mut step.again
            && let Ask::Reading(asked) = &mut prompt.ask
        {
            asked.instrument = Some(name.clone());
        }
        step.events.push(Event::TakenUp {
            measurement: measure.measurement.clone(),
            instrument: Some(name.clone()),
        });
        Ok(step)
    }

    /// Takes another measurement than the one asked for: by its name, or its place in the list.
    fn take_up(&self, name: &str) -> Result<Step, String> {
        let family = self.session.family;
        let outlook = self.prompt.outlook.as_ref();
        let outlook = outlook.ok_or("There is no list to take from yet.")?;
        let offers: Vec<&str> = outlook.offers.iter().map(|o| o.id.as_str()).collect();
        let name = at_place(name, &offers).unwrap_or(name);
        let present = outlook.present.iter();
        let present: Vec<SymptomId> = present.filter_map(|s| family.symptom_named(s)).collect();
        let id = self.measurement_called(name, &present)?;
        let measurement = family.measurement(id);
        let name = measurement.name.clone();
        if !measurement.is_for(&present) {
            return Err(format!("{name} is not for this complaint."));
        }
        if let Some(vehicle) = self.session.vehicle {
            bands_on(measurement, Some(vehicle))
                .map_err(|missing| format!("{name} cannot be judged: {missing}."))?;
        }
        let step = Step::record(vec![Event::TakenUp {
            measurement: name,
            instrument: None,
        }]);
        Ok(self.out_of_turn(id, step))
    }

    /// Warns where a measurement is closed by what was read, or should come after another.
    fn out_of_turn(&self, id: MeasurementId, mut step: Step) -> Step {
        let family = self.session.family;
        let case = recorded_case(family, self.history.state());
        let offered = self.session.with_standing(&case, |standing| {
            let mut all = standing.problem.parts().measurements.iter();
            all.any(|of| of.id == id.index())
        });
        let known = &case.circumstances;
        if offered == Ok(false) && !known.left_out.contains(&id) {
            step.caution = Some(
                "WARNING: by what was read before, this is not to be done now. Leave it, unless you know better."
                    .to_owned(),
            );
        }
        let after = family.measurement(id).after.iter();
        let unread = after.filter(|first| {
            let first = **first;
            let present = &case.complaint.present;
            family.measurement(first).is_for(present) && !known.left_out.contains(&first)
        });
        let titles: Vec<&str> = unread
            .map(|first| family.measurement(*first).title.as_str())
            .collect();
        if titles.is_empty() {
            return step;
        }
        step.saying(format!("To be read before it: {}.", titles.join("; ")))
    }

    /// The measurement of a name, or of words of its title that fit no other for the complaint.
    fn measurement_called(
        &self,
        name: &str,
        present: &[SymptomId],
    ) -> Result<MeasurementId, String> {
        let family = self.session.family;
        if let Some(id) = family.measurement_known_as(name) {
            return Ok(id);
        }
        let mut called = measurements_called(family, name);
        called.retain(|id| family.measurement(*id).is_for(present));
        match called.as_slice() {
            [] if !name.contains('-') || nearest(name, MeasurementId::names(family)).is_none() => {
                Err(format!(
                    "No measurement for this complaint has {} in its title: `find` searches all titles, `list all` shows \
                 what is on offer.",
                    quoted(name)
                ))
            }
            [] => self.find(name),
            [only] => Ok(*only),
            several => {
                let titles = several.iter();
                let titles = titles.map(|id| family.measurement(*id).title.as_str());
                Err(several_called(name, titles))
            }
        }
    }

    /// Says that a set-up is in place.
    fn enter(&self, name: &str) -> Result<Step, String> {
        let family = self.session.family;
        let entered = self.find(name)?;
        let mut circumstances = recorded_case(family, self.history.state()).circumstances;
        circumstances.enter(family, entered);
        Ok(Step::record(vec![self.in_place(&circumstances.in_place)]))
    }

    /// Stops measuring, to repair now.
    fn repair(&self) -> Result<Step, String> {
        let outlook = self.prompt.outlook.as_ref();
        let outlook = outlook.ok_or("There is nothing to repair yet.")?;
        if matches!(self.prompt.ask, Ask::HandOn { .. }) {
            return Err(NOTHING_LEFT.to_owned());
        }
        self.may_repair()?;
        let first = outlook.repair_now.order.first();
        Ok(Step::record(vec![Event::Advice(Advice {
            advice: AdviceKind::Repair,
            measurement: None,
            repairs: first.map_or_else(Vec::new, |step| step.repairs.clone()),
            cost: Some(outlook.repair_now.cost),
            leading: outlook.leading(),
            asked: true,
        })]))
    }

    /// Says what must be read before the repairs that ending now begins with.
    fn may_repair(&self) -> Result<(), String> {
        let (family, state) = (self.session.family, self.history.state());
        let case = recorded_case(family, state);
        let lacks = self.session.with_standing(&case, |standing| {
            let step = standing.repair_now.steps.first()?;
            Some((standing.repairs(0), standing.required(step.group)))
        })?;
        let Some((repairs, required)) = lacks else {
            return Ok(());
        };
        let titles = repairs.iter().map(|id| family.repair(*id).title.as_str());
        let titles = titles.collect::<Vec<_>>().join("; ");
        let Some(required) = required else {
            return Err(format!(
                "{titles}: what must be read before it cannot be read here. It is not begun; hand the job on."
            ));
        };
        let Some(first) = required.first() else {
            return Ok(());
        };
        let unread = required
            .iter()
            .map(|id| family.measurement(*id).title.as_str());
        Err(format!(
            "{titles}: not begun before this is read: {}. Type `take {}` for the first of it.",
            unread.collect::<Vec<_>>().join("; "),
            family.measurement(*first).title
        ))
    }

    /// What a typed name means.
    fn find<I: Id>(&self, name: &str) -> Result<I, String> {
        let found = self.session.family.find(name);
        found.map_err(|words| sentence(&words))
    }

    /// The symptoms that were typed: numbers of the list or names; nothing takes the first that the words match.
    pub(super) fn chosen_symptoms(
        &self,
        text: &str,
        choices: &[Choice],
    ) -> Result<Vec<SymptomId>, String> {
        let names: Vec<&str> = choices.iter().map(|choice| choice.name.as_str()).collect();
        if text.is_empty() {
            let first = choices.first().filter(|first| first.matches);
            let first = first.ok_or("Type a number or a name, or 0 where it is none of these.")?;
            return Ok(vec![self.symptom(&first.name)?]);
        }
        // Numbers and names are parted by blanks too; a title has blanks of its own.
        let is_one = |part: &str| {
            at_place(part, &names).is_some() || self.session.family.symptom_known_as(part).is_some()
        };
        let parts: Vec<&str> = if listed(text).all(is_one) {
            listed(text).collect()
        } else {
            text.split(',')
                .map(str::trim)
                .filter(|part| !part.is_empty())
                .collect()
        };
        let symptom = |part| self.symptom(at_place(part, &names).unwrap_or(part));
        parts.into_iter().map(symptom).collect()
    }

    /// A symptom by its name, or by its title as a choice is typed.
    fn symptom(&self, text: &str) -> Result<SymptomId, String> {
        let family = self.session.family;
        if let Some(id) = family.symptom_known_as(text) {
            return Ok(id);
        }
        let symptoms = family.symptoms.iter();
        let choices: Vec<entry::Choice<'_>> = symptoms
            .map(|symptom| entry::Choice {
                name: &symptom.name,
                gloss: &symptom.title,
                words: &[],
            })
            .collect();
        choose(text, &choices, &[])
            .map(SymptomId::at)
            .map_err(|no| match no {
                NoChoice::Near(place) => {
                    format!(
                        "{} is no complaint here: did you mean `{}`?",
                        quoted(text),
                        choices[place].name
                    )
                }
                NoChoice::Unclear => {
                    format!("{} can be several of them: type a number or a name.", quoted(text))
                }
                NoChoice::Unknown => format!(
                    "{} is no number or name of the list; `back` puts the complaint in other words.",
                    quoted(text)
                ),
            })
    }

    /// Symptoms that are present or absent, once it is known that the complaint can be worked out with them.
    pub(super) fn symptoms(&self, symptoms: &[SymptomId], present: bool) -> Result<Step, String> {
        let family = self.session.family;
        let mut case = recorded_case(family, self.history.state());
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
        if !complaint.present.is_empty() {
            self.session
                .with_standing(&case, |_| ())
                .map_err(|why| format!("{why} Nothing is recorded: treat them as two jobs."))?;
        }
        let names = family.names_of(symptoms).into_iter();
        let events = names.map(|symptom| Event::Symptom { symptom, present });
        Ok(Step::record(events.collect()))
    }

    /// Takes answers back; a choice among them is taken back with them and does not count.
    fn back(&self, steps: u32) -> Result<Step, String> {
        if let Ask::Reading(asked) = &self.prompt.ask
            && steps == 1
            && let Some(step) = self.unread(asked)
        {
            return Ok(step);
        }
        let is_choice = |line: &u64| {
            let place = usize::try_from(line - 1).unwrap_or(usize::MAX);
            let entry = self.history.entries().get(place);
            entry.is_some_and(|entry| matches!(entry.event, Event::TakenUp { .. }))
        };
        let answers = &self.history.state().answers;
        if steps == 1 && answers.last().is_some_and(is_choice) {
            return Ok(Step::record(vec![Event::back(1)])
                .saying("Your choice is taken back; the record keeps that."));
        }
        let wanted = usize::try_from(steps).unwrap_or(usize::MAX);
        let lines = answers.iter().rev().enumerate();
        let last = lines.filter(|(_, line)| !is_choice(line)).nth(wanted - 1);
        let back = last.and_then(|(place, _)| u32::try_from(place + 1).ok());
        let back = back.ok_or_else(|| {
            let standing = answers.iter().filter(|line| !is_choice(line)).count();
            format!("{steps} steps back asked for, and {standing} answers can be taken back")
        })?;
        let answers = match steps {
            1 => "The last answer is".to_owned(),
            more => format!("{more} answers are"),
        };
        Ok(Step::record(vec![Event::back(back)])
            .saying(format!("{answers} taken back; the record keeps that.")))
    }
}

/// The equipment that a remark says is not here, and all measurements that need it.
fn missing<'f>(
    family: &'f Family,
    measurement: MeasurementId,
    why: &str,
) -> Option<(&'f str, Vec<MeasurementId>)> {
    let why = folded(why).replace('\'', "");
    let said: Vec<&str> = why.split(' ').collect();
    let denies = ["no", "without", "dont", "havent", "not"];
    let between = [
        "a", "an", "any", "have", "got", "our", "there", "is", "here",
    ];
    // What comes behind a denial, and what comes before a word that says it is of no use.
    let behind = |place: usize| {
        said[place + 1..]
            .iter()
            .find(|word| !between.contains(word))
    };
    let denied = said.iter().enumerate().filter_map(|(place, word)| {
        if denies.contains(word) {
            behind(place)
        } else {
            let spoilt = ["broken", "missing", "busy"].contains(said.get(place + 1)?);
            spoilt.then_some(word)
        }
    });
    let denied: Vec<&str> = denied.copied().collect();
    let equipment = family
        .set_ups
        .iter()
        .filter_map(|of| of.equipment.as_deref());
    let named = |name: &&str| name.split(' ').any(|word| denied.contains(&word));
    equipment.filter(named).find_map(|name| {
        let workshop = Workshop {
            lacks: vec![name.to_owned()],
            ..Workshop::default()
        };
        let out = workshop.left_out(family);
        // Said in full it is meant whatever is at hand; one word of it, where that needs it.
        let in_full = denies
            .iter()
            .any(|no| why.contains(&format!("{no} {name}")));
        (in_full || out.contains(&measurement)).then_some((name, out))
    })
}
