//! Lower bounds on the cost of going on, whatever is measured or repaired on the way. docs/method.md gives the
//! proofs.
//!
//! Two bounds, both sound for every policy that ends in `repair_now`:
//!
//! 1. *Known for nothing*, and one step paid: `min(repair_now, Σ_H w_H·min(cost(H), escalation) + c)` with `c`
//!    the cheapest measurement left, or the least that a repair which shows something wastes on those that it
//!    does not cure.
//! 2. *The price of a bit*. Ending uncertain wastes repairs, ending certain takes bits, and bits are bought
//!    from measurements, each of which has only so many to give. For every price β per bit
//!    `V ≥ known + β·H + G(β) − Σ_t max(0, β − c_t/cap_t)·I_t`. A measurement that some repair shows on the way
//!    has `c_t = 0`, its bits being free then; or it is charged like any other and its price kept back from
//!    what the repair wastes, where that is enough. Both are tried.
//!
//! Both hold at every node, those after a repair in vain among them: what a hypothesis costs if known counts
//! only the repairs left, and a class is begun from there on at no less than its least repair.

use super::shown::{Revealing, Shown, Unpaid, paid_by_waste, revealing};
use crate::decide::problem::{Problem, each};
use crate::decide::set_up::InPlace;

/// Prices of a bit that are tried, as multiples of the escalation cost.
const PRICES: [f64; 8] = [0.003, 0.006, 0.01, 0.016, 0.025, 0.04, 0.065, 0.1];

/// Rounds of Blahut and Arimoto's iteration; the bound on the capacity is sound after any number.
const ROUNDS: usize = 60;

/// Candidates that need not be told apart: one group, groups that share repairs, or all that end in
/// escalation.
pub(super) struct Class {
    /// The least that is wasted where a repair of the class is done in vain.
    pub(super) waste: f64,
    /// The most that a candidate of the class costs, escalation at most.
    pub(super) cost: f64,
}

struct Price {
    beta: f64,
    /// `min` over beliefs of the waste of ending less β times the entropy; never above 0.
    offset: f64,
    /// Whether what repairs show is charged, and its price kept back from their waste.
    charged: bool,
    /// What each measurement was last found to sell at this price.
    sold: Vec<f64>,
    /// The sum of that.
    all: f64,
}

/// What a node knows of its measurements.
pub(super) struct At<'a> {
    pub(super) weights: &'a [f64],
    pub(super) weight: f64,
    /// Entropy of the classes times the weight.
    pub(super) entropy: f64,
    /// Of each measurement the mutual information times the weight; 0 for those taken or barred.
    pub(super) information: &'a [f64],
    /// What a repair has shown and nobody has read: nobody pays for that any more.
    pub(super) to_view: &'a [usize],
}

/// What the bounds need to know, worked out once a search.
pub(super) struct Bounds {
    /// Cost of each hypothesis if it were known: its group, or escalation where that is cheaper.
    known: Vec<f64>,
    /// The least a further measurement can cost.
    least: f64,
    /// The groups that may be repaired before going on.
    pub(super) revealing: Vec<Revealing>,
    /// Of each measurement: whether a repair may show it.
    shown: Vec<Shown>,
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
        let revealing = revealing(problem, weights, barred);
        let (shown, kept_back) = paid_by_waste(
            problem,
            &revealing,
            barred,
            (&class_of, &classes),
            &own_cost,
        );
        let betas: Vec<f64> = PRICES
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
            .collect();
        let price = |beta: f64, classes: &[Class], charged| Price {
            beta,
            offset: offset(beta, classes, escalation),
            charged,
            sold: vec![0.0; problem.measurements()],
            all: 0.0,
        };
        let mut prices: Vec<Price> = betas
            .iter()
            .map(|&beta| price(beta, &classes, false))
            .collect();
        if shown.iter().any(|shown| matches!(shown, Shown::Paid(_))) {
            prices.extend(betas.iter().map(|&beta| price(beta, &kept_back, true)));
        }
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
            revealing,
            shown,
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

    /// `Σ_H w_H · min(cost(H), escalation)`: the right end for nothing, where the repairs of these bits are
    /// done.
    pub(super) fn if_known(&self, problem: &Problem, done: u128, weights: &[f64]) -> f64 {
        let as_new = weights.iter().zip(&self.known).map(|(w, c)| w * c);
        if done & problem.shared() == 0 {
            return as_new.sum();
        }
        let groups = problem.group_of().iter();
        let saved: f64 = groups
            .zip(weights)
            .filter(|&(&g, w)| *w > 0.0 && problem.groups()[g].bits & done != 0)
            .map(|(&g, w)| {
                let escalation = problem.escalation_cost();
                let whole = problem.groups()[g].cost.min(escalation);
                w * (whole - problem.left_of(g, done).min(escalation))
            })
            .sum();
        as_new.sum::<f64>() - saved
    }

    /// Bound 1 at a node of this weight where repairing now costs `repair`, with the weight of each group.
    pub(super) fn one_more(
        &self,
        problem: &Problem,
        done: u128,
        weights: &[f64],
        weight: f64,
        (repair, masses): (f64, &[f64]),
    ) -> f64 {
        let known = self.if_known(problem, done, weights);
        let mut paid = self.least * weight;
        if !self.revealing.is_empty() {
            let mut needed_by = [0.0; Problem::MOST_REPAIRS];
            for (group, mass) in problem.groups().iter().zip(masses) {
                for repair in each(group.bits) {
                    needed_by[repair] += mass;
                }
            }
            for revealing in &self.revealing {
                if masses[revealing.group] > 0.0 && revealing.bits & !done != 0 {
                    // Whatever shares a repair with the group may need what is done; all else pays in vain.
                    let mates: f64 = each(revealing.bits).map(|r| needed_by[r]).sum();
                    let wasted = problem.left_of(revealing.group, done) * (weight - mates);
                    paid = paid.min(wasted.max(0.0));
                }
            }
        }
        (known + paid).min(repair)
    }

    /// Whether a repair may show a measurement.
    pub(super) fn is_shown(&self, measurement: usize) -> bool {
        self.shown[measurement] != Shown::Never
    }

    /// The class of a group's candidates.
    pub(super) fn class_of(&self, problem: &Problem, group: usize) -> usize {
        self.class_of[problem.groups()[group].candidates[0]]
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

    /// Bound 2 without `known`, times the weight, at the best price.
    pub(super) fn priced(&mut self, at: &At<'_>, missing: &Missing, set_ups: &[f64]) -> f64 {
        let At {
            weights,
            weight,
            entropy,
            information,
            to_view,
        } = *at;
        let Self {
            prices,
            capacity,
            own_cost,
            shown,
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
        for price in prices.iter_mut() {
            // A set-up is entered at least as often as any measurement behind it is taken, so its cost may be
            // charged to them in any shares that add up to no more than the whole.
            left.clear();
            left.extend_from_slice(set_ups);
            let mut all = 0.0;
            price.sold.fill(0.0);
            for &m in order.iter() {
                let sold = &mut price.sold[m];
                let unpaid = if to_view.contains(&m) {
                    Unpaid::Everything
                } else {
                    shown[m].unpaid(price.charged, weights)
                };
                if unpaid == Unpaid::Everything {
                    *sold = price.beta * capacity[m] * ratio[m] * weight;
                    all += *sold;
                    continue;
                }
                let whole = price.beta * capacity[m];
                let mut room = whole - own_cost[m];
                for s in missing[m].indices() {
                    if room <= 0.0 {
                        break;
                    }
                    let share = left[s].min(room);
                    left[s] -= share;
                    room -= share;
                }
                *sold = room.max(0.0) * ratio[m] * weight;
                if let Unpaid::Some(unpaid) = unpaid {
                    *sold += (whole - room.max(0.0)).max(0.0) * unpaid;
                }
                all += *sold;
            }
            price.all = all;
            best = best.max(price.beta * entropy + price.offset * weight - all);
        }
        best
    }

    /// Bound 2 for what comes after a repair in vain, without `known`: of what it leaves, the weight and the
    /// entropy times the weight, and what it has shown. What is left tells no more than the whole did, so that
    /// nothing sells more bits than it did there, and the set-ups stand as they stood; what was shown is paid
    /// for. Call after [`Bounds::priced`].
    pub(super) fn after_repair(
        &self,
        weight: f64,
        entropy: f64,
        (shown, information): (&[usize], &[f64]),
    ) -> f64 {
        let given: f64 = shown.iter().map(|&m| information[m]).sum();
        let value = |price: &Price| {
            let shown: f64 = shown.iter().map(|&m| price.sold[m]).sum();
            let left = price.beta * (entropy - given) - (price.all - shown);
            left + price.offset * weight
        };
        self.prices.iter().map(value).fold(0.0, f64::max)
    }

    /// Bound 2 for what comes after each measurement, without `known`, the measurement's own cost and any
    /// set-ups, which the way to the measurement may already have paid. Call after [`Bounds::priced`].
    pub(super) fn after_each(&self, at: &At<'_>) -> Vec<f64> {
        let At {
            weights,
            weight,
            entropy,
            information,
            to_view,
        } = *at;
        let Self {
            prices,
            capacity,
            own_cost,
            shown,
            ratio,
            order,
            ..
        } = self;
        let mut best = vec![0.0_f64; information.len()];
        for price in prices {
            let sold = |m: usize| {
                let whole = price.beta * capacity[m];
                let own = own_cost[m].min(whole);
                let unpaid = if to_view.contains(&m) {
                    Unpaid::Everything
                } else {
                    shown[m].unpaid(price.charged, weights)
                };
                match unpaid {
                    Unpaid::Nothing => (whole - own) * ratio[m] * weight,
                    Unpaid::Some(unpaid) => (whole - own) * ratio[m] * weight + own * unpaid,
                    Unpaid::Everything => whole * ratio[m] * weight,
                }
            };
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
