//! The whole sheet: title, tree, legend, what the figures are worth.

use super::layout;
use super::layout::{LEAF, Layout, MARGIN, Placed, height};
use super::legend;
use super::outline::{Item, Outline, What, figure};
use super::symbols::{Pen, Tie, escaped, sheet};
use super::text::{Face, ID, PROSE, SMALL, TITLE};
use crate::knowledge::{Family, SymptomId};

/// The narrowest sheet: its title and legend stay readable.
const NARROWEST: f64 = 900.0;
/// What an A3 sheet leaves to print on, in millimetres, its long side first.
const A3: (f64, f64) = (400.0, 277.0);
/// Millimetres a unit of the drawing: at most the usual (96 units an inch), at least what keeps the
/// words at two millimetres; a tree too large for A3 at that size asks for a larger sheet.
const SCALE: (f64, f64) = (0.18, 25.4 / 96.0);

/// The fault tree of a symptom as an SVG drawing, symbols by IEC 61025, sized for a sheet of A3.
///
/// Each shared part is drawn where it is first needed, framed double, with its name; wherever the tree
/// needs it again stands a transfer triangle of that name. A cause has its rate (jobs in 1,000) and its
/// strength beside it; a reference with a strength is a number on its line. All meaning is in shapes
/// and words, none in colour, and the text alternative (`desc`) holds the whole tree.
pub fn svg(family: &Family, symptom: SymptomId) -> String {
    let outline = Outline::of(family, symptom);
    let mut layout = Layout::across(family, &outline);
    let width = NARROWEST.max(layout.columns.strength + MARGIN).ceil();
    let inner = width - 2.0 * MARGIN;
    let (title, about) = head(family, symptom);
    let mut pen = Pen::default();
    // Sets words at the left margin, the first line at the height `y`; gives the height after the last.
    let set = |pen: &mut Pen, face: Face, y: f64, words: &str, most: usize| {
        let lines = face.wrap(words, inner, most);
        pen.paragraph(face, Tie::Start, MARGIN, y, &lines);
        y + height(lines.len(), face)
    };
    let y = set(&mut pen, TITLE, MARGIN + 10.0, &title, 4) - 2.0;
    let table = set(&mut pen, PROSE, y, &about, 4) + 10.0;
    layout.down(&outline, table + 20.0);
    tree(&mut pen, family, &outline, &layout, table);
    let line = layout.bottom + 16.0;
    pen.stroke((MARGIN, line), (width - MARGIN, line));
    let end = legend::draw(&mut pen, &outline, MARGIN, line + 18.0, inner);
    let worth = format!("What the figures are worth: {}", family.worth);
    let tall = (set(&mut pen, SMALL, end + 14.0, &worth, 12) + MARGIN - 8.0).ceil();

    let (long, short) = if width >= tall { A3 } else { (A3.1, A3.0) };
    let scale = (long / width).min(short / tall).clamp(SCALE.0, SCALE.1);
    let size = format!(
        "viewBox=\"0 0 {width} {tall}\" width=\"{:.1}mm\" height=\"{:.1}mm\"",
        width * scale,
        tall * scale
    );
    let words = format!(
        "aria-labelledby=\"fault-tree-title fault-tree-description\">\n\
         <title id=\"fault-tree-title\">{}</title>\n<desc id=\"fault-tree-description\">{}</desc>",
        escaped(&title),
        in_words(family, &outline, &about)
    );
    sheet((width, tall), &size, &words, &pen)
}

/// The title of the sheet, and the line under it.
fn head(family: &Family, id: SymptomId) -> (String, String) {
    let symptom = family.symptom(id);
    let single = symptom.tree.cut_sets(1).len();
    let pairs = symptom.tree.cut_sets(2).len().saturating_sub(single);
    let causes = symptom.tree.causes().len();
    (
        format!("Fault tree: {}", symptom.title),
        format!(
            "{} [{}/{}]. Causes: {causes}; {single} can bring it about alone, {pairs} pairs only together.",
            family.title, family.name, symptom.name
        ),
    )
}

/// The tree with the headings of its table, which stand at the height `table`.
fn tree(pen: &mut Pen, family: &Family, outline: &Outline, layout: &Layout, table: f64) {
    let columns = &layout.columns;
    pen.open(&[("class", "tree")], "");
    for (tie, x, words) in [
        (Tie::Start, columns.words, "cause"),
        (Tie::Start, columns.name, "id"),
        (Tie::End, columns.rate, "rate"),
        (Tie::End, columns.strength, "strength"),
    ] {
        pen.text(SMALL, tie, x, table, words);
    }
    pen.rule(columns.words, columns.strength, table + 9.0);
    // Lines first: the symbols stand on their ends.
    for (item, place) in outline.items.iter().zip(&layout.placed) {
        lines(pen, item, place, layout);
        if item.is_leaf() {
            let under = place.y + place.height / 2.0;
            pen.rule(columns.words, columns.strength, under);
        }
    }
    for (item, place) in outline.items.iter().zip(&layout.placed) {
        symbol(pen, family, item, place, layout);
        let number = item.on_the_line();
        if let (Some(parent), false) = (item.parent, number.is_empty()) {
            let x = layout.placed[parent].spine + 6.0;
            pen.open(
                &[("class", "strength")],
                &format!("counts here with {number}"),
            );
            pen.number(x, place.y, &number);
            pen.close();
        }
    }
    pen.close();
}

/// The lines from an event to its inputs.
fn lines(pen: &mut Pen, item: &Item, place: &Placed, layout: &Layout) {
    let inputs = item.inputs.iter().map(|input| &layout.placed[*input]);
    let Some((first, last)) = inputs.clone().next().zip(inputs.clone().next_back()) else {
        return;
    };
    let from = place
        .frame
        .map_or(place.left, |frame| frame.x + frame.width);
    pen.stroke((from, place.y), (place.spine, place.y));
    if item.inputs.len() > 1 {
        pen.stroke((place.spine, first.y), (place.spine, last.y));
    }
    for input in inputs {
        pen.stroke((place.spine, input.y), (input.left, input.y));
    }
}

/// An item's symbol and its words.
fn symbol(pen: &mut Pen, family: &Family, item: &Item, place: &Placed, layout: &Layout) {
    let columns = &layout.columns;
    let (class, data) = match &item.what {
        What::Event { part, .. } => ("event", part.as_ref().map(|part| ("data-part", part))),
        What::Cause { cause, .. } => ("cause", Some(("data-cause", &family.cause(*cause).name))),
        What::Transfer { part, .. } => ("transfer", Some(("data-part", part))),
    };
    let mut attributes = vec![("class", class)];
    attributes.extend(data.map(|(name, value)| (name, value.as_str())));
    pen.open(&attributes, &words(family, item));
    match &item.what {
        What::Event {
            gate,
            shared,
            referred,
            ..
        } => {
            if let Some(frame) = place.frame {
                pen.frame(frame, *shared, item.parent.is_none());
                let middle = frame.x + frame.width / 2.0;
                let face = layout::event_face(item);
                let own = height(place.words.len(), face);
                let names = height(place.name.len(), ID);
                let y = place.y - f64::midpoint(own, names) + face.line / 2.0;
                pen.paragraph(face, Tie::Middle, middle, y, &place.words);
                pen.paragraph(ID, Tie::Middle, middle, y + own, &place.name);
                if *referred {
                    let left = middle - layout::widest(&place.name, ID) / 2.0;
                    pen.transfer(left - 11.0, y + own, 8.0);
                }
            }
            if let (Some(rect), Some(gate)) = (place.gate, gate) {
                pen.gate(rect, &gate.sign());
            }
        }
        What::Cause { elsewhere, .. } => {
            pen.basic(columns.symbol, place.y, *elsewhere);
            row(pen, place, layout);
            pen.text(PROSE, Tie::End, columns.rate, place.y, &place.rate);
            pen.text(PROSE, Tie::End, columns.strength, place.y, &place.strength);
        }
        What::Transfer { .. } => {
            pen.transfer(columns.symbol, place.y, LEAF);
            row(pen, place, layout);
        }
    }
    pen.close();
}

/// The words and the id in a row of the table.
fn row(pen: &mut Pen, place: &Placed, layout: &Layout) {
    for (face, x, lines) in [
        (PROSE, layout.columns.words, &place.words),
        (ID, layout.columns.name, &place.name),
    ] {
        let start = place.y - (height(lines.len(), face) - face.line) / 2.0;
        pen.paragraph(face, Tie::Start, x, start, lines);
    }
}

/// An item in one line of words.
fn words(family: &Family, item: &Item) -> String {
    match &item.what {
        What::Event {
            text, gate, part, ..
        } => {
            let part = part
                .as_ref()
                .map_or_else(String::new, |part| format!(" [{part}]"));
            let gate = gate.map_or_else(String::new, |gate| format!(", {}", gate.words()));
            format!("{text}{part}{gate}")
        }
        What::Cause {
            cause, strength, ..
        } => {
            let cause = family.cause(*cause);
            let (rate, strength) = (figure(cause.rate.get()), figure(*strength));
            format!(
                "{} [{}], rate {rate} in 1,000, strength {strength}",
                cause.title, cause.name
            )
        }
        What::Transfer { text, part } => format!("{text} [{part}], drawn above"),
    }
}

/// The whole tree in words, a line an item, for readers who cannot see it.
fn in_words(family: &Family, outline: &Outline, about: &str) -> String {
    let lines = outline.items.iter().map(|item| {
        let mut number = item.on_the_line();
        if !number.is_empty() {
            number = format!("({number}) ");
        }
        let words = escaped(&words(family, item));
        format!("{:1$}- {number}{words}", "", 2 * item.depth)
    });
    std::iter::once(escaped(about))
        .chain(lines)
        .collect::<Vec<_>>()
        .join("\n")
}
