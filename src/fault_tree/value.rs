//! How likely the top event is, given what is wrong.

use petgraph::Direction::Incoming;

use super::tree::{FaultTree, Node, NodeId};
use crate::units::Probability;

/// The most uncertain events of one tree that may stand in several places of it: each can double the work.
const MOST_SHARED: usize = 16;

/// A tree whose probability would take too long to work out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "more than {MOST_SHARED} uncertain events stand in several places of one fault tree: its probability would take too long to work out"
)]
pub struct TooEntangled;

impl<C: Copy + Ord> FaultTree<C> {
    /// `P(top | H)`: the probability that the top is on, where `present` tells the causes in H.
    ///
    /// Each leaf whose cause is present is on with its strength, independently of the others, each switch likewise.
    /// Exact, by factoring: from the leaves up, an event that several gates use is taken as on and as off in turn; given
    /// that, the inputs of every gate are independent, so that its probability is one sum (docs/method.md, section 2;
    /// gate meanings by IEC 61025).
    ///
    /// Costs one pass over the tree, doubled by each uncertain event that stands in several places.
    ///
    /// # Errors
    ///
    /// [`TooEntangled`] where there are more than sixteen such events.
    pub fn probability(&self, present: impl Fn(C) -> bool) -> Result<Probability, TooEntangled> {
        let mut known = vec![0.0; self.graph().node_count()];
        let top = self.from(NodeId::new(0), &present, &mut known, 0)?;
        Ok(Probability::nearest(top))
    }

    /// The probability of the top, where those of the places before `start` are known.
    fn from(
        &self,
        start: NodeId,
        present: &impl Fn(C) -> bool,
        known: &mut [f64],
        shared: usize,
    ) -> Result<f64, TooEntangled> {
        for place in (start.index()..known.len()).map(NodeId::new) {
            let p = self.given_inputs(place, present, known);
            let uses = self.graph().neighbors_directed(place, Incoming);
            if p > 0.0 && p < 1.0 && uses.take(2).count() == 2 {
                if shared == MOST_SHARED {
                    return Err(TooEntangled);
                }
                let next = NodeId::new(place.index() + 1);
                known[place.index()] = 1.0;
                let on = self.from(next, present, known, shared + 1)?;
                known[place.index()] = 0.0;
                let off = self.from(next, present, known, shared + 1)?;
                return Ok(p * on + (1.0 - p) * off);
            }
            known[place.index()] = p;
        }
        Ok(known[self.top().index()])
    }

    /// The probability of a place whose inputs are independent of one another.
    fn given_inputs(&self, place: NodeId, present: &impl Fn(C) -> bool, known: &[f64]) -> f64 {
        let inputs = self.graph().neighbors(place);
        match self.node(place) {
            Node::Leaf { cause, strength } if present(*cause) => strength.get(),
            Node::Leaf { .. } => 0.0,
            Node::Sometimes { strength } => {
                strength.get() * inputs.map(|input| known[input.index()]).sum::<f64>()
            }
            Node::Gate { gate, .. } => {
                let mut left = inputs.clone().count();
                let needed = gate.threshold(left);
                // enough[j]: the probability that at least j of the inputs seen so far are on.
                let mut enough = vec![0.0; needed + 1];
                enough[0] = 1.0;
                for input in inputs {
                    left -= 1;
                    // Fewer than this many cannot become enough with the inputs that are left.
                    for j in (needed.saturating_sub(left).max(1)..=needed).rev() {
                        enough[j] += (enough[j - 1] - enough[j]) * known[input.index()];
                    }
                }
                enough[needed]
            }
        }
    }
}
