//! A recording as a picture, and as a sketch of characters.

use std::fmt::Write as _;

use super::drive::Drive;
use super::report::Report;
use super::series::Series;
use super::trace::{CLUTCH_SLIP, CONVERTER_SLIP, Derived, RATIO};
use crate::drawing::{Marked, Panel, Points, traces};
use crate::knowledge::{Role, Vehicle};
use crate::text::figures::rounded;
use crate::units::Unit;

/// The steps of a sketched trace, from low to high.
const STEPS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];

/// The traces with their units, events numbered, limits of the sheet as bands, and the windows that readings come from.
pub fn picture(drive: &Drive, report: &Report, vehicle: Option<&Vehicle>) -> String {
    let events: Vec<Marked> = report
        .events
        .iter()
        .map(|event| Marked {
            from: event.from,
            to: event.to,
            words: format!("{}: {}", event.kind.title(), event.words),
        })
        .collect();
    let windows: Vec<Marked> = report
        .readings
        .iter()
        .filter(|row| row.refused.is_none())
        .filter_map(|row| {
            let found = row.found.as_ref()?;
            Some(Marked {
                from: found.from,
                to: found.to,
                words: row.words(),
            })
        })
        .collect();
    let panels: Vec<Panel> = panels(drive, vehicle)
        .into_iter()
        .filter(|panel| !panel.traces.is_empty())
        .collect();
    traces(&report.file, report.seconds, &panels, &events, &windows)
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

fn derived(drive: &Drive, of: &Derived, holds: impl Fn(f64) -> bool) -> Option<(String, Points)> {
    let points = of.of(drive);
    let points = points
        .iter()
        .map(|point| (point.time, Some(point.value).filter(|_| holds(point.time))));
    let points: Points = points.collect();
    (!points.is_empty()).then(|| (of.title.to_owned(), points))
}

fn panels(drive: &Drive, vehicle: Option<&Vehicle>) -> Vec<Panel> {
    let of = |roles: &[Role]| -> Vec<(String, Points)> {
        let known = roles
            .iter()
            .filter_map(|role| Some((role.title().to_owned(), points(drive.role(*role)?))));
        known.collect()
    };
    let limit = |sheet: &str, unit: Unit| {
        let most = vehicle.and_then(|vehicle| vehicle.limit(sheet, "max", unit));
        most.map(|most| {
            (
                format!("{} {} at most", rounded(most), unit.symbol()),
                0.0,
                most,
            )
        })
    };
    let in_drive = |time: f64| drive.state(Role::Selector, time) == Some("D");
    let always = |_: f64| true;
    let slips = [
        derived(drive, &CLUTCH_SLIP, in_drive),
        derived(drive, &CONVERTER_SLIP, in_drive),
    ];
    let mut ratio: Vec<(String, Points)> = derived(drive, &RATIO, always).into_iter().collect();
    ratio.extend(of(&[Role::RatioCommand]));
    let panel =
        |unit: &str, traces: Vec<(String, Points)>, limits: Option<(String, f64, f64)>| Panel {
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

/// The traces as lines of so many characters, with the events as their numbers below.
pub fn sketch(drive: &Drive, report: &Report, width: usize) -> String {
    const NAME: usize = 26;
    let columns = width.saturating_sub(NAME + 4).clamp(20, 120);
    let step = report.seconds / super::series::float(columns);
    let middle = |column: usize| (super::series::float(column) + 0.5) * step;
    let mut lines = String::new();
    let panels = panels(drive, None);
    for (name, points) in panels.iter().flat_map(|panel| &panel.traces) {
        let known: Vec<(f64, f64)> = points
            .iter()
            .filter_map(|(time, value)| Some((*time, (*value)?)))
            .collect();
        let (low, high) = known.iter().fold(
            (f64::INFINITY, f64::NEG_INFINITY),
            |(low, high), (_, value)| (low.min(*value), high.max(*value)),
        );
        let row: String = (0..columns)
            .map(|column| {
                let first = known.partition_point(|(time, _)| *time < middle(column) - step / 2.0);
                let end = known.partition_point(|(time, _)| *time < middle(column) + step / 2.0);
                let most = known[first..end]
                    .iter()
                    .map(|(_, value)| *value)
                    .fold(f64::NEG_INFINITY, f64::max);
                if most.is_finite() {
                    character((most - low) / (high - low).max(f64::EPSILON))
                } else {
                    ' '
                }
            })
            .collect();
        let name: String = name.chars().take(NAME).collect();
        // Writing to a string does not fail.
        let _ = writeln!(lines, "{name:NAME$} {row}");
    }
    let marks: String = (0..columns)
        .map(|column| {
            let at = middle(column);
            let mut events = report.events.iter().zip(1_u32..);
            let here = events
                .find(|(event, _)| event.from - step / 2.0 <= at && at <= event.to + step / 2.0);
            here.map_or(' ', |(_, number)| {
                char::from_digit(number % 10, 10).unwrap_or(' ')
            })
        })
        .collect();
    lines + &format!("{:NAME$} {}\n", "events", marks.trim_end())
}

/// The step of a share, 0 to 1.
fn character(share: f64) -> char {
    let place = (1..STEPS.len())
        .rev()
        .find(|place| share >= super::series::float(*place) / 8.0);
    STEPS[place.unwrap_or(0)]
}
