//! What a fault tree states: gate by gate its rule, and by name what feeds it.

use serde_json::{Value, json};

use super::value::{number, numbered, text};
use crate::fault_tree::{FaultTree, Gate, Node, NodeId};
use crate::knowledge::{CauseId, Family, Symptom};

/// Adds what a symptom's tree states.
pub(super) fn state(family: &Family, symptom: &Symptom, entry: &mut Value) {
    let tree = &symptom.tree;
    entry["tree"] = gate(family, tree, tree.top());
    // A top without words of its own has those of the title.
    if let Node::Gate { event, .. } = tree.node(tree.top())
        && *event != symptom.title
    {
        entry["event_words"] = event.as_str().into();
    }
}

/// The shared parts that a symptom's tree uses, by name.
pub(super) fn shared_parts<'s>(
    family: &Family,
    symptom: &'s Symptom,
) -> impl Iterator<Item = (&'s str, Value)> {
    let tree = &symptom.tree;
    tree.places().filter_map(|place| match tree.node(place) {
        Node::Gate {
            shared: Some(name),
            event,
            ..
        } => {
            let entry = json!({"tree": gate(family, tree, place), "event_words": event});
            Some((name.as_str(), entry))
        }
        _ => None,
    })
}

/// What feeds a gate.
struct Input<'t> {
    /// `cause`, `part` or `event`.
    field: &'static str,
    name: &'t str,
    /// All of it in words: `pump-worn at 0.8`, `Two of three (at least 2 of …)`.
    words: String,
    /// Its strength, of an event with what its gate states; a shared part is named, not opened.
    value: Value,
}

/// What a gate states: its rule; by name the strengths of the causes, parts and events that feed it; and all of that
/// in words that equal gates share: `any of fluid-low, pump-worn at 0.8`.
fn gate(family: &Family, tree: &FaultTree<CauseId>, place: NodeId) -> Value {
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
    let inputs = places
        .into_iter()
        .filter_map(|place| input(family, tree, place));
    let mut inputs: Vec<Input<'_>> = inputs.collect();
    inputs.sort_by(|a, b| (a.field, a.name, &a.words).cmp(&(b.field, b.name, &b.words)));
    let mut words: Vec<&str> = inputs.iter().map(|input| input.words.as_str()).collect();
    words.sort_unstable();
    let words = format!("{rule} of {}", words.join(", "));
    let mut stated = json!({"gate": rule, "words": words});
    for (nth, input) in inputs.iter().enumerate() {
        let of_name = |other: &&Input<'_>| (other.field, other.name) == (input.field, input.name);
        let earlier = inputs[..nth].iter().filter(of_name).count();
        stated[input.field][numbered(input.name, earlier)] = input.value.clone();
    }
    stated
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
    let (field, name, mut words, mut value) = match tree.node(place) {
        Node::Leaf { cause, strength } => {
            counts *= strength.get();
            let name = family.cause(*cause).name.as_str();
            ("cause", name, name.to_owned(), Value::Null)
        }
        Node::Gate {
            shared: Some(name), ..
        } => ("part", name.as_str(), format!("part {name}"), Value::Null),
        Node::Gate { event, .. } => {
            let below = gate(family, tree, place);
            let words = format!("{event} ({})", text(&below["words"]));
            ("event", event.as_str(), words, below)
        }
        Node::Sometimes { .. } => return None,
    };
    if counts < 1.0 {
        words = format!("{words} at {counts}");
    }
    let strength = number(counts, "");
    if field == "event" {
        value["strength"] = strength;
    } else {
        value = strength;
    }
    Some(Input {
        field,
        name,
        words,
        value,
    })
}
