//! What the symbols mean: only those that stand in the drawing.

use super::layout::{GATE, LEAF, Rect, height};
use super::outline::{Item, Outline, Qualifier, What};
use super::symbols::{Pen, Tie};
use super::text::{SMALL, TOP};

/// From an entry's symbol to its words.
const SYMBOL: f64 = 58.0;
/// Between the columns of entries.
const COLUMN: f64 = 26.0;

/// A symbol that the drawing may hold.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Sample {
    Event,
    Or,
    And,
    Voting,
    Part,
    Named,
    Transfer,
    Number,
    Cause,
    Repeated,
}

#[rustfmt::skip] // a table reads as a table
/// What each symbol means, in the order of the drawing.
const MEANINGS: [(Sample, &str); 10] = [
    (Sample::Event, "Event: brought about by what stands to its right. The complaint, the top event, has the thick frame."),
    (Sample::Or, "OR gate: one of its inputs is enough."),
    (Sample::And, "AND gate: it takes every one of its inputs."),
    (Sample::Voting, "Voting gate: it takes at least k of its n inputs."),
    (Sample::Part, "Part that trees may share, with its name. However often it is needed, it is one thing."),
    (Sample::Named, "Event that several gates need, with a name for this drawing. It is one thing."),
    (Sample::Transfer, "Transfer: here the branch of this name comes in; it is drawn once, further up, its name marked with a small triangle."),
    (Sample::Number, "Number on a line: how often the branch behind it, where it is on, counts here. It stands for an AND of the branch and a switch of its own that is on with this probability."),
    (Sample::Cause, "Basic event: a cause. Its rate is in how many of 1,000 jobs it is present; its strength is how often it then brings about the event to its left, 1 being always."),
    (Sample::Repeated, "The same cause stands in several places of this tree; it is one thing, at one rate."),
];

/// The symbols that an item takes.
fn samples(item: &Item) -> Vec<Sample> {
    let mut samples = Vec::new();
    match &item.what {
        What::Event {
            gate, part, shared, ..
        } => {
            samples.push(Sample::Event);
            samples.extend(gate.map(|gate| match gate {
                Qualifier::Any => Sample::Or,
                Qualifier::All => Sample::And,
                Qualifier::AtLeast(..) => Sample::Voting,
            }));
            let named = if *shared { Sample::Part } else { Sample::Named };
            samples.extend(part.as_ref().map(|_| named));
        }
        What::Transfer { .. } => samples.push(Sample::Transfer),
        What::Cause { elsewhere, .. } => {
            samples.push(Sample::Cause);
            samples.extend(elsewhere.then_some(Sample::Repeated));
        }
    }
    samples.extend((!item.often.is_empty()).then_some(Sample::Number));
    samples
}

/// The entries for the symbols that the drawing holds.
fn entries(outline: &Outline) -> Vec<(Sample, &'static str)> {
    let present: Vec<Sample> = outline.items.iter().flat_map(samples).collect();
    let mut entries = MEANINGS.to_vec();
    entries.retain(|(sample, _)| present.contains(sample));
    entries
}

/// Draws the legend into a strip of the sheet; gives its lower end.
pub(super) fn draw(pen: &mut Pen, outline: &Outline, left: f64, top: f64, width: f64) -> f64 {
    let columns: u8 = if width > 1150.0 { 3 } else { 2 };
    let column = (width - COLUMN * (f64::from(columns) - 1.0)) / f64::from(columns);
    let heading = "Symbols (IEC 61025, the tree turned: top event at the left)";
    pen.text(TOP, Tie::Start, left, top, heading);
    let mut y = top + 18.0;
    for row in entries(outline).chunks(usize::from(columns)) {
        let mut tallest = GATE.1;
        let mut x = left;
        for (sample, words) in row {
            let lines = SMALL.wrap(words, column - SYMBOL, 9);
            pen.paragraph(SMALL, Tie::Start, x + SYMBOL, y + 12.0, &lines);
            show(pen, *sample, x, y + 13.0);
            tallest = tallest.max(height(lines.len(), SMALL));
            x += column + COLUMN;
        }
        y += tallest + 9.0;
    }
    y
}

/// Draws the symbol of an entry at its left end, around the height `y`.
fn show(pen: &mut Pen, sample: Sample, x: f64, y: f64) {
    let frame = Rect::new(x, y - 11.0, 44.0, 22.0);
    let middle = x + (44.0 - LEAF) / 2.0;
    let gate = Rect::new(x + 3.0, y - GATE.1 / 2.0, GATE.0, GATE.1);
    match sample {
        Sample::Or => pen.gate(gate, "≥1"),
        Sample::And => pen.gate(gate, "&"),
        Sample::Voting => pen.gate(gate, "≥k/n"),
        Sample::Event => pen.frame(frame, false, false),
        Sample::Part => pen.frame(frame, true, false),
        Sample::Named => {
            pen.frame(frame, false, false);
            pen.transfer(x + 8.0, y, 8.0);
        }
        Sample::Cause => pen.basic(middle, y, false),
        Sample::Repeated => pen.basic(middle, y, true),
        Sample::Transfer => pen.transfer(middle, y, LEAF),
        Sample::Number => {
            pen.stroke((x, y), (x + 44.0, y));
            pen.number(x + 8.0, y, "0.3");
        }
    }
}
