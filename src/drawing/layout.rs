//! Where everything stands: a tidy tree from left to right, the causes in one column.
//!
//! Every branch has a band of the sheet to itself, so nothing can overlap; an event stands half-way
//! between its first and its last input; inputs stand in order.

use super::outline::{Item, Outline, What, figure};
use super::text::{Face, ID, PROSE, SMALL, TOP};
use crate::knowledge::Family;

/// A rectangle; y grows downwards.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Rect {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) width: f64,
    pub(super) height: f64,
}

impl Rect {
    pub(super) const fn new(x: f64, y: f64, width: f64, height: f64) -> Self {
        Self {
            x,
            y,
            width,
            height,
        }
    }
}

/// The room around the drawing.
pub(super) const MARGIN: f64 = 26.0;
/// A gate's symbol.
pub(super) const GATE: (f64, f64) = (38.0, 26.0);
/// A basic event's circle, and the triangle of a transfer: how wide.
pub(super) const LEAF: f64 = 16.0;
/// From an event's description to its gate.
const STUB: f64 = 8.0;
/// From a gate to the upright line that joins its inputs.
const TO_SPINE: f64 = 10.0;
/// From there to the inputs, at least.
const FROM_SPINE: f64 = 16.0;
/// The widest an event's words run, and the most lines of them.
const EVENT: (f64, usize) = (158.0, 7);
/// The widest a cause's words run, and the most lines of them.
const CAUSE: (f64, usize) = (400.0, 3);
/// The widest an id runs, and the most lines of it.
const NAME: (f64, usize) = (250.0, 3);
/// Inside a box, to the left and right, and above and below its words.
const PADDING: (f64, f64) = (9.0, 6.0);
/// The least height of a cause's line.
const ROW: f64 = 21.0;
/// Between branches that stand one under the other.
const GAP: f64 = 9.0;
/// Between the columns of the causes' table.
const COLUMN: f64 = 20.0;
/// The width of the headings of the columns of figures.
const FIGURES: (f64, f64) = (30.0, 48.0);

/// One item, placed.
#[derive(Default)]
pub(super) struct Placed {
    /// The height of its line: of its symbols' middle.
    pub(super) y: f64,
    /// Where the line to it ends.
    pub(super) left: f64,
    /// The description's frame.
    pub(super) frame: Option<Rect>,
    /// The gate's symbol.
    pub(super) gate: Option<Rect>,
    /// The upright line that joins its inputs.
    pub(super) spine: f64,
    /// Its words.
    pub(super) words: Vec<String>,
    /// Its id, or the name of the part it is.
    pub(super) name: Vec<String>,
    /// A cause's rate and strength; empty for anything else.
    pub(super) rate: String,
    pub(super) strength: String,
    /// The height it takes itself.
    pub(super) height: f64,
}

impl Placed {
    fn has_words(&self) -> bool {
        !self.words.is_empty() || !self.name.is_empty()
    }
}

/// The whole tree, placed.
pub(super) struct Layout {
    /// In the order of the outline.
    pub(super) placed: Vec<Placed>,
    /// Where the causes' table has its columns: symbol, words, id at their left, the figures at their right.
    pub(super) columns: Columns,
    /// The lower end.
    pub(super) bottom: f64,
}

/// The columns of the causes' table.
pub(super) struct Columns {
    pub(super) symbol: f64,
    pub(super) words: f64,
    pub(super) name: f64,
    pub(super) rate: f64,
    pub(super) strength: f64,
}

/// The width of the box around the number on a line.
pub(super) fn number_width(number: &str) -> f64 {
    if number.is_empty() {
        0.0
    } else {
        SMALL.width(number) + 10.0
    }
}

impl Layout {
    /// Gives every depth its columns, and every item its place in them. How far down the drawing starts may depend on
    /// how wide it is, so that is told later: [`Layout::down`].
    pub(super) fn across(family: &Family, outline: &Outline) -> Self {
        let items = &outline.items;
        let mut placed: Vec<Placed> = items.iter().map(|item| measure(family, item)).collect();
        let depths = 1 + items
            .iter()
            .filter(|item| !item.is_leaf())
            .map(|item| item.depth)
            .max()
            .unwrap_or(0);
        let mut frames = vec![0.0_f64; depths];
        let mut rooms = vec![FROM_SPINE; depths];
        for (item, place) in items.iter().zip(placed.iter()) {
            if let Some(above) = item.depth.checked_sub(1) {
                rooms[above] = rooms[above].max(number_width(&item.on_the_line()) + FROM_SPINE);
            }
            if !item.is_leaf() && place.has_words() {
                let words = widest(&place.words, event_face(item));
                let name = widest(&place.name, ID) + 14.0;
                let text = if place.name.is_empty() {
                    words
                } else {
                    words.max(name)
                };
                frames[item.depth] = frames[item.depth].max(text + 2.0 * PADDING.0);
            }
        }
        let mut x = MARGIN;
        let mut starts = Vec::with_capacity(depths);
        let mut gates = Vec::with_capacity(depths);
        let mut spines = Vec::with_capacity(depths);
        for (frame, room) in frames.iter().zip(&rooms) {
            starts.push(x);
            gates.push(x + frame + if *frame > 0.0 { STUB } else { 0.0 });
            spines.push(x + frame + STUB + GATE.0 + TO_SPINE);
            x += frame + STUB + GATE.0 + TO_SPINE + room;
        }
        let (mut words, mut name) = (120.0_f64, 80.0_f64);
        let (mut rate, mut strength) = FIGURES;
        for (item, place) in items.iter().zip(placed.iter_mut()) {
            if item.is_leaf() {
                place.left = x;
                words = words.max(widest(&place.words, PROSE));
                name = name.max(widest(&place.name, ID));
                rate = rate.max(PROSE.width(&place.rate));
                strength = strength.max(PROSE.width(&place.strength));
                continue;
            }
            let depth = item.depth;
            place.spine = spines[depth];
            if matches!(item.what, What::Event { gate: Some(_), .. }) {
                place.gate = Some(Rect::new(gates[depth], 0.0, GATE.0, GATE.1));
            }
            if place.has_words() {
                place.left = starts[depth];
                place.frame = Some(Rect::new(starts[depth], 0.0, frames[depth], place.height));
            } else {
                place.left = gates[depth];
            }
        }
        let at = x + LEAF + 9.0;
        let name_at = at + words + COLUMN;
        let rate = name_at + name + COLUMN + rate;
        let columns = Columns {
            symbol: x,
            words: at,
            name: name_at,
            rate,
            strength: rate + COLUMN + strength,
        };
        Self {
            placed,
            columns,
            bottom: 0.0,
        }
    }

    /// Gives every item its height on the sheet, from `top` down.
    pub(super) fn down(&mut self, outline: &Outline, top: f64) {
        let items = &outline.items;
        let half = self.placed.iter().map(|place| place.height / 2.0);
        let branches: Vec<Branch<'_>> = (half.zip(items))
            .map(|(half, item)| Branch {
                after: &item.inputs,
                above: half,
                below: half,
            })
            .collect();
        let gap = |before: usize, next: usize| {
            let rows = items[before].is_leaf() && items[next].is_leaf();
            if rows { 0.0 } else { GAP }
        };
        let (heights, bottom) = tidy(&branches, top, gap);
        for (place, y) in self.placed.iter_mut().zip(heights) {
            place.y = y;
            for rect in place.frame.iter_mut().chain(&mut place.gate) {
                rect.y = y - rect.height / 2.0;
            }
        }
        self.bottom = bottom;
    }
}

/// What a tidy tree is made of.
pub(super) struct Branch<'a> {
    /// What it leads to, each with a greater place than its own.
    pub(super) after: &'a [usize],
    /// How far it reaches itself above and below its line.
    pub(super) above: f64,
    pub(super) below: f64,
}

/// The heights of the lines of a tree from `top` down, the first branch its root, and where the tree ends below: each
/// half-way between the first and the last that it leads to, and each with a band of the sheet to itself.
pub(super) fn tidy(
    branches: &[Branch<'_>],
    top: f64,
    gap: impl Fn(usize, usize) -> f64,
) -> (Vec<f64>, f64) {
    // How far each reaches with all it leads to, and how far it is below the line of what leads to it.
    let mut above = vec![0.0_f64; branches.len()];
    let mut below = vec![0.0_f64; branches.len()];
    let mut off = vec![0.0_f64; branches.len()];
    for (at, branch) in branches.iter().enumerate().rev() {
        let mut total = 0.0;
        let mut before = None;
        for &next in branch.after {
            total += before.map_or(0.0, |before| gap(before, next));
            off[next] = total + above[next];
            total += above[next] + below[next];
            before = Some(next);
        }
        let ends = branch.after.first().zip(branch.after.last());
        let middle = ends.map_or(0.0, |(first, last)| f64::midpoint(off[*first], off[*last]));
        for &next in branch.after {
            off[next] -= middle;
        }
        above[at] = branch.above.max(middle);
        below[at] = branch.below.max(total - middle);
    }
    let mut heights = vec![top + above.first().copied().unwrap_or(0.0); branches.len()];
    let mut bottom = top;
    for (at, branch) in branches.iter().enumerate() {
        bottom = bottom.max(heights[at] + below[at]);
        for &next in branch.after {
            heights[next] = heights[at] + off[next];
        }
    }
    (heights, bottom)
}

/// The letters of an event's description.
pub(super) const fn event_face(item: &Item) -> Face {
    if item.parent.is_none() { TOP } else { PROSE }
}

/// An item's words in lines, and the height they take.
fn measure(family: &Family, item: &Item) -> Placed {
    match &item.what {
        What::Event {
            text, part, gate, ..
        } => {
            let words = event_face(item).wrap(text, EVENT.0, EVENT.1);
            let part = part.as_deref().unwrap_or_default();
            // Room for the triangle before the name.
            let name = ID.wrap(part, EVENT.0 - 14.0, NAME.1);
            let text = height(words.len(), PROSE) + height(name.len(), ID);
            let frame = if text > 0.0 {
                text + 2.0 * PADDING.1
            } else {
                0.0
            };
            let gate = if gate.is_some() { GATE.1 } else { 0.0 };
            Placed {
                words,
                name,
                height: frame.max(gate),
                ..Placed::default()
            }
        }
        What::Cause {
            cause, strength, ..
        } => {
            let cause = family.cause(*cause);
            Placed {
                rate: figure(cause.rate.get()),
                strength: figure(*strength),
                ..row(&cause.title, &cause.name)
            }
        }
        What::Transfer { text, part } => row(text, part),
    }
}

fn row(words: &str, name: &str) -> Placed {
    let words = PROSE.wrap(words, CAUSE.0, CAUSE.1);
    let name = ID.wrap(name, NAME.0, NAME.1);
    let height = height(words.len(), PROSE).max(height(name.len(), ID)) + 6.0;
    Placed {
        words,
        name,
        height: height.max(ROW),
        ..Placed::default()
    }
}

/// The height of lines of text.
#[allow(clippy::cast_precision_loss, reason = "a handful of lines")]
pub(super) fn height(count: usize, face: Face) -> f64 {
    count as f64 * face.line
}

pub(super) fn widest(lines: &[String], face: Face) -> f64 {
    lines
        .iter()
        .map(|line| face.width(line))
        .fold(0.0, f64::max)
}
