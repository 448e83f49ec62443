//! Minimal cut sets: the fewest things that together bring the top about.

use std::cmp::Ordering;

use petgraph::Direction::Incoming;

use super::tree::{FaultTree, Node, NodeId};

/// Causes that together bring an event about, in order.
pub type CutSet<C> = Vec<C>;

/// More sets of causes had to be formed than a budget allows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooManySets;

/// How much work may still go into the sets of causes that explain something.
#[derive(Clone, Copy, Debug)]
pub struct Budget {
    /// Sets formed or held against others, whether they are kept or not.
    pub tried: usize,
    /// Sets kept of several trees together.
    pub kept: usize,
    /// Steps in weighing the sets.
    pub steps: usize,
}

impl Budget {
    /// No limit: for trees whose size is known.
    pub const fn endless() -> Self {
        Self {
            tried: usize::MAX,
            kept: usize::MAX,
            steps: usize::MAX,
        }
    }

    /// Takes off what is tried.
    pub fn try_sets(&mut self, sets: usize) -> Result<(), TooManySets> {
        self.tried = self.tried.checked_sub(sets).ok_or(TooManySets)?;
        Ok(())
    }
}

impl<C: Copy + Ord> FaultTree<C> {
    /// The minimal cut sets of at most `order` causes, smaller ones first, then by cause.
    ///
    /// Strengths play no part. Bottom-up substitution with absorption (NUREG-0492, chapter VII).
    /// A set above `order` is dropped as soon as it arises, so the cost is bounded by the number
    /// of sets up to that order.
    pub fn cut_sets(&self, order: usize) -> Vec<CutSet<C>> {
        // Without a limit it never gives up.
        self.cut_sets_within(order, &mut Budget::endless())
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
        let sets: Vec<_> = inputs.into_iter().flatten().collect();
        budget.try_sets(sets.len())?;
        return Ok(minimal(sets));
    }
    let mut left = inputs.len();
    // enough[j]: sets that switch on at least j of the inputs seen so far, among them all minimal ones.
    let mut enough = vec![Vec::new(); needed + 1];
    enough[0].push(Vec::new());
    // How many of them there were when those that hold another were last taken out.
    let mut reduced = vec![1; needed + 1];
    for input in inputs {
        left -= 1;
        // Fewer than this many cannot become enough with the inputs that are left.
        let worthwhile = needed.saturating_sub(left).max(1);
        for j in (worthwhile..=needed).rev() {
            let mut sets = both(&enough[j - 1], &input, order, budget)?;
            enough[j].append(&mut sets);
            // Only once they have doubled, so that each set is looked at a few times and not at every input.
            if enough[j].len() >= 2 * reduced[j] {
                budget.try_sets(enough[j].len())?;
                enough[j] = minimal(std::mem::take(&mut enough[j]));
                reduced[j] = enough[j].len().max(1);
            }
        }
    }
    budget.try_sets(enough[needed].len())?;
    Ok(minimal(enough.swap_remove(needed)))
}

/// The minimal cut sets of at most `order` causes of all the trees together: what brings every one
/// of their tops about. No tree: the empty set. What is tried is taken off the budget.
///
/// # Errors
///
/// [`TooManySets`] where that takes more than the budget: the sets of disjoint trees multiply.
pub fn all_of<C: Copy + Ord>(
    trees: &[&FaultTree<C>],
    order: usize,
    budget: &mut Budget,
) -> Result<Vec<CutSet<C>>, TooManySets> {
    trees.iter().try_fold(vec![Vec::new()], |sets, tree| {
        let of_tree = tree.cut_sets_within(order, budget)?;
        let sets = minimal(both(&sets, &of_tree, order, budget)?);
        if sets.len() > budget.kept {
            return Err(TooManySets);
        }
        Ok(sets)
    })
}

/// Every union of a set of each side, of at most `order` causes; some of them more than once.
fn both<C: Copy + Ord>(
    left: &[CutSet<C>],
    right: &[CutSet<C>],
    order: usize,
    budget: &mut Budget,
) -> Result<Vec<CutSet<C>>, TooManySets> {
    budget.try_sets(left.len().saturating_mul(right.len()))?;
    let mut unions = Vec::new();
    for a in left {
        for b in right {
            let more = b.iter().filter(|cause| a.binary_search(cause).is_err());
            if a.len() + more.clone().count() <= order {
                let mut union: CutSet<C> = a.iter().chain(more).copied().collect();
                union.sort_unstable();
                unions.push(union);
            }
        }
    }
    Ok(unions)
}

/// Smaller sets first, then by cause.
fn by_size<C: Ord>(one: &CutSet<C>, other: &CutSet<C>) -> Ordering {
    one.len().cmp(&other.len()).then_with(|| one.cmp(other))
}

/// The sets that hold no other of the sets (absorption), smaller ones first, then by cause. Each set
/// must have its causes in order.
///
/// Costs, for each set, the lesser of its subsets and of the smaller sets kept before it.
pub fn minimal<C: Copy + Ord>(mut sets: Vec<CutSet<C>>) -> Vec<CutSet<C>> {
    sets.sort_unstable_by(by_size);
    sets.dedup();
    let mut kept: Vec<CutSet<C>> = Vec::with_capacity(sets.len());
    let (mut size, mut smaller) = (0, 0);
    for set in sets {
        if set.len() > size {
            (size, smaller) = (set.len(), kept.len());
        }
        let smaller = &kept[..smaller];
        let few_subsets = u32::try_from(set.len())
            .ok()
            .and_then(|causes| 1_usize.checked_shl(causes))
            .is_some_and(|subsets| subsets <= smaller.len());
        let absorbed = if few_subsets {
            subsets(&set).any(|subset| smaller.binary_search_by(|it| by_size(it, &subset)).is_ok())
        } else {
            let holds = |it: &CutSet<C>| it.iter().all(|cause| set.binary_search(cause).is_ok());
            smaller.iter().any(holds)
        };
        if !absorbed {
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
