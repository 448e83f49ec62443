//! Complaints and their fault trees.

use std::collections::{BTreeMap, BTreeSet};

use regex::RegexBuilder;

use super::shared::Shared;
use super::{Known, values};
use crate::fault_tree::{Builder, Gate, NodeId};
use crate::knowledge::{CauseId, Complaint, Symptom};
use crate::load::code::Code;
use crate::load::folder::{FileKind, RawFamily};
use crate::load::log::{Log, Report, Spot};
use crate::load::placed::{Items, Name, Placed};
use crate::load::raw::trees::{Branch, Gate as RawGate, Inner, TreeFile};
use crate::units::Probability;

/// The most patterns a list may have.
const MOST_PATTERNS: usize = 100;
/// The most memory a compiled pattern may take, in bytes.
const LARGEST_PATTERN: usize = 1 << 19;

/// The symptoms of a family in the order of their names, and the causes that stand in a tree, where
/// every tree could be built.
pub(super) fn symptoms(
    raw: &RawFamily,
    known: &Known,
    log: &Log<'_>,
) -> (Vec<Symptom>, Option<BTreeSet<CauseId>>) {
    let shared = Shared::new(raw, known, log);
    let mut used_parts: BTreeSet<usize> = BTreeSet::new();
    let mut symptoms: BTreeMap<&str, Symptom> = BTreeMap::new();
    let mut used: BTreeSet<CauseId> = BTreeSet::new();
    let mut built =
        raw.whole(FileKind::Tree) && raw.whole(FileKind::Shared) && !raw.trees.is_empty();
    for tree in &raw.trees {
        let Some(top) = &tree.top.0 else {
            built = false;
            continue;
        };
        let below = shared.below(top, known);
        used_parts.extend(&below);
        if let Some(symptom) = symptom(tree, top, &below, &shared, known, &mut used, log) {
            symptoms.entry(&tree.symptom.value).or_insert(symptom);
        } else {
            built = false;
        }
    }
    // What no tree uses is checked all the same.
    let mut rest = Growing::new(known, log);
    for place in shared.order() {
        if shared.sound && !used_parts.contains(place) {
            rest.part(*place, &shared);
        }
        if let Some((name, spot, _)) = shared.parts.get(place)
            && !used_parts.contains(place)
            && built
        {
            log.add(
                Report::new(
                    Code::UnusedShared,
                    *spot,
                    format!("no tree uses the shared part `{name}`"),
                )
                .advice("refer to it with `shared:` in a tree, or delete it"),
            );
        }
    }
    (symptoms.into_values().collect(), built.then_some(used))
}

fn symptom(
    file: &TreeFile,
    top: &Placed<RawGate>,
    below: &[usize],
    shared: &Shared<'_>,
    known: &Known,
    used: &mut BTreeSet<CauseId>,
    log: &Log<'_>,
) -> Option<Symptom> {
    let title = file
        .title
        .0
        .as_ref()
        .map(|title| values::text(title, log))
        .unwrap_or_default();
    let complaints = file
        .complaints
        .as_ref()
        .and_then(|field| field.0.as_ref())
        .map_or_else(Vec::new, |items| patterns(items, log));
    let examples = file
        .examples
        .as_ref()
        .and_then(|field| field.0.as_ref())
        .map_or_else(Vec::new, |items| values::texts(items, log));
    let mut tree = Growing::new(known, log);
    if shared.sound {
        for place in below {
            tree.part(*place, shared);
        }
    }
    let event = top
        .value
        .event
        .as_ref()
        .map_or_else(|| title.clone(), |event| values::text(event, log));
    let place = tree.top(top, &event);
    used.extend(tree.causes);
    Some(Symptom {
        name: file.symptom.value.clone(),
        formerly: known.symptoms.former(&file.formerly, log),
        title,
        complaints,
        examples,
        tree: tree.builder.finish(place.filter(|_| shared.sound)?),
    })
}

pub(super) fn patterns(items: &Items<Name>, log: &Log<'_>) -> Vec<Complaint> {
    if let Some(Some(extra)) = items.0.get(MOST_PATTERNS) {
        log.say(
            Code::TooMuch,
            extra.spot,
            format!("a list has at most {MOST_PATTERNS} patterns"),
        );
    }
    items
        .iter()
        .take(MOST_PATTERNS)
        .filter_map(|pattern| {
            if pattern.value.trim().is_empty() {
                log.say(Code::EmptyText, pattern.spot, "this pattern is empty and would match everything");
                return None;
            }
            match RegexBuilder::new(&pattern.value).case_insensitive(true).size_limit(LARGEST_PATTERN).build() {
                Ok(regex) => Some(Complaint(regex)),
                Err(error) => {
                    let words = error.to_string();
                    let reason = words.lines().last().unwrap_or_default().trim_start_matches("error: ");
                    log.add(
                        Report::new(Code::BadPattern, pattern.spot, format!("this pattern cannot be used: {reason}"))
                            .advice("brackets come in pairs; a backslash makes the sign after it stand for itself"),
                    );
                    None
                }
            }
        })
        .collect()
}

/// A tree while it is built.
struct Growing<'k, 's> {
    known: &'k Known,
    log: &'k Log<'s>,
    builder: Builder<CauseId>,
    /// The shared parts that stand in it.
    parts: BTreeMap<usize, NodeId>,
    causes: BTreeSet<CauseId>,
}

/// The inputs of a gate, by its kind.
struct Kinds<'r> {
    any: Option<&'r Items<Branch>>,
    all: Option<&'r Items<Branch>>,
    at_least: Option<Placed<f64>>,
    of: Option<&'r Items<Branch>>,
}

impl<'k, 's> Growing<'k, 's> {
    fn new(known: &'k Known, log: &'k Log<'s>) -> Self {
        Self {
            known,
            log,
            builder: Builder::new(),
            parts: BTreeMap::new(),
            causes: BTreeSet::new(),
        }
    }

    /// Builds a shared part; the parts it contains stand already.
    fn part(&mut self, place: usize, shared: &Shared<'_>) {
        let Some((name, _, gate)) = shared.parts.get(&place) else {
            return;
        };
        let event = self.event(gate.value.event.as_ref(), gate.spot);
        if let Some(node) = self.gate(&kinds(&gate.value), gate.spot, &event, Some(name)) {
            self.parts.insert(place, node);
        }
    }

    fn top(&mut self, top: &Placed<RawGate>, event: &str) -> Option<NodeId> {
        self.gate(&kinds(&top.value), top.spot, event, None)
    }

    fn event(&self, event: Option<&Name>, spot: Spot) -> String {
        if let Some(event) = event {
            return values::text(event, self.log);
        }
        self.log.add(
            Report::new(Code::MissingField, spot, "`event` is missing here").advice(
                "say in words what this gate brings about; only the top of a tree goes without",
            ),
        );
        String::new()
    }

    fn gate(
        &mut self,
        kinds: &Kinds<'_>,
        spot: Spot,
        event: &str,
        shared: Option<&str>,
    ) -> Option<NodeId> {
        let shape = |words: &str| {
            self.log.add(
                Report::new(Code::GateShape, spot, words.to_owned())
                    .advice("a gate has exactly one of `any`, `all`, or `at_least` with `of`"),
            );
        };
        let (items, voting) = match (kinds.any, kinds.all, kinds.at_least, kinds.of) {
            (Some(items), None, None, None) | (None, Some(items), None, None) => (items, None),
            (None, None, Some(count), Some(items)) => (items, Some(count)),
            (None, None, Some(_), None) => {
                shape("`at_least` needs `of` beside it");
                return None;
            }
            (None, None, None, Some(_)) => {
                shape("`of` needs `at_least` beside it");
                return None;
            }
            (None, None, None, None) => {
                shape("this gate has no inputs");
                return None;
            }
            _ => {
                shape("this gate is of more than one kind");
                return None;
            }
        };
        if items.0.is_empty() {
            shape("this gate has no inputs");
            return None;
        }
        let gate = match voting {
            None if kinds.any.is_some() => Some(Gate::Any),
            None => Some(Gate::All),
            Some(count) => self.at_least(count, items.0.len()),
        };
        // Every input is looked at, whatever became of the one before it.
        let inputs: Vec<Option<NodeId>> = items
            .0
            .iter()
            .map(|item| item.as_ref().and_then(|branch| self.branch(branch)))
            .collect();
        let inputs: Vec<NodeId> = inputs.into_iter().collect::<Option<_>>()?;
        self.builder.gate(gate?, event, shared, &inputs).ok()
    }

    fn at_least(&self, count: Placed<f64>, inputs: usize) -> Option<Gate> {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            clippy::cast_precision_loss,
            reason = "the range is checked, and lists are far shorter than 2^53"
        )]
        if count.value.fract() == 0.0 && count.value >= 1.0 && count.value <= inputs as f64 {
            return Some(Gate::AtLeast(count.value as usize));
        }
        self.log.add(
            Report::new(
                Code::GateOutOfReach,
                count.spot,
                format!("at least {} of {inputs} can never be so", count.value),
            )
            .advice(format!("it is a whole number from 1 to {inputs}")),
        );
        None
    }

    fn branch(&mut self, branch: &Branch) -> Option<NodeId> {
        match branch {
            Branch::Cause(name) => self.leaf(name, Probability::ONE),
            Branch::Inner(inner) => self.inner(inner),
        }
    }

    fn leaf(&mut self, name: &Name, strength: Probability) -> Option<NodeId> {
        let known = self.known;
        if known.causes.place(&name.value).is_none() && known.shared.place(&name.value).is_some() {
            self.log.add(
                Report::new(
                    Code::UnknownCause,
                    name.spot,
                    format!("`{}` is a shared part, not a cause", name.value),
                )
                .advice(format!("refer to it as `shared: {}`", name.value)),
            );
            return None;
        }
        let cause = CauseId::at(known.causes.find(name, self.log)?);
        self.causes.insert(cause);
        Some(self.builder.leaf(cause, strength))
    }

    fn inner(&mut self, inner: &Placed<Inner>) -> Option<NodeId> {
        let Inner {
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
        let stated = strength.map(|strength| values::strength(strength, self.log));
        match (cause, shared, gate) {
            (Some(cause), None, false) => self.leaf(cause, stated.unwrap_or(Probability::ONE)),
            (None, Some(name), false) => {
                let place = self.known.shared.find(name, self.log)?;
                let part = self.parts.get(&place).copied()?;
                match stated {
                    Some(strength) if strength < Probability::ONE => {
                        Some(self.builder.sometimes(strength, part))
                    }
                    _ => Some(part),
                }
            }
            (None, None, true) => {
                if let Some(strength) = strength {
                    self.log.add(
                        Report::new(Code::GateShape, strength.spot, "a gate has no strength of its own")
                            .advice("give the strength to its inputs, or make the gate a shared part and refer to it"),
                    );
                }
                let words = self.event(event.as_ref(), inner.spot);
                let kinds = Kinds {
                    any: any.as_ref(),
                    all: all.as_ref(),
                    at_least: *at_least,
                    of: of.as_ref(),
                };
                self.gate(&kinds, inner.spot, &words, None)
            }
            _ => {
                self.log.add(
                    Report::new(Code::GateShape, inner.spot, "an input is a cause, a shared part or a gate: exactly one of them")
                        .advice("write `cause: id`, `shared: id`, or an event with any, all, or at_least and of"),
                );
                None
            }
        }
    }
}

fn kinds(gate: &RawGate) -> Kinds<'_> {
    let RawGate {
        event: _,
        any,
        all,
        at_least,
        of,
    } = gate;
    Kinds {
        any: any.as_ref(),
        all: all.as_ref(),
        at_least: *at_least,
        of: of.as_ref(),
    }
}
