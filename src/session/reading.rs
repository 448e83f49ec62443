//! A reading that is typed: understood, asked back where it can be meant in several ways, and recorded.

use super::answer::Step;
use super::at_hand::at_hand;
use super::closing::NOT_TAKEN;
use super::conditions::excuse;
use super::core::Session;
use super::measure::Measure;
use super::prompt::{Ask, Draft, Meant, Prompt, ReadingAsked};
use super::settling::too_close;
use crate::infer::{self, Taken, derive, understand, understand_part};
use crate::knowledge::{InstrumentId, MeasurementId};
use crate::record::{self, Event, History, Verification};

impl Session<'_> {
    /// What was typed as a reading, or as a raw reading of one.
    pub(super) fn reading(
        &self,
        history: &History,
        prompt: &Prompt,
        asked: &ReadingAsked,
        text: &str,
    ) -> Step {
        let Some(measure) = &prompt.measure else {
            return Step::default();
        };
        if text.is_empty() {
            return Step::again(
                prompt,
                "Type an answer; `skip` passes this measurement over, `help` lists the words.",
            );
        }
        if let Some(meant) = settled(&asked.draft.meant, text) {
            return self.accept(history, prompt, measure, asked, meant, Vec::new());
        }
        match self.understood(measure, asked, text) {
            Ok(meant) => {
                let echo = meant.echo().into_iter().collect();
                self.accept(history, prompt, measure, asked, meant, echo)
            }
            Err((meant, words)) => {
                let mut said = vec![words];
                match meant.as_slice() {
                    [] => {}
                    [_] => said.push("`yes` takes it so; else type it again.".to_owned()),
                    several => {
                        let echoes = (1..).zip(several);
                        said.extend(echoes.map(|(place, meant)| {
                            format!("#{place} {}", meant.echo().unwrap_or_default())
                        }));
                        let to = if several.len() == 2 { "or" } else { "to" };
                        said.push(format!(
                            "Type #1 {to} #{}, or the reading again with its unit.",
                            several.len()
                        ));
                    }
                }
                Step {
                    said,
                    again: Some(prompt.asking(Ask::Reading(Box::new(ReadingAsked {
                        meant: meant.iter().map(|m| m.echo().unwrap_or_default()).collect(),
                        draft: Draft {
                            meant,
                            parts: asked.draft.parts.clone(),
                        },
                        ..asked.clone()
                    })))),
                    ..Step::default()
                }
            }
        }
    }

    /// What a typed text means; otherwise the ways in which it can be meant, and words.
    fn understood(
        &self,
        measure: &Measure,
        asked: &ReadingAsked,
        text: &str,
    ) -> Result<Meant, (Vec<Meant>, String)> {
        let (family, id) = (self.family, measure.at);
        let measurement = family.measurement(id);
        let instrument = asked
            .instrument
            .as_ref()
            .and_then(|name| family.instrument_named(name));
        let first = asked.draft.parts.is_empty();
        let whole = text.strip_prefix('=').map(str::trim);
        let is_whole = first && (whole.is_some() || measurement.outcome(text).is_some());
        let take = asked.part().filter(|_| !is_whole).and_then(|part| {
            measurement
                .number()?
                .takes
                .iter()
                .find(|t| t.name == part.name)
        });
        match take {
            Some(take) => one_way(understand_part(family, take, text, instrument), Meant::Part),
            None => {
                let computed = measurement.number().is_some_and(|n| n.formula.is_some());
                let text = whole
                    .filter(|_| computed || measure.number.is_none())
                    .unwrap_or(text);
                one_way(
                    understand(family, self.vehicle, id, text, instrument),
                    |taken| Meant::Whole(Box::new(taken)),
                )
            }
        }
    }

    /// Takes what was understood; a number is computed once all its raw readings are there.
    fn accept(
        &self,
        history: &History,
        prompt: &Prompt,
        measure: &Measure,
        asked: &ReadingAsked,
        meant: Meant,
        mut said: Vec<String>,
    ) -> Step {
        let part = match meant {
            Meant::Whole(taken) => return self.read(history, prompt, measure, &taken, said),
            Meant::Part(part) => part,
        };
        let mut asked = asked.clone();
        asked.meant.clear();
        asked.draft.meant.clear();
        let now = asked.parts.iter_mut().find(|part| part.typed.is_none());
        if let Some(now) = now {
            now.typed = Some(part.raw.clone());
            asked.draft.parts.insert(now.name.clone(), part);
        }
        if asked.part().is_none() {
            let parts = std::mem::take(&mut asked.draft.parts);
            match derive(self.family, self.vehicle, measure.at, parts) {
                Ok(taken) => {
                    said.extend(taken.echo.clone());
                    return self.read(history, prompt, measure, &taken, said);
                }
                // All of them are read again.
                Err(words) => {
                    said.push(words);
                    for part in &mut asked.parts {
                        part.typed = None;
                    }
                }
            }
        }
        Step {
            said,
            again: Some(prompt.asking(Ask::Reading(Box::new(asked)))),
            ..Step::default()
        }
    }

    /// The reading goes into the record.
    fn read(
        &self,
        history: &History,
        prompt: &Prompt,
        measure: &Measure,
        taken: &Taken,
        mut said: Vec<String>,
    ) -> Step {
        let (family, state, id) = (self.family, history.state(), measure.at);
        let excuse = excuse(family, state, &at_hand(history), id);
        let mut events = self.arrival(prompt);
        if measure.number.is_none() {
            let measurement = family.measurement(id);
            let normal = &measurement.outcomes[measurement.normal.index()].name;
            let outcome = &measurement.outcomes[taken.evidence.outcome()].name;
            let outcome = if excuse.is_some() { NOT_TAKEN } else { outcome };
            if excuse.is_none() && outcome != normal {
                said.push("That is not how a mended vehicle reads.".to_owned());
            }
            events.push(Event::Verification(Verification {
                measurement: measurement.name.clone(),
                raw: taken.raw.clone(),
                as_expected: outcome == normal,
                outcome: outcome.to_owned(),
            }));
        } else {
            said.extend(match &excuse {
                Some(excuse) => Some(format!(
                    "Kept in the record, and it does not count: {excuse}"
                )),
                None => too_close(family, self.vehicle, id, taken, self.system),
            });
            let attempt = state.next_attempt(&measure.measurement);
            events.push(Event::Reading(Box::new(
                self.recorded_reading(id, taken, excuse, attempt),
            )));
        }
        Step {
            events,
            said,
            ..Step::default()
        }
    }

    /// A reading as the record keeps it; `excuse` says why it does not count, where it does not.
    fn recorded_reading(
        &self,
        id: MeasurementId,
        taken: &Taken,
        excuse: Option<String>,
        attempt: u32,
    ) -> record::Reading {
        let measurement = self.family.measurement(id);
        let weights = measurement.outcomes.iter().zip(&taken.evidence.weights);
        let instrument = |id: InstrumentId| self.family.instrument(id).name.clone();
        let part = |part: &infer::Part| record::PartReading {
            raw: part.raw.clone(),
            value: part.value.number,
            unit: Some(part.value.unit.symbol().to_owned()),
            uncertainty: part.value.uncertainty,
        };
        let parts = taken.parts.iter();
        let codes = taken.codes.as_ref();
        let value = taken.value.as_ref();
        record::Reading {
            measurement: measurement.name.clone(),
            raw: taken.raw.clone(),
            outcome: measurement.outcomes[taken.evidence.outcome()].name.clone(),
            weights: weights
                .map(|(outcome, weight)| (outcome.name.clone(), *weight))
                .collect(),
            value: value.map(|value| value.number),
            unit: value.map(|value| value.unit.symbol().to_owned()),
            uncertainty: value.and_then(|value| value.uncertainty),
            instrument: value.and_then(|value| value.instrument).map(instrument),
            values: parts.map(|(name, it)| (name.clone(), part(it))).collect(),
            codes: codes.map(|codes| codes.iter().map(ToString::to_string).collect()),
            counts: excuse.is_none(),
            why_not: excuse,
            attempt,
        }
    }
}

impl Meant {
    /// How it is understood, to be shown back.
    fn echo(&self) -> Option<String> {
        match self {
            Self::Part(part) => Some(format!("Taken as {}.", part.echo)),
            Self::Whole(taken) => taken.echo.clone(),
        }
    }
}

/// An answer with one meaning; otherwise the ways in which it can be meant, and words.
fn one_way<T>(
    answer: infer::Answer<T>,
    meant: impl Fn(T) -> Meant,
) -> Result<Meant, (Vec<Meant>, String)> {
    match answer {
        infer::Answer::Taken(taken) => Ok(meant(*taken)),
        infer::Answer::Question {
            alternatives,
            words,
        } => Err((alternatives.into_iter().map(meant).collect(), words)),
        infer::Answer::Refused(words) => Err((Vec::new(), words)),
    }
}

/// Which of the ways that were asked about a text takes: `yes` the only one, `#2` the second.
fn settled(meant: &[Meant], text: &str) -> Option<Meant> {
    if let [only] = meant
        && ["yes", "y"].contains(&text.to_ascii_lowercase().as_str())
    {
        return Some(only.clone());
    }
    let place: usize = text.strip_prefix('#')?.parse().ok()?;
    meant.get(place.checked_sub(1)?).cloned()
}
