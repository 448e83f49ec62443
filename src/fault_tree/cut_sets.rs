//! Minimal cut sets: the fewest things that together bring the top about.

use std::collections::BTreeSet;

use petgraph::Direction::Incoming;

use super::tree::{FaultTree, Node, NodeId};

/// Causes that together bring an event about, in order.
pub type CutSet<C> = Vec<C>;

/// More sets of causes had to be formed than a budget allows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooManySets;

/// How many sets of causes may still be formed, and how many kept.
#[derive(Clone, Copy, Debug)]
pub struct Budget {
    /// Formed, whether they are kept or not.
    pub tried: usize,
    /// Kept at any one time.
    pub kept: usize,
}

impl Budget {
    /// No limit: for trees whose size is known.
    pub const ENDLESS: Self = Self {
        tried: usize::MAX,
        kept: usize::MAX,
    };
}

impl<C: Copy + Ord> FaultTree<C> {
    /// The minimal cut sets of at most `order` causes, smaller ones first, then by cause.
    ///
    /// Strengths play no part. Bottom-up substitution with absorption (NUREG-0492, chapter VII).
    /// A set above `order` is dropped as soon as it arises, so the cost is bounded by the number
    /// of sets up to that order.
    pub fn cut_sets(&self, order: usize) -> Vec<CutSet<C>> {
        // Without a limit it never gives up.
        self.cut_sets_within(order, &mut Budget::ENDLESS.clone())
            .unwrap_or_default()
    }

    /// As [`FaultTree::cut_sets`], unless that takes more than the budget.
    fn cut_sets_within(
        &self,
        order: usize,
        budget: &mut Budget,
    ) -> Result<Vec<CutSet<C>>, TooManySets> {
        let mut below: Vec<Vec<CutSet<C>>> = Vec::with_capacity(self.graph().node_count());
        let mut uses: Vec<usize> = self
            .places()
            .map(|place| self.graph().neighbors_directed(place, Incoming).count())
            .collect();
        for place in self.places() {
            // Sets nothing else will ask for are handed over: a long chain keeps one list, not each.
            let mut take = |below: &mut Vec<Vec<CutSet<C>>>, input: NodeId| {
                uses[input.index()] -= 1;
                if uses[input.index()] == 0 {
                    std::mem::take(&mut below[input.index()])
                } else {
                    below[input.index()].clone()
                }
            };
            let inputs = self.inputs(place).into_iter();
            let sets = match self.node(place) {
                Node::Leaf { cause, .. } if order > 0 => vec![vec![*cause]],
                Node::Leaf { .. } => Vec::new(),
                Node::Sometimes { .. } => {
                    inputs.flat_map(|input| take(&mut below, input)).collect()
                }
                Node::Gate { gate, .. } => {
                    let needed = gate.threshold(inputs.len());
                    let inputs: Vec<_> = inputs.map(|input| take(&mut below, input)).collect();
                    at_least(needed, inputs, order, budget)?
                }
            };
            below.push(sets);
        }
        Ok(below.swap_remove(self.top().index()))
    }
}

/// The sets that switch on at least `needed` of the inputs, each input being its own sets.
fn at_least<C: Copy + Ord>(
    needed: usize,
    inputs: Vec<Vec<CutSet<C>>>,
    order: usize,
    budget: &mut Budget,
) -> Result<Vec<CutSet<C>>, TooManySets> {
    if needed == 1 {
        return Ok(minimal(inputs.into_iter().flatten().collect()));
    }
    let mut left = inputs.len();
    // enough[j]: the sets that switch on at least j of the inputs seen so far.
    let mut enough = vec![Vec::new(); needed + 1];
    enough[0].push(Vec::new());
    for input in inputs {
        left -= 1;
        // Fewer than this many cannot become enough with the inputs that are left.
        let worthwhile = needed.saturating_sub(left).max(1);
        for j in (worthwhile..=needed).rev() {
            let mut sets = both(&enough[j - 1], &input, order, budget)?;
            if !sets.is_empty() {
                sets.append(&mut enough[j]);
                enough[j] = minimal(sets);
            }
        }
    }
    Ok(enough.swap_remove(needed))
}

/// The minimal cut sets of at most `order` causes of all the trees together: what brings every one
/// of their tops about. No tree: the empty set.
///
/// # Errors
///
/// [`TooManySets`] where that takes more than the budget: the sets of disjoint trees multiply.
pub fn all_of<C: Copy + Ord>(
    trees: &[&FaultTree<C>],
    order: usize,
    mut budget: Budget,
) -> Result<Vec<CutSet<C>>, TooManySets> {
    trees.iter().try_fold(vec![Vec::new()], |sets, tree| {
        let of_tree = tree.cut_sets_within(order, &mut budget)?;
        let sets = minimal(both(&sets, &of_tree, order, &mut budget)?);
        if sets.len() > budget.kept {
            return Err(TooManySets);
        }
        Ok(sets)
    })
}

/// Every union of a set of each side, of at most `order` causes.
fn both<C: Copy + Ord>(
    left: &[CutSet<C>],
    right: &[CutSet<C>],
    order: usize,
    budget: &mut Budget,
) -> Result<Vec<CutSet<C>>, TooManySets> {
    let tried = left.len().saturating_mul(right.len());
    budget.tried = budget.tried.checked_sub(tried).ok_or(TooManySets)?;
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
    Ok(unions.into_iter().collect())
}

/// The sets that hold no other of the sets (absorption), smaller ones first, then by cause. Each set
/// must have its causes in order.
///
/// Costs, for each set, the lesser of its subsets and of the sets kept before it.
pub fn minimal<C: Copy + Ord>(mut sets: Vec<CutSet<C>>) -> Vec<CutSet<C>> {
    sets.sort_unstable_by(|a, b| a.len().cmp(&b.len()).then_with(|| a.cmp(b)));
    sets.dedup();
    let mut known: BTreeSet<CutSet<C>> = BTreeSet::new();
    let mut kept = Vec::with_capacity(sets.len());
    for set in sets {
        let few_subsets = u32::try_from(set.len())
            .ok()
            .and_then(|causes| 1_usize.checked_shl(causes))
            .is_some_and(|subsets| subsets <= known.len());
        let absorbed = if few_subsets {
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
    (0_usize..(1 << set.len()) - 1).map(move |mask| {
        (0..)
            .zip(set)
            .filter(|(bit, _)| mask >> bit & 1 == 1)
            .map(|(_, cause)| *cause)
            .collect()
    })
}
