//! What makes a reading valid: its conditions, and the clock of a stall test.

use jiff::Timestamp;

use super::at_hand::AtHand;
use super::core::Session;
use super::measure::Measure;
use super::prompt::{Ask, ReadingAsked};
use crate::entry;
use crate::entry::Expected;
use crate::knowledge::{
    Bound, Condition, ConditionId, ConditionKind, Family, Measurement, MeasurementId, Timed,
    Vehicle,
};
use crate::record::{self, Event, History, State};
use crate::text::plain;
use crate::units::timing::whole_seconds;
use crate::units::{Interval, Unit};

/// A longer time at full throttle than this, in seconds, is a slip of the pen.
const LONGEST_HELD: f64 = 120.0;

/// What is asked of a measurement next: to wait until the last stall test has cooled down, one of its conditions, how
/// long the test was held, and at last the reading. The conditions are not asked for where it verifies a repair.
pub(super) fn asks(
    session: &Session<'_>,
    history: &History,
    at: &AtHand<'_>,
    measure: &Measure,
    now: Timestamp,
) -> Ask {
    let measurement = session.family.measurement(measure.at);
    let verifies = measure.number.is_none();
    let hold = match measurement.timed {
        Some(Timed::Stall {
            limit,
            warn,
            cool_down,
        }) if at.held.is_none() => Some(Ask::Hold {
            limit,
            warn,
            cool_down,
        }),
        _ => None,
    };
    if hold.is_some()
        && let Some(left) = history.state().cool_down_left(now)
    {
        let seconds = whole_seconds(left.unsigned_abs());
        return Ask::Cooling { seconds };
    }
    let family = session.family;
    // What is asked while a set-up is entered is asked each time, and not again for the measurement.
    let entering = measure.entering(family).into_iter();
    let unasked = |id: &ConditionId| {
        let found = history.state().conditions.get(&family.condition(*id).name);
        found.is_none_or(|found| found.line <= at.since)
    };
    let own = measurement.conditions.iter().copied();
    let own = own.filter(|id| !of_set_ups(family, measurement).contains(id));
    let open = |id: &ConditionId| is_open(family, history, at, measure, family.condition(*id), now);
    let mut ids = entering.filter(unasked).chain(own.filter(open));
    ids.next()
        .filter(|_| !verifies)
        .map(|id| family.condition(id))
        .map(|condition| asked(condition, session.vehicle))
        .or(hold)
        .unwrap_or_else(|| {
            let asked = ReadingAsked::of(measurement, session.vehicle, at.instrument, verifies);
            Ask::Reading(Box::new(asked))
        })
}

/// The conditions of the set-ups that a measurement needs.
fn of_set_ups(family: &Family, measurement: &Measurement) -> Vec<ConditionId> {
    let set_ups = measurement.set_ups.iter();
    let conditions = set_ups.flat_map(|id| &family.set_up(*id).conditions);
    conditions.copied().collect()
}

/// Whether a condition must be asked for: it was not answered, its answer is too old, or a set-up entered since, or to
/// be entered, ends it.
fn is_open(
    family: &Family,
    history: &History,
    at: &AtHand<'_>,
    measure: &Measure,
    condition: &Condition,
    now: Timestamp,
) -> bool {
    let Some(found) = history.state().conditions.get(&condition.name) else {
        return true;
    };
    if !found.what.holds {
        return found.line <= at.since;
    }
    let ends = |name: &String| {
        let set_up = family.set_up_known_as(name);
        set_up.is_some_and(|set_up| condition.ended_by.contains(&set_up))
    };
    let age = now.duration_since(found.time).as_secs_f64() / 60.0;
    condition.lasts.is_some_and(|lasts| age > lasts.get())
        || measure
            .set_ups
            .iter()
            .any(|entering| ends(&entering.set_up))
        || entered_since(history, found.line).any(ends)
}

/// The set-ups that were entered after a line of the record.
fn entered_since(history: &History, line: u64) -> impl Iterator<Item = &String> {
    let mut before: &[String] = &[];
    history.entries().iter().flat_map(move |entry| {
        let Event::InPlace { set_ups } = &entry.event else {
            return Vec::new();
        };
        let was = std::mem::replace(&mut before, set_ups);
        let entered = set_ups.iter().filter(|name| !was.contains(name));
        entered.filter(|_| entry.line > line).collect()
    })
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
    let set_ups = of_set_ups(family, measurement);
    // What was found while a set-up was entered holds as long as that stands.
    let unmet = |id: &ConditionId| {
        let condition = family.condition(*id);
        let found = state.conditions.get(&condition.name)?;
        let holds = found.line > at.since || set_ups.contains(id);
        holds.then(|| broken(condition, &found.what))?
    };
    let held = || match (measurement.timed, at.held) {
        (Some(Timed::Stall { limit, .. }), Some(held)) => too_long(held, limit),
        _ => None,
    };
    let ids = measurement.conditions.iter().chain(&set_ups);
    ids.clone().find_map(unmet).or_else(held)
}

/// Why a condition does not hold, where it does not.
pub(super) fn broken(condition: &Condition, found: &record::Condition) -> Option<String> {
    let ask = &condition.ask;
    (!found.holds).then(|| match (found.value, &found.unit) {
        (Some(value), Some(unit)) => {
            let value = plain(value);
            format!("{ask}: {value} {unit}, outside what it must be.")
        }
        _ => format!("Answered no: {ask}"),
    })
}

/// Why a stall test that was held for so long does not count.
pub(super) fn too_long(held: f64, limit: f64) -> Option<String> {
    (held > limit).then(|| {
        let (held, limit) = (plain(held), plain(limit));
        format!("held {held} s at full throttle, longer than {limit} s.")
    })
}

/// What a typed answer says about a condition; where it is no answer, words.
pub(super) fn judge(
    session: &Session<'_>,
    condition: &Condition,
    text: &str,
) -> Result<record::Condition, String> {
    let mut found = record::Condition {
        condition: condition.name.clone(),
        raw: text.to_owned(),
        holds: true,
        value: None,
        unit: None,
    };
    match &condition.kind {
        ConditionKind::YesNo => found.holds = yes_or_no(text).ok_or("Answer yes or no.")?,
        ConditionKind::Number {
            unit,
            instrument,
            holds,
        } => {
            let instrument = instrument.map(|id| session.family.instrument(id));
            let range = instrument.filter(|i| i.unit == *unit).and_then(|i| i.range);
            let value = number(text, *unit, range)?;
            // Without a sheet to judge by, the technician judges.
            let band = session.vehicle.and_then(|on| holds.on(on, *unit).ok());
            found.holds = band.is_none_or(|band| band.holds(value));
            found.value = Some(value);
            found.unit = Some(unit.symbol().to_owned());
        }
    }
    Ok(found)
}

/// The seconds that a stall test was held, as typed; where it is no such time, words.
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
    let entry = entry::understand(text, &expected).taken()?;
    let here = entry.in_unit(unit).map(|here| here.middle());
    here.ok_or_else(|| "That is another kind of quantity.".to_owned())
}
