//! How likely the top event is, given what is wrong.

use super::decision_diagram;
use super::fault_tree::{FaultTree, Node, NodeId};
use crate::units::Probability;

/// Up to so many uncertain places, every combination of them is tried; beyond, a decision diagram
/// is built. Both are exact: the number only says which is quicker.
const TRY_ALL_UP_TO: usize = 10;

impl<C: Copy + Ord> FaultTree<C> {
    /// `P(top | H)`: the probability that the top is on, where `present` tells the causes in H.
    ///
    /// Each leaf whose cause is present is on with its strength, independently of the others, each
    /// switch likewise; summed exactly over their on/off states, so that a leaf or part that stands
    /// in several places counts as one thing. Method §2; gate meanings by IEC 61025.
    ///
    /// Costs `2^k` passes over the tree for `k` uncertain places up to ten, then one diagram; again
    /// `2^k` passes, which is never, beyond the 65,533 places a diagram can hold.
    #[must_use]
    pub fn probability(&self, present: impl Fn(C) -> bool) -> Probability {
        let bounds = Bounds::of(self, present);
        if bounds.sure[self.top().index()] {
            return Probability::ONE;
        }
        if !bounds.possible[self.top().index()] {
            return Probability::ZERO;
        }
        let uncertain = bounds.uncertain(self);
        let sum = if uncertain.len() <= TRY_ALL_UP_TO {
            by_trial(self, &bounds, &uncertain)
        } else {
            decision_diagram::probability(self, &bounds, &uncertain)
                // A tree too wide for the diagram's variables: slower, never wrong.
                .unwrap_or_else(|| by_trial(self, &bounds, &uncertain))
        };
        Probability::nearest(sum)
    }

    /// The strength with which a place passes on what stands below it.
    pub(super) fn strength(&self, place: NodeId) -> f64 {
        match self.node(place) {
            Node::Leaf { strength, .. } | Node::Sometimes { strength } => strength.get(),
            Node::Gate { .. } => 1.0,
        }
    }
}

/// What is on whatever the uncertain places do, and what can be on at all.
pub(super) struct Bounds {
    pub(super) sure: Vec<bool>,
    pub(super) possible: Vec<bool>,
}

impl Bounds {
    fn of<C: Copy + Ord>(tree: &FaultTree<C>, present: impl Fn(C) -> bool) -> Self {
        let nodes = tree.graph().node_count();
        let mut bounds = Self {
            sure: vec![false; nodes],
            possible: vec![false; nodes],
        };
        for place in tree.places() {
            let certain = tree.strength(place) >= 1.0;
            let can = tree.strength(place) > 0.0;
            let at = place.index();
            if let Node::Leaf { cause, .. } = tree.node(place) {
                let there = present(*cause);
                bounds.sure[at] = there && certain;
                bounds.possible[at] = there && can;
            } else {
                bounds.sure[at] = certain && is_on(tree, place, &bounds.sure);
                bounds.possible[at] = can && is_on(tree, place, &bounds.possible);
            }
        }
        bounds
    }

    /// The places whose own switch decides something below the top.
    fn uncertain<C: Copy + Ord>(&self, tree: &FaultTree<C>) -> Vec<NodeId> {
        let mut matters = vec![false; self.sure.len()];
        matters[tree.top().index()] = true;
        let mut uncertain = Vec::new();
        for place in tree.places().rev() {
            let at = place.index();
            if !matters[at] || self.sure[at] || !self.possible[at] {
                continue;
            }
            if tree.strength(place) < 1.0 {
                uncertain.push(place);
            }
            for input in tree.graph().neighbors(place) {
                matters[input.index()] = true;
            }
        }
        uncertain.reverse();
        uncertain
    }
}

/// Whether a gate's inputs, as they stand in `on`, are enough for it.
fn is_on<C: Copy + Ord>(tree: &FaultTree<C>, place: NodeId, on: &[bool]) -> bool {
    let inputs = tree.graph().neighbors(place);
    let count = inputs.clone().count();
    let needed = match tree.node(place) {
        Node::Gate { gate, .. } => gate.threshold(count),
        Node::Sometimes { .. } => 1,
        Node::Leaf { .. } => return on[place.index()],
    };
    inputs.filter(|input| on[input.index()]).count() >= needed
}

/// The sum over every on/off state of the uncertain places.
fn by_trial<C: Copy + Ord>(tree: &FaultTree<C>, bounds: &Bounds, uncertain: &[NodeId]) -> f64 {
    let mut switch = vec![true; bounds.sure.len()];
    let mut on = bounds.sure.clone();
    let mut sum = 0.0;
    for place in uncertain {
        switch[place.index()] = false;
    }
    loop {
        let weight: f64 = uncertain
            .iter()
            .map(|place| {
                let strength = tree.strength(*place);
                if switch[place.index()] {
                    strength
                } else {
                    1.0 - strength
                }
            })
            .product();
        for place in tree.places() {
            let at = place.index();
            on[at] = bounds.sure[at]
                || bounds.possible[at]
                    && switch[at]
                    && match tree.node(place) {
                        Node::Leaf { .. } => true,
                        Node::Gate { .. } | Node::Sometimes { .. } => is_on(tree, place, &on),
                    };
        }
        if on[tree.top().index()] {
            sum += weight;
        }
        // The next state, as a binary counter goes on: however many places, it cannot overflow.
        let Some(carried) = uncertain.iter().position(|place| !switch[place.index()]) else {
            return sum;
        };
        switch[uncertain[carried].index()] = true;
        for place in &uncertain[..carried] {
            switch[place.index()] = false;
        }
    }
}
