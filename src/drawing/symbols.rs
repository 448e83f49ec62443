//! The symbols of IEC 61025 and the few marks beside them, as SVG elements.

use svg::node::element::{Circle, Element, Group, Path, Polygon, Rectangle};
use svg::node::{Node, Text};

use super::layout::{GATE, LEAF, Rect, number_width};
use super::text::{Face, Kind, SMALL, safe};

const INK: &str = "#000";
const PAPER: &str = "#fff";
/// For what only leads the eye.
const FAINT: &str = "#bbb";

/// Where a text is tied to its place.
#[derive(Clone, Copy)]
pub(super) enum Tie {
    Start,
    Middle,
    End,
}

/// A number fit for a drawing: to a tenth of a unit.
fn at(number: f64) -> f64 {
    (number * 10.0).round() / 10.0 + 0.0
}

/// One line of text around the height `y`.
pub(super) fn text(face: Face, tie: Tie, x: f64, y: f64, words: &str) -> Element {
    let mut element = Element::new("text");
    element.assign("x", at(x));
    // Digits and capitals are about 0.7 of the size high: the baseline lies half of that lower.
    element.assign("y", at(y + 0.35 * face.size));
    element.assign("font-size", face.size);
    match face.kind {
        Kind::Prose => {}
        Kind::Bold => element.assign("font-weight", "bold"),
        Kind::Mono => element.assign(
            "font-family",
            "Menlo, Consolas, 'DejaVu Sans Mono', 'Liberation Mono', monospace",
        ),
    }
    match tie {
        Tie::Start => {}
        Tie::Middle => element.assign("text-anchor", "middle"),
        Tie::End => element.assign("text-anchor", "end"),
    }
    element.append(Text::new(safe(words)));
    element
}

/// Lines of text one under the other, the first around the height `y`.
pub(super) fn paragraph(
    mut group: Group,
    face: Face,
    tie: Tie,
    x: f64,
    mut y: f64,
    lines: &[String],
) -> Group {
    for line in lines {
        group = group.add(text(face, tie, x, y, line));
        y += face.line;
    }
    group
}

/// What a pointer at rest and a search find: the whole text, however it is broken.
pub(super) fn title(words: &str) -> Element {
    let mut element = Element::new("title");
    element.append(Text::new(safe(words)));
    element
}

/// A stroke from point to point.
pub(super) fn stroke(points: &[(f64, f64)]) -> Path {
    let points: Vec<String> = points
        .iter()
        .map(|(x, y)| format!("{} {}", at(*x), at(*y)))
        .collect();
    let way = format!("M{}", points.join("L"));
    Path::new()
        .set("d", way)
        .set("fill", "none")
        .set("stroke", INK)
}

/// A faint line that leads the eye along a row.
pub(super) fn rule(from: f64, to: f64, y: f64) -> Path {
    stroke(&[(from, y), (to, y)])
        .set("stroke", FAINT)
        .set("stroke-width", 0.5)
}

fn rectangle(rect: Rect) -> Rectangle {
    Rectangle::new()
        .set("x", at(rect.x))
        .set("y", at(rect.y))
        .set("width", at(rect.width))
        .set("height", at(rect.height))
        .set("fill", PAPER)
        .set("stroke", INK)
}

/// The sheet itself, so that the ink also shows where the page behind it is dark.
pub(super) fn paper(width: f64, height: f64) -> Rectangle {
    rectangle(Rect {
        x: 0.0,
        y: 0.0,
        width,
        height,
    })
    .set("stroke", "none")
}

/// The frame of an event's description; a double line for a part that trees share.
pub(super) fn frame(group: Group, rect: Rect, shared: bool, top: bool) -> Group {
    let group = group.add(rectangle(rect).set("stroke-width", if top { 2.2 } else { 1.2 }));
    if !shared {
        return group;
    }
    let inset = 3.0;
    let inner = Rect {
        x: rect.x + inset,
        y: rect.y + inset,
        width: rect.width - 2.0 * inset,
        height: rect.height - 2.0 * inset,
    };
    group.add(rectangle(inner).set("stroke-width", 0.8))
}

/// A gate: a rectangle with its qualifier.
pub(super) fn gate(group: Group, rect: Rect, sign: &str) -> Group {
    let face = Face {
        size: 14.0,
        line: 16.0,
        kind: Kind::Bold,
    };
    // Long qualifiers (`≥12/20`) are drawn smaller.
    let width = face.width(sign);
    let size = (face.size * (GATE.0 - 4.0) / width).min(face.size);
    let (x, y) = (rect.x + rect.width / 2.0, rect.y + rect.height / 2.0);
    group
        .add(rectangle(rect).set("stroke-width", 1.6))
        .add(text(
            Face {
                size: at(size),
                ..face
            },
            Tie::Middle,
            x,
            y,
            sign,
        ))
}

/// A basic event: a circle that the line meets at `x`; a ring inside where the cause stands in
/// other places too.
pub(super) fn basic(group: Group, x: f64, y: f64, elsewhere: bool) -> Group {
    let circle = |r: f64| {
        Circle::new()
            .set("cx", at(x + LEAF / 2.0))
            .set("cy", at(y))
            .set("r", r)
            .set("fill", PAPER)
            .set("stroke", INK)
            .set("stroke-width", 1.4)
    };
    let group = group.add(circle(LEAF / 2.0 - 1.0));
    if elsewhere {
        group.add(circle(3.0))
    } else {
        group
    }
}

/// A transfer: a triangle that the line meets at its point, `x`.
pub(super) fn transfer(group: Group, x: f64, y: f64, size: f64) -> Group {
    let points = [
        (x, y),
        (x + size, y - size / 2.0),
        (x + size, y + size / 2.0),
    ];
    let points: Vec<String> = points
        .iter()
        .map(|(x, y)| format!("{},{}", at(*x), at(*y)))
        .collect();
    let triangle = Polygon::new()
        .set("points", points.join(" "))
        .set("fill", PAPER)
        .set("stroke", INK)
        .set("stroke-width", 1.4)
        .set("stroke-linejoin", "round");
    group.add(triangle)
}

/// The number on a line, its left end at `x`.
pub(super) fn number(group: Group, x: f64, y: f64, number: &str) -> Group {
    let width = number_width(number);
    let rect = Rect {
        x,
        y: y - 8.0,
        width,
        height: 16.0,
    };
    group
        .add(rectangle(rect).set("rx", 8).set("stroke-width", 0.9))
        .add(text(SMALL, Tie::Middle, x + width / 2.0, y, number))
}
