//! The measurements in the order in which they set the candidates apart.

use super::point::Point;
use super::policy::Policy;
use super::problem::Problem;
use super::set_up::Way;
use crate::knowledge::defaults::LEAST_BITS;
use std::cmp::Ordering;

/// By what the list is ordered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum OrderBy {
    /// What the reading saves one step ahead, the most first.
    #[default]
    Saves,
    /// Minutes, the fewest first.
    Minutes,
}

/// One measurement that may be taken next.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranked {
    /// The measurement, by index.
    pub measurement: usize,
    /// Mutual information between the listed candidates and the outcome, in bits.
    pub bits: f64,
    /// `2^H`: how many equally likely candidates the present belief amounts to.
    pub in_play: f64,
    /// `in_play · (1 − 2^(−bits))`: how many of those the reading is expected to set apart.
    pub separates: f64,
    /// Its own minutes and the cheapest set-ups from what is in place.
    pub minutes: f64,
    /// The cost of `repair_now` less the expected cost after this reading and of the reading itself.
    pub saves: f64,
    /// The measurements that come first.
    pub before: Vec<usize>,
    /// The set-ups on the way, where nothing comes first.
    pub way: Way,
}

/// Entropy of the listed candidates, the unlisted cause left out, in bits; 0 where none is possible.
pub fn entropy(problem: &Problem, weights: &[f64]) -> f64 {
    let listed = &weights[..problem.candidates()];
    let total: f64 = listed.iter().sum();
    if total <= 0.0 {
        return 0.0;
    }
    listed.iter().map(|w| surprise(w / total)).sum::<f64>() + 0.0
}

/// `−p·log2 p`; 0 for 0.
fn surprise(p: f64) -> f64 {
    if p > 0.0 { -p * p.log2() } else { 0.0 }
}

/// Mutual information between the listed candidates and the outcome of a measurement, in bits.
pub fn bits(problem: &Problem, weights: &[f64], measurement: usize) -> f64 {
    let listed = &weights[..problem.candidates()];
    let total: f64 = listed.iter().sum();
    if total <= 0.0 {
        return 0.0;
    }
    let mut sum = 0.0;
    for outcome in 0..problem.outcomes(measurement) {
        let column = problem.column(measurement, outcome);
        let p: f64 = listed.iter().zip(column).map(|(w, x)| w * x).sum::<f64>() / total;
        if p > 0.0 {
            for (w, x) in listed.iter().zip(column) {
                if *w > 0.0 && *x > 0.0 {
                    sum += w / total * x * (x / p).log2();
                }
            }
        }
    }
    sum.max(0.0)
}

/// The measurements worth offering at a point: open, with a way to them, of at least [`LEAST_BITS`]. Ties go to the
/// smaller index.
pub fn ranking(problem: &Problem, at: &Point, by: OrderBy) -> Vec<Ranked> {
    let mut policy = Policy::new(problem);
    let now = policy.ending(at);
    let in_play = entropy(problem, &at.weights).exp2();
    let mut list: Vec<Ranked> = (0..problem.measurements())
        .filter(|&m| at.is_open(m))
        .filter_map(|m| {
            let bits = bits(problem, &at.weights, m);
            if bits < LEAST_BITS {
                return None;
            }
            let taking = policy.taking(at, m)?;
            let (before, saves) = policy.one_step(at, now, m)?;
            Some(Ranked {
                measurement: m,
                bits,
                in_play,
                separates: in_play * (1.0 - (-bits).exp2()),
                minutes: taking.minutes,
                saves,
                before,
                way: taking.way,
            })
        })
        .collect();
    list.sort_by(|a, b| order(a, b, by).then(a.measurement.cmp(&b.measurement)));
    list
}

fn order(a: &Ranked, b: &Ranked, by: OrderBy) -> Ordering {
    match by {
        OrderBy::Minutes => a.minutes.total_cmp(&b.minutes),
        OrderBy::Saves => b.saves.total_cmp(&a.saves),
    }
}
