//! What a fault tree states: gate by gate its rule, and by name what feeds it.

use super::entry::{Entry, IN_WORDS, Value, numbered, place, state};
use crate::fault_tree::{FaultTree, Gate, Node, NodeId};
use crate::knowledge::{CauseId, Family, Symptom};

/// What a symptom's tree states, and by name what each shared part in it does.
pub(super) fn parts<'s>(
    family: &'s Family,
    Symptom { title, tree, .. }: &'s Symptom,
) -> impl Iterator<Item = (Option<&'s str>, Entry)> {
    let shared = tree.places().filter_map(|place| match tree.node(place) {
        Node::Gate { shared, .. } => Some((Some(shared.as_deref()?), place)),
        _ => None,
    });
    shared.chain([(None, tree.top())]).map(move |(part, top)| {
        let (words, mut entry) = gate(family, tree, top);
        state(&mut entry, IN_WORDS, &[], words);
        // A top without words of its own has those of the title.
        if let Node::Gate { event, .. } = tree.node(top)
            && (part.is_some() || event != title)
        {
            state(&mut entry, "event_words", &[], event);
        }
        (part, entry)
    })
}

/// What a gate states: its rule, and by name the strengths of the causes, parts and events that feed it. Before that
/// all of it in words that equal gates share: `any of fluid-low, pump-worn at 0.8`.
fn gate(family: &Family, tree: &FaultTree<CauseId>, top: NodeId) -> (String, Entry) {
    let (rule, places) = match tree.node(top) {
        Node::Gate { gate, .. } => (*gate, tree.inputs(top)),
        _ => (Gate::Any, vec![top]),
    };
    let rule = match rule {
        Gate::Any => "any".to_owned(),
        Gate::All => "all".to_owned(),
        Gate::AtLeast(least) => format!("at least {least}"),
    };
    let inputs = places.into_iter();
    let inputs = inputs.filter_map(|place| input(family, tree, place));
    let mut inputs: Vec<Input<'_>> = inputs.collect();
    inputs.sort_by(|a, b| (a.field, a.name, &a.words).cmp(&(b.field, b.name, &b.words)));
    let mut words: Vec<&str> = inputs.iter().map(|input| input.words.as_str()).collect();
    words.sort_unstable();
    let words = format!("{rule} of {}", words.join(", "));
    let mut entry = Entry::new();
    state(&mut entry, "gate", &[], rule);
    for input in inputs {
        let is_taken = |name: &str| entry.contains_key(&place(input.field, &[name]));
        let name = numbered(input.name, is_taken);
        for ((field, at), value) in input.states {
            entry.insert((field, [vec![name.clone()], at].concat()), value);
        }
    }
    (words, entry)
}

/// What feeds a gate.
struct Input<'t> {
    /// `cause`, `part` or `event`.
    field: &'static str,
    name: &'t str,
    /// All of it in words: `pump-worn at 0.8`, `Two of three (at least 2 of …)`.
    words: String,
    /// Its strength, of an event with what its gate states; a shared part is named, not opened.
    states: Entry,
}

fn input<'t>(
    family: &'t Family,
    tree: &'t FaultTree<CauseId>,
    mut place: NodeId,
) -> Option<Input<'t>> {
    let mut counts = 1.0;
    while let Node::Sometimes { strength } = tree.node(place) {
        counts *= strength.get();
        place = *tree.inputs(place).first()?;
    }
    let mut states = Entry::new();
    let (field, name, mut words) = match tree.node(place) {
        Node::Leaf { cause, strength } => {
            counts *= strength.get();
            let name = &family.cause(*cause).name;
            ("cause", name, name.clone())
        }
        Node::Gate {
            shared: Some(name), ..
        } => ("part", name, format!("part {name}")),
        Node::Gate { event, .. } => {
            let (words, below) = gate(family, tree, place);
            states = below;
            state(&mut states, "event", &[], words.as_str());
            ("event", event, format!("{event} ({words})"))
        }
        Node::Sometimes { .. } => return None,
    };
    if counts < 1.0 {
        words = format!("{words} at {counts}");
    }
    let of_strength = if field == "event" {
        "event_strength"
    } else {
        field
    };
    state(&mut states, of_strength, &[], Value::figure(counts, ""));
    Some(Input {
        field,
        name,
        words,
        states,
    })
}
