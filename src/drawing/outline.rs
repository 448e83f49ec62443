//! What is drawn, in the order it is read: the tree unfolded, each part once.

use std::collections::BTreeMap;

use crate::fault_tree::{Gate, Node, NodeId};
use crate::knowledge::{CauseId, Family, SymptomId};
use crate::text::plain;

/// Everything of the drawing; an item stands before its inputs, the top event first.
pub(super) struct Outline {
    pub(super) items: Vec<Item>,
}

/// One thing in the drawing.
pub(super) struct Item {
    pub(super) what: What,
    /// The item it is an input of.
    pub(super) parent: Option<usize>,
    /// How many events stand above it.
    pub(super) depth: usize,
    /// The strengths of the references on the line to it; mostly none, seldom more than one.
    pub(super) often: Vec<f64>,
    /// Its inputs, in order.
    pub(super) inputs: Vec<usize>,
}

/// What an item is.
pub(super) enum What {
    /// An event that others bring about.
    Event {
        /// In words; may be empty.
        text: String,
        /// How; `None` where the top event is a lone cause.
        gate: Option<Qualifier>,
        /// The name it is known by, where it is a shared part or drawn once for several places.
        part: Option<String>,
        /// Whether it is a part that trees share.
        shared: bool,
        /// Whether a transfer elsewhere in the drawing refers to it.
        referred: bool,
    },
    /// A basic event.
    Cause {
        cause: CauseId,
        strength: f64,
        /// Whether the same cause stands in another place of the drawing too.
        elsewhere: bool,
    },
    /// A part that is drawn in another place, by its name.
    Transfer { text: String, part: String },
}

impl What {
    fn event(text: &str, gate: Option<Qualifier>, shared: Option<String>) -> Self {
        Self::Event {
            text: text.to_owned(),
            gate,
            shared: shared.is_some(),
            part: shared,
            referred: false,
        }
    }
}

/// What stands in a gate's symbol.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Qualifier {
    /// OR.
    Any,
    /// AND.
    All,
    /// So many of so many.
    AtLeast(usize, usize),
}

impl Qualifier {
    pub(super) const fn of(gate: Gate, inputs: usize) -> Self {
        match gate {
            Gate::Any => Self::Any,
            Gate::All => Self::All,
            Gate::AtLeast(k) => Self::AtLeast(k, inputs),
        }
    }

    /// The sign in the symbol (IEC 61025, IEC 60617-12).
    pub(super) fn sign(self) -> String {
        match self {
            Self::Any => "≥1".to_owned(),
            Self::All => "&".to_owned(),
            Self::AtLeast(k, n) => format!("≥{k}/{n}"),
        }
    }

    /// The same in words.
    pub(super) fn words(self) -> String {
        match self {
            Self::Any => "any of".to_owned(),
            Self::All => "all of".to_owned(),
            Self::AtLeast(k, n) => format!("at least {k} of {n}"),
        }
    }
}

/// A rate or a strength; a number above zero is never shown as 0 or as a row of zeros.
pub(super) fn figure(number: f64) -> String {
    if number > 0.0 && number < 1e-4 {
        "< 0.0001".to_owned()
    } else {
        plain(number)
    }
}

impl Item {
    /// Whether it stands in the column of causes.
    pub(super) const fn is_leaf(&self) -> bool {
        !matches!(self.what, What::Event { .. })
    }

    /// The number on the line to it; empty where there is none.
    pub(super) fn on_the_line(&self) -> String {
        let numbers: Vec<String> = self
            .often
            .iter()
            .map(|strength| figure(*strength))
            .collect();
        numbers.join(" × ")
    }
}

impl Outline {
    /// The tree of a symptom, unfolded. Grows with the lines of the tree, not with the paths through it.
    pub(super) fn of(family: &Family, id: SymptomId) -> Self {
        let symptom = family.symptom(id);
        let tree = &symptom.tree;
        let mut outline = Self { items: Vec::new() };
        let mut above = None;
        if !matches!(tree.node(tree.top()), Node::Gate { .. }) {
            // A lone cause under the complaint: the top event still gets its description.
            let what = What::event(&symptom.title, None, None);
            above = Some(outline.add(what, None, Vec::new()));
        }
        let mut drawn: BTreeMap<NodeId, usize> = BTreeMap::new();
        let mut causes: BTreeMap<CauseId, usize> = BTreeMap::new();
        let mut unnamed = 0;
        // Last in, first out, so that a place comes up after everything below its elder sisters.
        let mut waiting = vec![(tree.top(), above, Vec::new())];
        while let Some((place, parent, mut often)) = waiting.pop() {
            let inputs = tree.inputs(place);
            match tree.node(place) {
                Node::Sometimes { strength } => {
                    often.push(strength.get());
                    let inputs = inputs.into_iter();
                    waiting.extend(inputs.map(|input| (input, parent, often.clone())));
                }
                Node::Leaf { cause, strength } => {
                    let earlier = causes.insert(*cause, outline.items.len());
                    if let Some(earlier) = earlier
                        && let What::Cause { elsewhere, .. } = &mut outline.items[earlier].what
                    {
                        *elsewhere = true;
                    }
                    let what = What::Cause {
                        cause: *cause,
                        strength: strength.get(),
                        elsewhere: earlier.is_some(),
                    };
                    outline.add(what, parent, often);
                }
                Node::Gate { event, .. } if drawn.contains_key(&place) => {
                    let mut name = String::new();
                    if let What::Event { part, referred, .. } =
                        &mut outline.items[drawn[&place]].what
                    {
                        *referred = true;
                        name.clone_from(part.get_or_insert_with(|| {
                            unnamed += 1;
                            // The space keeps it apart from every id.
                            format!("branch {unnamed}")
                        }));
                    }
                    let what = What::Transfer {
                        text: event.clone(),
                        part: name,
                    };
                    outline.add(what, parent, often);
                }
                Node::Gate {
                    gate,
                    event,
                    shared,
                } => {
                    let gate = Qualifier::of(*gate, inputs.len());
                    let what = What::event(event, Some(gate), shared.clone());
                    let at = outline.add(what, parent, often);
                    drawn.insert(place, at);
                    let inputs = inputs.into_iter().rev();
                    waiting.extend(inputs.map(|input| (input, Some(at), Vec::new())));
                }
            }
        }
        outline
    }

    /// Adds an item as the last input of its parent; gives its place.
    fn add(&mut self, what: What, parent: Option<usize>, often: Vec<f64>) -> usize {
        let at = self.items.len();
        let depth = parent.map_or(0, |parent| {
            self.items[parent].inputs.push(at);
            self.items[parent].depth + 1
        });
        self.items.push(Item {
            what,
            parent,
            depth,
            often,
            inputs: Vec::new(),
        });
        at
    }
}
