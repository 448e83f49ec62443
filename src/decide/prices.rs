//! What repairs cost where a job is: their work and parts, less the dismantling that stands already, and what must
//! be read before them. Repairs are bits, in the problem's numbering of those in use.

use std::sync::Arc;

/// What every repair costs at a point.
#[derive(Clone, Debug, Default)]
pub(super) struct Prices {
    /// The work and parts of each repair, and its minutes.
    repairs: Arc<[(f64, f64)]>,
    groups: Vec<Group>,
}

/// What the repairs of a group cost.
#[derive(Clone, Copy, Debug)]
struct Group {
    bits: u128,
    /// What must be read before them; infinite where they may not be done.
    before: f64,
    /// All of it.
    whole: f64,
}

impl Prices {
    /// The prices of repairs with this cost and these minutes each, in groups of these bits, each with the cost of
    /// what must be read first.
    pub(super) fn new(
        repairs: Arc<[(f64, f64)]>,
        groups: impl Iterator<Item = (u128, f64)>,
    ) -> Self {
        let groups = groups
            .map(|(bits, before)| Group {
                bits,
                before,
                whole: before + sum(&repairs, bits),
            })
            .collect();
        Self { repairs, groups }
    }

    /// What is left to pay of a group once the repairs of these bits are done.
    pub(super) fn left_of(&self, group: usize, done: u128) -> f64 {
        let group = &self.groups[group];
        if group.bits & done == 0 {
            group.whole
        } else {
            group.before + sum(&self.repairs, group.bits & !done)
        }
    }

    /// The minutes of the repairs of these bits.
    pub(super) fn minutes_of(&self, bits: u128) -> f64 {
        each(bits).map(|p| self.repairs[p].1).sum()
    }
}

fn sum(repairs: &[(f64, f64)], bits: u128) -> f64 {
    each(bits).map(|p| repairs[p].0).sum()
}

/// The set bits, ascending.
pub(super) fn each(mut bits: u128) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        (bits != 0).then(|| {
            let lowest = bits.trailing_zeros() as usize;
            bits &= bits - 1;
            lowest
        })
    })
}
