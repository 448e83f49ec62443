//! What makes a reading valid: its conditions, and the clock of a stall test.

use jiff::Timestamp;

use super::at_hand::AtHand;
use super::core::Session;
use super::measure::Measure;
use super::prompt::Ask;
use crate::entry;
use crate::entry::Expected;
use crate::knowledge::{
    Bound, Condition, ConditionId, ConditionKind, Family, MeasurementId, SetUpId, Timed, Vehicle,
};
use crate::record::{self, Event, History, State};
use crate::text::plain;
use crate::units::timing::whole_seconds;
use crate::units::{Interval, Unit};

/// A longer time at full throttle than this, in seconds, is a slip of the pen.
const LONGEST_HELD: f64 = 120.0;

/// What must be waited for before a stall test: none for another measurement, or where it is held already.
pub(super) fn stall_left(
    family: &Family,
    state: &State,
    at: &AtHand<'_>,
    id: MeasurementId,
    now: Timestamp,
) -> Option<Ask> {
    let stall = matches!(family.measurement(id).timed, Some(Timed::Stall { .. }));
    if !stall || at.held.is_some() {
        return None;
    }
    let left = state.cool_down_left(now)?;
    Some(Ask::Cooling {
        seconds: whole_seconds(left.unsigned_abs()),
    })
}

/// The clock of a stall test that is not held yet.
pub(super) fn hold(family: &Family, at: &AtHand<'_>, id: MeasurementId) -> Option<Ask> {
    match family.measurement(id).timed {
        Some(Timed::Stall { limit, cool_down }) if at.held.is_none() => {
            Some(Ask::Hold { limit, cool_down })
        }
        _ => None,
    }
}

/// What must be answered before the reading: a condition, then the clock.
pub(super) fn measuring(
    session: &Session<'_>,
    history: &History,
    at: &AtHand<'_>,
    measure: &Measure,
    now: Timestamp,
) -> Option<Ask> {
    let (family, state) = (session.family, history.state());
    let entering: Vec<SetUpId> = measure
        .set_ups
        .iter()
        .filter_map(|set_up| family.set_up_named(&set_up.set_up))
        .collect();
    let conditions = &family.measurement(measure.at).conditions;
    let open = conditions
        .iter()
        .map(|id| family.condition(*id))
        .find(|condition| {
            let ends = |set_up: &SetUpId| condition.ended_by.contains(set_up);
            let Some(found) = state.conditions.get(&condition.name) else {
                return true;
            };
            if !found.what.holds {
                return found.line <= at.since;
            }
            let age = now.duration_since(found.time).as_secs_f64() / 60.0;
            condition.lasts.is_some_and(|lasts| age > lasts.get())
                || is_ended_since(family, history, condition, found.line)
                || entering.iter().any(ends)
        });
    match open {
        Some(condition) => Some(asked(condition, session.vehicle)),
        None => hold(family, at, measure.at),
    }
}

/// Whether a set-up that ends a condition was entered after a line of the record.
fn is_ended_since(family: &Family, history: &History, condition: &Condition, line: u64) -> bool {
    let ends = |name: &String| {
        let set_up = family.set_up_named(name);
        set_up.is_some_and(|set_up| condition.ended_by.contains(&set_up))
    };
    let mut before: &[String] = &[];
    for entry in history.entries() {
        if let Event::InPlace { set_ups } = &entry.event {
            let mut entered = set_ups.iter().filter(|name| !before.contains(name));
            if entry.line > line && entered.any(ends) {
                return true;
            }
            before = set_ups;
        }
    }
    false
}

/// The question of a condition.
fn asked(condition: &Condition, vehicle: Option<&Vehicle>) -> Ask {
    let (unit, from, to) = match &condition.kind {
        ConditionKind::YesNo => (None, None, None),
        ConditionKind::Number { unit, holds, .. } => {
            let limit = |bound: &Option<Bound>| bound.as_ref()?.limit.on(vehicle?, *unit).ok();
            (Some(*unit), limit(&holds.lower), limit(&holds.upper))
        }
    };
    Ask::Condition {
        condition: condition.name.clone(),
        question: condition.ask.clone(),
        unit: unit.map(|unit| unit.symbol().to_owned()),
        from,
        to,
    }
}

/// Why a reading does not count: a condition of the measurement that was found not to hold, or a stall test held too
/// long.
pub(super) fn excuse(
    family: &Family,
    state: &State,
    at: &AtHand<'_>,
    id: MeasurementId,
) -> Option<String> {
    let measurement = family.measurement(id);
    let unmet = |id: &ConditionId| {
        let condition = family.condition(*id);
        let found = state.conditions.get(&condition.name)?;
        (found.line > at.since).then(|| broken(condition, &found.what))?
    };
    let held = || match (measurement.timed, at.held) {
        (Some(Timed::Stall { limit, .. }), Some(held)) => too_long(held, limit),
        _ => None,
    };
    measurement.conditions.iter().find_map(unmet).or_else(held)
}

/// Why a condition does not hold, where it does not.
pub(super) fn broken(condition: &Condition, found: &record::Condition) -> Option<String> {
    if found.holds {
        return None;
    }
    Some(match (found.value, &found.unit) {
        (Some(value), Some(unit)) => format!(
            "{}: {} {unit}, outside what it must be.",
            condition.ask,
            plain(value)
        ),
        _ => format!("Answered no: {}", condition.ask),
    })
}

/// Why a stall test does not count that was held so long.
pub(super) fn too_long(held: f64, limit: f64) -> Option<String> {
    (held > limit).then(|| {
        format!(
            "held {} s at full throttle, longer than {} s.",
            plain(held),
            plain(limit)
        )
    })
}

/// What a typed answer says about a condition.
///
/// # Errors
///
/// Words where it is no answer.
pub(super) fn judge(
    session: &Session<'_>,
    condition: &Condition,
    text: &str,
) -> Result<record::Condition, String> {
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
            Ok(found(holds, None, None))
        }
        ConditionKind::Number {
            unit,
            instrument,
            holds,
        } => {
            let range = instrument.and_then(|id| {
                let instrument = session.family.instrument(id);
                instrument.range.filter(|_| instrument.unit == *unit)
            });
            let value = number(text, *unit, range)?;
            let within = match session.vehicle.map(|vehicle| holds.on(vehicle, *unit)) {
                Some(Ok(band)) => band.holds(value),
                // No sheet to judge by: the technician judges.
                Some(Err(_)) | None => true,
            };
            Ok(found(within, Some(value), Some(unit.symbol().to_owned())))
        }
    }
}

/// The seconds that a stall test was held, as typed.
///
/// # Errors
///
/// Words where it is no such time.
pub(super) fn seconds_held(text: &str) -> Result<f64, String> {
    let seconds = number(text, Unit::Second, None)?;
    if (0.0..=LONGEST_HELD).contains(&seconds) {
        Ok(seconds)
    } else {
        Err(format!(
            "{} s at full throttle cannot be: the reading comes next, here it is the seconds held.",
            plain(seconds)
        ))
    }
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
fn number(text: &str, unit: Unit, range: Option<Interval>) -> Result<f64, String> {
    let expected = Expected {
        unit,
        plausible: None,
        range,
    };
    entry::understand(text, &expected)
        .taken()?
        .in_unit(unit)
        .map(|here| here.middle())
        .ok_or_else(|| "That is another kind of quantity.".to_owned())
}
