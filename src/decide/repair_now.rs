//! The cheapest way to end without measuring again: repair after repair, and escalation at the right place.
//!
//! Groups are done in descending order of probability over cost (Kadane and Simon 1977), escalation after
//! the prefix where it is cheapest. Where groups share repairs that order is not always best: up to eight
//! possible groups all orders are weighed (a dynamic programme over the sets already done); beyond that
//! the order by probability over cost stands and the result says that it is not exact. docs/method.md,
//! section 9.

use super::prices::Prices;
use super::problem::Problem;

/// How many groups that share repairs are ordered exactly.
pub const MOST_EXACT: usize = 8;

/// One group of repairs in the order.
#[derive(Clone, Debug, PartialEq)]
pub struct RepairStep {
    /// The group, by index into [`Problem::groups`].
    pub group: usize,
    /// The repairs still to be done for it, ascending: those done before stay done.
    pub repairs: Vec<usize>,
    /// The probability that the job ends here: the group is the cure, or one that it completes is.
    pub probability: f64,
    /// The probability that it comes to this step.
    pub reached: f64,
    /// Cost of the step when it is reached.
    pub cost: f64,
    /// Minutes of the step when it is reached.
    pub minutes: f64,
}

/// The cheapest way to end without measuring again.
#[derive(Clone, Debug, PartialEq)]
pub struct RepairNow {
    /// Expected cost.
    pub cost: f64,
    /// Expected minutes.
    pub minutes: f64,
    /// The groups in order.
    pub steps: Vec<RepairStep>,
    /// The probability that it comes to escalation, after the last step; `None` where it never does.
    pub escalates: Option<f64>,
    /// Whether the order is known to be the best one.
    pub exact: bool,
}

/// Room for the sums of [`repair_now_cost`], used again and again.
#[derive(Clone, Debug, Default)]
pub struct RepairScratch {
    mass: Vec<f64>,
    order: Vec<Place>,
    steps: Vec<Step>,
}

impl RepairScratch {
    /// The weight of each group, as last weighed.
    pub(super) fn masses(&self) -> &[f64] {
        &self.mass
    }
}

/// A group and its place in the order: the bits of the number that it is ordered by, turned over, before
/// its index. Whole numbers sort a good deal faster than pairs with a float, and this is where a search spends
/// its time; numbers that are not negative sort as their bits do.
type Place = u128;

fn place(by: f64, group: usize) -> Place {
    u128::from(!by.to_bits()) << 64 | group as u128
}

fn group_at(place: Place) -> usize {
    usize::try_from(place & u128::from(u64::MAX)).unwrap_or(usize::MAX)
}

#[derive(Clone, Copy, Debug)]
struct Step {
    group: usize,
    /// Repairs done in the step.
    bits: u128,
    cost: f64,
    /// Weight of the candidates cured by it.
    cured: f64,
}

/// Expected cost of [`repair_now`] times the sum of the weights: weights need not add up to 1, and nothing
/// is allocated once the scratch has grown.
pub fn repair_now_cost(problem: &Problem, weights: &[f64], scratch: &mut RepairScratch) -> f64 {
    repair_now_cost_after(problem, problem.prices(), 0, weights, scratch)
}

/// As [`repair_now_cost`] at other prices, where the repairs of these bits are done: they cost nothing again, and
/// what they would have cured has no weight left.
pub(super) fn repair_now_cost_after(
    problem: &Problem,
    prices: &Prices,
    done: u128,
    weights: &[f64],
    scratch: &mut RepairScratch,
) -> f64 {
    let unlisted = weigh_groups(problem, weights, scratch);
    let escalation = problem.escalation_cost();
    if done & problem.shared() != 0 || sharing(problem, scratch) {
        put_in_order(prices, done, scratch);
        if scratch.order.len() <= MOST_EXACT {
            return Exact::new(problem, prices, done, scratch, unlisted).best[0];
        }
        share_work(problem, prices, done, scratch);
        let steps = scratch.steps.iter().map(|s| (s.cost, s.cured));
        return best_prefix(steps, unlisted, escalation);
    }
    // A group that costs no less than escalation, and whatever comes after it, is never worth repairing
    // before escalation: what comes after has less probability for its cost than the group, and the group
    // less than what remains has for escalation. So it need not be ordered.
    let mut left_out = unlisted;
    scratch.order.clear();
    for (g, &mass) in scratch.mass.iter().enumerate() {
        let cost = prices.left_of(g, done);
        if cost >= escalation {
            left_out += mass;
        } else if mass > 0.0 {
            scratch.order.push(place(mass / cost, g));
        }
    }
    scratch.order.sort_unstable();
    let steps = scratch.order.iter().map(|&p| {
        let g = group_at(p);
        (prices.left_of(g, done), scratch.mass[g])
    });
    best_prefix(steps, left_out, escalation)
}

/// The cheapest way to end without measuring again. Weights need not add up to 1; a belief whose weights
/// are all zero costs nothing.
pub fn repair_now(problem: &Problem, weights: &[f64]) -> RepairNow {
    repair_now_after(problem, problem.prices(), 0, weights)
}

/// As [`repair_now`] at other prices, where the repairs of these bits are done.
pub(super) fn repair_now_after(
    problem: &Problem,
    prices: &Prices,
    done: u128,
    weights: &[f64],
) -> RepairNow {
    let scratch = &mut RepairScratch::default();
    let unlisted = weigh_groups(problem, weights, scratch);
    put_in_order(prices, done, scratch);
    let shared = sharing(problem, scratch);
    let few = scratch.order.len() <= MOST_EXACT;
    if shared && few {
        scratch.steps = Exact::new(problem, prices, done, scratch, unlisted).steps();
    } else {
        share_work(problem, prices, done, scratch);
    }
    described(problem, prices, &scratch.steps, unlisted, !shared || few)
}

/// Weighs the groups. Gives the weight of the unlisted cause.
pub(super) fn weigh_groups(problem: &Problem, weights: &[f64], scratch: &mut RepairScratch) -> f64 {
    scratch.mass.clear();
    scratch.mass.resize(problem.groups().len(), 0.0);
    for (group, weight) in problem.group_of().iter().zip(weights) {
        scratch.mass[*group] += weight;
    }
    problem.unlisted(weights)
}

/// Orders the possible groups by probability over what is left to pay, then index.
fn put_in_order(prices: &Prices, done: u128, scratch: &mut RepairScratch) {
    scratch.order.clear();
    for (g, &mass) in scratch.mass.iter().enumerate() {
        if mass > 0.0 {
            let by = mass / prices.left_of(g, done);
            scratch.order.push(place(by, g));
        }
    }
    scratch.order.sort_unstable();
}

/// Whether two possible groups share a repair.
fn sharing(problem: &Problem, scratch: &RepairScratch) -> bool {
    let mut seen = 0;
    for &g in problem.overlapping() {
        if scratch.mass[g] > 0.0 {
            let bits = problem.groups()[g].bits;
            if seen & bits != 0 {
                return true;
            }
            seen |= bits;
        }
    }
    false
}

/// The order as steps: what is done stays done, and a group that is complete before its turn has been cured
/// on the way.
fn share_work(problem: &Problem, prices: &Prices, mut done: u128, scratch: &mut RepairScratch) {
    let groups = problem.groups();
    scratch.steps.clear();
    for &at in &scratch.order {
        let g = group_at(at);
        let group = &groups[g];
        if group.overlaps {
            let bits = group.bits & !done;
            if bits == 0 {
                continue;
            }
            let before = done;
            done |= bits;
            let complete =
                |&&o: &&usize| groups[o].bits & !done == 0 && groups[o].bits & !before != 0;
            // Only a group that shares a repair with this one can become complete now.
            let cured = group
                .neighbours
                .iter()
                .filter(complete)
                .map(|&o| scratch.mass[o])
                .sum();
            let cost = prices.left_of(g, before);
            scratch.steps.push(Step {
                group: g,
                bits,
                cost,
                cured,
            });
        } else {
            let cured = scratch.mass[g];
            scratch.steps.push(Step {
                group: g,
                bits: group.bits,
                cost: prices.left_of(g, done),
                cured,
            });
        }
    }
}

/// The least cost over every prefix, escalation after it. From the end: what remains before a step is what
/// remains after it and what the step cures, so that nothing is lost by subtracting.
fn best_prefix(
    steps: impl DoubleEndedIterator<Item = (f64, f64)>,
    unlisted: f64,
    escalation: f64,
) -> f64 {
    let mut remaining = unlisted;
    let mut best = unlisted * escalation;
    for (cost, cured) in steps.rev() {
        remaining += cured;
        best = (remaining * cost + best).min(remaining * escalation);
    }
    best
}

fn described(
    problem: &Problem,
    prices: &Prices,
    steps: &[Step],
    unlisted: f64,
    exact: bool,
) -> RepairNow {
    let escalation = problem.escalation_cost();
    let mut remaining = unlisted;
    let mut best = unlisted * escalation;
    let mut kept = steps.len();
    let mut before = vec![0.0; steps.len()];
    for (k, step) in steps.iter().enumerate().rev() {
        remaining += step.cured;
        before[k] = remaining;
        let repair = remaining * step.cost + best;
        best = repair.min(remaining * escalation);
        if remaining * escalation < repair {
            kept = k;
        }
    }
    let total = remaining;
    if total <= 0.0 {
        return RepairNow {
            cost: 0.0,
            minutes: 0.0,
            steps: Vec::new(),
            escalates: None,
            exact,
        };
    }
    let left = before.get(kept).copied().unwrap_or(unlisted);
    let steps: Vec<RepairStep> = steps[..kept]
        .iter()
        .zip(&before)
        .map(|(step, reached)| RepairStep {
            group: step.group,
            repairs: problem.repairs_of(step.bits),
            probability: step.cured / total,
            reached: reached / total,
            cost: step.cost,
            minutes: prices.minutes_of(step.bits),
        })
        .collect();
    let repairing: f64 = steps.iter().map(|s| s.reached * s.minutes).sum();
    RepairNow {
        cost: best / total,
        minutes: repairing + left / total * problem.parts().escalation.minutes.get(),
        steps,
        escalates: (left > 0.0).then_some(left / total),
        exact,
    }
}

/// All orders of a few groups that share repairs, by the set of groups already done.
struct Exact<'p> {
    problem: &'p Problem,
    prices: &'p Prices,
    /// The repairs done before the first.
    start: u128,
    groups: [usize; MOST_EXACT],
    count: usize,
    mass: [f64; MOST_EXACT],
    best: [f64; 1 << MOST_EXACT],
    choice: [Option<usize>; 1 << MOST_EXACT],
}

impl<'p> Exact<'p> {
    fn new(
        problem: &'p Problem,
        prices: &'p Prices,
        start: u128,
        scratch: &RepairScratch,
        unlisted: f64,
    ) -> Self {
        let count = scratch.order.len().min(MOST_EXACT);
        let mut this = Self {
            problem,
            prices,
            start,
            groups: [0; MOST_EXACT],
            count,
            mass: [0.0; MOST_EXACT],
            best: [0.0; 1 << MOST_EXACT],
            choice: [None; 1 << MOST_EXACT],
        };
        for (k, &at) in scratch.order.iter().enumerate().take(count) {
            let g = group_at(at);
            this.groups[k] = g;
            this.mass[k] = scratch.mass[g];
        }
        for set in (0..1_usize << count).rev() {
            let done = this.done(set);
            let mut remaining = unlisted;
            for k in 0..count {
                if this.bits(k) & !done != 0 {
                    remaining += this.mass[k];
                }
            }
            // On a tie the repair goes before escalation, as everywhere.
            let mut best = remaining * problem.escalation_cost();
            let mut choice = None;
            for k in 0..count {
                let bits = this.bits(k) & !done;
                if bits == 0 {
                    continue;
                }
                let cost =
                    remaining * prices.left_of(this.groups[k], done) + this.best[set | 1 << k];
                if cost < best || (cost <= best && choice.is_none()) {
                    best = cost;
                    choice = Some(k);
                }
            }
            this.best[set] = best;
            this.choice[set] = choice;
        }
        this
    }

    fn bits(&self, k: usize) -> u128 {
        self.problem.groups()[self.groups[k]].bits
    }

    fn done(&self, set: usize) -> u128 {
        (0..self.count)
            .filter(|k| set >> k & 1 == 1)
            .fold(self.start, |done, k| done | self.bits(k))
    }

    fn steps(&self) -> Vec<Step> {
        let mut steps = Vec::new();
        let mut set = 0;
        while let Some(k) = self.choice[set] {
            let before = self.done(set);
            set |= 1 << k;
            let done = self.done(set);
            let completes = |&o: &usize| self.bits(o) & !done == 0 && self.bits(o) & !before != 0;
            let bits = done & !before;
            steps.push(Step {
                group: self.groups[k],
                bits,
                cost: self.prices.left_of(self.groups[k], before),
                cured: (0..self.count)
                    .filter(completes)
                    .map(|o| self.mass[o])
                    .sum(),
            });
        }
        // The steps that escalation cuts off: their weight still counts as remaining.
        let done = self.done(set);
        let left: f64 = (0..self.count)
            .filter(|&o| self.bits(o) & !done != 0)
            .map(|o| self.mass[o])
            .sum();
        if left > 0.0 {
            let group = self.groups[0];
            steps.push(Step {
                group,
                bits: 0,
                cost: f64::INFINITY,
                cured: left,
            });
        }
        steps
    }
}
