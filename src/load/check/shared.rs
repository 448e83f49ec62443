//! Shared parts: which contain which, circles among them, and the order in which they can be built.

use std::collections::{BTreeMap, BTreeSet};

use petgraph::algo::kosaraju_scc;
use petgraph::graph::{DiGraph, NodeIndex};

use super::known::Known;
use crate::load::folder::RawFamily;
use crate::load::log::{Log, Spot, say};
use crate::load::raw::trees::{Branch, Gate};
use crate::load::value::{Items, Name, Placed};

/// The shared parts of a family.
pub(super) struct Shared<'r> {
    /// By place among the names: the part, where it could be read.
    pub(super) parts: BTreeMap<usize, (&'r str, Spot, &'r Placed<Gate>)>,
    /// The parts, each after those it contains.
    order: Vec<usize>,
    contains: BTreeMap<usize, BTreeSet<usize>>,
    /// Whether no part contains itself.
    pub(super) sound: bool,
}

impl<'r> Shared<'r> {
    pub(super) fn new(raw: &'r RawFamily, known: &Known<'_>, log: &Log<'_>) -> Self {
        let mut parts = BTreeMap::new();
        for entry in raw.shared.iter().flat_map(|file| &file.shared.0) {
            if let (Some(place), Some(value)) = (known.shared.place(&entry.name), &entry.value) {
                parts
                    .entry(place)
                    .or_insert((entry.name.as_str(), entry.spot, value));
            }
        }
        let mut graph: DiGraph<usize, Spot> = DiGraph::new();
        let nodes: Vec<NodeIndex> = (0..known.shared.len())
            .map(|place| graph.add_node(place))
            .collect();
        let mut contains: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
        for (place, (_, _, part)) in &parts {
            for name in references(part) {
                if let Some(inner) = known.shared.place(&name.value)
                    && contains.entry(*place).or_default().insert(inner)
                {
                    graph.add_edge(nodes[*place], nodes[inner], name.spot);
                }
            }
        }
        let mut order = Vec::new();
        let mut sound = true;
        // The components come with what they point at first: a part after the parts it contains.
        for component in kosaraju_scc(&graph) {
            let inside: BTreeSet<usize> = component.iter().map(|node| graph[*node]).collect();
            let first = inside.first().copied().unwrap_or_default();
            let circular = inside.len() > 1
                || contains
                    .get(&first)
                    .is_some_and(|inner| inner.contains(&first));
            if circular {
                sound = false;
                cycle(first, &inside, &graph, known, log);
            }
            order.extend(inside);
        }
        Self {
            parts,
            order,
            contains,
            sound,
        }
    }

    /// All parts that a gate leads to, each after those it contains.
    pub(super) fn below(&self, gate: &Placed<Gate>, known: &Known<'_>) -> Vec<usize> {
        let mut reached: BTreeSet<usize> = BTreeSet::new();
        let mut next: Vec<usize> = references(gate)
            .iter()
            .filter_map(|name| known.shared.place(&name.value))
            .collect();
        while let Some(place) = next.pop() {
            if reached.insert(place) {
                next.extend(self.contains.get(&place).into_iter().flatten());
            }
        }
        self.order
            .iter()
            .copied()
            .filter(|place| reached.contains(place))
            .collect()
    }

    /// All parts, each after those it contains.
    pub(super) fn order(&self) -> &[usize] {
        &self.order
    }
}

/// A finding that names the way from a part back to itself.
fn cycle(
    first: usize,
    inside: &BTreeSet<usize>,
    graph: &DiGraph<usize, Spot>,
    known: &Known<'_>,
    log: &Log<'_>,
) {
    let names: Vec<&str> = known.shared.iter().collect();
    // The shortest way round, from the first part by name.
    let mut came: BTreeMap<usize, (usize, Spot)> = BTreeMap::new();
    let mut now = vec![first];
    while !came.contains_key(&first) && !now.is_empty() {
        let mut next = Vec::new();
        for place in now {
            let mut edges: Vec<(usize, Spot)> = graph
                .edges(NodeIndex::new(place))
                .map(|edge| {
                    (
                        petgraph::visit::EdgeRef::target(&edge).index(),
                        *edge.weight(),
                    )
                })
                .filter(|(inner, _)| inside.contains(inner))
                .collect();
            edges.sort_unstable();
            for (inner, spot) in edges {
                if let std::collections::btree_map::Entry::Vacant(vacant) = came.entry(inner) {
                    vacant.insert((place, spot));
                    next.push(inner);
                }
            }
        }
        now = next;
    }
    let mut way = vec![names[first]];
    let mut at = first;
    let mut spot = Spot::default();
    while let Some((from, edge)) = came.get(&at) {
        way.push(names[*from]);
        at = *from;
        spot = *edge;
        if at == first || way.len() > 20 {
            break;
        }
    }
    way.reverse();
    say!(log, spot; Cycle, "shared parts contain one another: {}", way.join(" → ") =>
        "an event cannot be its own cause: take one of the references out");
}

/// The shared parts that a gate names, however deep.
pub(super) fn references(gate: &Placed<Gate>) -> Vec<&Name> {
    let mut names = Vec::new();
    let mut gates = vec![&gate.value];
    while let Some(gate) = gates.pop() {
        let inputs = [&gate.any, &gate.all, &gate.of].into_iter().flatten();
        for branch in inputs.flat_map(Items::iter) {
            if let Branch::Gate(inner) = branch {
                names.extend(&inner.value.shared);
                gates.push(&inner.value);
            }
        }
    }
    names
}
