//! Engagements: from the selector's change until the turbine takes load.

use std::iter;

use super::drive::Drive;
use super::event::{Event, STANDS};
use super::series::{Series, float};
use crate::knowledge::{EventKind, Role};
use crate::text::figures::short;
use crate::units::Unit;

/// An engagement that has not come after so many seconds is none.
const LONGEST: f64 = 10.0;
/// The turbine turns at least so fast before it, in 1/min.
const IDLES: f64 = 300.0;
/// It has taken load once the turbine has lost this share of its speed: on the brakes it goes to zero.
const LOST: f64 = 0.5;

/// The engagements of D and R from N or P, on a vehicle that stands. The selector changed somewhere between two of its
/// samples, anywhere alike, and so did the turbine pass half of its speed; and each of both was sampled somewhere within
/// its interval: `u² = 2·(Δs² + Δt²)/12` (JCGM 100, 4.3.7).
pub(super) fn engagements(drive: &Drive) -> Vec<Event> {
    let (Some(selector), Some(turbine)) = (drive.role(Role::Selector), drive.role(Role::Turbine))
    else {
        return Vec::new();
    };
    let stands = |time: f64| {
        let speed = drive.role(Role::Secondary).and_then(|speed| speed.at(time));
        speed.is_none_or(|speed| speed.abs() < STANDS)
    };
    let found = changes(selector).filter_map(|pair| {
        let [before, after] = pair.map(|time| drive.state(Role::Selector, time));
        let kind = match (before?, after?) {
            ("N" | "P", "D") => EventKind::EngagementForward,
            ("N" | "P", "R") => EventKind::EngagementReverse,
            _ => return None,
        };
        let changed = f64::midpoint(pair[0], pair[1]);
        let (_, idle) = turbine.within(pair[0] - 1.0, pair[0]);
        let speed = idle.iter().sum::<f64>() / float(idle.len()).max(1.0);
        if speed < IDLES || pair[1] - pair[0] > selector.gap || !stands(changed) {
            return None;
        }
        let half = speed * (1.0 - LOST);
        let (times, values) = turbine.within(pair[0], changed + LONGEST);
        let place = values
            .iter()
            .position(|value| *value < half)
            .filter(|place| *place > 0)?;
        let (from, to) = (times[place - 1], times[place]);
        let share = (values[place - 1] - half) / (values[place - 1] - values[place]);
        let loaded = from + share.clamp(0.0, 1.0) * (to - from);
        let u = (pair[1] - pair[0]).hypot(to - from) / 6.0_f64.sqrt();
        let delay = (loaded - changed).max(0.0);
        Some(Event {
            kind,
            from: changed,
            to: loaded,
            value: delay,
            unit: Unit::Second,
            u,
            words: format!(
                "{} to {}: the turbine takes load after {} s",
                before.unwrap_or_default(),
                after.unwrap_or_default(),
                short(delay)
            ),
        })
    });
    found.collect()
}

/// The times before and after each change of a state. Of samples at the same time the last one counts.
fn changes(states: &Series) -> impl Iterator<Item = [f64; 2]> {
    let mut samples = states.samples().peekable();
    let last = iter::from_fn(move || {
        let sample = samples.next()?;
        let same = |next: &(f64, f64)| next.0 <= sample.0;
        Some(
            iter::from_fn(|| samples.next_if(same))
                .last()
                .unwrap_or(sample),
        )
    });
    let mut before = None;
    last.filter_map(move |(time, state)| {
        let (from, was) = before.replace((time, state))?;
        ((state - was).abs() > 0.0).then_some([from, time])
    })
}
