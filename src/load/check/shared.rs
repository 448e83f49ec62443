//! Shared parts: which contain which, circles among them, and the order in which they can be built.

use std::collections::{BTreeMap, BTreeSet};

use petgraph::algo::{astar, kosaraju_scc};
use petgraph::graphmap::DiGraphMap;

use super::circles::circles;
use super::known::Known;
use crate::load::folder::RawFamily;
use crate::load::log::{Spot, say};
use crate::load::raw::trees::{Branch, Gate};
use crate::load::value::{Items, Name, Placed};

/// As many ways back are compared.
const MOST_WAYS: usize = 20;

/// The shared parts of a family.
pub(super) struct Shared<'r> {
    /// By place among the names: the part, where it could be read.
    pub(super) parts: BTreeMap<usize, &'r Placed<Gate>>,
    /// The parts, each after those it contains.
    pub(super) order: Vec<usize>,
    /// Which part contains which, and where it says so.
    contains: DiGraphMap<usize, Spot>,
    /// Whether no part contains itself.
    pub(super) sound: bool,
}

impl<'r> Shared<'r> {
    pub(super) fn new(raw: &'r RawFamily, known: &Known<'_>) -> Self {
        let mut parts = BTreeMap::new();
        for entry in raw.shared.iter().flat_map(|file| &file.shared.0) {
            if let (Some(place), Some(value)) = (known.shared.place(&entry.name), &entry.value) {
                parts.entry(place).or_insert(value);
            }
        }
        let mut contains: DiGraphMap<usize, Spot> = DiGraphMap::new();
        for place in 0..known.shared.len() {
            contains.add_node(place);
        }
        for (place, part) in &parts {
            for name in references(part) {
                if let Some(inner) = known.shared.place(&name.value)
                    && !contains.contains_edge(*place, inner)
                {
                    contains.add_edge(*place, inner, name.spot);
                }
            }
        }
        let circles = circles(&contains);
        for circle in &circles {
            cycle(circle[0], &contains, known);
        }
        Self {
            parts,
            // The components come with what they point at first.
            order: kosaraju_scc(&contains).concat(),
            contains,
            sound: circles.is_empty(),
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
                next.extend(self.contains.neighbors(place));
            }
        }
        let order = self.order.iter().copied();
        order.filter(|place| reached.contains(place)).collect()
    }
}

/// A finding that names the shortest way from a part back to itself.
fn cycle(first: usize, contains: &DiGraphMap<usize, Spot>, known: &Known<'_>) {
    let back = |inner| astar(contains, inner, |place| place == first, |_| 1_usize, |_| 0);
    let ways = contains.neighbors(first).take(MOST_WAYS).filter_map(back);
    let Some((_, way)) = ways.min() else { return };
    let round: Vec<&str> = way.iter().map(|place| known.shared.at(*place).0).collect();
    let spot = contains.edge_weight(first, way[0]).copied();
    say!(known.log, spot.unwrap_or_default(); Cycle,
        "shared parts contain one another: {} → {}", known.shared.at(first).0, round.join(" → ") =>
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
