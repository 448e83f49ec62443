//! Small charts that stand in a page: a reading on its bands, and how the chances went.
//!
//! They are drawn in the colour of the text around them, so that they show on light and on dark paper. Shapes,
//! letters and dashes carry the meaning, and a title and a description say it in words.

use std::fmt::Write as _;

use serde::Serialize;

use super::symbols::{at, escaped};
use crate::text::figures::{percent, rounded};

/// A number on the bands that judge it, all in one unit; or those bands alone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Mark {
    /// The unit's symbol.
    pub unit: String,
    /// The number; none where it is not read yet.
    pub value: Option<f64>,
    /// Its standard uncertainty.
    pub uncertainty: Option<f64>,
    /// The bands, in the order of the outcomes.
    pub spans: Vec<Span>,
}

/// A band of values that means an outcome; without an end it goes on for ever.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Span {
    /// What it means.
    pub outcome: String,
    /// Whether a vehicle without a fault reads so.
    pub normal: bool,
    /// The lower end.
    pub from: Option<f64>,
    /// The upper end.
    pub to: Option<f64>,
}

/// How the chances of a few things went, step by step.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Course {
    /// What is followed; the chart calls the first A, the second B and so on.
    pub followed: Vec<String>,
    /// The steps in order.
    pub steps: Vec<CourseStep>,
}

/// The chances after a step.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CourseStep {
    /// What happened.
    pub after: String,
    /// The chance of each thing followed, from 0 to 1.
    pub chances: Vec<f64>,
    /// The chance of nothing listed.
    pub unlisted: f64,
}

const BAND_WIDTH: f64 = 320.0;
const SIDE: f64 = 12.0;

/// A number on its bands: the normal one thick, the others thin, the number a triangle above with its doubled
/// uncertainty as a line. Empty where the bands have no limit. Without a number, what a script needs to move a triangle
/// stands at the drawing and its bands. `id` must stand only once in a page.
pub fn band(mark: &Mark, id: &str) -> String {
    let ends = mark.spans.iter().flat_map(|span| [span.from, span.to]);
    let mut limits: Vec<f64> = ends.flatten().filter(|end| end.is_finite()).collect();
    limits.sort_by(f64::total_cmp);
    limits.dedup();
    let (Some(first), Some(last)) = (limits.first(), limits.last()) else {
        return String::new();
    };
    let spread = 2.0 * mark.uncertainty.unwrap_or(0.0);
    let (low, high) = mark.value.map_or((*first, *last), |value| {
        (first.min(value - spread), last.max(value + spread))
    });
    let room = match high - low {
        width if width > 0.0 => width * 0.15,
        _ => low.abs().max(1.0) * 0.15,
    };
    let (low, high) = (low - room, high + room);
    let x = |value: f64| {
        let share = ((value - low) / (high - low)).clamp(0.0, 1.0);
        at(SIDE + share * (BAND_WIDTH - 2.0 * SIDE))
    };
    let mut drawn = String::new();
    for span in &mark.spans {
        let (from, to) = (x(span.from.unwrap_or(low)), x(span.to.unwrap_or(high)));
        let (top, tall) = if span.normal {
            (20.0, 10.0)
        } else {
            (24.0, 2.0)
        };
        let fill = if span.normal { "none" } else { "currentColor" };
        let data = mark.value.map_or_else(|| data(span), |_| String::new());
        let _ = writeln!(
            drawn,
            "<rect x=\"{from}\" y=\"{top}\" width=\"{}\" height=\"{tall}\" fill=\"{fill}\" stroke=\"currentColor\"{data}/>",
            at((to - from).max(0.0))
        );
    }
    let mut free = 0.0;
    for limit in &limits {
        let text = rounded(*limit);
        let half = 3.2 * f64::from(u32::try_from(text.chars().count()).unwrap_or(u32::MAX));
        let place = x(*limit);
        let _ = writeln!(
            drawn,
            "<path d=\"M{place} 18V33\" stroke=\"currentColor\" fill=\"none\"/>"
        );
        // A number that would run into the one before is left out: the description has it.
        if place - half >= free {
            let _ = writeln!(
                drawn,
                "<text x=\"{place}\" y=\"44\" text-anchor=\"middle\">{}</text>",
                escaped(&text)
            );
            free = place + half + 4.0;
        }
    }
    if let Some(value) = mark.value {
        let place = x(value);
        let _ = writeln!(
            drawn,
            "<path d=\"M{} 12H{}\" stroke=\"currentColor\" stroke-width=\"2\" fill=\"none\"/>\n\
             <path d=\"M{place} 19l-6 -12h12z\" fill=\"currentColor\"/>",
            x(value - spread),
            x(value + spread)
        );
    } else {
        let (left, right) = (SIDE, BAND_WIDTH - SIDE);
        let _ = writeln!(
            drawn,
            "<path class=\"here\" data-low=\"{low}\" data-high=\"{high}\" data-first=\"{left}\" data-last=\"{right}\" \
             d=\"M0 19l-6 -12h12z\" fill=\"currentColor\" visibility=\"hidden\"/>"
        );
    }
    let title = mark.value.map_or_else(
        || format!("Limits, {}", mark.unit),
        |value| format!("{} {}", rounded(value), mark.unit),
    );
    let spans: Vec<String> = mark.spans.iter().map(in_words).collect();
    let about = match mark.uncertainty {
        Some(u) => format!("Standard uncertainty {}. {}.", rounded(u), spans.join("; ")),
        None => format!("{}.", spans.join("; ")),
    };
    framed("band", (BAND_WIDTH, 48.0), id, &title, &about, &drawn)
}

/// What a script needs to know of a band.
fn data(span: &Span) -> String {
    let end = |name: &str, end: Option<f64>| {
        end.map_or_else(String::new, |end| format!(" data-{name}=\"{end}\""))
    };
    let of = escaped(&span.outcome);
    format!(
        " data-outcome=\"{of}\"{}{}",
        end("from", span.from),
        end("to", span.to)
    )
}

/// A band in words.
fn in_words(span: &Span) -> String {
    let ends = match (span.from.map(rounded), span.to.map(rounded)) {
        (Some(from), Some(to)) => format!("{from} to {to}"),
        (Some(from), None) => format!("above {from}"),
        (None, Some(to)) => format!("below {to}"),
        (None, None) => "any".to_owned(),
    };
    let normal = if span.normal { ", as it should be" } else { "" };
    format!("{ends}: {}{normal}", span.outcome)
}

const COURSE_WIDTH: f64 = 640.0;
const COURSE_HEIGHT: f64 = 220.0;
const LEFT: f64 = 44.0;
const RIGHT: f64 = 30.0;
const TOP: f64 = 10.0;
const BOTTOM: f64 = 26.0;
/// The dashes of the lines.
const DASHES: [&str; 5] = ["", "7 4", "2 3", "10 3 2 3", "1 5"];

/// The chances as lines from step to step, each with a letter at its end, a dash and a point of its own; `N` is nothing
/// listed. Empty for fewer than two steps.
pub fn course(course: &Course, id: &str) -> String {
    let Some(gaps) = course.steps.len().checked_sub(1).filter(|gaps| *gaps > 0) else {
        return String::new();
    };
    let number = |count: usize| f64::from(u32::try_from(count).unwrap_or(u32::MAX));
    let x = |step: usize| at(LEFT + number(step) / number(gaps) * (COURSE_WIDTH - LEFT - RIGHT));
    let tall = COURSE_HEIGHT - TOP - BOTTOM;
    let y = |chance: f64| at(TOP + (1.0 - chance.clamp(0.0, 1.0)) * tall);
    let mut drawn = String::new();
    for (chance, words) in [(0.0, "0 %"), (0.5, "50 %"), (1.0, "100 %")] {
        let height = y(chance);
        let _ = writeln!(
            drawn,
            "<path d=\"M{LEFT} {height}H{}\" stroke=\"currentColor\" stroke-width=\"0.5\" fill=\"none\"/>\n\
             <text x=\"{}\" y=\"{}\" text-anchor=\"end\">{words}</text>",
            COURSE_WIDTH - RIGHT,
            LEFT - 6.0,
            height + 4.0
        );
    }
    // As many numbers under the steps as fit.
    let every = gaps / 20 + 1;
    for step in (0..=gaps).step_by(every) {
        let _ = writeln!(
            drawn,
            "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">{step}</text>",
            x(step),
            COURSE_HEIGHT - 8.0
        );
    }
    let followed = 0..course.followed.len();
    let lines = followed.map(|place| {
        let chances = course.steps.iter();
        let chances = chances.map(move |step| step.chances.get(place).copied().unwrap_or(0.0));
        (letter(place), chances.collect::<Vec<f64>>())
    });
    let unlisted = course.steps.iter().map(|step| step.unlisted).collect();
    let lines: Vec<(char, Vec<f64>)> = lines.chain([('N', unlisted)]).collect();
    let mut ends: Vec<(f64, char)> = Vec::new();
    for (place, (letter, chances)) in lines.iter().enumerate() {
        let points: Vec<(f64, f64)> = (0..)
            .zip(chances)
            .map(|(step, chance)| (x(step), y(*chance)))
            .collect();
        let path: Vec<String> = points.iter().map(|(x, y)| format!("{x} {y}")).collect();
        let dash = match DASHES[place % DASHES.len()] {
            "" => String::new(),
            dash => format!(" stroke-dasharray=\"{dash}\""),
        };
        let _ = writeln!(
            drawn,
            "<path d=\"M{}\" stroke=\"currentColor\" stroke-width=\"1.6\" fill=\"none\"{dash}/>",
            path.join("L")
        );
        for (x, y) in &points {
            drawn += &point(place, *x, *y);
        }
        ends.extend(points.last().map(|(_, y)| (*y, *letter)));
    }
    // Letters that would stand on each other are moved down.
    ends.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
    let mut free = f64::NEG_INFINITY;
    for (y, letter) in ends {
        let y = f64::max(y + 4.0, free);
        free = y + 12.0;
        let _ = writeln!(
            drawn,
            "<text x=\"{}\" y=\"{}\" font-weight=\"bold\">{letter}</text>",
            COURSE_WIDTH - RIGHT + 10.0,
            at(y)
        );
    }
    let size = (COURSE_WIDTH, COURSE_HEIGHT + 24.0);
    let about = course.steps.last().map_or_else(String::new, |last| {
        let chances = course.followed.iter().zip(&last.chances).zip(0..);
        let mut now: Vec<String> = chances
            .map(|((title, chance), place)| {
                format!("{} {title} {}", letter(place), percent(*chance))
            })
            .collect();
        now.push(format!("N nothing listed {}", percent(last.unlisted)));
        format!("At the end: {}.", now.join("; "))
    });
    framed(
        "course",
        size,
        id,
        "How the chances went, step by step",
        &about,
        &drawn,
    )
}

/// The letter of the thing at a place.
pub fn letter(place: usize) -> char {
    ('A'..='M').nth(place).unwrap_or('M')
}

/// The point of a line: each line has a shape of its own.
fn point(place: usize, x: f64, y: f64) -> String {
    let shape = match place % 5 {
        0 => format!("<circle cx=\"{x}\" cy=\"{y}\" r=\"3.5\""),
        1 => format!("<path d=\"M{} {}h7v7h-7z\"", at(x - 3.5), at(y - 3.5)),
        2 => format!("<path d=\"M{x} {}l4 8h-8z\"", at(y - 5.0)),
        3 => format!(
            "<path d=\"M{x} {}l4.5 4.5l-4.5 4.5l-4.5 -4.5z\"",
            at(y - 4.5)
        ),
        _ => format!("<path d=\"M{x} {}l-4 -8h8z\"", at(y + 5.0)),
    };
    format!("{shape} fill=\"currentColor\"/>\n")
}

/// A chart with what says it in words.
pub(super) fn framed(
    class: &str,
    (width, height): (f64, f64),
    id: &str,
    title: &str,
    about: &str,
    drawn: &str,
) -> String {
    format!(
        "<svg class=\"{class}\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" role=\"img\" \
         aria-labelledby=\"{id}-title {id}-about\" font-size=\"11\" fill=\"currentColor\">\n\
         <title id=\"{id}-title\">{}</title>\n<desc id=\"{id}-about\">{}</desc>\n{drawn}</svg>\n",
        escaped(title),
        escaped(about)
    )
}
