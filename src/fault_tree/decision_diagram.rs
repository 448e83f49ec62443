//! The probability of a tree with many uncertain places, by a binary decision diagram.

use std::collections::BTreeMap;

use biodivine_lib_bdd::{Bdd, BddVariable, BddVariableSet};

use super::fault_tree::{FaultTree, Node, NodeId};
use super::value::Bounds;

/// `P(top)` with one diagram variable for each uncertain place; `None` where there are more places
/// than the diagram has variables.
pub(super) fn probability<C: Copy + Ord>(
    tree: &FaultTree<C>,
    bounds: &Bounds,
    uncertain: &[NodeId],
) -> Option<f64> {
    // The two numbers above are the library's own: it panics where it is asked for so many.
    let count = u16::try_from(uncertain.len())
        .ok()
        .filter(|count| *count < u16::MAX - 1)?;
    let variables = BddVariableSet::new_anonymous(count);
    let by_place: BTreeMap<NodeId, BddVariable> = uncertain
        .iter()
        .copied()
        .zip(variables.variables())
        .collect();
    let mut diagrams: Vec<Bdd> = Vec::with_capacity(bounds.sure.len());
    for place in tree.places() {
        let at = place.index();
        let diagram = if bounds.sure[at] {
            variables.mk_true()
        } else if !bounds.possible[at] {
            variables.mk_false()
        } else {
            let below = match tree.node(place) {
                Node::Leaf { .. } => variables.mk_true(),
                Node::Gate { gate, .. } => {
                    let inputs = tree.inputs(place);
                    at_least(&variables, gate.threshold(inputs.len()), &inputs, &diagrams)
                }
                Node::Sometimes { .. } => at_least(&variables, 1, &tree.inputs(place), &diagrams),
            };
            match by_place.get(&place) {
                Some(variable) => below.and(&variables.mk_var(*variable)),
                None => below,
            }
        };
        diagrams.push(diagram);
    }
    let strengths: Vec<f64> = uncertain
        .iter()
        .map(|place| tree.strength(*place))
        .collect();
    Some(weight(&diagrams[tree.top().index()], &strengths))
}

/// At least `needed` of the inputs: `enough[j]` holds once at least `j` of those seen so far are on.
fn at_least(variables: &BddVariableSet, needed: usize, inputs: &[NodeId], diagrams: &[Bdd]) -> Bdd {
    let mut enough = vec![variables.mk_false(); needed + 1];
    enough[0] = variables.mk_true();
    for input in inputs {
        for j in (1..=needed).rev() {
            enough[j] = enough[j].or(&enough[j - 1].and(&diagrams[input.index()]));
        }
    }
    enough.swap_remove(needed)
}

/// The probability of a diagram whose variables are on with `strengths`, in one pass from the leaves.
fn weight(diagram: &Bdd, strengths: &[f64]) -> f64 {
    if diagram.is_false() {
        return 0.0;
    }
    let mut weights: Vec<f64> = Vec::with_capacity(diagram.size());
    for pointer in diagram.pointers() {
        let weight = if pointer.is_zero() {
            0.0
        } else if pointer.is_one() {
            1.0
        } else {
            let strength = strengths[diagram.var_of(pointer).to_index()];
            let low = weights[diagram.low_link_of(pointer).to_index()];
            let high = weights[diagram.high_link_of(pointer).to_index()];
            (1.0 - strength) * low + strength * high
        };
        weights.push(weight);
    }
    weights.last().copied().unwrap_or(0.0)
}
