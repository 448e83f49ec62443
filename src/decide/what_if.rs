//! What if a figure were different: forbidden measurements, other prices, other rates; and which figures the
//! first step hangs on.
//!
//! A measurement is forbidden by naming it among those `taken` when planning: both are no longer offered.

use super::policy::{Limits, Policy, Step, plan_after};
use super::problem::{Misshapen, Problem};
use super::set_up::InPlace;
use crate::units::{Minutes, Money};
use std::time::{Duration, Instant};

impl Problem {
    /// The same problem at another labour rate.
    ///
    /// # Errors
    ///
    /// [`Misshapen`] never, as the parts were checked before.
    pub fn at_labour_rate(&self, labour_rate: Money) -> Result<Self, Misshapen> {
        let mut parts = self.parts().clone();
        parts.labour_rate = labour_rate;
        Self::new(parts)
    }

    /// The same problem with another price for the parts of a repair; an unknown repair changes nothing.
    ///
    /// # Errors
    ///
    /// [`Misshapen`] never, as the parts were checked before.
    pub fn with_parts_price(&self, repair: usize, price: Money) -> Result<Self, Misshapen> {
        let mut parts = self.parts().clone();
        if let Some(work) = parts.repairs.get_mut(repair) {
            work.parts = price;
        }
        Self::new(parts)
    }

    fn with_figure(&self, figure: Figure, factor: f64) -> Result<Option<Self>, Misshapen> {
        let mut parts = self.parts().clone();
        let longer = |m: Minutes| Minutes::new(m.get() * factor).unwrap_or(m);
        match figure {
            Figure::Rate { .. } => return Ok(None),
            Figure::Price { repair } => {
                let work = &mut parts.repairs[repair];
                work.parts = Money::new(work.parts.get() * factor).unwrap_or(work.parts);
            }
            Figure::RepairMinutes { repair } => {
                let work = &mut parts.repairs[repair];
                work.minutes = longer(work.minutes);
            }
            Figure::MeasurementMinutes { measurement } => {
                let foreseen = &mut parts.measurements[measurement];
                foreseen.minutes = longer(foreseen.minutes);
            }
            Figure::Shows {
                candidate,
                measurement,
                outcome,
            } => {
                let foreseen = &mut parts.measurements[measurement];
                let start = candidate * foreseen.outcomes;
                let row = &mut foreseen.rows[start..start + foreseen.outcomes];
                scale_entry(row, outcome, factor);
            }
        }
        Self::new(parts).map(Some)
    }
}

/// One entry of a row times a factor, 1 at most; the others keep their proportions.
fn scale_entry(row: &mut [f64], outcome: usize, factor: f64) {
    let old = row[outcome];
    let others = 1.0 - old;
    let new = (old * factor).min(1.0);
    if others <= 0.0 {
        // Nothing to keep in proportion: what is taken away goes to the other outcomes evenly.
        let share = (1.0 - new) / f64::from(u32::try_from(row.len() - 1).unwrap_or(1)).max(1.0);
        row.fill(share);
    } else {
        for p in row.iter_mut() {
            *p *= (1.0 - new) / others;
        }
    }
    row[outcome] = new;
    let sum: f64 = row.iter().sum();
    for p in row.iter_mut() {
        *p /= sum;
    }
}

/// The belief if one candidate's rate were `factor` times as high: the listed ones then share what they had
/// before, for the unlisted cause takes a fixed share. An unknown candidate changes nothing.
#[must_use]
pub fn with_rate(problem: &Problem, weights: &[f64], candidate: usize, factor: f64) -> Vec<f64> {
    let listed = problem.candidates();
    let mut scaled = weights.to_vec();
    let before: f64 = scaled[..listed].iter().sum();
    if candidate < listed {
        scaled[candidate] *= factor;
    }
    let after: f64 = scaled[..listed].iter().sum();
    if after > 0.0 {
        for weight in &mut scaled[..listed] {
            *weight *= before / after;
        }
    }
    scaled
}

/// A figure somebody judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Figure {
    /// How common a candidate is.
    Rate {
        /// The candidate.
        candidate: usize,
    },
    /// How often a candidate gives an outcome.
    Shows {
        /// The candidate.
        candidate: usize,
        /// The measurement.
        measurement: usize,
        /// The outcome.
        outcome: usize,
    },
    /// The price of a repair's parts.
    Price {
        /// The repair.
        repair: usize,
    },
    /// The minutes of a repair.
    RepairMinutes {
        /// The repair.
        repair: usize,
    },
    /// The minutes of a measurement, set-ups apart.
    MeasurementMinutes {
        /// The measurement.
        measurement: usize,
    },
}

/// A figure that the first step hangs on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sensitive {
    /// The figure.
    pub figure: Figure,
    /// 2 where doubling it changes the first step, ½ where halving it does.
    pub factor: f64,
    /// The first step then.
    pub then: Step,
    /// Expected cost then.
    pub cost: f64,
    /// Expected cost then of the plan found with the same effort where the first step stays as it was.
    pub cost_of_staying: f64,
}

/// What was found, and how much of it was looked at.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sensitivity {
    /// The figures that matter, in the order in which they were given.
    pub found: Vec<Sensitive>,
    /// How many of the figures were tried both ways before the time was over.
    pub tried: usize,
    /// How many there were to try.
    pub of: usize,
}

/// What is asked of [`sensitivity`].
#[derive(Clone, Copy, Debug)]
pub struct Ask<'a> {
    /// The belief.
    pub weights: &'a [f64],
    /// The set-ups in place.
    pub in_place: InPlace,
    /// The measurements no longer offered.
    pub taken: &'a [usize],
    /// The figures to try, the most interesting first.
    pub figures: &'a [Figure],
    /// Nodes opened a trial: every trial gets the same effort.
    pub opened: u64,
    /// Time for all.
    pub time: Duration,
}

/// Which figures, doubled or halved, change the first step. Two first steps that tie within a thousandth of
/// the cost do not count: the search cannot tell them apart in so few nodes.
///
/// # Errors
///
/// [`Misshapen`] never, for figures of this problem.
pub fn sensitivity(problem: &Problem, ask: &Ask<'_>) -> Result<Sensitivity, Misshapen> {
    let start = Instant::now();
    let first = first_step(problem, ask, ask.weights, ask.taken).0;
    let mut result = Sensitivity {
        of: ask.figures.len(),
        ..Sensitivity::default()
    };
    for &figure in ask.figures {
        for factor in [2.0, 0.5] {
            if start.elapsed() >= ask.time {
                return Ok(result);
            }
            let weights = match figure {
                Figure::Rate { candidate } => with_rate(problem, ask.weights, candidate, factor),
                _ => ask.weights.to_vec(),
            };
            let changed = problem.with_figure(figure, factor)?;
            let changed = changed.as_ref().unwrap_or(problem);
            let (then, cost) = first_step(changed, ask, &weights, ask.taken);
            if then != first {
                let staying = cost_of_staying(changed, ask, &weights, first);
                if staying - cost > 1e-3 * cost {
                    result.found.push(Sensitive {
                        figure,
                        factor,
                        then,
                        cost,
                        cost_of_staying: staying,
                    });
                }
            }
        }
        result.tried += 1;
    }
    Ok(result)
}

fn first_step(problem: &Problem, ask: &Ask<'_>, weights: &[f64], taken: &[usize]) -> (Step, f64) {
    let policy = planned(problem, ask, weights, (ask.in_place, 0), taken);
    (policy.first, policy.expected_cost)
}

fn planned(
    problem: &Problem,
    ask: &Ask<'_>,
    weights: &[f64],
    from: (InPlace, u128),
    taken: &[usize],
) -> Policy {
    let limits = Limits {
        opened: ask.opened,
        time: ask.time,
        ..Limits::default()
    };
    plan_after(problem, weights, from, taken, &limits, &mut |_| {})
}

/// Expected cost where the first step is this one, whatever is best.
fn cost_of_staying(problem: &Problem, ask: &Ask<'_>, weights: &[f64], first: Step) -> f64 {
    let total: f64 = weights.iter().sum();
    let measurement = match first {
        Step::Measure(measurement) => measurement,
        Step::RepairOn(group) => return cost_of_going_on(problem, ask, weights, group),
        Step::RepairNow => return super::repair_now::repair_now(problem, weights).cost,
    };
    let needed = problem.needed(measurement);
    let Some(way) = problem.set_ups().cheapest(ask.in_place, needed) else {
        return f64::INFINITY;
    };
    let minutes = way.minutes + problem.measurement(measurement).minutes;
    let taken = [ask.taken, &[measurement]].concat();
    let mut cost = minutes * problem.per_minute();
    let mut after = vec![0.0; weights.len()];
    for outcome in 0..problem.outcomes(measurement) {
        let weight = problem.after(measurement, outcome, weights, &mut after);
        if weight > 0.0 {
            cost += weight / total
                * planned(problem, ask, &after, (way.leaves, 0), &taken).expected_cost;
        }
    }
    cost
}

/// Expected cost where the first step is to do the repairs of this group and to go on.
fn cost_of_going_on(problem: &Problem, ask: &Ask<'_>, weights: &[f64], group: usize) -> f64 {
    let total: f64 = weights.iter().sum();
    let done = problem.groups()[group].bits;
    let mut after = weights.to_vec();
    for cured in problem.cured_with(group, done) {
        for &candidate in &problem.groups()[cured].candidates {
            after[candidate] = 0.0;
        }
    }
    let left: f64 = after.iter().sum();
    let then = planned(problem, ask, &after, (ask.in_place, done), ask.taken);
    problem.groups()[group].cost + left / total * then.expected_cost
}
