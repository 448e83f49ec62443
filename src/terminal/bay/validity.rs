//! What makes a reading valid: its conditions, the clock of a stall, the cool-down after one.

use std::time::Duration;

use jiff::Timestamp;

use super::ask::Asked;
use super::talk::Heard;
use super::visit::{BayError, Turn, Visit};
use super::word::Word;
use crate::decide::Standing;
use crate::entry;
use crate::entry::{Expected, Understood};
use crate::knowledge::{Condition, ConditionKind, MeasurementId, Timed};
use crate::record;
use crate::record::{Event, Phase, State};
use crate::text::Tone;
use crate::text::plain;
use crate::units::Unit;
use crate::units::timing::{Limit, whole_seconds};

/// A longer time at full throttle than this, in seconds, is a slip of the pen.
const LONGEST_HELD: f64 = 120.0;
/// What the engine does during a cool-down. Common practice.
const COOLING: &str = "Cooling down, engine idling in P or N, not switched off";

impl Visit<'_, '_> {
    /// Asks for the conditions that are not known to hold; gives why the reading will not count,
    /// where one does not hold.
    pub(super) fn conditions(
        &mut self,
        state: &State,
        standing: Option<&Standing<'_, '_>>,
        id: MeasurementId,
    ) -> Result<Asked<Option<String>>, BayError> {
        let mut excuse = None;
        for condition in &self.family.measurement(id).conditions {
            let condition = self.family.condition(*condition);
            if self.still_holds(state, condition) && !self.is_about_to_end(condition) {
                continue;
            }
            match self.condition(standing, id, condition)? {
                Asked::Answered(None) => {}
                Asked::Answered(Some(why)) => {
                    self.say(&format!(
                        "{why} A reading taken so is kept in the record and does not count: put it right and \
                         type `back`, or go on all the same."
                    ))?;
                    excuse = excuse.or(Some(why));
                }
                Asked::Elsewhere(turn) => return Ok(Asked::Elsewhere(turn)),
            }
        }
        Ok(Asked::Answered(excuse))
    }

    /// Whether a condition was found to hold and the finding has not gone stale.
    fn still_holds(&self, state: &State, condition: &Condition) -> bool {
        let Some(found) = state.conditions.get(&condition.name) else {
            return false;
        };
        let age = self
            .talk
            .clock
            .now()
            .duration_since(found.time)
            .as_secs_f64()
            / 60.0;
        let fresh = condition.lasts.is_none_or(|lasts| age <= lasts.get());
        found.what.holds && fresh && !self.is_ended_since(condition, found.line)
    }

    /// Whether a set-up that ends a condition was entered after a line of the record.
    fn is_ended_since(&self, condition: &Condition, line: u64) -> bool {
        let ends = |name: &String| {
            self.family
                .set_up_named(name)
                .is_some_and(|set_up| condition.ended_by.contains(&set_up))
        };
        let mut before: Vec<&String> = Vec::new();
        let mut ended = false;
        for entry in self.record.events() {
            if let Event::InPlace { set_ups } = &entry.event {
                ended |= entry.line > line
                    && set_ups
                        .iter()
                        .any(|name| ends(name) && !before.contains(&name));
                before = set_ups.iter().collect();
            }
        }
        ended
    }

    /// Whether the way to the measurement at hand enters a set-up that ends a condition.
    fn is_about_to_end(&self, condition: &Condition) -> bool {
        self.entering
            .iter()
            .any(|set_up| condition.ended_by.contains(set_up))
    }

    /// Asks for one condition; gives why it does not hold, where it does not.
    fn condition(
        &mut self,
        standing: Option<&Standing<'_, '_>>,
        id: MeasurementId,
        condition: &Condition,
    ) -> Result<Asked<Option<String>>, BayError> {
        let question = match &condition.kind {
            ConditionKind::YesNo => format!("{} (yes or no)", condition.ask),
            ConditionKind::Number { unit, holds, .. } => {
                let limit = |bound: &Option<crate::knowledge::Bound>| {
                    let vehicle = self.vehicle?;
                    bound.as_ref()?.limit.on(vehicle, *unit).ok().map(plain)
                };
                let span = match (limit(&holds.lower), limit(&holds.upper)) {
                    (Some(from), Some(to)) => format!(" ({from} to {to} {unit})"),
                    (Some(from), None) => format!(" (at least {from} {unit})"),
                    (None, Some(to)) => format!(" (at most {to} {unit})"),
                    (None, None) => String::new(),
                };
                format!("{}{span}", condition.ask)
            }
        };
        self.talk
            .page()
            .item(Tone::Strong, 2, "Before it: ", &question)?;
        loop {
            let Some(word) = self.talk.word(">")? else {
                return Ok(Asked::Elsewhere(Turn::Stop));
            };
            let text = match word {
                Word::Answer(text) => text,
                word => match self.heed_at(word, standing, id)? {
                    Turn::Again => continue,
                    turn => return Ok(Asked::Elsewhere(turn)),
                },
            };
            match self.judge(condition, &text) {
                Ok((found, excuse)) => {
                    if let (Some(value), Some(unit)) = (found.value, &found.unit) {
                        self.say(&format!("Taken as {} {unit}.", plain(value)))?;
                    }
                    self.arrive()?;
                    self.keep(Event::Condition(found))?;
                    return Ok(Asked::Answered(excuse));
                }
                Err(words) => self.say(&words)?,
            }
        }
    }

    /// What was found about a condition, and why it does not hold, where it does not.
    fn judge(
        &self,
        condition: &Condition,
        text: &str,
    ) -> Result<(record::Condition, Option<String>), String> {
        let found = |holds, value, unit| record::Condition {
            condition: condition.name.clone(),
            raw: text.to_owned(),
            holds,
            value,
            unit,
        };
        match &condition.kind {
            ConditionKind::YesNo => {
                let holds = yes_or_no(text).ok_or_else(|| "Answer yes or no.".to_owned())?;
                let excuse = (!holds).then(|| format!("Answered no: {}", condition.ask));
                Ok((found(holds, None, None), excuse))
            }
            ConditionKind::Number {
                unit,
                instrument,
                holds,
            } => {
                let range = instrument.and_then(|id| {
                    let instrument = self.family.instrument(id);
                    (instrument.unit == *unit)
                        .then_some(instrument.range)
                        .flatten()
                });
                let value = number(text, *unit, range)?;
                let within = match self.vehicle.map(|vehicle| holds.on(vehicle, *unit)) {
                    Some(Ok(band)) => band.holds(value),
                    // No sheet to judge by: whoever reads the thermometer judges.
                    Some(Err(_)) | None => true,
                };
                let excuse = (!within).then(|| {
                    format!(
                        "{}: {} {unit}, outside what it must be.",
                        condition.ask,
                        plain(value)
                    )
                });
                Ok((
                    found(within, Some(value), Some(unit.symbol().to_owned())),
                    excuse,
                ))
            }
        }
    }

    /// Refuses a stall-type test while the last one has not cooled down: stays at the prompt until
    /// it has, or until a word leads elsewhere.
    pub(super) fn cool_down(
        &mut self,
        state: &State,
        standing: Option<&Standing<'_, '_>>,
        id: MeasurementId,
    ) -> Result<Option<Turn>, BayError> {
        let measurement = self.family.measurement(id);
        if !matches!(measurement.timed, Some(Timed::Stall { .. })) {
            return Ok(None);
        }
        while let Some(left) = state.cool_down_left(self.talk.clock.now()) {
            let seconds = whole_seconds(left.unsigned_abs());
            self.say(&format!(
                "Not yet: the last stall test has not cooled down. {seconds} s are left, engine idling in P or N, \
                 not switched off. `wait` counts them down; `list` has other measurements."
            ))?;
            let Some(word) = self.talk.word("cooling >")? else {
                return Ok(Some(Turn::Stop));
            };
            match word {
                Word::Answer(_) => {}
                Word::Wait => self.count_down(left.unsigned_abs(), COOLING)?,
                word => match self.heed_at(word, standing, id)? {
                    Turn::Again => {}
                    turn => return Ok(Some(turn)),
                },
            }
        }
        Ok(None)
    }

    /// Counts the cool-down after a stall test where a person looks on; Enter goes on meanwhile.
    pub(super) fn cooling(&mut self, id: MeasurementId) -> Result<(), BayError> {
        let stall = matches!(self.family.measurement(id).timed, Some(Timed::Stall { .. }));
        if !stall || !self.talk.interactive {
            return Ok(());
        }
        let state = State::of(self.record.events())?;
        if let Some(left) = state.cool_down_left(self.talk.clock.now()) {
            self.say(
                "Enter goes on meanwhile; the next stall test waits for the end of the count.",
            )?;
            self.count_down(left.unsigned_abs(), COOLING)?;
        }
        Ok(())
    }

    /// Runs the clock of a stall test; gives why the reading does not count, where it was held too long.
    pub(super) fn hold(
        &mut self,
        standing: Option<&Standing<'_, '_>>,
        id: MeasurementId,
    ) -> Result<Asked<Option<String>>, BayError> {
        let Some(Timed::Stall { limit, cool_down }) = self.family.measurement(id).timed else {
            return Ok(Asked::Answered(None));
        };
        let asked = if self.talk.interactive {
            self.count(standing, id, limit, cool_down)?
        } else {
            self.held_as_typed(standing, id, limit)?
        };
        let seconds = match asked {
            Asked::Answered(seconds) => seconds,
            Asked::Elsewhere(turn) => return Ok(Asked::Elsewhere(turn)),
        };
        self.arrive()?;
        self.keep(Event::Timed(record::Timed {
            measurement: self.family.measurement(id).name.clone(),
            phase: Phase::Ended,
            seconds,
            cool_down,
        }))?;
        let words = format!(
            "Now at least {} s at idle in P or N; do not switch the engine off.",
            plain(cool_down)
        );
        self.talk.page().text(Tone::Caution, 2, &words)?;
        let within = Limit::seconds(limit).is_none_or(|limit| limit.allows(seconds));
        if within {
            return Ok(Asked::Answered(None));
        }
        let excuse = format!(
            "held {} s at full throttle, longer than {} s.",
            plain(seconds),
            plain(limit)
        );
        self.say(&format!(
            "That was too long: {excuse} The reading is kept and does not count."
        ))?;
        Ok(Asked::Answered(Some(excuse)))
    }

    /// The count on a terminal: Enter starts it, Enter or its limit stops it.
    fn count(
        &mut self,
        standing: Option<&Standing<'_, '_>>,
        id: MeasurementId,
        limit: f64,
        cool_down: f64,
    ) -> Result<Asked<f64>, BayError> {
        self.say(&format!(
            "Enter starts the count to {} s, Enter again stops it; lift at the bell.",
            plain(limit)
        ))?;
        loop {
            match self.talk.word("start >")? {
                None => return Ok(Asked::Elsewhere(Turn::Stop)),
                Some(Word::Answer(_)) => break,
                Some(word) => match self.heed_at(word, standing, id)? {
                    Turn::Again => {}
                    turn => return Ok(Asked::Elsewhere(turn)),
                },
            }
        }
        self.arrive()?;
        let started = self.talk.clock.now();
        self.keep(Event::Timed(record::Timed {
            measurement: self.family.measurement(id).name.clone(),
            phase: Phase::Started,
            seconds: limit,
            cool_down,
        }))?;
        loop {
            let gone = elapsed(started, self.talk.clock.now());
            if gone >= limit {
                writeln!(self.talk.out, "\r  LIFT NOW  {gone:4.1} s \u{7}")?;
                break;
            }
            write!(
                self.talk.out,
                "\r  full throttle {gone:4.1} s of {} ",
                plain(limit)
            )?;
            self.talk.out.flush()?;
            if (self.talk.pause)(Duration::from_millis(100)) {
                // The line that stopped it says nothing.
                self.talk.hear("")?;
                break;
            }
        }
        Ok(Asked::Answered(elapsed(started, self.talk.clock.now())))
    }

    /// Off a terminal: how long it was held, as typed.
    fn held_as_typed(
        &mut self,
        standing: Option<&Standing<'_, '_>>,
        id: MeasurementId,
        limit: f64,
    ) -> Result<Asked<f64>, BayError> {
        self.say(&format!(
            "Seconds held at full throttle (at most {}):",
            plain(limit)
        ))?;
        loop {
            let Some(word) = self.talk.word("held >")? else {
                return Ok(Asked::Elsewhere(Turn::Stop));
            };
            match word {
                Word::Answer(text) => match number(&text, Unit::Second, None) {
                    Ok(seconds) if !(0.0..=LONGEST_HELD).contains(&seconds) => {
                        self.say(&format!(
                            "{} s at full throttle cannot be: the reading comes next, here it is the seconds held.",
                            plain(seconds)
                        ))?;
                    }
                    Ok(seconds) => return Ok(Asked::Answered(seconds)),
                    Err(words) => self.say(&words)?,
                },
                word => match self.heed_at(word, standing, id)? {
                    Turn::Again => {}
                    turn => return Ok(Asked::Elsewhere(turn)),
                },
            }
        }
    }

    /// Times a lag on a terminal: Enter at the lever, Enter at the bump; gives what was typed instead,
    /// where something was.
    pub(super) fn lag(&mut self) -> Result<Option<String>, BayError> {
        let Heard::Line(typed) = self.talk.hear("Enter at the lever, or the time >")? else {
            return Ok(None);
        };
        if !typed.trim().is_empty() {
            return Ok(Some(typed));
        }
        let started = self.talk.clock.now();
        let Heard::Line(_) = self.talk.hear("Enter at the bump >")? else {
            return Ok(None);
        };
        let seconds = elapsed(started, self.talk.clock.now());
        Ok(Some(format!("{seconds:.2} s")))
    }
}

/// Seconds from one time to a later one.
fn elapsed(from: Timestamp, to: Timestamp) -> f64 {
    to.duration_since(from).as_secs_f64()
}

/// Yes or no, in a few ways of saying so.
pub(super) fn yes_or_no(text: &str) -> Option<bool> {
    match text.trim().to_ascii_lowercase().as_str() {
        "yes" | "y" | "1" => Some(true),
        "no" | "n" | "2" => Some(false),
        _ => None,
    }
}

/// A plain number with its unit, where no more than that is asked.
fn number(text: &str, unit: Unit, range: Option<crate::units::Interval>) -> Result<f64, String> {
    let expected = Expected {
        unit,
        plausible: None,
        range,
    };
    match entry::understand(text, &expected) {
        Understood::Value(entry) => entry
            .in_unit(unit)
            .map(|here| here.middle())
            .ok_or_else(|| "That is another kind of quantity.".to_owned()),
        Understood::Question { words, .. } | Understood::Refusal { words } => Err(words),
    }
}
