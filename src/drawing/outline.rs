//! What is drawn, in the order it is read: the tree unfolded, each part once.

use std::collections::{BTreeMap, BTreeSet};

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

/// A rate or a strength: what is not nil is not shown as nil, nor with a row of noughts.
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
        let mut items: Vec<Item> = Vec::new();
        if !matches!(tree.node(tree.top()), Node::Gate { .. }) {
            // A lone cause under the complaint: the top event still gets its description.
            items.push(Item {
                what: What::Event {
                    text: symptom.title.clone(),
                    gate: None,
                    part: None,
                    shared: false,
                    referred: false,
                },
                parent: None,
                depth: 0,
                often: Vec::new(),
                inputs: Vec::new(),
            });
        }
        let mut drawn: BTreeMap<NodeId, usize> = BTreeMap::new();
        let mut transfers: Vec<(usize, usize)> = Vec::new();
        // Last in, first out, so that a place comes up after everything below its elder sisters.
        let mut waiting = vec![(tree.top(), items.len().checked_sub(1), Vec::new())];
        while let Some((place, parent, mut often)) = waiting.pop() {
            let at = items.len();
            let inputs = tree.inputs(place);
            let what = match tree.node(place) {
                Node::Sometimes { strength } => {
                    often.push(strength.get());
                    waiting.extend(
                        inputs
                            .into_iter()
                            .map(|input| (input, parent, often.clone())),
                    );
                    continue;
                }
                Node::Leaf { cause, strength } => What::Cause {
                    cause: *cause,
                    strength: strength.get(),
                    elsewhere: false,
                },
                Node::Gate { event, shared, .. } if drawn.contains_key(&place) => {
                    transfers.push((at, drawn[&place]));
                    What::Transfer {
                        text: event.clone(),
                        part: shared.clone().unwrap_or_default(),
                    }
                }
                Node::Gate {
                    gate,
                    event,
                    shared,
                } => {
                    drawn.insert(place, at);
                    let gate = Some(Qualifier::of(*gate, inputs.len()));
                    waiting.extend(
                        inputs
                            .into_iter()
                            .rev()
                            .map(|input| (input, Some(at), Vec::new())),
                    );
                    let text = if parent.is_none() && event.is_empty() {
                        &symptom.title
                    } else {
                        event
                    };
                    What::Event {
                        text: text.clone(),
                        gate,
                        part: shared.clone(),
                        shared: shared.is_some(),
                        referred: false,
                    }
                }
            };
            let depth = parent.map_or(0, |parent| {
                items[parent].inputs.push(at);
                items[parent].depth + 1
            });
            items.push(Item {
                what,
                parent,
                depth,
                often,
                inputs: Vec::new(),
            });
        }
        let mut outline = Self { items };
        outline.join(&transfers);
        outline.find_repeated();
        outline
    }

    /// Gives what transfers refer to its mark, and a name where the knowledge gives none.
    fn join(&mut self, transfers: &[(usize, usize)]) {
        let mut unnamed = 0;
        for (from, to) in transfers {
            if let What::Event { part, referred, .. } = &mut self.items[*to].what {
                *referred = true;
                let name = part.get_or_insert_with(|| {
                    unnamed += 1;
                    // The space keeps it apart from every id.
                    format!("branch {unnamed}")
                });
                let name = name.clone();
                if let What::Transfer { part, .. } = &mut self.items[*from].what {
                    *part = name;
                }
            }
        }
    }

    /// Marks the causes that stand in several places.
    fn find_repeated(&mut self) {
        let mut seen = BTreeSet::new();
        let mut again = BTreeSet::new();
        for item in &self.items {
            if let What::Cause { cause, .. } = &item.what
                && !seen.insert(*cause)
            {
                again.insert(*cause);
            }
        }
        for item in &mut self.items {
            if let What::Cause {
                cause, elsewhere, ..
            } = &mut item.what
            {
                *elsewhere = again.contains(cause);
            }
        }
    }
}
