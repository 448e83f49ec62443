//! Lower bounds on the cost of going on, whatever is measured. docs/method.md gives the proofs.
//!
//! Two bounds, both sound for every policy that ends in `repair_now`:
//!
//! 1. *Known for nothing*, and one measurement paid: `min(repair_now, Σ_H w_H·min(cost(H), escalation) + c)`
//!    with `c` the cheapest measurement left.
//! 2. *The price of a bit*. Ending uncertain wastes repairs, ending certain takes bits, and bits are bought
//!    from measurements, each of which has only so many to give. For every price β per bit
//!    `V ≥ known + β·H + G(β) − Σ_t max(0, β − c_t/cap_t)·I_t`.

use crate::plan::problem::Problem;
use crate::plan::set_up::InPlace;

/// Prices of a bit that are tried, as multiples of the escalation cost.
const PRICES: [f64; 8] = [0.003, 0.006, 0.01, 0.016, 0.025, 0.04, 0.065, 0.1];

/// Rounds of Blahut and Arimoto's iteration; the bound on the capacity is sound after any number.
const ROUNDS: usize = 60;

/// Candidates that need not be told apart: one group, groups that share repairs, or all that end in
/// escalation.
struct Class {
    /// The least that is wasted where a repair of the class is done in vain.
    waste: f64,
    /// The most that a candidate of the class costs, escalation at most.
    cost: f64,
}

struct Price {
    beta: f64,
    /// `min` over beliefs of the waste of ending less β times the entropy; never above 0.
    offset: f64,
}

/// What the bounds need to know, worked out once a search.
pub(super) struct Bounds {
    /// Cost of each hypothesis if it were known: its group, or escalation where that is cheaper.
    known: Vec<f64>,
    /// The least a further measurement can cost.
    least: f64,
    class_of: Vec<usize>,
    classes: usize,
    prices: Vec<Price>,
    /// Of each measurement: bits it can give at most, whatever the belief.
    capacity: Vec<f64>,
    /// Of each measurement and hypothesis: entropy of the row.
    row_entropy: Vec<Vec<f64>>,
    own_cost: Vec<f64>,
    ratio: Vec<f64>,
    order: Vec<usize>,
    left: Vec<f64>,
}

/// What must still be entered before a measurement, whatever else is done first, from some set-ups in place.
pub(super) type Missing = Vec<InPlace>;

impl Bounds {
    pub(super) fn new(problem: &Problem, weights: &[f64], barred: &[bool]) -> Self {
        let escalation = problem.escalation_cost();
        let mut known: Vec<f64> = problem
            .group_of()
            .iter()
            .map(|&g| problem.groups()[g].cost.min(escalation))
            .collect();
        known.push(escalation);
        let own_cost: Vec<f64> = (0..problem.measurements())
            .map(|m| problem.measurement(m).minutes * problem.per_minute())
            .collect();
        let offered = |m: &usize| !barred[*m];
        let least = (0..problem.measurements())
            .filter(offered)
            .map(|m| own_cost[m])
            .fold(f64::INFINITY, f64::min);
        let (class_of, classes) = classes(problem);
        let prices = PRICES
            .iter()
            .map(|p| p * escalation)
            .chain(
                own_cost
                    .iter()
                    .copied()
                    .filter(|c| *c > 0.0)
                    .reduce(f64::max),
            )
            .filter(|beta| *beta > 0.0 && beta.is_finite())
            .map(|beta| Price {
                beta,
                offset: offset(beta, &classes, escalation),
            })
            .collect();
        let row_entropy: Vec<Vec<f64>> = (0..problem.measurements())
            .map(|m| {
                (0..problem.weights())
                    .map(|h| {
                        (0..problem.outcomes(m))
                            .map(|o| surprise(problem.column(m, o)[h]))
                            .sum()
                    })
                    .collect()
            })
            .collect();
        let capacity = (0..problem.measurements())
            .map(|m| {
                if barred[m] {
                    0.0
                } else {
                    capacity(problem, weights, m, &row_entropy[m])
                }
            })
            .collect();
        Self {
            known,
            least,
            class_of,
            classes: classes.len() + 1,
            prices,
            capacity,
            row_entropy,
            ratio: vec![0.0; own_cost.len()],
            order: Vec::new(),
            left: Vec::new(),
            own_cost,
        }
    }

    /// `Σ_H w_H · min(cost(H), escalation)`: the right end for nothing.
    pub(super) fn if_known(&self, weights: &[f64]) -> f64 {
        weights.iter().zip(&self.known).map(|(w, c)| w * c).sum()
    }

    /// Bound 1 at a node of this weight where repairing now costs `repair`.
    pub(super) fn one_more(&self, weights: &[f64], weight: f64, repair: f64) -> f64 {
        (self.if_known(weights) + self.least * weight).min(repair)
    }

    /// Entropy of the classes times the weight, in bits.
    pub(super) fn entropy(&self, weights: &[f64], weight: f64, masses: &mut Vec<f64>) -> f64 {
        masses.clear();
        masses.resize(self.classes, 0.0);
        for (class, w) in self.class_of.iter().zip(weights) {
            masses[*class] += w;
        }
        let parts: f64 = masses
            .iter()
            .filter(|m| **m > 0.0)
            .map(|m| m * m.log2())
            .sum();
        (weight * weight.log2() - parts).max(0.0)
    }

    /// Mutual information between the hypotheses and the outcome, times the weight.
    pub(super) fn information(
        &self,
        problem: &Problem,
        weights: &[f64],
        weight: f64,
        m: usize,
    ) -> f64 {
        let outcomes: f64 = (0..problem.outcomes(m))
            .map(|o| {
                let p: f64 = problem
                    .column(m, o)
                    .iter()
                    .zip(weights)
                    .map(|(x, w)| x * w)
                    .sum();
                if p > 0.0 { p * p.log2() } else { 0.0 }
            })
            .sum();
        let rows: f64 = self.row_entropy[m]
            .iter()
            .zip(weights)
            .map(|(x, w)| x * w)
            .sum();
        // Rounding must not make a bound unsound.
        (weight * weight.log2() - outcomes - rows).max(0.0) + 1e-12 * weight
    }

    /// Bound 2 without `known`, times the weight, at the best price. `information` has an entry a
    /// measurement, 0 for those taken or barred.
    pub(super) fn priced(
        &mut self,
        weight: f64,
        entropy: f64,
        information: &[f64],
        missing: &Missing,
        set_ups: &[f64],
    ) -> f64 {
        let Self {
            prices,
            capacity,
            own_cost,
            ratio,
            order,
            left,
            ..
        } = self;
        order.clear();
        order.extend((0..information.len()).filter(|&m| information[m] > 0.0 && capacity[m] > 0.0));
        for &m in order.iter() {
            ratio[m] = (information[m] / (capacity[m] * weight)).min(1.0);
        }
        order.sort_unstable_by(|&a, &b| ratio[b].total_cmp(&ratio[a]).then(a.cmp(&b)));
        let mut best: f64 = 0.0;
        for price in prices.iter() {
            // A set-up is entered at least as often as any measurement behind it is taken, so its cost may be
            // charged to them in any shares that add up to no more than the whole.
            left.clear();
            left.extend_from_slice(set_ups);
            let mut sold = 0.0;
            for &m in order.iter() {
                let mut room = price.beta * capacity[m] - own_cost[m];
                for s in missing[m].indices() {
                    if room <= 0.0 {
                        break;
                    }
                    let share = left[s].min(room);
                    left[s] -= share;
                    room -= share;
                }
                sold += room.max(0.0) * ratio[m] * weight;
            }
            best = best.max(price.beta * entropy + price.offset * weight - sold);
        }
        best
    }

    /// Bound 2 for what comes after each measurement, without `known`, the measurement's own cost and any
    /// set-ups, which the way to the measurement may already have paid. Call after [`Bounds::priced`].
    pub(super) fn after_each(&self, weight: f64, entropy: f64, information: &[f64]) -> Vec<f64> {
        let Self {
            prices,
            capacity,
            own_cost,
            ratio,
            order,
            ..
        } = self;
        let mut best = vec![0.0_f64; information.len()];
        for price in prices {
            let sold =
                |m: usize| (price.beta * capacity[m] - own_cost[m]).max(0.0) * ratio[m] * weight;
            let all: f64 = order.iter().map(|&m| sold(m)).sum();
            for &m in order {
                let rest = price.beta * (entropy - information[m]) + price.offset * weight;
                best[m] = best[m].max(rest - (all - sold(m)));
            }
        }
        best
    }
}

fn surprise(p: f64) -> f64 {
    if p > 0.0 { -p * p.log2() } else { 0.0 }
}

/// The class of each hypothesis, the last class being escalation; and the others.
fn classes(problem: &Problem) -> (Vec<usize>, Vec<Class>) {
    let groups = problem.groups();
    let escalation = problem.escalation_cost();
    let mut class_of_group: Vec<Option<usize>> = vec![None; groups.len()];
    let mut classes: Vec<Class> = Vec::new();
    for g in 0..groups.len() {
        if class_of_group[g].is_some() || (!groups[g].overlaps && groups[g].cost >= escalation) {
            continue;
        }
        // All groups that share repairs, directly or through others, are one class.
        let mut bits = groups[g].bits;
        loop {
            let wider = groups
                .iter()
                .filter(|o| o.bits & bits != 0)
                .fold(bits, |b, o| b | o.bits);
            if wider == bits {
                break;
            }
            bits = wider;
        }
        let mut cost: f64 = 0.0;
        for (o, other) in groups.iter().enumerate() {
            if other.bits & bits != 0 {
                class_of_group[o] = Some(classes.len());
                cost = cost.max(other.cost.min(escalation));
            }
        }
        let waste = if groups[g].overlaps {
            problem.least_of(bits)
        } else {
            groups[g].cost
        };
        classes.push(Class { waste, cost });
    }
    let last = classes.len();
    let mut class_of: Vec<usize> = problem
        .group_of()
        .iter()
        .map(|&g| class_of_group[g].unwrap_or(last))
        .collect();
    class_of.push(last);
    (class_of, classes)
}

/// `min` over beliefs of waste − β·H: by Gibbs' inequality `−β·log2 max Σ 2^(−waste/β)`, the maximum over the
/// orders in which the classes may be begun, escalation after any of them.
fn offset(beta: f64, classes: &[Class], escalation: f64) -> f64 {
    let mut wastes: Vec<f64> = classes.iter().map(|c| c.waste).collect();
    wastes.sort_unstable_by(f64::total_cmp);
    let given_up: f64 = classes
        .iter()
        .map(|c| (-(escalation - c.cost) / beta).exp2())
        .sum();
    let mut before = 0.0;
    let mut cured = 0.0;
    let mut most = 1.0 + given_up;
    for waste in wastes {
        let so_far: f64 = before;
        cured += (-so_far / beta).exp2();
        before += waste;
        most = f64::max(most, cured + (-before / beta).exp2() * (1.0 + given_up));
    }
    -beta * f64::log2(most)
}

/// An upper bound on the bits that a measurement can give under any belief over the possible hypotheses
/// (Blahut 1972, Arimoto 1972): `max_H D(row_H ‖ q)` for any mixture q.
fn capacity(problem: &Problem, weights: &[f64], m: usize, row_entropy: &[f64]) -> f64 {
    let possible: Vec<usize> = (0..weights.len()).filter(|&h| weights[h] > 0.0).collect();
    let outcomes = problem.outcomes(m);
    let mut share: Vec<f64> = vec![1.0; possible.len()];
    let mut best = f64::INFINITY;
    for _ in 0..ROUNDS {
        let sum: f64 = share.iter().sum();
        let mixture: Vec<f64> = (0..outcomes)
            .map(|o| {
                let column = problem.column(m, o);
                possible
                    .iter()
                    .zip(&share)
                    .map(|(&h, s)| column[h] * s / sum)
                    .sum()
            })
            .collect();
        let mut most: f64 = 0.0;
        for (&h, s) in possible.iter().zip(&mut share) {
            let cross: f64 = (0..outcomes)
                .map(|o| {
                    let p = problem.column(m, o)[h];
                    if p > 0.0 { -p * mixture[o].log2() } else { 0.0 }
                })
                .sum();
            let divergence = (cross - row_entropy[h]).max(0.0);
            most = most.max(divergence);
            *s *= divergence.exp2() / sum;
        }
        if most > best * 0.999 {
            best = best.min(most);
            break;
        }
        best = most;
    }
    best * (1.0 + 1e-12)
}
