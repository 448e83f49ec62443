//! What makes a reading valid: its conditions, and the clock of a stall test.

use jiff::Timestamp;

use super::answer::Step;
use super::at_hand::AtHand;
use super::core::Session;
use super::measure::Measure;
use super::prompt::{Ask, ReadingAsked};
use super::turn::{Turn, WAY_OUT, settled, which};
use crate::entry::{self, Answer, Aside, Expected, aside};
use crate::knowledge::{
    Bound, Condition, ConditionId, ConditionKind, Family, Measurement, MeasurementId, Timed,
    Vehicle,
};
use crate::record::{self, Event, History, State};
use crate::text::figures::{rounded, to_digits};
use crate::text::plain;
use crate::units::conformity::Band;
use crate::units::timing::whole_seconds;
use crate::units::{Interval, System, Unit};

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
        .map(|condition| asked(condition, session.vehicle, session.system))
        .or(hold)
        .unwrap_or_else(|| {
            let asked = ReadingAsked::of(
                measurement,
                session.vehicle,
                at.instrument,
                verifies,
                session.system,
            );
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
fn asked(condition: &Condition, vehicle: Option<&Vehicle>, system: System) -> Ask {
    let (unit, from, to) = match &condition.kind {
        ConditionKind::YesNo => (None, None, None),
        ConditionKind::Number { unit, holds, .. } => {
            let shown = unit.shown_in(system);
            let limit = |bound: &Option<Bound>| {
                let limit = bound.as_ref()?.limit.on(vehicle, *unit).ok()?;
                Some(to_digits(unit.convert(limit, shown)?, 4))
            };
            (Some(shown), limit(&holds.lower), limit(&holds.upper))
        }
    };
    Ask::Condition {
        condition: condition.name.clone(),
        question: condition.ask.clone(),
        unit: unit.map(|unit| unit.symbol().to_owned()),
        from,
        to,
        meant: Vec::new(),
    }
}

/// Why a reading does not count: a condition of the measurement that was found not to hold, or a stall test held too
/// long.
pub(super) fn excuse(
    session: &Session<'_>,
    state: &State,
    at: &AtHand<'_>,
    id: MeasurementId,
) -> Option<String> {
    let (family, system) = (session.family, session.system);
    let measurement = family.measurement(id);
    let set_ups = of_set_ups(family, measurement);
    // What was found while a set-up was entered holds as long as that stands.
    let unmet = |id: &ConditionId| {
        let condition = family.condition(*id);
        let found = state.conditions.get(&condition.name)?;
        let holds = found.line > at.since || set_ups.contains(id);
        holds.then(|| broken(condition, &found.what, system))?
    };
    let held = || match (measurement.timed, at.held) {
        (Some(Timed::Stall { limit, .. }), Some(held)) => too_long(held, limit),
        _ => None,
    };
    let ids = measurement.conditions.iter().chain(&set_ups);
    ids.clone().find_map(unmet).or_else(held)
}

/// Why a condition does not hold, where it does not.
fn broken(condition: &Condition, found: &record::Condition, system: System) -> Option<String> {
    let ask = &condition.ask;
    (!found.holds).then(|| match shown(found, system) {
        Some(value) => format!("{ask}: {value}, outside what it must be."),
        None => format!("Answered no: {ask}"),
    })
}

/// Why a stall test that was held for so long does not count.
pub(super) fn too_long(held: f64, limit: f64) -> Option<String> {
    (held > limit).then(|| {
        let (held, limit) = (plain(held), plain(limit));
        format!("held {held} s at full throttle, longer than {limit} s.")
    })
}

impl Turn<'_> {
    /// A condition that was answered.
    pub(super) fn condition(
        &self,
        condition: &Condition,
        meant: &[record::Condition],
        text: &str,
    ) -> Step {
        let system = self.session.system;
        let asking = |said: Vec<String>, ways: Vec<record::Condition>| {
            let mut ask = self.prompt.ask.clone();
            if let Ask::Condition { meant, .. } = &mut ask {
                *meant = ways;
            }
            self.asking(said, ask)
        };
        let (found, said) = if let Some(found) = settled(meant, text) {
            (found, Vec::new())
        } else {
            match (judge(&self.session, condition, text), aside(text)) {
                (Answer::Taken(found), _) => {
                    let said = shown(&found, system).map(|shown| format!("Taken: {shown}."));
                    (*found, said.into_iter().collect())
                }
                (
                    Answer::Question {
                        alternatives,
                        words,
                    },
                    _,
                ) => {
                    let ways = alternatives.iter().filter_map(|way| shown(way, system));
                    return asking(which(words, &ways.collect::<Vec<_>>()), alternatives);
                }
                (Answer::Refused(_), Some(Aside::NotKnown | Aside::NotHere)) => {
                    let words = "What is not known to hold makes no reading.";
                    return asking(vec![words.to_owned(), WAY_OUT.to_owned()], Vec::new());
                }
                (Answer::Refused(words), _) => {
                    return asking(vec![words, WAY_OUT.to_owned()], Vec::new());
                }
            }
        };
        // What is asked while a set-up is entered comes before it is in place.
        let family = self.session.family;
        let id = family.condition_named(&condition.name);
        let entering = self.prompt.measure.as_ref();
        let entering = entering.is_some_and(|measure| {
            let entering = measure.entering(family);
            id.is_some_and(|id| entering.contains(&id))
        });
        let mut step = Step::record(if entering { Vec::new() } else { self.arrival() });
        step.said = said;
        if let Some(why) = broken(condition, &found, system) {
            step = step.saying(format!(
                "{why} A reading taken so is kept in the record and does not count: put it right and \
                 type `back`, or go on all the same."
            ));
        }
        step.events.push(Event::Condition(found));
        step
    }
}

/// The number of a condition as it is shown.
fn shown(found: &record::Condition, system: System) -> Option<String> {
    let (value, unit) = (found.value?, found.unit.as_deref()?);
    let shown = Unit::read(unit, None).first().and_then(|unit| {
        let shown = unit.shown_in(system);
        let value = unit.convert(value, shown)?;
        Some(format!("{} {shown}", rounded(value)))
    });
    Some(shown.unwrap_or_else(|| format!("{} {unit}", plain(value))))
}

/// What a typed answer says about a condition.
fn judge(session: &Session<'_>, condition: &Condition, text: &str) -> Answer<record::Condition> {
    let yes_or_no_found = |holds| record::Condition {
        condition: condition.name.clone(),
        raw: text.to_owned(),
        holds,
        value: None,
        unit: None,
    };
    let (unit, instrument, holds) = match &condition.kind {
        ConditionKind::YesNo => {
            let done = ["ok", "okay", "done"].contains(&entry::folded(text).as_str());
            return match yes_or_no(text).or(done.then_some(true)) {
                Some(holds) => Answer::Taken(Box::new(yes_or_no_found(holds))),
                None => Answer::Refused("Answer yes or no.".to_owned()),
            };
        }
        ConditionKind::Number {
            unit,
            instrument,
            holds,
        } => (*unit, *instrument, holds),
    };
    // Without a sheet to judge by, the technician judges.
    let band = holds.on(session.vehicle, unit).ok();
    let expected = session.family.expected(unit, None, instrument);
    let expected = Expected {
        plausible: band.and_then(|band| near(band, unit, expected.range)),
        limits: band,
        ..expected
    };
    let shown = unit.shown_in(session.system);
    entry::understand(text, &expected.in_unit(shown)).map(|entry| {
        let here = entry.in_unit(unit).map(|here| here.middle());
        let value = here.ok_or_else(|| "That is another kind of quantity.".to_owned())?;
        Ok(record::Condition {
            value: Some(value),
            unit: Some(unit.symbol().to_owned()),
            ..yes_or_no_found(band.is_none_or(|band| band.holds(value)))
        })
    })
}

/// What is near enough to the limits of a condition to be believed at once: from half of the lower to twice the upper.
fn near(band: Band, unit: Unit, range: Option<Interval>) -> Option<Interval> {
    let dimension = unit.dimension();
    let possible = dimension
        .base()
        .convert_interval(dimension.possible(), unit);
    let range = range.or(possible)?;
    let (from, to) = (band.lowest(), band.highest());
    let least = if from > 0.0 { from / 2.0 } else { range.from() };
    let most = if to > 0.0 { 2.0 * to } else { range.to() };
    Interval::new(least.max(range.from()), most.min(range.to()))
}

/// The seconds that a stall test was held, as typed; where it is no such time, words.
pub(super) fn seconds_held(text: &str) -> Result<f64, String> {
    let expected = Expected {
        unit: Unit::Second,
        plausible: None,
        range: None,
        limits: None,
    };
    let entry = entry::understand(text, &expected).taken()?;
    let seconds = entry.in_unit(Unit::Second);
    let seconds = seconds.map_or(f64::NAN, |seconds| seconds.middle());
    if (0.0..=LONGEST_HELD).contains(&seconds) {
        Ok(seconds)
    } else {
        Err(format!(
            "{} s at full throttle cannot be: the reading comes next, here it is the seconds held.",
            plain(seconds)
        ))
    }
}

/// Yes or no, also by its place in the question.
pub(super) fn yes_or_no(text: &str) -> Option<bool> {
    match text.trim() {
        "1" => Some(true),
        "2" => Some(false),
        text => entry::yes_or_no(text),
    }
}
