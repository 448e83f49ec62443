//! The whole sheet: title, tree, legend, what the figures are worth.

use svg::Document;
use svg::node::Text;
use svg::node::element::{Description, Group, Title};

use super::layout;
use super::layout::{LEAF, Layout, MARGIN, Placed};
use super::legend;
use super::outline::{Item, Outline, What, figure};
use super::symbols;
use super::symbols::Tie;
use super::text::{ID, PROSE, SMALL, TITLE, safe};
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
#[must_use]
pub fn svg(family: &Family, symptom: SymptomId) -> String {
    let outline = Outline::of(family, symptom);
    let head = head(family, symptom);
    let mut layout = Layout::across(family, &outline);
    let width = NARROWEST.max(layout.columns.strength + MARGIN).ceil();
    let inner = width - 2.0 * MARGIN;
    let title = TITLE.wrap(&head.title, inner, 4);
    let about = PROSE.wrap(&head.about, inner, 4);
    let about_at = MARGIN + 8.0 + height(&title, TITLE.line);
    let table = about_at + height(&about, PROSE.line) + 10.0;
    layout.down(&outline, table + 20.0);

    let page = Group::new().set(
        "font-family",
        "Arial, Helvetica, 'Liberation Sans', sans-serif",
    );
    let page = symbols::paragraph(page, TITLE, Tie::Start, MARGIN, MARGIN + 10.0, &title);
    let page = symbols::paragraph(page, PROSE, Tie::Start, MARGIN, about_at, &about);
    let page = page.add(tree(family, &outline, &layout, table));
    let page = page.add(symbols::stroke(&[
        (MARGIN, layout.bottom + 16.0),
        (width - MARGIN, layout.bottom + 16.0),
    ]));
    let (page, end) = legend::draw(page, &outline, MARGIN, layout.bottom + 34.0, inner);
    let worth = SMALL.wrap(
        &format!("What the figures are worth: {}", family.worth),
        inner,
        12,
    );
    let page = symbols::paragraph(page, SMALL, Tie::Start, MARGIN, end + 14.0, &worth);
    let tall = (end + 14.0 + height(&worth, SMALL.line) + MARGIN - 8.0).ceil();

    let (long, short) = if width >= tall { A3 } else { (A3.1, A3.0) };
    let scale = (long / width).min(short / tall).clamp(SCALE.0, SCALE.1);
    let millimetres = |units: f64| format!("{:.1}mm", units * scale);
    Document::new()
        .set("viewBox", format!("0 0 {width} {tall}"))
        .set("width", millimetres(width))
        .set("height", millimetres(tall))
        .set("role", "img")
        .set("aria-labelledby", "fault-tree-title fault-tree-description")
        .add(Title::new(safe(&head.title)).set("id", "fault-tree-title"))
        .add(
            Description::new()
                .set("id", "fault-tree-description")
                .add(Text::new(in_words(family, &outline, &head.about))),
        )
        .add(symbols::paper(width, tall))
        .add(page)
        .to_string()
}

#[allow(clippy::cast_precision_loss, reason = "a handful of lines")]
fn height(lines: &[String], line: f64) -> f64 {
    lines.len() as f64 * line
}

/// What stands at the head of the sheet.
struct Head {
    title: String,
    about: String,
}

fn head(family: &Family, id: SymptomId) -> Head {
    let symptom = family.symptom(id);
    let single = symptom.tree.cut_sets(1).len();
    let pairs = symptom.tree.cut_sets(2).len().saturating_sub(single);
    let causes = symptom.tree.causes().len();
    Head {
        title: format!("Fault tree: {}", symptom.title),
        about: format!(
            "{} [{}/{}]. Causes: {causes}; {single} can bring it about alone, {pairs} pairs only together.",
            family.title, family.name, symptom.name
        ),
    }
}

/// The tree with the headings of its table, which stand at the height `table`.
fn tree(family: &Family, outline: &Outline, layout: &Layout, table: f64) -> Group {
    let columns = &layout.columns;
    let mut group = Group::new().set("class", "tree");
    for (tie, x, words) in [
        (Tie::Start, columns.words, "cause"),
        (Tie::Start, columns.name, "id"),
        (Tie::End, columns.rate, "rate"),
        (Tie::End, columns.strength, "strength"),
    ] {
        group = group.add(symbols::text(SMALL, tie, x, table, words));
    }
    group = group.add(symbols::rule(columns.words, columns.strength, table + 9.0));
    // Lines first: the symbols stand on their ends.
    for (item, place) in outline.items.iter().zip(&layout.placed) {
        for path in lines(item, place, layout) {
            group = group.add(path);
        }
        if item.is_leaf() {
            group = group.add(symbols::rule(
                columns.words,
                columns.strength,
                place.y + place.height / 2.0,
            ));
        }
    }
    for (item, place) in outline.items.iter().zip(&layout.placed) {
        group = group.add(symbol(family, item, place, layout));
        let number = item.on_the_line();
        if let (Some(parent), false) = (item.parent, number.is_empty()) {
            let x = layout.placed[parent].spine + 6.0;
            let line = Group::new()
                .set("class", "strength")
                .add(symbols::title(&format!("counts here with {number}")));
            group = group.add(symbols::number(line, x, place.y, &number));
        }
    }
    group
}

/// The lines from an event to its inputs.
fn lines(item: &Item, place: &Placed, layout: &Layout) -> Vec<svg::node::element::Path> {
    let inputs: Vec<&Placed> = item
        .inputs
        .iter()
        .map(|input| &layout.placed[*input])
        .collect();
    let Some((first, last)) = inputs.first().zip(inputs.last()) else {
        return Vec::new();
    };
    let from = place
        .frame
        .map_or(place.left, |frame| frame.x + frame.width);
    let mut lines = vec![symbols::stroke(&[(from, place.y), (place.spine, place.y)])];
    if inputs.len() > 1 {
        lines.push(symbols::stroke(&[
            (place.spine, first.y),
            (place.spine, last.y),
        ]));
    }
    lines.extend(
        inputs
            .iter()
            .map(|input| symbols::stroke(&[(place.spine, input.y), (input.left, input.y)])),
    );
    lines
}

/// An item's symbol and its words.
fn symbol(family: &Family, item: &Item, place: &Placed, layout: &Layout) -> Group {
    let columns = &layout.columns;
    let said = words(family, item);
    match &item.what {
        What::Event {
            gate,
            part,
            shared,
            referred,
            ..
        } => {
            let mut group = Group::new()
                .set("class", "event")
                .add(symbols::title(&said));
            if let Some(part) = part {
                group = group.set("data-part", safe(part));
            }
            if let Some(frame) = place.frame {
                group = symbols::frame(group, frame, *shared, item.parent.is_none());
                let middle = frame.x + frame.width / 2.0;
                let face = layout::event_face(item);
                let (own, names) = (
                    height(&place.words, face.line),
                    height(&place.name, ID.line),
                );
                let y = place.y - f64::midpoint(own, names) + face.line / 2.0;
                group = symbols::paragraph(group, face, Tie::Middle, middle, y, &place.words);
                group = symbols::paragraph(group, ID, Tie::Middle, middle, y + own, &place.name);
                if *referred {
                    let left = middle - layout::widest(&place.name, ID) / 2.0;
                    group = symbols::transfer(group, left - 11.0, y + own, 8.0);
                }
            }
            if let (Some(rect), Some(gate)) = (place.gate, gate) {
                group = symbols::gate(group, rect, &gate.sign());
            }
            group
        }
        What::Cause {
            cause, elsewhere, ..
        } => {
            let cause = family.cause(*cause);
            let group = Group::new()
                .set("class", "cause")
                .set("data-cause", safe(&cause.name))
                .add(symbols::title(&said));
            let group = symbols::basic(group, columns.symbol, place.y, *elsewhere);
            row(group, place, layout)
                .add(symbols::text(
                    PROSE,
                    Tie::End,
                    columns.rate,
                    place.y,
                    &place.rate,
                ))
                .add(symbols::text(
                    PROSE,
                    Tie::End,
                    columns.strength,
                    place.y,
                    &place.strength,
                ))
        }
        What::Transfer { part, .. } => {
            let group = Group::new()
                .set("class", "transfer")
                .set("data-part", safe(part))
                .add(symbols::title(&said));
            row(
                symbols::transfer(group, columns.symbol, place.y, LEAF),
                place,
                layout,
            )
        }
    }
}

/// The words and the id in a row of the table.
fn row(group: Group, place: &Placed, layout: &Layout) -> Group {
    let start = |lines: &[String], line: f64| place.y - (height(lines, line) - line) / 2.0;
    let words = start(&place.words, PROSE.line);
    let group = symbols::paragraph(
        group,
        PROSE,
        Tie::Start,
        layout.columns.words,
        words,
        &place.words,
    );
    let name = start(&place.name, ID.line);
    symbols::paragraph(
        group,
        ID,
        Tie::Start,
        layout.columns.name,
        name,
        &place.name,
    )
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

/// The whole tree in words, a line an item, for who cannot see it.
fn in_words(family: &Family, outline: &Outline, about: &str) -> String {
    let lines = outline.items.iter().map(|item| {
        let number = item.on_the_line();
        let number = if number.is_empty() {
            number
        } else {
            format!("({number}) ")
        };
        format!(
            "{:1$}- {number}{2}",
            "",
            2 * item.depth,
            safe(&words(family, item))
        )
    });
    std::iter::once(safe(about))
        .chain(lines)
        .collect::<Vec<_>>()
        .join("\n")
}
