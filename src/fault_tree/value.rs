//! How likely the top event is, given what is wrong.

use std::collections::BTreeMap;

use petgraph::Direction::Incoming;
use petgraph::graph::EdgeIndex;
use petgraph::visit::EdgeRef as _;

use super::tree::{FaultTree, Node, NodeId};
use crate::units::Probability;

/// The most uncertain events of one tree that may stand in several places of it: each can double the work.
const MOST_SHARED: usize = 16;
/// The most steps in working out one probability where nobody sets a limit.
const MOST_STEPS: usize = 100_000_000;

/// A tree whose probability would take too long to work out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "more than {MOST_SHARED} uncertain events stand in several places of one fault tree, or it is too large for so many: its probability would take too long to work out"
)]
pub struct TooEntangled;

/// A place that the causes present can switch on.
struct Place {
    /// How probable it is that it counts when its inputs are on: of a leaf or a switch its strength.
    strength: f64,
    /// How many of the inputs must be on.
    needed: usize,
    /// Those of its inputs that the causes present can switch on, by their number among such places.
    inputs: Vec<usize>,
    /// Whether it stands in several places.
    shared: bool,
}

impl<C: Copy + Ord> FaultTree<C> {
    /// `P(top | H)`: the probability that the top is on, where `present` tells the causes in H.
    ///
    /// Each leaf whose cause is present is on with its strength, independently of the others, each switch likewise.
    /// Exact, by factoring: from the leaves up, an event that several gates use is taken as on and as off in turn; given
    /// that, the inputs of every gate are independent, so that its probability is one sum (docs/method.md, section 2;
    /// gate meanings by IEC 61025).
    ///
    /// Costs one pass over the places above the causes present, doubled by each uncertain event that stands in several
    /// places.
    ///
    /// # Errors
    ///
    /// [`TooEntangled`] where there are more than sixteen such events, or the work exceeds any bearable.
    pub fn probability(&self, present: impl Fn(C) -> bool) -> Result<Probability, TooEntangled> {
        let leaves = self.leaves().filter(|(cause, _)| present(**cause));
        let leaves = leaves.flat_map(|(_, leaves)| leaves);
        self.top_on(leaves, &mut MOST_STEPS.clone())
    }

    /// [`FaultTree::probability`] of a few causes, for no more than so many steps; what it took is taken off them.
    ///
    /// # Errors
    ///
    /// [`TooEntangled`] likewise, and where the steps do not suffice.
    pub fn probability_of(
        &self,
        causes: &[C],
        steps: &mut usize,
    ) -> Result<Probability, TooEntangled> {
        let leaves = causes.iter().flat_map(|cause| self.leaves_of(*cause));
        self.top_on(leaves, steps)
    }

    fn top_on<'t>(
        &self,
        leaves: impl Iterator<Item = &'t NodeId>,
        steps: &mut usize,
    ) -> Result<Probability, TooEntangled> {
        let places = self.above(leaves);
        let mut known = vec![0.0; places.len()];
        from(&places, 0, &mut known, 0, steps).map(Probability::nearest)
    }

    /// The places that these leaves can switch on, inputs before the gates that use them.
    fn above<'t>(&self, leaves: impl Iterator<Item = &'t NodeId>) -> Vec<Place> {
        let graph = self.graph();
        let mut waiting: BTreeMap<NodeId, Vec<(EdgeIndex, usize)>> =
            leaves.map(|leaf| (*leaf, Vec::new())).collect();
        let mut places = Vec::new();
        while let Some((place, mut inputs)) = waiting.pop_first() {
            let (strength, needed) = match self.node(place) {
                Node::Leaf { strength, .. } => (strength.get(), 0),
                Node::Sometimes { strength } => (strength.get(), 1),
                Node::Gate { gate, .. } => (1.0, gate.threshold(graph.neighbors(place).count())),
            };
            let mut uses = 0;
            for edge in graph.edges_directed(place, Incoming) {
                uses += 1;
                let above = waiting.entry(edge.source()).or_default();
                above.push((edge.id(), places.len()));
            }
            // The order decides on the last digit: from the newest to the oldest.
            inputs.sort_unstable_by(|a, b| b.cmp(a));
            places.push(Place {
                strength,
                needed,
                inputs: inputs.into_iter().map(|(_, input)| input).collect(),
                shared: uses > 1,
            });
        }
        places
    }
}

/// The probability of the last place, where those of the places before `start` are known.
fn from(
    places: &[Place],
    start: usize,
    known: &mut [f64],
    shared: usize,
    steps: &mut usize,
) -> Result<f64, TooEntangled> {
    for place in start..places.len() {
        let inputs = places[place].inputs.len();
        let cost = 1 + inputs.saturating_mul(places[place].needed.min(inputs));
        *steps = steps.checked_sub(cost).ok_or(TooEntangled)?;
        let p = given_inputs(&places[place], known);
        if p > 0.0 && p < 1.0 && places[place].shared {
            if shared == MOST_SHARED {
                return Err(TooEntangled);
            }
            known[place] = 1.0;
            let on = from(places, place + 1, known, shared + 1, steps)?;
            known[place] = 0.0;
            let off = from(places, place + 1, known, shared + 1, steps)?;
            return Ok(p * on + (1.0 - p) * off);
        }
        known[place] = p;
    }
    Ok(known.last().copied().unwrap_or_default())
}

/// The probability of a place whose inputs are independent of one another.
fn given_inputs(place: &Place, known: &[f64]) -> f64 {
    let needed = place.needed;
    let mut left = place.inputs.len();
    if left < needed {
        return 0.0;
    }
    // enough[j]: the probability that at least j of the inputs seen so far are on.
    let mut enough = vec![0.0; needed + 1];
    enough[0] = place.strength;
    for input in &place.inputs {
        left -= 1;
        // Fewer than this many cannot become enough with the inputs that are left.
        for j in (needed.saturating_sub(left).max(1)..=needed).rev() {
            enough[j] += (enough[j - 1] - enough[j]) * known[*input];
        }
    }
    enough[needed]
}
