//! The symbols of IEC 61025 and the few marks beside them, written as SVG.

use std::fmt::{Arguments, Write as _};

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
pub(super) fn at(number: f64) -> f64 {
    (number * 10.0).round() / 10.0 + 0.0
}

/// A text as XML holds it, in an element or between double quotes.
pub(super) fn escaped(text: &str) -> String {
    let text = safe(text).replace('&', "&amp;").replace('<', "&lt;");
    text.replace('>', "&gt;").replace('"', "&quot;")
}

/// A whole drawing: its size, what says it in words, and what was drawn.
pub(super) fn sheet(size: (f64, f64), attributes: &str, words: &str, pen: &Pen) -> String {
    let mut paper = Pen::default();
    paper.paper(size.0, size.1);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" {attributes} role=\"img\" {words}\n{}\
         <g font-family=\"Arial, Helvetica, 'Liberation Sans', sans-serif\">\n{}</g>\n</svg>\n",
        paper.0, pen.0
    )
}

/// What has been drawn so far, an element a line.
#[derive(Default)]
pub(super) struct Pen(String);

impl Pen {
    fn put(&mut self, element: Arguments<'_>) {
        // Writing to a string cannot fail.
        let _ = writeln!(self.0, "{element}");
    }

    /// Opens a group with its attributes and, where it has one, what a pointer at rest and a search find: its whole
    /// text, however it is broken.
    pub(super) fn open(&mut self, attributes: &[(&str, &str)], title: &str) {
        self.0.push_str("<g");
        for (name, value) in attributes {
            let _ = write!(self.0, " {name}=\"{}\"", escaped(value));
        }
        self.0.push_str(">\n");
        if !title.is_empty() {
            self.put(format_args!("<title>{}</title>", escaped(title)));
        }
    }

    /// Closes the group opened last.
    pub(super) fn close(&mut self) {
        self.put(format_args!("</g>"));
    }

    /// One line of text around the height `y`.
    pub(super) fn text(&mut self, face: Face, tie: Tie, x: f64, y: f64, words: &str) {
        let kind = match face.kind {
            Kind::Prose => "",
            Kind::Bold => " font-weight=\"bold\"",
            Kind::Mono => {
                " font-family=\"Menlo, Consolas, 'DejaVu Sans Mono', 'Liberation Mono', monospace\""
            }
        };
        let tie = match tie {
            Tie::Start => "",
            Tie::Middle => " text-anchor=\"middle\"",
            Tie::End => " text-anchor=\"end\"",
        };
        // Digits and capitals are about 0.7 of the size high: the baseline lies half of that lower.
        let baseline = at(y + 0.35 * face.size);
        self.put(format_args!(
            "<text x=\"{}\" y=\"{baseline}\" font-size=\"{}\"{kind}{tie}>{}</text>",
            at(x),
            face.size,
            escaped(words)
        ));
    }

    /// Lines of text one under the other, the first around the height `y`.
    pub(super) fn paragraph(&mut self, face: Face, tie: Tie, x: f64, y: f64, lines: &[String]) {
        let mut y = y;
        for line in lines {
            self.text(face, tie, x, y, line);
            y += face.line;
        }
    }

    /// A stroke from point to point.
    pub(super) fn stroke(&mut self, from: (f64, f64), to: (f64, f64)) {
        self.line(from, to, format_args!("stroke=\"{INK}\""));
    }

    /// A faint line that leads the eye along a row.
    pub(super) fn rule(&mut self, from: f64, to: f64, y: f64) {
        let faint = format_args!("stroke=\"{FAINT}\" stroke-width=\"0.5\"");
        self.line((from, y), (to, y), faint);
    }

    fn line(&mut self, from: (f64, f64), to: (f64, f64), style: Arguments<'_>) {
        self.put(format_args!(
            "<path d=\"M{} {}L{} {}\" fill=\"none\" {style}/>",
            at(from.0),
            at(from.1),
            at(to.0),
            at(to.1)
        ));
    }

    fn rectangle(&mut self, rect: Rect, style: Arguments<'_>) {
        self.put(format_args!(
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{PAPER}\" {style}/>",
            at(rect.x),
            at(rect.y),
            at(rect.width),
            at(rect.height)
        ));
    }

    /// The sheet itself, so that the ink also shows where the page behind it is dark.
    fn paper(&mut self, width: f64, height: f64) {
        let sheet = Rect::new(0.0, 0.0, width, height);
        self.rectangle(sheet, format_args!("stroke=\"none\""));
    }

    fn framed(&mut self, rect: Rect, width: f64) {
        self.rectangle(
            rect,
            format_args!("stroke=\"{INK}\" stroke-width=\"{width}\""),
        );
    }

    /// The frame of an event's description; a double line for a part that trees share.
    pub(super) fn frame(&mut self, rect: Rect, shared: bool, top: bool) {
        self.framed(rect, if top { 2.2 } else { 1.2 });
        if shared {
            let inset = 3.0;
            let (width, height) = (rect.width - 2.0 * inset, rect.height - 2.0 * inset);
            let inner = Rect::new(rect.x + inset, rect.y + inset, width, height);
            self.framed(inner, 0.8);
        }
    }

    /// The frame of a step that ends a plan.
    pub(super) fn rounded(&mut self, rect: Rect) {
        let style = format_args!("stroke=\"{INK}\" rx=\"10\" stroke-width=\"1.2\"");
        self.rectangle(rect, style);
    }

    /// A gate: a rectangle with its qualifier.
    pub(super) fn gate(&mut self, rect: Rect, sign: &str) {
        let mut face = Face::new(14.0, 16.0, Kind::Bold);
        // Long qualifiers (`≥12/20`) are drawn smaller.
        face.size = at((face.size * (GATE.0 - 4.0) / face.width(sign)).min(face.size));
        let (x, y) = (rect.x + rect.width / 2.0, rect.y + rect.height / 2.0);
        self.framed(rect, 1.6);
        self.text(face, Tie::Middle, x, y, sign);
    }

    /// A basic event: a circle that the line meets at `x`; a ring inside where the cause stands in
    /// other places too.
    pub(super) fn basic(&mut self, x: f64, y: f64, elsewhere: bool) {
        let (x, y) = (at(x + LEAF / 2.0), at(y));
        for radius in [LEAF / 2.0 - 1.0, 3.0]
            .iter()
            .take(if elsewhere { 2 } else { 1 })
        {
            self.put(format_args!(
                "<circle cx=\"{x}\" cy=\"{y}\" r=\"{radius}\" fill=\"{PAPER}\" stroke=\"{INK}\" stroke-width=\"1.4\"/>"
            ));
        }
    }

    /// A transfer: a triangle that the line meets at its point, `x`.
    pub(super) fn transfer(&mut self, x: f64, y: f64, size: f64) {
        let (back, up, down) = (at(x + size), at(y - size / 2.0), at(y + size / 2.0));
        self.put(format_args!(
            "<polygon points=\"{},{} {back},{up} {back},{down}\" fill=\"{PAPER}\" stroke=\"{INK}\" \
             stroke-width=\"1.4\" stroke-linejoin=\"round\"/>",
            at(x),
            at(y)
        ));
    }

    /// The number on a line, its left end at `x`.
    pub(super) fn number(&mut self, x: f64, y: f64, number: &str) {
        let width = number_width(number);
        let style = format_args!("stroke=\"{INK}\" rx=\"8\" stroke-width=\"0.9\"");
        self.rectangle(Rect::new(x, y - 8.0, width, 16.0), style);
        self.text(SMALL, Tie::Middle, x + width / 2.0, y, number);
    }
}
