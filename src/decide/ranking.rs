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

/// Below this share of the entropies that they are the difference of, bits are added up term by term,
const CANCELS: f64 = 1e-6;
/// and below this one the difference is rounding.
const ROUNDING: f64 = 1e-13;

/// Mutual information between the listed candidates and the outcome of a measurement, in bits:
/// `H(O) − Σ_H P(H)·H(O|H)` (Cover and Thomas, Elements of Information Theory, 2.4).
pub fn bits(problem: &Problem, weights: &[f64], measurement: usize) -> f64 {
    let listed = &weights[..problem.candidates()];
    let total = side_by_side(listed, listed, |a, _| a);
    if total <= 0.0 {
        return 0.0;
    }
    let of_outcome = (0..problem.outcomes(measurement))
        .map(|outcome| surprise(dot(listed, problem.column(measurement, outcome)) / total));
    let foreseen: f64 = of_outcome.sum();
    let bits = foreseen - dot(listed, problem.row_entropies(measurement)) / total;
    if bits > foreseen * CANCELS {
        bits
    } else if bits < foreseen * ROUNDING {
        0.0
    } else {
        bits_by_terms(problem, listed, total, measurement)
    }
}

/// The sum of `of` over two lists, as far as the shorter one goes: eight sums side by side, so that the processor need not wait
/// for each addition.
fn side_by_side(a: &[f64], b: &[f64], of: impl Fn(f64, f64) -> f64) -> f64 {
    let length = a.len().min(b.len());
    let ((a, a_rest), (b, b_rest)) = (a[..length].as_chunks::<8>(), b[..length].as_chunks::<8>());
    let mut sums = [0.0; 8];
    for (a, b) in a.iter().zip(b) {
        for (sum, (a, b)) in sums.iter_mut().zip(a.iter().zip(b)) {
            *sum += of(*a, *b);
        }
    }
    let rest: f64 = a_rest.iter().zip(b_rest).map(|(a, b)| of(*a, *b)).sum();
    let fours: [f64; 4] = std::array::from_fn(|place| sums[place] + sums[place + 4]);
    (fours[0] + fours[2]) + (fours[1] + fours[3]) + rest
}

/// `Σ a·b`, as far as the shorter of the two goes.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    side_by_side(a, b, |a, b| a * b)
}

/// `Σ P(H, o)·log2 (P(o|H)/P(o))`, where the difference of two entropies would lose digits.
fn bits_by_terms(problem: &Problem, listed: &[f64], total: f64, measurement: usize) -> f64 {
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
pub fn ranking(policy: &mut Policy<'_>, at: &Point, by: OrderBy) -> Vec<Ranked> {
    let problem = policy.problem();
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
