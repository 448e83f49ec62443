//! A reading that is typed: understood, asked back where it can be meant in several ways, and recorded.

use super::answer::Step;
use super::at_hand::at_hand;
use super::closing::NOT_TAKEN;
use super::conditions::excuse;
use super::measure::Measure;
use super::prompt::{Ask, Meant, ReadingAsked};
use super::settling::too_close;
use super::turn::{Turn, WAY_OUT, settled, which};
use crate::entry::{Aside, aside, folded, yes_or_no};
use crate::infer::{Answer, Part, Taken, Typing, derive, understand, understand_part};
use crate::knowledge::{Family, MeasurementId, Outcome};
use crate::record::{Event, PartReading, Reading, Verification};

impl Turn<'_> {
    /// What was typed as a reading, or as a raw reading of one.
    pub(super) fn reading(&self, asked: &ReadingAsked, text: &str) -> Result<Step, String> {
        let measure = self.measure()?;
        let mut asked = asked.clone();
        let meant = std::mem::take(&mut asked.draft.meant);
        asked.meant.clear();
        if let Some(meant) = settled(&meant, text) {
            let echo = meant.echo().into_iter().collect();
            return Ok(self.accept(measure, &asked, meant, echo));
        }
        let again = |said: Vec<String>, asked: ReadingAsked| {
            Ok(self.asking(said, Ask::Reading(Box::new(asked))))
        };
        // After a question, a no is about that, not about the measurement.
        if !meant.is_empty() && yes_or_no(text) == Some(false) {
            return again(vec!["Then type it again.".to_owned()], asked);
        }
        if text.is_empty() {
            return again(vec![format!("Type an answer; {WAY_OUT}")], asked);
        }
        let answer = match (self.understood(measure, &asked, text), aside(text)) {
            (taken @ Answer::Taken(_), _) => taken,
            (_, Some(aside)) => self.beside(measure, &asked, aside, text),
            (answer, None) => answer,
        };
        match answer {
            Answer::Taken(meant) => {
                let echo = meant.echo().into_iter().collect();
                Ok(self.accept(measure, &asked, *meant, echo))
            }
            Answer::Question {
                alternatives,
                words,
            } => {
                let echoes = alternatives.iter().map(|m| m.echo().unwrap_or_default());
                asked.meant = echoes.collect();
                asked.draft.meant = alternatives;
                again(which(words, &asked.meant), asked)
            }
            Answer::Refused(words) => {
                let mut said = vec![words];
                said.extend(self.asked_by_another(measure, text));
                if folded(text).split(' ').any(|word| word == "vehicle") {
                    said.push(
                        "`vehicle` and words of its title puts the vehicle right.".to_owned(),
                    );
                }
                said.push(WAY_OUT.to_owned());
                again(said, asked)
            }
        }
    }

    /// What to do where a text says something else than an answer.
    fn beside(
        &self,
        measure: &Measure,
        asked: &ReadingAsked,
        aside: Aside,
        text: &str,
    ) -> Answer<Meant> {
        Answer::Refused(match aside {
            Aside::NotKnown => "Then leave it; `why` shows what it would tell.".to_owned(),
            Aside::NotHere => format!("`cannot {text}` keeps that, and leaves it."),
            Aside::Next => "`list` shows the other measurements, `take` takes one.".to_owned(),
            Aside::Same => {
                let readings = self.history.state().readings.iter().rev();
                let mut readings = readings.map(|taken| &taken.reading);
                let Some(last) = readings.find(|last| last.measurement == measure.measurement)
                else {
                    return Answer::Refused("It was not read before on this job.".to_owned());
                };
                let typed = match (last.value, &last.unit) {
                    (Some(value), Some(unit)) if asked.parts.is_empty() => {
                        format!("{value} {unit}")
                    }
                    (Some(value), Some(unit)) => format!("= {value} {unit}"),
                    _ => last.outcome.clone(),
                };
                match self.understood(measure, asked, &typed) {
                    Answer::Taken(mut meant) => {
                        if let Meant::Whole(taken) = &mut *meant {
                            text.clone_into(&mut taken.raw);
                        }
                        let before = meant.echo().unwrap_or(typed);
                        return Answer::Question {
                            words: format!("The last time it was so: {before} The same now?"),
                            alternatives: vec![*meant],
                        };
                    }
                    Answer::Question { words, .. } | Answer::Refused(words) => words,
                }
            }
        })
    }

    /// The measurement on offer that a text answers, where it answers no other and not the one at hand.
    fn asked_by_another(&self, measure: &Measure, text: &str) -> Option<String> {
        let typed = folded(text);
        let says = |outcome: &Outcome| {
            let mut said = outcome.words.iter().map(|word| folded(word));
            folded(&outcome.name) == typed || said.any(|word| word == typed)
        };
        let family = self.session.family;
        let offers = self
            .prompt
            .outlook
            .iter()
            .flat_map(|outlook| &outlook.offers);
        let offered = offers.filter_map(|offer| family.measurement_named(&offer.id));
        let mut asking = offered
            .filter(|id| *id != measure.at && family.measurement(*id).outcomes.iter().any(says));
        // One word can answer anything.
        let (only, None) = (
            asking.next().filter(|_| typed.contains(' '))?,
            asking.next(),
        ) else {
            return None;
        };
        let other = family.measurement(only);
        Some(format!("`take {}` asks that: {}", other.title, other.ask))
    }

    /// What a typed text can mean.
    fn understood(&self, measure: &Measure, asked: &ReadingAsked, text: &str) -> Answer<Meant> {
        let (family, id) = (self.session.family, measure.at);
        let measurement = family.measurement(id);
        let instrument = asked.instrument.as_ref();
        let typing = Typing {
            instrument: instrument.and_then(|name| family.instrument_named(name)),
            system: Some(self.session.system),
        };
        let whole = text.strip_prefix('=').map(str::trim);
        let is_whole =
            asked.draft.parts.is_empty() && (whole.is_some() || measurement.choose(text).is_ok());
        let number = measurement.number();
        let part = asked.part().filter(|_| !is_whole);
        let take = part.zip(number).and_then(|(part, number)| {
            let mut takes = number.takes.iter();
            takes.find(|take| take.name == part.name)
        });
        if let Some(take) = take {
            return understand_part(family, take, text, &typing).map(|part| Ok(Meant::Part(part)));
        }
        // A mark of a computed number; elsewhere it belongs to what is typed.
        let computed = number.is_some_and(|number| number.formula.is_some());
        let text = whole
            .filter(|_| computed || measure.number.is_none())
            .unwrap_or(text);
        understand(family, self.session.vehicle, id, text, &typing)
            .map(|taken| Ok(Meant::Whole(Box::new(taken))))
    }

    /// Takes what was understood; a number is computed once all its raw readings are there.
    fn accept(
        &self,
        measure: &Measure,
        asked: &ReadingAsked,
        meant: Meant,
        mut said: Vec<String>,
    ) -> Step {
        let part = match meant {
            Meant::Whole(taken) => return self.read(measure, &taken, said),
            Meant::Part(part) => part,
        };
        let mut asked = asked.clone();
        if let Some(now) = asked.parts.iter_mut().find(|part| part.typed.is_none()) {
            now.typed = Some(part.raw.clone());
            asked.draft.parts.insert(now.name.clone(), part);
        }
        if asked.part().is_none() {
            let parts = std::mem::take(&mut asked.draft.parts);
            let Turn { session, .. } = self;
            let typing = Typing {
                system: Some(session.system),
                ..Typing::default()
            };
            match derive(session.family, session.vehicle, measure.at, parts, &typing) {
                Ok(taken) => {
                    said.extend(taken.echo.clone());
                    return self.read(measure, &taken, said);
                }
                // All of them are read again.
                Err(words) => {
                    said.push(words);
                    asked.parts.iter_mut().for_each(|part| part.typed = None);
                }
            }
        }
        self.asking(said, Ask::Reading(Box::new(asked)))
    }

    /// Takes the last raw reading back; none where none is typed yet.
    pub(super) fn unread(&self, asked: &ReadingAsked) -> Option<Step> {
        let mut asked = asked.clone();
        let last = asked.parts.iter_mut().rfind(|part| part.typed.is_some())?;
        last.typed = None;
        let said = format!("{} is taken back.", last.name);
        asked.draft.parts.remove(&last.name);
        Some(self.asking(vec![said], Ask::Reading(Box::new(asked))))
    }

    /// The reading goes into the record.
    fn read(&self, measure: &Measure, taken: &Taken, mut said: Vec<String>) -> Step {
        let (session, state, id) = (self.session, self.history.state(), measure.at);
        let measurement = session.family.measurement(id);
        let excuse = excuse(&session, state, &at_hand(self.history), id);
        let event = if measure.number.is_none() {
            let normal = &measurement.outcomes[measurement.normal.index()].name;
            let outcome = &measurement.outcomes[taken.evidence.outcome()].name;
            let outcome = if excuse.is_some() { NOT_TAKEN } else { outcome };
            if let Some(excuse) = &excuse {
                said.push(format!(
                    "Kept in the record, and it does not count: {excuse} It is asked again; `skip` leaves it out."
                ));
            } else if outcome != normal {
                said.push("That is not how a mended vehicle reads.".to_owned());
            }
            Event::Verification(Verification {
                measurement: measurement.name.clone(),
                raw: taken.raw.clone(),
                as_expected: outcome == normal,
                outcome: outcome.to_owned(),
            })
        } else {
            said.extend(match &excuse {
                Some(excuse) => Some(format!(
                    "Kept in the record, and it does not count: {excuse}"
                )),
                None => too_close(&session, id, taken),
            });
            let attempt = state.next_attempt(&measure.measurement);
            let reading = recorded(session.family, id, taken, excuse, attempt);
            Event::Reading(Box::new(reading))
        };
        let counts = !matches!(&event, Event::Reading(reading) if !reading.counts);
        let mut events = self.arrival();
        events.push(event);
        if counts {
            let family = session.family;
            events.extend(self.changed(|now| now.read(family, &taken.evidence)));
        }
        Step {
            events,
            said,
            ..Step::default()
        }
    }
}

/// A reading as the record keeps it; `excuse` says why it does not count, where it does not.
pub(super) fn recorded(
    family: &Family,
    id: MeasurementId,
    taken: &Taken,
    excuse: Option<String>,
    attempt: u32,
) -> Reading {
    let measurement = family.measurement(id);
    let outcomes = measurement.outcomes.iter().map(|outcome| &outcome.name);
    let part = |part: &Part| PartReading {
        raw: part.raw.clone(),
        value: part.value.number,
        unit: Some(part.value.unit.symbol().to_owned()),
        uncertainty: part.value.uncertainty,
    };
    let parts = taken.parts.iter();
    let codes = taken.codes.as_ref();
    let value = taken.value.as_ref();
    Reading {
        measurement: measurement.name.clone(),
        raw: taken.raw.clone(),
        outcome: measurement.outcomes[taken.evidence.outcome()].name.clone(),
        weights: outcomes
            .cloned()
            .zip(taken.evidence.weights.iter().copied())
            .collect(),
        value: value.map(|value| value.number),
        unit: value.map(|value| value.unit.symbol().to_owned()),
        uncertainty: value.and_then(|value| value.uncertainty),
        instrument: value
            .and_then(|value| value.instrument)
            .map(|id| family.name_of(id)),
        values: parts.map(|(name, it)| (name.clone(), part(it))).collect(),
        codes: codes.map(|codes| codes.iter().map(ToString::to_string).collect()),
        counts: excuse.is_none(),
        why_not: excuse,
        attempt,
    }
}

impl Meant {
    /// How it is understood, to be shown back.
    fn echo(&self) -> Option<String> {
        match self {
            Self::Part(part) => Some(part.echo.clone()),
            Self::Whole(taken) => taken.echo.clone(),
        }
    }
}
