//! A reading that is typed: understood, asked back where it can be meant in several ways, and recorded.

use super::answer::Step;
use super::at_hand::at_hand;
use super::closing::NOT_TAKEN;
use super::conditions::excuse;
use super::measure::Measure;
use super::prompt::{Ask, Meant, ReadingAsked};
use super::settling::too_close;
use super::turn::Turn;
use crate::infer::{Answer, Part, Taken, derive, understand, understand_part};
use crate::knowledge::{Family, MeasurementId};
use crate::record::{Event, PartReading, Reading, Verification};

impl Turn<'_> {
    /// What was typed as a reading, or as a raw reading of one.
    pub(super) fn reading(&self, asked: &ReadingAsked, text: &str) -> Result<Step, String> {
        let measure = self.measure()?;
        if text.is_empty() {
            return Err(
                "Type an answer; `skip` passes this measurement over, `help` lists the words."
                    .to_owned(),
            );
        }
        if let Some(meant) = settled(&asked.draft.meant, text) {
            return Ok(self.accept(measure, asked, meant, Vec::new()));
        }
        let (meant, words) = match self.understood(measure, asked, text) {
            Answer::Taken(meant) => {
                let echo = meant.echo().into_iter().collect();
                return Ok(self.accept(measure, asked, *meant, echo));
            }
            Answer::Question {
                alternatives,
                words,
            } => (alternatives, words),
            Answer::Refused(words) => (Vec::new(), words),
        };
        let mut asked = asked.clone();
        asked.meant = meant.iter().map(|m| m.echo().unwrap_or_default()).collect();
        let mut said = vec![words];
        match asked.meant.as_slice() {
            [] => {}
            [_] => said.push("`yes` takes it so; else type it again.".to_owned()),
            several => {
                let ways = (1..).zip(several);
                said.extend(ways.map(|(place, echo)| format!("#{place} {echo}")));
                let to = if several.len() == 2 { "or" } else { "to" };
                let last = several.len();
                said.push(format!(
                    "Type #1 {to} #{last}, or the reading again with its unit."
                ));
            }
        }
        asked.draft.meant = meant;
        Ok(self.asking(said, Ask::Reading(Box::new(asked))))
    }

    /// What a typed text can mean.
    fn understood(&self, measure: &Measure, asked: &ReadingAsked, text: &str) -> Answer<Meant> {
        let (family, id) = (self.session.family, measure.at);
        let measurement = family.measurement(id);
        let instrument = asked.instrument.as_ref();
        let instrument = instrument.and_then(|name| family.instrument_named(name));
        let whole = text.strip_prefix('=').map(str::trim);
        let is_whole = asked.draft.parts.is_empty()
            && (whole.is_some() || measurement.outcome(text).is_some());
        let number = measurement.number();
        let part = asked.part().filter(|_| !is_whole);
        let take = part.zip(number).and_then(|(part, number)| {
            let mut takes = number.takes.iter();
            takes.find(|take| take.name == part.name)
        });
        if let Some(take) = take {
            return understand_part(family, take, text, instrument)
                .map(|part| Ok(Meant::Part(part)));
        }
        // A mark of a computed number; elsewhere it belongs to what is typed.
        let computed = number.is_some_and(|number| number.formula.is_some());
        let text = whole
            .filter(|_| computed || measure.number.is_none())
            .unwrap_or(text);
        understand(family, self.session.vehicle, id, text, instrument)
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
        asked.meant.clear();
        asked.draft.meant.clear();
        if let Some(now) = asked.parts.iter_mut().find(|part| part.typed.is_none()) {
            now.typed = Some(part.raw.clone());
            asked.draft.parts.insert(now.name.clone(), part);
        }
        if asked.part().is_none() {
            let parts = std::mem::take(&mut asked.draft.parts);
            let Turn { session, .. } = self;
            match derive(session.family, session.vehicle, measure.at, parts) {
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

    /// The reading goes into the record.
    fn read(&self, measure: &Measure, taken: &Taken, mut said: Vec<String>) -> Step {
        let (session, state, id) = (self.session, self.history.state(), measure.at);
        let measurement = session.family.measurement(id);
        let excuse = excuse(session.family, state, &at_hand(self.history), id);
        let event = if measure.number.is_none() {
            let normal = &measurement.outcomes[measurement.normal.index()].name;
            let outcome = &measurement.outcomes[taken.evidence.outcome()].name;
            let outcome = if excuse.is_some() { NOT_TAKEN } else { outcome };
            if excuse.is_none() && outcome != normal {
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
fn recorded(
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
            Self::Part(part) => Some(format!("Taken as {}.", part.echo)),
            Self::Whole(taken) => taken.echo.clone(),
        }
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
