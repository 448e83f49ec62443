//! What repairs cost where a job is: their work and parts, less the dismantling that stands already, and what must
//! be read before them.

use super::problem::{Problem, each};
use super::set_up::InPlace;

/// What every repair costs at a point.
#[derive(Clone, Debug, Default)]
pub(super) struct Prices {
    /// The work and parts of each repair in use.
    repairs: Vec<f64>,
    /// Its minutes.
    minutes: Vec<f64>,
    /// What must be read before the repairs of each group; infinite where they may not be done.
    before: Vec<f64>,
    /// What all of each group comes to.
    whole: Vec<f64>,
}

impl Prices {
    /// The prices where some set-ups are in place and `before` is what must be read first, by group.
    pub(super) fn fill(
        &mut self,
        problem: &Problem,
        in_place: InPlace,
        before: impl Iterator<Item = f64>,
    ) {
        self.repairs.clear();
        self.repairs
            .extend((0..problem.repairs_in_use()).map(|p| problem.repair_cost(p, in_place)));
        self.minutes.clear();
        self.minutes
            .extend((0..problem.repairs_in_use()).map(|p| problem.repair_minutes(p, in_place)));
        self.before.clear();
        self.before.extend(before);
        self.whole.clear();
        let (repairs, before) = (&self.repairs, &self.before);
        let groups = problem.groups().iter().zip(before);
        self.whole
            .extend(groups.map(|(group, before)| sum(repairs, group.bits) + before));
    }

    /// What is left to pay of a group once the repairs of these bits are done.
    pub(super) fn left_of(&self, problem: &Problem, group: usize, done: u128) -> f64 {
        let bits = problem.groups()[group].bits;
        if bits & done == 0 {
            self.whole[group]
        } else {
            self.before[group] + sum(&self.repairs, bits & !done)
        }
    }

    /// The cost of the repairs of these bits, as the rest of a group.
    pub(super) fn rest_of(&self, group: usize, bits: u128) -> f64 {
        self.before[group] + sum(&self.repairs, bits)
    }

    /// The minutes of the repairs of these bits alone.
    pub(super) fn minutes_of(&self, bits: u128) -> f64 {
        sum(&self.minutes, bits)
    }
}

fn sum(repairs: &[f64], bits: u128) -> f64 {
    each(bits).map(|p| repairs[p]).sum()
}
