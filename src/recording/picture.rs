//! A recording as a picture: its traces with the limits of the sheet, what happened, and where readings came from.

use std::iter;

use rayon::prelude::*;

use super::drive::Drive;
use super::report::{ReadingRow, Report};
use super::series::Series;
use super::trace::{CLUTCH_SLIP, CONVERTER_SLIP, Derived, Point, RATIO};
use crate::knowledge::{Role, Vehicle};
use crate::record::{Marked, Panel, Picture, Trace};
use crate::text::figures::{rounded, to_digits};
use crate::units::Unit;

/// In so many parts of its time a trace is drawn on a page of its own.
pub const DRAWN: u16 = 920;
/// In so many parts it is kept beside the readings: some 40 kB for all traces, and a part is 2 mm on paper.
pub const KEPT: u16 = 120;

/// A time, and the value then; none where nothing is known.
type Points = Vec<(f64, Option<f64>)>;

/// The picture of a recording. Each trace has the lowest and the highest value of each of `parts` equal parts of the
/// time, to four digits, so that no peak is lost.
pub fn picture(drive: &Drive, report: &Report, vehicle: Option<&Vehicle>, parts: u16) -> Picture {
    let events = report.events.iter().map(|event| Marked {
        from: event.from,
        to: event.to,
        words: format!("{}: {}", event.kind.title(), event.words),
    });
    let mut panels = panels(drive, vehicle, parts);
    panels.retain(|panel| !panel.traces.is_empty());
    Picture {
        file: report.file.clone(),
        seconds: report.seconds,
        panels,
        events: events.collect(),
        windows: report
            .readings
            .iter()
            .filter_map(ReadingRow::window)
            .collect(),
    }
}

/// The lowest and the highest point of each part of the time; a part in which nothing is known breaks the trace.
fn thinned(points: impl Iterator<Item = (f64, Option<f64>)>, seconds: f64, parts: u16) -> Points {
    let parts = f64::from(parts);
    let part = |time: f64| (time / seconds * parts).floor().min(parts - 1.0);
    let mut thin = Points::new();
    let mut points = points.peekable();
    while let Some((first, _)) = points.peek().copied() {
        let here = part(first);
        let same = |(time, _): &(f64, Option<f64>)| part(*time).total_cmp(&here).is_eq();
        let of_part = iter::from_fn(|| points.next_if(same));
        let known = of_part.filter_map(|(time, value)| Some((time, value?)));
        let known: Vec<(f64, f64)> = known.filter(|(_, value)| value.is_finite()).collect();
        let lowest = known.iter().min_by(|a, b| a.1.total_cmp(&b.1));
        let highest = known.iter().max_by(|a, b| a.1.total_cmp(&b.1));
        let mut kept: Vec<&(f64, f64)> = lowest.into_iter().chain(highest).collect();
        kept.sort_by(|a, b| a.0.total_cmp(&b.0));
        kept.dedup();
        let kept = kept
            .into_iter()
            .map(|(time, value)| (to_digits(*time, 6), Some(to_digits(*value, 4))));
        thin.extend(kept);
        if known.is_empty() && thin.last().is_some_and(|last| last.1.is_some()) {
            thin.push((to_digits(first, 6), None));
        }
    }
    thin
}

/// The points of a signal; a gap is a point without a value.
fn points(series: &Series) -> impl Iterator<Item = (f64, Option<f64>)> {
    let mut last = f64::NEG_INFINITY;
    series.samples().flat_map(move |(time, value)| {
        let gap = last.is_finite() && time - last > series.gap;
        let gap = gap.then(|| (f64::midpoint(last, time), None));
        last = time;
        gap.into_iter().chain([(time, Some(value))])
    })
}

fn panels(drive: &Drive, vehicle: Option<&Vehicle>, parts: u16) -> Vec<Panel> {
    let seconds = to_digits(drive.seconds, 6).max(1e-3);
    let of = |roles: &[Role]| -> Vec<Trace> {
        let known = roles.par_iter().filter_map(|role| {
            Some(Trace {
                name: role.title().to_owned(),
                points: thinned(points(drive.role(*role)?), seconds, parts),
            })
        });
        known.collect()
    };
    let derived = |of: &Derived, holds: &mut dyn FnMut(f64) -> bool| {
        let points = of.of(drive)?;
        let points =
            points.map(|Point { time, value }| (time, Some(value).filter(|_| holds(time))));
        let mut points = points.peekable();
        points.peek()?;
        Some(Trace {
            name: of.title.to_owned(),
            points: thinned(points, seconds, parts),
        })
    };
    let limit = |sheet: &str, unit: Unit| {
        let most = vehicle.and_then(|vehicle| vehicle.limit(sheet, "max", unit));
        most.map(|most| Marked {
            from: 0.0,
            to: most,
            words: format!("{} {} at most", rounded(most), unit.symbol()),
        })
    };
    let slips = [CLUTCH_SLIP, CONVERTER_SLIP]
        .map(|slip| derived(&slip, &mut drive.in_state(Role::Selector, "D")));
    let mut ratio: Vec<Trace> = derived(&RATIO, &mut |_| true).into_iter().collect();
    ratio.extend(of(&[Role::RatioCommand]));
    let panel = |unit: &str, traces: Vec<Trace>, limits: Option<Marked>| Panel {
        unit: unit.to_owned(),
        traces,
        limits: limits.into_iter().collect(),
    };
    vec![
        panel(
            "rpm",
            of(&[Role::Engine, Role::Turbine, Role::Primary, Role::Secondary]),
            None,
        ),
        panel("ratio", ratio, None),
        panel(
            "rpm",
            slips.into_iter().flatten().collect(),
            limit("forward-slip", Unit::PerMinute),
        ),
        panel("kPa", of(&[Role::Pressure, Role::PressureCommand]), None),
        panel("%", of(&[Role::Throttle, Role::LockUp]), None),
        panel(
            "°C",
            of(&[Role::Fluid]),
            limit("fluid-temperature", Unit::Celsius),
        ),
    ]
}
