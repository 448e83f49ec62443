use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use halfsplit::fault_tree::{Builder, CutSet, FaultTree, Gate};
use halfsplit::units::Probability;

/// What stands at one place of a sketch; inputs are places further up the list.
#[derive(Clone, Debug)]
pub(crate) enum Item<C> {
    Leaf(C, f64),
    Gate(Gate, Vec<usize>),
    Sometimes(f64, usize),
}

/// A tree as a plain list, inputs before what uses them, the top last: what the referee evaluates.
#[derive(Clone, Debug)]
pub(crate) struct Sketch<C> {
    pub(crate) items: Vec<Item<C>>,
}

impl<C: Copy + Ord> Sketch<C> {
    /// Only what stands below `top`, which comes last.
    pub(crate) fn below(items: &[Item<C>], top: usize) -> Self {
        let mut wanted = vec![false; items.len()];
        wanted[top] = true;
        for place in (0..=top).rev() {
            if wanted[place] {
                for input in inputs(&items[place]) {
                    wanted[input] = true;
                }
            }
        }
        let mut moved = BTreeMap::new();
        let mut kept = Vec::new();
        for place in (0..=top).filter(|place| wanted[*place]) {
            moved.insert(place, kept.len());
            kept.push(match &items[place] {
                Item::Leaf(cause, strength) => Item::Leaf(*cause, *strength),
                Item::Gate(gate, inputs) => {
                    Item::Gate(*gate, inputs.iter().map(|input| moved[input]).collect())
                }
                Item::Sometimes(strength, input) => Item::Sometimes(*strength, moved[input]),
            });
        }
        Self { items: kept }
    }

    /// The same tree, built.
    pub(crate) fn build(&self) -> FaultTree<C> {
        let mut builder = Builder::new();
        let mut built = Vec::new();
        for item in &self.items {
            let place = match item {
                Item::Leaf(cause, strength) => builder.leaf(*cause, p(*strength)),
                Item::Gate(gate, inputs) => {
                    let inputs: Vec<_> = inputs.iter().map(|input| built[*input]).collect();
                    builder.gate(*gate, "", None, &inputs).unwrap()
                }
                Item::Sometimes(strength, input) => builder.sometimes(p(*strength), built[*input]),
            };
            built.push(place);
        }
        builder.finish(*built.last().unwrap())
    }

    pub(crate) fn causes(&self) -> Vec<C> {
        let causes: BTreeSet<C> = self
            .items
            .iter()
            .filter_map(|item| match item {
                Item::Leaf(cause, _) => Some(*cause),
                _ => None,
            })
            .collect();
        causes.into_iter().collect()
    }

    /// Whether the top is on where `closed` tells which leaves are on and which switches closed.
    fn top_is_on(&self, closed: &[bool], on: &mut Vec<bool>) -> bool {
        on.clear();
        for (place, item) in self.items.iter().enumerate() {
            let here = match item {
                Item::Leaf(..) => closed[place],
                Item::Sometimes(_, input) => closed[place] && on[*input],
                Item::Gate(gate, inputs) => {
                    let count = inputs.iter().filter(|input| on[**input]).count();
                    match gate {
                        Gate::Any => count > 0,
                        Gate::All => count == inputs.len(),
                        Gate::AtLeast(k) => count >= *k,
                    }
                }
            };
            on.push(here);
        }
        on[self.items.len() - 1]
    }

    /// The sum over every on/off state of every leaf whose cause is present and of every switch.
    pub(crate) fn probability_by_trial(&self, present: impl Fn(C) -> bool) -> f64 {
        let places: Vec<(usize, f64)> = (0..self.items.len())
            .filter_map(|place| match self.items[place] {
                Item::Leaf(cause, strength) => present(cause).then_some((place, strength)),
                Item::Sometimes(strength, _) => Some((place, strength)),
                Item::Gate(..) => None,
            })
            .collect();
        let mut closed = vec![false; self.items.len()];
        let mut on = Vec::new();
        let mut sum = 0.0;
        for state in 0_u32..1 << places.len() {
            let mut weight = 1.0;
            for (bit, (place, strength)) in places.iter().enumerate() {
                closed[*place] = state >> bit & 1 == 1;
                weight *= if closed[*place] {
                    *strength
                } else {
                    1.0 - strength
                };
            }
            if self.top_is_on(&closed, &mut on) {
                sum += weight;
            }
        }
        sum
    }

    /// Every set of at most `order` causes that switches the top on, and none of whose parts does.
    pub(crate) fn cut_sets_by_trial(&self, order: usize) -> Vec<CutSet<C>> {
        let causes = self.causes();
        let mut on = Vec::new();
        let enough: Vec<bool> = (0_usize..1 << causes.len())
            .map(|set| {
                let closed: Vec<bool> = self
                    .items
                    .iter()
                    .map(|item| match item {
                        Item::Leaf(cause, _) => {
                            set >> causes.binary_search(cause).unwrap() & 1 == 1
                        }
                        _ => true,
                    })
                    .collect();
                self.top_is_on(&closed, &mut on)
            })
            .collect();
        let mut found: Vec<CutSet<C>> = (0..enough.len())
            .filter(|set| enough[*set] && !(0..*set).any(|part| part & set == part && enough[part]))
            .map(|set| {
                (0..causes.len())
                    .filter(|bit| set >> bit & 1 == 1)
                    .map(|bit| causes[bit])
                    .collect()
            })
            .filter(|set: &CutSet<C>| set.len() <= order)
            .collect();
        found.sort_by(|a, b| a.len().cmp(&b.len()).then_with(|| a.cmp(b)));
        found
    }
}

/// As a person would draw it: a part that stands in several places is drawn once and numbered.
impl<C: Copy + fmt::Display> fmt::Display for Sketch<C> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut uses = vec![0; self.items.len()];
        for input in self.items.iter().flat_map(|item| inputs(item)) {
            uses[input] += 1;
        }
        let mut drawn = vec![false; self.items.len()];
        let mut waiting = vec![(self.items.len() - 1, 0)];
        while let Some((place, depth)) = waiting.pop() {
            write!(f, "\n{:1$}- ", "", 2 * depth)?;
            let item = &self.items[place];
            match item {
                Item::Leaf(cause, strength) => write!(f, "{cause} {strength}")?,
                _ if drawn[place] => write!(f, "see ({place})")?,
                Item::Gate(Gate::Any, _) => write!(f, "ANY")?,
                Item::Gate(Gate::All, _) => write!(f, "ALL")?,
                Item::Gate(Gate::AtLeast(k), inputs) => {
                    write!(f, "AT LEAST {k} of {}", inputs.len())?;
                }
                Item::Sometimes(strength, _) => write!(f, "SOMETIMES {strength}")?,
            }
            if !drawn[place] {
                if uses[place] > 1 && !matches!(item, Item::Leaf(..)) {
                    write!(f, " ({place})")?;
                }
                waiting.extend(
                    inputs(item)
                        .into_iter()
                        .rev()
                        .map(|input| (input, depth + 1)),
                );
            }
            drawn[place] = true;
        }
        Ok(())
    }
}

fn inputs<C>(item: &Item<C>) -> Vec<usize> {
    match item {
        Item::Leaf(..) => Vec::new(),
        Item::Gate(_, inputs) => inputs.clone(),
        Item::Sometimes(_, input) => vec![*input],
    }
}

pub(crate) fn p(number: f64) -> Probability {
    Probability::new(number).unwrap()
}

/// A tree from formulas, `·` for AND, `+` for OR, `k/n(...)` for voting. Each line defines an event,
/// the first the top; a name that no line defines is a leaf. `strengths` gives a leaf's, else 1.
pub(crate) fn tree(
    formulas: &'static str,
    strengths: &[(&'static str, f64)],
) -> Sketch<&'static str> {
    let lines: Vec<(&str, &str)> = formulas
        .split(['\n', ';'])
        .filter_map(|line| line.split_once('='))
        .map(|(name, formula)| (name.trim(), formula))
        .collect();
    let mut reader = Reader {
        defined: lines.iter().copied().collect(),
        strengths: strengths.iter().copied().collect(),
        places: BTreeMap::new(),
        items: Vec::new(),
    };
    let top = reader.name(lines[0].0);
    Sketch::below(&reader.items, top)
}

/// Every leaf of a list at one strength.
pub(crate) fn each(leaves: &'static str, strength: f64) -> Vec<(&'static str, f64)> {
    leaves
        .split_whitespace()
        .map(|leaf| (leaf, strength))
        .collect()
}

/// Cut sets as they are written in the source: `{T} {S,S1}`; smaller ones first, then by name.
pub(crate) fn sets(written: &'static str) -> Vec<CutSet<&'static str>> {
    let mut sets: Vec<CutSet<&str>> = written
        .split_whitespace()
        .map(|set| {
            let mut set: CutSet<&str> = set.trim_matches(['{', '}']).split(',').collect();
            set.sort_unstable();
            set
        })
        .collect();
    sets.sort_by(|a, b| a.len().cmp(&b.len()).then_with(|| a.cmp(b)));
    sets
}

struct Reader {
    defined: BTreeMap<&'static str, &'static str>,
    strengths: BTreeMap<&'static str, f64>,
    places: BTreeMap<&'static str, usize>,
    items: Vec<Item<&'static str>>,
}

impl Reader {
    fn name(&mut self, name: &'static str) -> usize {
        if let Some(place) = self.places.get(name) {
            return *place;
        }
        let place = if let Some(formula) = self.defined.get(name).copied() {
            let mut rest = formula;
            let place = self.sum(&mut rest);
            assert_eq!(rest.trim(), "", "left over in {name} = {formula}");
            place
        } else {
            let strength = self.strengths.get(name).copied().unwrap_or(1.0);
            self.push(Item::Leaf(name, strength))
        };
        self.places.insert(name, place);
        place
    }

    fn sum(&mut self, rest: &mut &'static str) -> usize {
        let mut parts = vec![self.product(rest)];
        while take(rest, "+") {
            parts.push(self.product(rest));
        }
        self.gate(Gate::Any, parts)
    }

    fn product(&mut self, rest: &mut &'static str) -> usize {
        let mut parts = vec![self.factor(rest)];
        while take(rest, "·") {
            parts.push(self.factor(rest));
        }
        self.gate(Gate::All, parts)
    }

    fn factor(&mut self, rest: &mut &'static str) -> usize {
        if take(rest, "(") {
            let place = self.sum(rest);
            assert!(take(rest, ")"), "no ) before {rest}");
            return place;
        }
        let word = word(rest);
        if !take(rest, "/") {
            return self.name(word);
        }
        let of: usize = self::word(rest).parse().unwrap();
        assert!(take(rest, "("), "no ( before {rest}");
        let mut parts = vec![self.sum(rest)];
        while take(rest, ",") {
            parts.push(self.sum(rest));
        }
        assert!(take(rest, ")"), "no ) before {rest}");
        assert_eq!(parts.len(), of, "inputs of a voting gate");
        self.push(Item::Gate(Gate::AtLeast(word.parse().unwrap()), parts))
    }

    fn gate(&mut self, gate: Gate, parts: Vec<usize>) -> usize {
        if let [only] = parts[..] {
            return only;
        }
        self.push(Item::Gate(gate, parts))
    }

    fn push(&mut self, item: Item<&'static str>) -> usize {
        self.items.push(item);
        self.items.len() - 1
    }
}

fn take(rest: &mut &'static str, sign: &str) -> bool {
    let Some(after) = rest.trim_start().strip_prefix(sign) else {
        return false;
    };
    *rest = after;
    true
}

fn word(rest: &mut &'static str) -> &'static str {
    let text = rest.trim_start();
    let end = text
        .find(|c: char| !c.is_alphanumeric())
        .unwrap_or(text.len());
    assert!(end > 0, "no name before {text}");
    *rest = &text[end..];
    &text[..end]
}
