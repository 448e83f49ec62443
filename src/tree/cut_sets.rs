//! Minimal cut sets: the fewest things that together bring the top about.

use std::collections::BTreeSet;

use super::fault_tree::{FaultTree, Node};

/// Causes that together bring an event about, in order.
pub type CutSet<C> = Vec<C>;

/// Up to this size a set is compared with its own subsets, beyond it with every smaller set.
const COMPARE_SUBSETS_UP_TO: usize = 10;

impl<C: Copy + Ord> FaultTree<C> {
    /// The minimal cut sets of at most `order` causes, smaller ones first, then by cause.
    ///
    /// Strengths play no part. Bottom-up substitution with absorption (NUREG-0492, chapter VII).
    /// A set above `order` is dropped as soon as it arises, so the cost is bounded by the number
    /// of sets up to that order.
    #[must_use]
    pub fn cut_sets(&self, order: usize) -> Vec<CutSet<C>> {
        let mut below: Vec<Vec<CutSet<C>>> = Vec::with_capacity(self.graph().node_count());
        for place in self.places() {
            let sets = match self.node(place) {
                Node::Leaf { cause, .. } if order > 0 => vec![vec![*cause]],
                Node::Leaf { .. } => Vec::new(),
                Node::Sometimes { .. } => self
                    .inputs(place)
                    .first()
                    .map_or_else(Vec::new, |input| below[input.index()].clone()),
                Node::Gate { gate, .. } => {
                    let inputs = self.inputs(place);
                    // enough[j]: the sets that switch on at least j of the inputs seen so far.
                    let mut enough = vec![Vec::new(); gate.threshold(inputs.len()) + 1];
                    enough[0].push(Vec::new());
                    for input in &inputs {
                        for j in (1..enough.len()).rev() {
                            let mut sets = both(&enough[j - 1], &below[input.index()], order);
                            sets.append(&mut enough[j]);
                            enough[j] = minimal(sets);
                        }
                    }
                    enough.pop().unwrap_or_default()
                }
            };
            below.push(sets);
        }
        below.swap_remove(self.top().index())
    }
}

/// The minimal cut sets of at most `order` causes of all the trees together: what brings every one
/// of their tops about. No tree: the empty set.
#[must_use]
pub fn all_of<C: Copy + Ord>(trees: &[&FaultTree<C>], order: usize) -> Vec<CutSet<C>> {
    trees.iter().fold(vec![Vec::new()], |sets, tree| {
        minimal(both(&sets, &tree.cut_sets(order), order))
    })
}

/// Every union of a set of each side, of at most `order` causes.
fn both<C: Copy + Ord>(left: &[CutSet<C>], right: &[CutSet<C>], order: usize) -> Vec<CutSet<C>> {
    let mut unions = BTreeSet::new();
    for a in left {
        for b in right {
            let mut union: CutSet<C> = a.iter().chain(b).copied().collect();
            union.sort_unstable();
            union.dedup();
            if union.len() <= order {
                unions.insert(union);
            }
        }
    }
    unions.into_iter().collect()
}

/// The sets that hold no other of the sets (absorption), smaller ones first, then by cause.
#[must_use]
pub fn minimal<C: Copy + Ord>(mut sets: Vec<CutSet<C>>) -> Vec<CutSet<C>> {
    sets.sort_unstable_by(|a, b| a.len().cmp(&b.len()).then_with(|| a.cmp(b)));
    sets.dedup();
    let mut known: BTreeSet<CutSet<C>> = BTreeSet::new();
    let mut kept = Vec::with_capacity(sets.len());
    for set in sets {
        let absorbed = if set.len() <= COMPARE_SUBSETS_UP_TO {
            subsets(&set).any(|subset| known.contains(&subset))
        } else {
            known
                .iter()
                .any(|smaller| smaller.iter().all(|cause| set.binary_search(cause).is_ok()))
        };
        if !absorbed {
            known.insert(set.clone());
            kept.push(set);
        }
    }
    kept
}

/// The proper subsets of a set, the empty one among them.
fn subsets<C: Copy + Ord>(set: &[C]) -> impl Iterator<Item = CutSet<C>> + '_ {
    (0_u32..(1 << set.len()) - 1).map(move |mask| {
        (0..)
            .zip(set)
            .filter(|(bit, _)| mask >> bit & 1 == 1)
            .map(|(_, cause)| *cause)
            .collect()
    })
}
