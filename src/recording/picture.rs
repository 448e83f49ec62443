//! A recording as a picture: its traces with the limits of the sheet, what happened, and where readings came from.

use super::drive::Drive;
use super::report::{ReadingRow, Report};
use super::series::Series;
use super::trace::{CLUTCH_SLIP, CONVERTER_SLIP, Derived, RATIO};
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
    let mut panels = panels(drive, vehicle);
    panels.retain(|panel| !panel.traces.is_empty());
    for trace in panels.iter_mut().flat_map(|panel| &mut panel.traces) {
        trace.points = thinned(&trace.points, report.seconds.max(1e-3), parts);
    }
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
fn thinned(points: &Points, seconds: f64, parts: u16) -> Points {
    let parts = f64::from(parts);
    let part = |time: f64| (time / seconds * parts).floor().min(parts - 1.0);
    let mut thin = Points::new();
    for part in points.chunk_by(|a, b| part(a.0).total_cmp(&part(b.0)).is_eq()) {
        let known = part
            .iter()
            .filter_map(|(time, value)| Some((*time, (*value)?)));
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
            thin.push((to_digits(part[0].0, 6), None));
        }
    }
    thin
}

/// The points of a signal; a gap is a point without a value.
fn points(series: &Series) -> Points {
    let mut points = Points::new();
    let mut last = f64::NEG_INFINITY;
    for (time, value) in series.times.iter().zip(&series.values) {
        if time - last > series.gap && last.is_finite() {
            points.push((f64::midpoint(last, *time), None));
        }
        points.push((*time, Some(*value)));
        last = *time;
    }
    points
}

fn derived(drive: &Drive, of: &Derived, holds: impl Fn(f64) -> bool) -> Option<Trace> {
    let points = of.of(drive);
    let points = points
        .iter()
        .map(|point| (point.time, Some(point.value).filter(|_| holds(point.time))));
    let points: Points = points.collect();
    (!points.is_empty()).then(|| Trace {
        name: of.title.to_owned(),
        points,
    })
}

fn panels(drive: &Drive, vehicle: Option<&Vehicle>) -> Vec<Panel> {
    let of = |roles: &[Role]| -> Vec<Trace> {
        let known = roles.iter().filter_map(|role| {
            Some(Trace {
                name: role.title().to_owned(),
                points: points(drive.role(*role)?),
            })
        });
        known.collect()
    };
    let limit = |sheet: &str, unit: Unit| {
        let most = vehicle.and_then(|vehicle| vehicle.limit(sheet, "max", unit));
        most.map(|most| Marked {
            from: 0.0,
            to: most,
            words: format!("{} {} at most", rounded(most), unit.symbol()),
        })
    };
    let in_drive = |time: f64| drive.state(Role::Selector, time) == Some("D");
    let always = |_: f64| true;
    let slips = [
        derived(drive, &CLUTCH_SLIP, in_drive),
        derived(drive, &CONVERTER_SLIP, in_drive),
    ];
    let mut ratio: Vec<Trace> = derived(drive, &RATIO, always).into_iter().collect();
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
