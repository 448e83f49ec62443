//! Traces over time: panels with a common axis, limits as bands, what happened as numbered columns, and where readings
//! come from as lettered bars. One ink: dashes, letters and numbers carry the meaning.

use std::fmt::Write as _;

use super::chart::framed;
use super::symbols::{at, escaped};
use crate::record::{Marked, Panel, Picture};
use crate::text::clean;
use crate::text::figures::short;

/// The width on a page of its own, and in a document.
const WIDTH: f64 = 1000.0;
const WIDTH_IN_PAGE: f64 = 760.0;
const LEFT: f64 = 64.0;
const RIGHT: f64 = 16.0;
const TALL: f64 = 66.0;
const BETWEEN: f64 = 34.0;
const TOP: f64 = 36.0;
const TITLE: f64 = 30.0;
const LINE: f64 = 15.0;
/// The dashes of the traces of a panel.
const DASHES: [&str; 4] = ["none", "6 3", "2 2", "9 3 2 3"];
/// The steps of a sketched trace, from low to high.
const STEPS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];

/// A picture as a page of its own, with what is said of its events and windows below.
pub fn traces(picture: &Picture) -> String {
    let (drawn, bottom) = drawn(picture, WIDTH);
    let events = picture.events.iter().zip(1..);
    let events =
        events.map(|(event, number)| format!("{number} {} s: {}", short(event.from), event.words));
    let windows = picture.windows.iter().zip(0..);
    let windows = windows.map(|(window, place)| format!("{} {}", letters(place), window.words));
    let mut lines = String::new();
    let mut y = bottom + LINE;
    for line in events.chain(windows) {
        y += LINE;
        // Writing to a string cannot fail.
        let _ = writeln!(
            lines,
            "<text x=\"{LEFT}\" y=\"{y}\">{}</text>",
            escaped(&line)
        );
    }
    let height = TITLE + y + LINE;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height}\" width=\"{WIDTH}\" \
         height=\"{height}\" role=\"img\" font-family=\"DejaVu Sans, sans-serif\" font-size=\"11\">\n\
         <title>{title}</title>\n<rect width=\"{WIDTH}\" height=\"{height}\" fill=\"#fff\"/>\n\
         <text x=\"{LEFT}\" y=\"20\" font-size=\"15\" font-weight=\"bold\">{title}</text>\n\
         <g transform=\"translate(0 {TITLE})\">\n{drawn}{lines}</g>\n</svg>\n",
        title = escaped(&picture.file)
    )
}

/// A picture in a document that lists its events by number and its windows by letter. `id` must stand only once there.
pub fn traces_in_page(picture: &Picture, id: &str) -> String {
    let (drawn, bottom) = drawn(picture, WIDTH_IN_PAGE);
    let traces = picture.panels.iter().flat_map(|panel| &panel.traces);
    let names: Vec<&str> = traces.map(|trace| trace.name.as_str()).collect();
    let title = format!("Traces of {}", picture.file);
    let about = format!(
        "{}, over {} s. Its numbers and letters stand below.",
        names.join("; "),
        short(picture.seconds)
    );
    framed(
        "traces",
        (WIDTH_IN_PAGE, bottom),
        id,
        &title,
        &about,
        &drawn,
    )
}

/// The axis of time.
struct Axis {
    wide: f64,
    seconds: f64,
}

impl Axis {
    fn x(&self, time: f64) -> f64 {
        at(LEFT + (time / self.seconds).clamp(0.0, 1.0) * (self.right() - LEFT))
    }

    fn right(&self) -> f64 {
        self.wide - RIGHT
    }
}

fn number(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

/// The panels with the events behind and the windows below; how tall it is.
fn drawn(picture: &Picture, wide: f64) -> (String, f64) {
    let axis = Axis {
        wide,
        seconds: picture.seconds.max(1e-3),
    };
    let bottom = TOP + number(picture.panels.len()) * (TALL + BETWEEN);
    let mut drawn = String::new();
    for (place, event) in picture.events.iter().enumerate() {
        let (from, to) = (axis.x(event.from), axis.x(event.to));
        let _ = writeln!(
            drawn,
            "<rect x=\"{from}\" y=\"{TOP}\" width=\"{}\" height=\"{}\" fill=\"currentColor\" fill-opacity=\"0.18\"/>\n\
             <text x=\"{from}\" y=\"{}\" font-weight=\"bold\">{}</text>",
            at((to - from).max(1.5)),
            at((bottom - TOP - BETWEEN).max(0.0)),
            TOP - 15.0 - 10.0 * number(place % 2),
            place + 1
        );
    }
    for (place, panel) in picture.panels.iter().enumerate() {
        drawn += &drawn_panel(panel, TOP + number(place) * (TALL + BETWEEN), &axis);
    }
    for (place, window) in picture.windows.iter().enumerate() {
        let y = bottom - BETWEEN + 28.0 + 12.0 * number(place % 2);
        let (from, to) = (axis.x(window.from), axis.x(window.to));
        let _ = writeln!(
            drawn,
            "<path d=\"M{from} {y}H{}\" stroke=\"currentColor\" stroke-width=\"2\"/>\n\
             <text x=\"{from}\" y=\"{}\" font-size=\"9\">{}</text>",
            at(to.max(from + 1.5)),
            y - 3.0,
            letters(place)
        );
    }
    (drawn, bottom + 12.0)
}

/// A panel with its axis, its limits and its traces.
fn drawn_panel(panel: &Panel, top: f64, axis: &Axis) -> String {
    let points = panel.traces.iter().flat_map(|trace| &trace.points);
    let limits = panel.limits.iter().map(|limit| limit.to);
    let values = points.filter_map(|point| point.1).chain(limits);
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
        (low.min(value), high.max(value))
    });
    let (low, high) = match high - low {
        wide if wide > 0.0 => (low, high),
        _ if low.is_finite() => (low - 1.0, low + 1.0),
        _ => (0.0, 1.0),
    };
    // Halves, as the span of two numbers may be too large for a number.
    let share = |value: f64| (value / 2.0 - low / 2.0) / (high / 2.0 - low / 2.0);
    let y = |value: f64| at(top + (1.0 - share(value).clamp(0.0, 1.0)) * TALL);
    let right = axis.right();
    let mut drawn = String::new();
    for limit in &panel.limits {
        let (above, below) = (y(limit.to), y(limit.from));
        let _ = writeln!(
            drawn,
            "<rect x=\"{LEFT}\" y=\"{above}\" width=\"{}\" height=\"{}\" fill=\"none\" stroke=\"currentColor\" \
             stroke-dasharray=\"1 3\"/>\n<text x=\"{}\" y=\"{}\" font-size=\"9\" text-anchor=\"end\">{}</text>",
            right - LEFT,
            at((below - above).max(0.5)),
            right - 3.0,
            above - 2.0,
            escaped(&limit.words)
        );
    }
    for value in [low, high] {
        let _ = writeln!(
            drawn,
            "<text x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text>",
            LEFT - 5.0,
            y(value) + 4.0,
            escaped(&short(value))
        );
    }
    let _ = writeln!(
        drawn,
        "<path d=\"M{LEFT} {top}V{bottom}H{right}\" stroke=\"currentColor\" fill=\"none\"/>\n\
         <text x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text>",
        LEFT - 5.0,
        top + TALL / 2.0,
        escaped(&panel.unit),
        bottom = top + TALL
    );
    for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
        let time = share * axis.seconds;
        let _ = writeln!(
            drawn,
            "<text x=\"{}\" y=\"{}\" font-size=\"9\" text-anchor=\"middle\">{} s</text>",
            axis.x(time),
            top + TALL + 11.0,
            escaped(&short(time))
        );
    }
    let mut place_of_name = LEFT + 4.0;
    for (place, trace) in panel.traces.iter().enumerate() {
        let dash = DASHES[place % DASHES.len()];
        let mut path = String::new();
        let mut pen = 'M';
        for (time, value) in &trace.points {
            if let Some(value) = value {
                let _ = write!(path, "{pen}{} {}", axis.x(*time), y(*value));
                pen = 'L';
            } else {
                pen = 'M';
            }
        }
        let _ = writeln!(
            drawn,
            "<path d=\"{path}\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"1.1\" stroke-dasharray=\"{dash}\"/>\n\
             <path d=\"M{place_of_name} {sample}h22\" stroke=\"currentColor\" stroke-dasharray=\"{dash}\"/>\n\
             <text x=\"{}\" y=\"{}\">{}</text>",
            at(place_of_name + 26.0),
            top - 4.0,
            escaped(&trace.name),
            sample = top - 8.0
        );
        place_of_name = at(place_of_name + 44.0 + 6.6 * number(trace.name.chars().count()));
    }
    drawn
}

/// The letter of a window by its place, as a lettered list counts: A to Z, then AA.
fn letters(place: usize) -> String {
    let letter = |place: usize| ('A'..='Z').nth(place % 26).unwrap_or('A');
    match place / 26 {
        0 => letter(place).to_string(),
        round => format!("{}{}", letter(round - 1), letter(place)),
    }
}

/// A picture as characters: a line a trace, at most `width` columns wide, with the last digits of the events' numbers
/// below.
pub fn sketch(picture: &Picture, width: usize) -> String {
    const NAME: usize = 26;
    let columns = width.saturating_sub(NAME + 4).clamp(20, 120);
    let step = picture.seconds.max(1e-3) / number(columns);
    let mut lines = String::new();
    for trace in picture.panels.iter().flat_map(|panel| &panel.traces) {
        let known = trace.points.iter();
        let known = known.filter_map(|(time, value)| Some((*time, (*value)?)));
        let known: Vec<(f64, f64)> = known.collect();
        let (low, high) = known.iter().fold(
            (f64::INFINITY, f64::NEG_INFINITY),
            |(low, high), (_, value)| (low.min(*value), high.max(*value)),
        );
        let row = (0..columns).map(|column| {
            let (from, to) = (number(column) * step, number(column + 1) * step);
            let here = known.iter().filter(|(time, _)| from <= *time && *time < to);
            let most = here.map(|(_, value)| *value).reduce(f64::max);
            most.map_or(' ', |most| {
                character((most - low) / (high - low).max(f64::EPSILON))
            })
        });
        let name: String = clean(&trace.name).chars().take(NAME).collect();
        let row: String = row.collect();
        let _ = writeln!(lines, "{name:NAME$} {row}");
    }
    let marks = (0..columns).map(|column| {
        let (from, to) = (number(column) * step, number(column + 1) * step);
        let here = |event: &Marked| event.from < to && from <= event.to;
        let place = picture.events.iter().position(here);
        let digit = place.and_then(|place| ('0'..='9').nth((place + 1) % 10));
        digit.unwrap_or(' ')
    });
    let marks: String = marks.collect();
    lines + &format!("{:NAME$} {}\n", "events", marks.trim_end())
}

/// The step of a share, 0 to 1.
fn character(share: f64) -> char {
    let place = (1..STEPS.len())
        .rev()
        .find(|place| share >= number(*place) / 8.0);
    STEPS[place.unwrap_or(0)]
}
