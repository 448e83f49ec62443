//! The same tree for Graphviz.

use petgraph::dot::{Config, Dot};
use petgraph::graph::EdgeReference;

use super::outline::{Qualifier, figure};
use super::text::{PROSE, safe};
use crate::fault_tree::{FaultTree, Node, NodeId};
use crate::knowledge::{CauseId, Family, SymptomId};

/// The widest and the most lines of a label, as in the SVG drawing.
const LABEL: (f64, usize) = (200.0, 20);

/// The fault tree of a symptom in Graphviz's DOT language: a node each event, gate and cause, an edge
/// to each input, in order.
///
/// Here a shared part and a repeated cause are one node with several lines to it, as in the reasoning.
/// Gates are boxes with their qualifier under the event, causes ellipses with rate and strength, shared
/// parts have a double outline; a reference with a strength is a round-cornered box with its number.
pub fn dot(family: &Family, symptom: SymptomId) -> String {
    let symptom = family.symptom(symptom);
    let tree = &symptom.tree;
    let mut head = vec![
        format!("Fault tree: {}", symptom.title),
        format!("[{}/{}]", family.name, symptom.name),
    ];
    let title = quoted(&head);
    head.extend(PROSE.wrap(&family.worth, 700.0, LABEL.1));
    let head = quoted(&head);
    let config = [
        Config::NodeNoLabel,
        Config::EdgeNoLabel,
        Config::GraphContentOnly,
    ];
    let plain = |_: &_, _: EdgeReference<'_, _, _>| String::new();
    let labelled = |_: &_, (place, _): (NodeId, _)| node(family, tree, place);
    let content = Dot::with_attr_getters(tree.graph(), &config, &plain, &labelled);
    format!(
        "digraph {title} {{\n    label={head}; labelloc=t; fontname=\"Helvetica\";\n    rankdir=LR; ordering=out;\n    \
         node [fontname=\"Helvetica\", fontsize=11];\n    edge [dir=none];\n{content:?}}}\n"
    )
}

/// The attributes of a place.
fn node(family: &Family, tree: &FaultTree<CauseId>, place: NodeId) -> String {
    match tree.node(place) {
        Node::Leaf { cause, strength } => {
            let cause = family.cause(*cause);
            let mut lines = PROSE.wrap(&cause.title, LABEL.0, LABEL.1);
            lines.push(cause.name.clone());
            lines.push(format!(
                "rate {} in 1,000, strength {}",
                figure(cause.rate.get()),
                figure(strength.get())
            ));
            format!("shape=ellipse, label={}", quoted(&lines))
        }
        Node::Sometimes { strength } => {
            format!(
                "shape=box, style=rounded, margin=\"0.05\", height=0, width=0, label={}",
                quoted(&[figure(strength.get())])
            )
        }
        Node::Gate {
            gate,
            event,
            shared,
        } => {
            let mut lines = PROSE.wrap(event, LABEL.0, LABEL.1);
            lines.extend(shared.iter().map(|name| format!("[{name}]")));
            lines.push(Qualifier::of(*gate, tree.inputs(place).len()).sign());
            let outline = if shared.is_some() {
                ", peripheries=2"
            } else {
                ""
            };
            format!("shape=box{outline}, label={}", quoted(&lines))
        }
    }
}

/// Lines as one quoted string of the DOT language: every quote and backslash of theirs escaped, so that
/// none ends the string or starts an escape; only the breaks between them are escapes.
fn quoted(lines: &[String]) -> String {
    let lines: Vec<String> = lines
        .iter()
        .map(|line| safe(line).replace('\\', "\\\\").replace('"', "\\\""))
        .collect();
    format!("\"{}\"", lines.join("\\n"))
}
