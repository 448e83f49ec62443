//! One measurement: its screen, its conditions, its prompt, its reading.

use super::talk::Heard;
use super::visit::{BayError, Turn, Visit};
use super::word::Word;
use crate::decide::Way;
use crate::decide::{Advice, Standing};
use crate::infer::{Answer, Taken, understand};
use crate::knowledge::{MeasurementId, SetUpId, Timed};
use crate::record;
use crate::record::{Event, SetAside, SetAsideHow, State, Verification};
use crate::session::recorded_case;
use crate::terminal;
use crate::text::nearest;
use crate::text::{Tone, figures};
use crate::units::conformity::call;

/// The outcome that the record has for a verification reading that was passed over.
pub(super) const NOT_TAKEN: &str = "not-taken";

/// What came of asking for something.
pub(super) enum Asked<T> {
    /// It was answered.
    Answered(T),
    /// A word led elsewhere.
    Elsewhere(Turn),
}

impl Visit<'_, '_> {
    /// Proposes a measurement, and takes its reading or whatever is said instead.
    pub(super) fn measure(
        &mut self,
        state: &State,
        standing: &Standing<'_, '_>,
        advice: &Advice,
        id: MeasurementId,
    ) -> Result<Turn, BayError> {
        let way = self.way(standing, id);
        self.entering = way
            .iter()
            .flat_map(|way| &way.order)
            .map(|place| SetUpId::at(*place))
            .collect();
        self.arriving = way
            .iter()
            .filter(|way| !way.order.is_empty())
            .flat_map(|way| way.leaves.indices())
            .map(SetUpId::at)
            .collect();
        self.show_measurement(state, standing, advice, id, way.as_ref())?;
        if let Some(turn) = self.cool_down(state, Some(standing), id)? {
            return Ok(turn);
        }
        let excuse = match self.conditions(state, Some(standing), id)? {
            Asked::Answered(excuse) => excuse,
            Asked::Elsewhere(turn) => return Ok(turn),
        };
        let held = match self.hold(Some(standing), id)? {
            Asked::Answered(held) => held,
            Asked::Elsewhere(turn) => return Ok(turn),
        };
        let taken = match self.reading(standing, id)? {
            Asked::Answered(taken) => taken,
            Asked::Elsewhere(turn) => return Ok(turn),
        };
        self.arrive()?;
        self.keep_reading(id, &taken, excuse.or(held))?;
        self.cooling(id)?;
        self.chosen = None;
        self.instrument = None;
        Ok(Turn::On)
    }

    /// Keeps that the set-ups of the measurement at hand stand: whoever answers the first of its questions has
    /// put them in place.
    pub(super) fn arrive(&mut self) -> Result<(), BayError> {
        self.entering.clear();
        let in_place = std::mem::take(&mut self.arriving);
        if in_place.is_empty() {
            Ok(())
        } else {
            self.keep_in_place(&in_place)
        }
    }

    /// The set-ups to enter for a measurement.
    fn way(&self, standing: &Standing<'_, '_>, id: MeasurementId) -> Option<Way> {
        if let Some(ranked) = standing.rank_of(id) {
            return Some(ranked.way.clone());
        }
        if standing.is_open_to_view(id) {
            return None;
        }
        let needed = self
            .family
            .measurement(id)
            .set_ups
            .iter()
            .fold(crate::decide::InPlace::default(), |needed, set_up| {
                needed.with(set_up.index())
            });
        standing
            .problem
            .set_ups()
            .cheapest(standing.in_place, needed)
    }

    fn show_measurement(
        &mut self,
        state: &State,
        standing: &Standing<'_, '_>,
        advice: &Advice,
        id: MeasurementId,
        way: Option<&Way>,
    ) -> Result<(), BayError> {
        let (family, vehicle, system) = (self.family, self.vehicle, self.system);
        let measurement = family.measurement(id);
        let number = state.readings.len() + 1;
        let plain = self.by.is_some();
        let mut page = self.talk.page();
        page.heading(&format!(
            "{number}. {} [{}]",
            measurement.title, measurement.name
        ))?;
        match advice {
            Advice::TakeAgain(misfit) if misfit.measurement == id => {
                let text = format!(
                    "Nothing listed fits the readings. Take this one again before anything is dismantled: \
                     without it the listed causes would stand at {} instead of {}.",
                    figures::percent(misfit.without),
                    figures::percent(misfit.listed)
                );
                page.text(Tone::Strong, 2, &text)?;
            }
            Advice::Measure { measurement, saves } if *measurement == id => {
                let text = format!(
                    "Test on: repairing now would cost {} on average, testing first saves {} of it.",
                    figures::money(standing.repair_now.cost),
                    figures::money(*saves)
                );
                page.text(Tone::Plain, 2, &text)?;
                // Where the plan and the plain ranking disagree, one line says why.
                if let Some(first) = standing
                    .ranking
                    .first()
                    .filter(|first| standing.ranked(first) != id)
                    && !plain
                {
                    let text = format!(
                        "What separates most a minute is {}; set-ups, repairs and what comes after \
                         counted, this one costs less on average.",
                        family.measurement(standing.ranked(first)).name
                    );
                    page.text(Tone::Faint, 2, &text)?;
                }
            }
            Advice::Measure { measurement, .. } => {
                let text = format!(
                    "Your choice; the plan would take {}.",
                    family.measurement(*measurement).name
                );
                page.text(Tone::Plain, 2, &text)?;
            }
            Advice::Repair { .. } | Advice::Escalate | Advice::TakeAgain(_) => {
                page.text(
                    Tone::Plain,
                    2,
                    "Your choice; the advice is to stop measuring.",
                )?;
            }
        }
        terminal::why(&mut page, standing, id)?;
        page.item(Tone::Faint, 2, "! ", &family.notice)?;
        terminal::cautions(&mut page, family, measurement)?;
        terminal::steps(&mut page, family, measurement, way)?;
        terminal::limits(&mut page, measurement, vehicle, system)?;
        if vehicle.is_some_and(|vehicle| vehicle.invented) && !measurement.sheet_limits().is_empty()
        {
            page.text(
                Tone::Faint,
                2,
                "The sheet is invented for the demonstration: use it on no vehicle.",
            )?;
        }
        Ok(())
    }

    /// Asks the question of a measurement until there is a reading.
    fn reading(
        &mut self,
        standing: &Standing<'_, '_>,
        id: MeasurementId,
    ) -> Result<Asked<Taken>, BayError> {
        let measurement = self.family.measurement(id);
        if let Some(number) = measurement.number()
            && number.formula.is_some()
        {
            return self.computed(standing, id);
        }
        terminal::question(&mut self.talk.page(), measurement)?;
        if self.vehicle.is_none() && measurement.number().is_some() {
            let names: Vec<&str> = measurement
                .outcomes
                .iter()
                .map(|outcome| outcome.name.as_str())
                .collect();
            self.say(&format!(
                "No sheet is named: judge it by the vehicle's service information and answer {}.",
                names.join(", ")
            ))?;
        }
        if measurement.timed == Some(Timed::Lag) && self.talk.interactive {
            return self.lag_reading(standing, id);
        }
        self.until_understood(Some(standing), id, ">", |visit, text| {
            understand(visit.family, visit.vehicle, id, text, visit.instrument)
        })
    }

    /// Times a lag with the program, or takes it as typed.
    fn lag_reading(
        &mut self,
        standing: &Standing<'_, '_>,
        id: MeasurementId,
    ) -> Result<Asked<Taken>, BayError> {
        loop {
            let Some(line) = self.lag()? else {
                return Ok(Asked::Elsewhere(Turn::Stop));
            };
            match Word::read(&line) {
                Word::Answer(text) => {
                    match understand(self.family, self.vehicle, id, &text, self.instrument) {
                        Answer::Taken(taken) => {
                            self.say(&taken.echo.clone().unwrap_or_default())?;
                            return Ok(Asked::Answered(*taken));
                        }
                        Answer::Question { words, .. } | Answer::Refused(words) => {
                            self.say(&words)?;
                        }
                    }
                }
                word => match self.heed_at(word, Some(standing), id)? {
                    Turn::Again => {}
                    turn => return Ok(Asked::Elsewhere(turn)),
                },
            }
        }
    }

    /// Prompts until what was typed is understood, heeding words in between.
    pub(super) fn until_understood<T: Echo>(
        &mut self,
        standing: Option<&Standing<'_, '_>>,
        id: MeasurementId,
        prompt: &str,
        mut understand: impl FnMut(&Self, &str) -> Answer<T>,
    ) -> Result<Asked<T>, BayError> {
        let mut open: Vec<T> = Vec::new();
        loop {
            let Some(word) = self.talk.word(prompt)? else {
                return Ok(Asked::Elsewhere(Turn::Stop));
            };
            let text = match word {
                Word::Answer(text) if text.is_empty() => {
                    self.say("Type an answer; `skip` passes this measurement over, `help` lists the words.")?;
                    continue;
                }
                Word::Answer(text) => text,
                word => match self.heed_at(word, standing, id)? {
                    Turn::Again => continue,
                    turn => return Ok(Asked::Elsewhere(turn)),
                },
            };
            if !open.is_empty() {
                let choice = match text.to_ascii_lowercase().as_str() {
                    "yes" | "y" if open.len() == 1 => Some(0),
                    text => text
                        .strip_prefix('#')
                        .and_then(|place| place.parse::<usize>().ok())
                        .and_then(|place| place.checked_sub(1))
                        .filter(|place| *place < open.len()),
                };
                if let Some(choice) = choice {
                    return Ok(Asked::Answered(open.swap_remove(choice)));
                }
            }
            match understand(self, &text) {
                Answer::Taken(taken) => {
                    if let Some(echo) = taken.echo() {
                        self.say(&echo)?;
                    }
                    return Ok(Asked::Answered(*taken));
                }
                Answer::Question {
                    alternatives,
                    words,
                } => {
                    self.say(&words)?;
                    if alternatives.len() == 1 {
                        self.say("`yes` takes it so; else type it again.")?;
                    } else {
                        for (place, alternative) in (1..).zip(&alternatives) {
                            let echo = alternative.echo().unwrap_or_default();
                            self.say(&format!("#{place} {echo}"))?;
                        }
                        let to = if alternatives.len() == 2 { "or" } else { "to" };
                        let last = alternatives.len();
                        self.say(&format!(
                            "Type #1 {to} #{last}, or the reading again with its unit."
                        ))?;
                    }
                    open = alternatives;
                }
                Answer::Refused(words) => {
                    open.clear();
                    self.say(&words)?;
                }
            }
        }
    }

    /// Does what a word asks for at the prompt of a measurement.
    pub(super) fn heed_at(
        &mut self,
        word: Word,
        standing: Option<&Standing<'_, '_>>,
        id: MeasurementId,
    ) -> Result<Turn, BayError> {
        let name = self.family.measurement(id).name.clone();
        let (how, why) = match word {
            Word::Skip | Word::Cannot(_) if standing.is_none() => {
                self.keep(Event::Verification(Verification {
                    measurement: name,
                    raw: "not taken".to_owned(),
                    outcome: NOT_TAKEN.to_owned(),
                    as_expected: false,
                }))?;
                return Ok(Turn::On);
            }
            Word::Skip => (SetAsideHow::Skipped, None),
            Word::Cannot(why) => (SetAsideHow::NotPossible, why),
            Word::With(name) => return self.with(&name),
            Word::Why(None) if standing.is_some() => {
                if let Some(standing) = standing {
                    terminal::prospects(&mut self.talk.page(), standing, id)?;
                }
                return Ok(Turn::Again);
            }
            word => return self.heed(word, standing),
        };
        self.keep(Event::SetAside(SetAside {
            measurement: name,
            how,
            why,
        }))?;
        self.chosen = None;
        self.instrument = None;
        Ok(Turn::On)
    }

    /// Names the instrument really used.
    fn with(&mut self, name: &str) -> Result<Turn, BayError> {
        let names = || {
            self.family
                .instruments
                .iter()
                .map(|instrument| instrument.name.as_str())
        };
        if let Some(id) = self.family.instrument_named(name) {
            self.instrument = Some(id);
            let title = self.family.instrument(id).title.clone();
            self.say(&format!("Reading with: {title}."))?;
        } else {
            let text = match nearest(name, names()) {
                Some(nearest) => {
                    format!("There is no instrument `{name}`: did you mean `{nearest}`?")
                }
                None => format!(
                    "The instruments are: {}.",
                    names().collect::<Vec<_>>().join(", ")
                ),
            };
            self.say(&text)?;
        }
        Ok(Turn::Again)
    }

    /// Takes another measurement than the proposed one.
    pub(super) fn take(
        &mut self,
        standing: &Standing<'_, '_>,
        name: &str,
    ) -> Result<Turn, BayError> {
        let by_place = name
            .parse::<usize>()
            .ok()
            .and_then(|place| standing.ranking.get(place.checked_sub(1)?))
            .map(|ranked| standing.ranked(ranked));
        let Some(id) = by_place.or_else(|| self.family.measurement_named(name)) else {
            let names = self
                .family
                .measurements
                .iter()
                .map(|measurement| measurement.name.as_str());
            let text = match nearest(name, names) {
                Some(nearest) => {
                    format!("There is no measurement `{name}`: did you mean `{nearest}`?")
                }
                None => format!("There is no measurement `{name}`: `list` shows what is on offer."),
            };
            self.say(&text)?;
            return Ok(Turn::Again);
        };
        let state = State::of(self.record.events())?;
        let measurement = self.family.measurement(id);
        if !measurement.is_for(&recorded_case(self.family, &state).complaint.present) {
            self.say(&format!("{} is not for this complaint.", measurement.name))?;
            return Ok(Turn::Again);
        }
        if let Err(missing) = standing.model.foreseen(id) {
            self.say(&format!(
                "{} cannot be judged: {missing}.",
                measurement.name
            ))?;
            return Ok(Turn::Again);
        }
        if state.set_aside.contains_key(&measurement.name) {
            self.keep(Event::TakenUp {
                measurement: measurement.name.clone(),
            })?;
        }
        self.chosen = Some(id);
        self.chosen_at = self.record.events().len();
        self.repair_now = false;
        Ok(Turn::On)
    }

    /// Keeps a reading; `excuse` says why it does not count, where it does not.
    fn keep_reading(
        &mut self,
        id: MeasurementId,
        taken: &Taken,
        excuse: Option<String>,
    ) -> Result<(), BayError> {
        let measurement = self.family.measurement(id);
        let state = State::of(self.record.events())?;
        let reading = record_of(
            self.family,
            id,
            taken,
            excuse.clone(),
            state.next_attempt(&measurement.name),
        );
        self.keep(Event::Reading(Box::new(reading)))?;
        if let Some(excuse) = excuse {
            return self.say(&format!(
                "Kept in the record, and it does not count: {excuse}"
            ));
        }
        if taken.value.is_some()
            && let Some(called) = call(&taken.evidence.weights).filter(|called| !called.clear)
        {
            let text = self.too_close(id, taken, called.outcome, called.probability);
            self.say(&text)?;
        }
        Ok(())
    }

    /// Words for a reading too close to a limit to call.
    fn too_close(
        &self,
        id: MeasurementId,
        taken: &Taken,
        outcome: usize,
        probability: f64,
    ) -> String {
        let measurement = self.family.measurement(id);
        let name = &measurement.outcomes[outcome].name;
        let mut text = format!(
            "Too close to a limit to call: {name} with a probability of {}, so it moves the diagnosis only a little.",
            figures::percent(probability)
        );
        let better = terminal::settling(self.family, self.vehicle, id, taken, self.system);
        if let Some(better) = better {
            text.push(' ');
            text.push_str(&better);
        }
        text
    }

    /// Prompts for one line that is no measurement's answer; words are heeded.
    pub(super) fn line(&mut self, prompt: &str) -> Result<Asked<String>, BayError> {
        loop {
            match self.talk.hear(prompt)? {
                Heard::End => return Ok(Asked::Elsewhere(Turn::Stop)),
                Heard::Line(line) => match Word::read(&line) {
                    Word::Answer(text) => return Ok(Asked::Answered(text)),
                    word => match self.heed(word, None)? {
                        Turn::Again => {}
                        turn => return Ok(Asked::Elsewhere(turn)),
                    },
                },
            }
        }
    }
}

/// What is shown back of an answer.
pub(super) trait Echo {
    fn echo(&self) -> Option<String>;
}

impl Echo for Taken {
    fn echo(&self) -> Option<String> {
        self.echo.clone()
    }
}

/// A reading as the record keeps it.
pub(super) fn record_of(
    family: &crate::knowledge::Family,
    id: MeasurementId,
    taken: &Taken,
    excuse: Option<String>,
    attempt: u32,
) -> record::Reading {
    let measurement = family.measurement(id);
    let weights = measurement
        .outcomes
        .iter()
        .zip(&taken.evidence.weights)
        .map(|(outcome, weight)| (outcome.name.clone(), *weight))
        .collect();
    let instrument = |id: crate::knowledge::InstrumentId| family.instrument(id).name.clone();
    let values = taken
        .parts
        .iter()
        .map(|(name, part)| {
            let kept = record::PartReading {
                raw: part.raw.clone(),
                value: part.value.number,
                unit: Some(part.value.unit.symbol().to_owned()),
                uncertainty: part.value.uncertainty,
            };
            (name.clone(), kept)
        })
        .collect();
    let value = taken.value.as_ref();
    record::Reading {
        measurement: measurement.name.clone(),
        raw: taken.raw.clone(),
        outcome: measurement.outcomes[taken.evidence.outcome()].name.clone(),
        weights,
        value: value.map(|value| value.number),
        unit: value.map(|value| value.unit.symbol().to_owned()),
        uncertainty: value.and_then(|value| value.uncertainty),
        instrument: value.and_then(|value| value.instrument).map(instrument),
        values,
        codes: taken
            .codes
            .as_ref()
            .map(|codes| codes.iter().map(ToString::to_string).collect()),
        counts: excuse.is_none(),
        why_not: excuse,
        attempt,
    }
}
