//! What a fault tree states: gate by gate its rule, and by name what feeds it.

use super::facts::{Facts, number, numbered};
use crate::fault_tree::{FaultTree, Gate, Node, NodeId};
use crate::knowledge::{CauseId, Family, Symptom};

/// Adds what a symptom's tree states.
pub(super) fn state(family: &Family, symptom: &Symptom, facts: &mut Facts) {
    let tree = &symptom.tree;
    gate(family, tree, tree.top(), &[], facts);
    // A top without words of its own has those of the title.
    if let Node::Gate { event, .. } = tree.node(tree.top())
        && *event != symptom.title
    {
        facts.set("event_words", &[], event.as_str());
    }
}

/// The shared parts that a symptom's tree uses, by name.
pub(super) fn shared_parts<'s>(
    family: &Family,
    symptom: &'s Symptom,
) -> impl Iterator<Item = (&'s str, Facts)> {
    let tree = &symptom.tree;
    tree.places().filter_map(|place| match tree.node(place) {
        Node::Gate {
            shared: Some(name),
            event,
            ..
        } => {
            let mut facts = Facts::default();
            gate(family, tree, place, &[], &mut facts);
            facts.set("event_words", &[], event.as_str());
            Some((name.as_str(), facts))
        }
        _ => None,
    })
}

/// What feeds a gate.
struct Input<'t> {
    /// `cause`, `part` or `event`.
    field: &'static str,
    name: &'t str,
    strength: f64,
    /// The gate of an event; a shared part is named, not opened.
    gate: Option<NodeId>,
    /// All of it in words: `pump-worn at 0.8`, `Two of three (at least 2 of …)`.
    words: String,
}

/// The rule of a gate, and what feeds it in an order that equal gates share.
fn inputs<'t>(
    family: &'t Family,
    tree: &'t FaultTree<CauseId>,
    place: NodeId,
) -> (String, Vec<Input<'t>>) {
    let (rule, places) = match tree.node(place) {
        Node::Gate { gate, .. } => {
            let rule = match gate {
                Gate::Any => "any".to_owned(),
                Gate::All => "all".to_owned(),
                Gate::AtLeast(least) => format!("at least {least}"),
            };
            (rule, tree.inputs(place))
        }
        _ => ("any".to_owned(), vec![place]),
    };
    let mut inputs = Vec::new();
    for mut place in places {
        let mut counts = 1.0;
        while let Node::Sometimes { strength } = tree.node(place)
            && let Some(below) = tree.inputs(place).first()
        {
            counts *= strength.get();
            place = *below;
        }
        let (field, name, strength, gate) = match tree.node(place) {
            Node::Leaf { cause, strength } => {
                let name = family.cause(*cause).name.as_str();
                ("cause", name, counts * strength.get(), None)
            }
            Node::Gate {
                shared: Some(name), ..
            } => ("part", name.as_str(), counts, None),
            Node::Gate { event, .. } => ("event", event.as_str(), counts, Some(place)),
            Node::Sometimes { .. } => continue,
        };
        let words = match gate {
            Some(gate) => format!("{name} ({})", structure(family, tree, gate)),
            None if field == "part" => format!("part {name}"),
            None => name.to_owned(),
        };
        let words = match strength {
            always if always >= 1.0 => words,
            strength => format!("{words} at {strength}"),
        };
        inputs.push(Input {
            field,
            name,
            strength,
            gate,
            words,
        });
    }
    inputs.sort_by(|a, b| (a.field, a.name, &a.words).cmp(&(b.field, b.name, &b.words)));
    (rule, inputs)
}

/// A gate with all that feeds it, in words that equal gates share: `any of fluid-low, pump-worn at 0.8`.
fn structure(family: &Family, tree: &FaultTree<CauseId>, place: NodeId) -> String {
    let (rule, inputs) = inputs(family, tree, place);
    let mut words: Vec<String> = inputs.into_iter().map(|input| input.words).collect();
    words.sort_unstable();
    format!("{rule} of {}", words.join(", "))
}

/// A gate, reached by these events.
fn gate(family: &Family, tree: &FaultTree<CauseId>, place: NodeId, at: &[&str], facts: &mut Facts) {
    let (rule, inputs) = inputs(family, tree, place);
    facts.set("gate", at, rule);
    facts.set("event", at, structure(family, tree, place));
    for (nth, input) in inputs.iter().enumerate() {
        let of_name = |other: &&Input<'_>| (other.field, other.name) == (input.field, input.name);
        let earlier = inputs[..nth].iter().filter(of_name).count();
        let name = numbered(input.name, earlier);
        let at = [at, &[&name]].concat();
        let strength = number(input.strength, "");
        match input.gate {
            None => facts.set(input.field, &at, strength),
            Some(place) => {
                facts.set("event_strength", &at, strength);
                gate(family, tree, place, &at, facts);
            }
        }
    }
}
