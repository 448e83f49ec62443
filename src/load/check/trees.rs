//! Complaints and their fault trees.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::known::Known;
use super::shared::Shared;
use super::values;
use crate::fault_tree::{Builder, Gate as Kind, NodeId};
use crate::knowledge::{CauseId, Pattern, Symptom};
use crate::load::folder::{FileKind, RawFamily};
use crate::load::log::{Spot, say};
use crate::load::raw::trees::{Branch, Gate, TreeFile};
use crate::load::value::{Items, Name, Placed};
use crate::units::Probability;

/// The most bytes all patterns of a family may have; the shipped family's have about 4,000.
const MOST_PATTERN_BYTES: usize = 40_000;
/// And the most parts, [`Pattern::parts`]: compiled, so many take 70 MB.
const MOST_PATTERN_PARTS: usize = 1_000_000;

/// The symptoms of a family in the order of their names, and the causes that stand in a tree, where
/// every tree could be built.
pub(super) fn symptoms(
    raw: &RawFamily,
    known: &Known<'_>,
) -> (Vec<Symptom>, Option<BTreeSet<CauseId>>) {
    let shared = Shared::new(raw, known);
    let mut used_parts: BTreeSet<usize> = BTreeSet::new();
    let mut symptoms: BTreeMap<&str, Symptom> = BTreeMap::new();
    let mut built =
        raw.whole(FileKind::Tree) && raw.whole(FileKind::Shared) && !raw.trees.is_empty();
    for tree in raw.trees.iter().filter(|tree| !tree.unfinished) {
        if !tree.top.whole {
            built = false;
            continue;
        }
        let below = shared.below(&tree.top, known);
        used_parts.extend(&below);
        if let Some(symptom) = symptom(tree, &below, &shared, known) {
            symptoms.entry(&tree.symptom.value).or_insert(symptom);
        } else {
            built = false;
        }
    }
    // What no tree uses is checked all the same.
    let mut rest = Growing::new(known);
    for place in shared
        .order
        .iter()
        .filter(|place| !used_parts.contains(place))
    {
        rest.part(*place, &shared);
        if built && shared.parts.contains_key(place) {
            let (name, spot) = known.shared.at(*place);
            say!(known.log, spot; UnusedShared, "no tree uses the shared part `{name}`" =>
                "refer to it with `shared:` in a tree, or delete it");
        }
    }
    let used = symptoms.values().flat_map(|symptom| symptom.tree.causes());
    let used = built.then(|| used.collect());
    (symptoms.into_values().collect(), used)
}

fn symptom(
    file: &TreeFile,
    below: &[usize],
    shared: &Shared<'_>,
    known: &Known<'_>,
) -> Option<Symptom> {
    let complaints = patterns(&file.complaints, known);
    let mut tree = Growing::new(known);
    for place in below {
        tree.part(*place, shared);
    }
    let top = &*file.top;
    let event = top.value.event.as_ref().unwrap_or(&file.title);
    let node = tree.root(top, event, None);
    if let Ok(None) = node {
        say!(known.log, top.spot; GateShape, "all that brings this about is unfinished" =>
            "mark the complaint with `unfinished: true` too");
    }
    Some(Symptom {
        name: file.symptom.value.clone(),
        formerly: known.symptoms.former(&file.formerly),
        title: file.title.clone(),
        complaints,
        examples: file.examples.to_vec(),
        first_looks: known.measurements.ids(&file.first_looks),
        tree: tree.builder.finish(node.ok()??),
    })
}

/// Patterns, each checked; all patterns of a family together have a bounded length.
pub(super) fn patterns(items: &Items<Name>, known: &Known<'_>) -> Vec<Pattern> {
    let mut texts = Vec::new();
    for pattern in items.iter() {
        let (text, spot) = (&pattern.value, pattern.spot);
        let (bytes, parts) = known.patterns.get();
        if bytes > MOST_PATTERN_BYTES || parts > MOST_PATTERN_PARTS {
            // Said of the one that broke the budget.
            break;
        }
        let more = (!known.shipped).then(|| Pattern::parts(text));
        let (bytes, parts) = (bytes + text.len(), parts.saturating_add(more.unwrap_or(0)));
        known.patterns.set((bytes, parts));
        if bytes > MOST_PATTERN_BYTES {
            say!(known.log, spot; TooMuch, "the patterns of this family together have more than {MOST_PATTERN_BYTES} bytes" =>
                "keep those that customers' words need");
            break;
        }
        if parts > MOST_PATTERN_PARTS {
            say!(known.log, spot; TooMuch, "the patterns of this family together stand for more than {MOST_PATTERN_PARTS} characters and ranges of them" =>
                "write no repetition with a large count, and few of any letter");
            break;
        }
        if text.trim().is_empty() {
            say!(known.log, spot; EmptyText, "this pattern is empty and would match everything");
            continue;
        }
        texts.push(pattern);
    }
    if known.shipped {
        let texts = texts.into_iter();
        return texts.map(|text| Pattern::known(&text.value)).collect();
    }
    // Compiling takes a while.
    let read = texts
        .par_iter()
        .map(|text| (text.spot, Pattern::new(&text.value)));
    let read: Vec<_> = read.collect();
    let patterns = read.into_iter().filter_map(|(spot, pattern)| {
        let refused = |reason| {
            say!(known.log, spot; BadPattern, "this pattern cannot be used: {reason}" =>
                "brackets come in pairs; a backslash makes the sign after it stand for itself");
        };
        pattern.map_err(refused).ok()
    });
    patterns.collect()
}

/// A tree while it is built.
struct Growing<'k, 's> {
    known: &'k Known<'s>,
    builder: Builder<CauseId>,
    /// The shared parts that stand in it.
    parts: BTreeMap<usize, Option<NodeId>>,
}

/// A place in the tree; none for what comes about only through what is unfinished.
type Built = Result<Option<NodeId>, Said>;

/// What is wrong was said.
struct Said;

impl<'k, 's> Growing<'k, 's> {
    fn new(known: &'k Known<'s>) -> Self {
        Self {
            known,
            builder: Builder::new(),
            parts: BTreeMap::new(),
        }
    }

    /// Builds a shared part; those it contains are built already.
    fn part(&mut self, place: usize, shared: &Shared<'_>) {
        let Some(gate) = shared.parts.get(&place).filter(|_| shared.sound) else {
            return;
        };
        let (name, _) = self.known.shared.at(place);
        let event = self.event(gate);
        if let Ok(node) = self.root(gate, &event, Some(name)) {
            self.parts.insert(place, node);
        }
    }

    /// The top of a tree, or a shared part: it must be a gate.
    fn root(&mut self, gate: &Placed<Gate>, event: &str, shared: Option<&str>) -> Built {
        let Gate {
            cause: None,
            shared: None,
            strength: None,
            ..
        } = &gate.value
        else {
            return self.shape(gate.spot, "a gate is needed here");
        };
        self.gate(gate, event, shared)
    }

    fn event(&self, gate: &Placed<Gate>) -> String {
        let event = gate.value.event.clone();
        event.unwrap_or_else(|| {
            say!(self.known.log, gate.spot; MissingField, "`event` is missing here" =>
                "say in words what this gate brings about; only the top of a tree goes without");
            String::new()
        })
    }

    fn gate(&mut self, gate: &Placed<Gate>, event: &str, shared: Option<&str>) -> Built {
        let Gate {
            any,
            all,
            at_least,
            of,
            ..
        } = &gate.value;
        let (items, count) = match (any, all, at_least, of) {
            (Some(items), None, None, None) | (None, Some(items), None, None) => (items, None),
            (None, None, Some(count), Some(items)) => (items, Some(*count)),
            (None, None, Some(_), None) => {
                return self.shape(gate.spot, "`at_least` needs `of` beside it");
            }
            (None, None, None, Some(_)) => {
                return self.shape(gate.spot, "`of` needs `at_least` beside it");
            }
            (None, None, None, None) => return self.shape(gate.spot, "this gate has no inputs"),
            _ => {
                // The inputs of the kind that comes last: the others may be those of the gate above.
                let inputs = [any, all, of].into_iter().flatten();
                let first = inputs.filter_map(|items| items.iter().next().map(spot));
                let last = first.max_by_key(|spot| spot.line).unwrap_or(gate.spot);
                return self.shape(last, "this gate is of more than one kind");
            }
        };
        if items.0.is_empty() {
            return self.shape(gate.spot, "this gate has no inputs");
        }
        self.twice(items.iter());
        let kind = match count {
            Some(count) => self.at_least(count, items.0.len()),
            None if any.is_some() => Ok(Kind::Any),
            None => Ok(Kind::All),
        };
        // Every input is checked, even after one that is wrong.
        let inputs = items
            .0
            .iter()
            .map(|item| self.branch(item.as_ref().ok_or(Said)?));
        let inputs: Vec<Built> = inputs.collect();
        let inputs: Vec<Option<NodeId>> = inputs.into_iter().collect::<Result<_, _>>()?;
        let kind = kind?;
        let finished: Vec<NodeId> = inputs.iter().copied().flatten().collect();
        if finished.len() < kind.threshold(inputs.len()) {
            return Ok(None);
        }
        let node = self.builder.gate(kind, event, shared, &finished);
        node.map(Some).map_err(|_| Said)
    }

    /// Says which causes stand twice among the inputs of one gate.
    fn twice<'i>(&self, inputs: impl Iterator<Item = &'i Branch>) {
        let named = |input: &'i Branch| match input {
            Branch::Cause(name) => Some(name),
            Branch::Gate(gate) => gate.value.cause.as_ref(),
        };
        let mut seen = BTreeSet::new();
        for name in inputs.filter_map(named) {
            if !seen.insert(&name.value) {
                say!(self.known.log, name.spot; CauseTwice, "`{}` stands twice in this gate", name.value =>
                    "each is a link of its own: keep one, or make it a shared part where it is one thing");
            }
        }
    }

    fn shape(&self, spot: Spot, words: &str) -> Built {
        say!(self.known.log, spot; GateShape, "{words}" =>
            "a gate has exactly one of `any`, `all`, or `at_least` with `of`");
        Err(Said)
    }

    fn at_least(&self, count: Placed<f64>, inputs: usize) -> Result<Kind, Said> {
        let least = values::whole(count.value, 1..=inputs as u64);
        if let Some(least) = least.and_then(|least| least.try_into().ok()) {
            return Ok(Kind::AtLeast(least));
        }
        say!(self.known.log, count.spot; GateOutOfReach,
            "at least {} of {inputs} is not possible", count.value =>
            "it is a whole number from 1 to {inputs}");
        Err(Said)
    }

    fn branch(&mut self, branch: &Branch) -> Built {
        let inner = match branch {
            Branch::Cause(name) => return self.leaf(name, Probability::ONE),
            Branch::Gate(inner) => inner,
        };
        let Gate {
            cause,
            shared,
            strength,
            event,
            any,
            all,
            at_least,
            of,
        } = &inner.value;
        let gate =
            event.is_some() || any.is_some() || all.is_some() || at_least.is_some() || of.is_some();
        let stated = strength.map_or(Probability::ONE, |strength| {
            values::strength(strength, self.known.log)
        });
        match (cause, shared, gate) {
            (Some(cause), None, false) => self.leaf(cause, stated),
            (None, Some(name), false) => {
                let place = self.known.shared.find(name).ok_or(Said)?;
                let part = *self.parts.get(&place).ok_or(Said)?;
                Ok(part.map(|part| {
                    if stated < Probability::ONE {
                        self.builder.sometimes(stated, part)
                    } else {
                        part
                    }
                }))
            }
            (None, None, true) => {
                if let Some(strength) = strength {
                    say!(self.known.log, strength.spot; GateShape, "a gate has no strength of its own" =>
                        "give the strength to its inputs, or make the gate a shared part and refer to it");
                }
                let event = self.event(inner);
                self.gate(inner, &event, None)
            }
            _ => {
                say!(self.known.log, inner.spot; GateShape,
                    "an input is a cause, a shared part or a gate: exactly one of them" =>
                    "write `cause: id`, `shared: id`, or an event with any, all, or at_least and of");
                Err(Said)
            }
        }
    }

    fn leaf(&mut self, name: &Name, strength: Probability) -> Built {
        let known = self.known;
        let id = &name.value;
        if known.causes.leaves_out(id) {
            return Ok(None);
        }
        if known.causes.place(id).is_none() && known.shared.place(id).is_some() {
            say!(self.known.log, name.spot; UnknownCause, "`{id}` is a shared part, not a cause" =>
                "refer to it as `shared: {id}`");
            return Err(Said);
        }
        let cause = known.causes.find(name).ok_or(Said)?;
        Ok(Some(self.builder.leaf(cause, strength)))
    }
}

/// The position of an input.
fn spot(branch: &Branch) -> Spot {
    match branch {
        Branch::Cause(name) => name.spot,
        Branch::Gate(gate) => gate.spot,
    }
}
