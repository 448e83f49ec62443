//! Traces over time on one page: panels with a common axis, limits as bands, what happened as numbered columns, and where
//! readings come from as lettered bars. Black on white: dashes, letters and numbers carry the meaning.

use std::fmt::Write as _;

use super::chart::letter;
use super::symbols::{at, escaped};
use crate::text::figures::short;

/// Points as time and value; none where nothing is known.
pub type Points = Vec<(f64, Option<f64>)>;

/// Traces of one unit.
#[derive(Clone, Debug, Default)]
pub struct Panel {
    /// The unit's symbol.
    pub unit: String,
    /// The traces: what each is, and its points.
    pub traces: Vec<(String, Points)>,
    /// The limits: what each is, from, to.
    pub limits: Vec<(String, f64, f64)>,
}

/// A span of time that is marked, and what is said of it.
#[derive(Clone, Debug)]
pub struct Marked {
    /// From when, in seconds.
    pub from: f64,
    /// Until when.
    pub to: f64,
    /// What it is.
    pub words: String,
}

const WIDTH: f64 = 1000.0;
const LEFT: f64 = 64.0;
const RIGHT: f64 = 16.0;
const TALL: f64 = 120.0;
const BETWEEN: f64 = 34.0;
const TOP: f64 = 66.0;
const LINE: f64 = 15.0;
/// The dashes of the traces of a panel.
const DASHES: [&str; 4] = ["none", "6 3", "2 2", "9 3 2 3"];
/// So many steps of a column wide at most are drawn of a trace.
const COLUMNS: f64 = 920.0;

/// The page: `seconds` long.
pub fn traces(
    title: &str,
    seconds: f64,
    panels: &[Panel],
    events: &[Marked],
    windows: &[Marked],
) -> String {
    let seconds = seconds.max(1e-3);
    let x = |time: f64| at(LEFT + (time / seconds).clamp(0.0, 1.0) * (WIDTH - LEFT - RIGHT));
    let number = |count: usize| f64::from(u32::try_from(count).unwrap_or(u32::MAX));
    let bottom = TOP + number(panels.len()) * (TALL + BETWEEN);
    let height = bottom + LINE * number(events.len() + windows.len() + 3) + 30.0;
    let mut drawn = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height}\" width=\"{WIDTH}\" \
         height=\"{height}\" role=\"img\" font-family=\"DejaVu Sans, sans-serif\" font-size=\"11\">\n\
         <title>{title}</title>\n<rect width=\"{WIDTH}\" height=\"{height}\" fill=\"#fff\"/>\n\
         <text x=\"{LEFT}\" y=\"20\" font-size=\"15\" font-weight=\"bold\">{title}</text>\n",
        title = escaped(title)
    );
    for (place, event) in events.iter().enumerate() {
        let (from, to) = (x(event.from), x(event.to));
        let wide = at((to - from).max(1.5));
        let _ = writeln!(
            drawn,
            "<rect x=\"{from}\" y=\"{TOP}\" width=\"{wide}\" height=\"{}\" fill=\"#d9d9d9\"/>\n\
             <text x=\"{from}\" y=\"{}\" font-weight=\"bold\">{}</text>",
            at(bottom - TOP - BETWEEN),
            TOP - 18.0 - 11.0 * number(place % 2),
            place + 1
        );
    }
    for (place, panel) in panels.iter().enumerate() {
        let top = TOP + number(place) * (TALL + BETWEEN);
        drawn += &drawn_panel(panel, top, &x, seconds);
    }
    for (place, window) in windows.iter().enumerate() {
        let y = bottom - BETWEEN + 28.0 + 12.0 * number(place % 2);
        let (from, to) = (x(window.from), x(window.to));
        let _ = writeln!(
            drawn,
            "<path d=\"M{from} {y}H{}\" stroke=\"#000\" stroke-width=\"2\"/>\n\
             <text x=\"{from}\" y=\"{}\" font-size=\"9\">{}</text>",
            at(to.max(from + 1.5)),
            y - 3.0,
            letter(place)
        );
    }
    let numbered = events
        .iter()
        .enumerate()
        .map(|(place, event)| format!("{} {} s: {}", place + 1, short(event.from), event.words));
    let windows = windows.iter().enumerate();
    let lettered = windows.map(|(place, window)| format!("{} {}", letter(place), window.words));
    for (place, line) in numbered.chain(lettered).enumerate() {
        let _ = writeln!(
            drawn,
            "<text x=\"{LEFT}\" y=\"{}\">{}</text>",
            bottom + 26.0 + LINE * number(place),
            escaped(&line)
        );
    }
    drawn + "</svg>\n"
}

/// A panel with its axis, its limits and its traces.
fn drawn_panel(panel: &Panel, top: f64, x: &dyn Fn(f64) -> f64, seconds: f64) -> String {
    let points = panel.traces.iter().flat_map(|(_, points)| points);
    let limits = panel.limits.iter().map(|(_, _, to)| *to);
    let values = points.filter_map(|point| point.1).chain(limits);
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
        (low.min(value), high.max(value))
    });
    let (low, high) = if low < high {
        (low, high)
    } else {
        (low - 1.0, low + 1.0)
    };
    let y = |value: f64| at(top + (1.0 - ((value - low) / (high - low)).clamp(0.0, 1.0)) * TALL);
    let right = WIDTH - RIGHT;
    let mut drawn = String::new();
    for (words, from, to) in &panel.limits {
        let (above, below) = (y(*to), y(*from));
        let _ = writeln!(
            drawn,
            "<rect x=\"{LEFT}\" y=\"{above}\" width=\"{}\" height=\"{}\" fill=\"none\" stroke=\"#666\" \
             stroke-dasharray=\"1 3\"/>\n<text x=\"{}\" y=\"{}\" font-size=\"9\" text-anchor=\"end\">{}</text>",
            right - LEFT,
            at((below - above).max(0.5)),
            right - 3.0,
            above - 2.0,
            escaped(words)
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
        "<path d=\"M{LEFT} {top}V{bottom}H{right}\" stroke=\"#000\" fill=\"none\"/>\n\
         <text x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text>",
        LEFT - 5.0,
        top + TALL / 2.0,
        escaped(&panel.unit),
        bottom = top + TALL
    );
    for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
        let _ = writeln!(
            drawn,
            "<text x=\"{}\" y=\"{}\" font-size=\"9\" text-anchor=\"middle\">{} s</text>",
            x(share * seconds),
            top + TALL + 11.0,
            escaped(&short(share * seconds))
        );
    }
    let mut place_of_name = LEFT + 4.0;
    for (place, (name, points)) in panel.traces.iter().enumerate() {
        let dash = DASHES[place % DASHES.len()];
        let path = path(points, x, &y, seconds);
        let _ = writeln!(
            drawn,
            "<path d=\"{path}\" fill=\"none\" stroke=\"#000\" stroke-width=\"1.1\" stroke-dasharray=\"{dash}\"/>\n\
             <path d=\"M{place_of_name} {sample}h22\" stroke=\"#000\" stroke-dasharray=\"{dash}\"/>\n\
             <text x=\"{}\" y=\"{}\">{}</text>",
            place_of_name + 26.0,
            top - 4.0,
            escaped(name),
            sample = top - 8.0
        );
        let letters = f64::from(u32::try_from(name.chars().count()).unwrap_or(u32::MAX));
        place_of_name += 44.0 + 6.6 * letters;
    }
    drawn
}

/// A trace as a path: of the points in one column the first, the lowest and the highest, broken where nothing is known.
fn path(
    points: &[(f64, Option<f64>)],
    x: &dyn Fn(f64) -> f64,
    y: &dyn Fn(f64) -> f64,
    seconds: f64,
) -> String {
    let column = |time: f64| (time / seconds * COLUMNS).floor();
    let mut path = String::new();
    let mut pen = 'M';
    for of in points.chunk_by(|a, b| column(a.0).total_cmp(&column(b.0)).is_eq()) {
        let known: Vec<(f64, f64)> = of
            .iter()
            .filter_map(|(time, value)| Some((*time, (*value)?)))
            .collect();
        let Some(first) = known.first() else {
            pen = 'M';
            continue;
        };
        let lowest = known.iter().min_by(|a, b| a.1.total_cmp(&b.1));
        let highest = known.iter().max_by(|a, b| a.1.total_cmp(&b.1));
        let mut kept: Vec<&(f64, f64)> = [Some(first), lowest, highest]
            .into_iter()
            .flatten()
            .collect();
        kept.sort_by(|a, b| a.0.total_cmp(&b.0));
        kept.dedup();
        for (time, value) in kept {
            let _ = write!(path, "{pen}{} {}", x(*time), y(*value));
            pen = 'L';
        }
    }
    path
}
