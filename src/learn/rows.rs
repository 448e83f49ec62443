//! A cause's row of a measurement, from what that read where the cause was found.
//!
//! A reading with the weights `w` has the likelihood `Σ_o w_o P(o|c)` (docs/method.md, section 6), and the row the prior
//! `Dirichlet(W·p)`. docs/method.md, section 12.

use super::matrix::inverse;
use super::posterior::Posterior;

/// Where a share moves by less in a round, it is found.
const FOUND: f64 = 1e-14;
/// More rounds than the softest readings need.
const MOST_ROUNDS: usize = 5000;

/// So many readings that say the same.
#[derive(Clone, Debug)]
pub struct Alike {
    /// The weight of each outcome; only their ratios count.
    pub weights: Vec<f64>,
    /// How many readings.
    pub readings: f64,
}

/// A row after readings: prior `Dirichlet(W·p)`, with the stated row `p`.
///
/// Each reading counts for each outcome by the share `w_o p_o / Σ w p` that it has in the reading's likelihood (Dempster,
/// Laird and Rubin 1977), and the row is `(W·p_o + n_o)/(W + n)` with those counts. Where every reading is one
/// outcome this is the conjugate update, and the interval that of its beta; softer readings widen it by the
/// curvature of the likelihood. An outcome of 0 that no reading makes likeliest stays 0.
pub fn row_posterior(stated: &[f64], weight: f64, readings: &[Alike]) -> Vec<Posterior> {
    let all: f64 = readings.iter().map(|alike| alike.readings).sum();
    let total = weight + all;
    let mut row = start(stated, weight, readings);
    for _ in 0..MOST_ROUNDS {
        let mut counts: Vec<f64> = stated.iter().map(|p| weight * p).collect();
        for alike in readings {
            let likelihood = likelihood(alike, &row);
            for ((count, p), w) in counts.iter_mut().zip(&row).zip(&alike.weights) {
                if *p > 0.0 {
                    *count += alike.readings * w * p / likelihood;
                }
            }
        }
        let next: Vec<f64> = counts
            .iter()
            .zip(&row)
            .map(|(count, p)| if *p > 0.0 { count / total } else { 0.0 })
            .collect();
        let moved = next.iter().zip(&row).map(|(a, b)| (a - b).abs());
        let moved = moved.fold(0.0, f64::max);
        row = next;
        if moved < FOUND {
            break;
        }
    }
    let variances = variances(stated, weight, readings, &row);
    row.iter()
        .zip(variances)
        .map(|(p, variance)| {
            // The readings that it is worth: all, if each is one outcome.
            let worth = if variance > 0.0 {
                (p * (1.0 - p) / variance).min(total)
            } else {
                total
            };
            let posterior = Posterior::beta(worth * p, worth * (1.0 - p));
            Posterior {
                mean: *p,
                ..posterior
            }
        })
        .collect()
}

/// Where the search begins: every outcome that the row can have at all.
fn start(stated: &[f64], weight: f64, readings: &[Alike]) -> Vec<f64> {
    let mut row: Vec<f64> = stated.iter().map(|p| weight * p).collect();
    for alike in readings {
        let most = alike.weights.iter().copied().fold(0.0, f64::max);
        for (p, w) in row.iter_mut().zip(&alike.weights) {
            if *w >= most {
                *p += alike.readings;
            }
        }
    }
    let sum: f64 = row.iter().sum();
    row.iter().map(|p| p / sum).collect()
}

fn likelihood(alike: &Alike, row: &[f64]) -> f64 {
    let parts = alike.weights.iter().zip(row);
    parts.map(|(w, p)| w * p).sum()
}

/// The variance of each share by the curvature of the posterior, within the rows that add up to 1.
fn variances(stated: &[f64], weight: f64, readings: &[Alike], row: &[f64]) -> Vec<f64> {
    let open: Vec<usize> = (0..row.len()).filter(|o| row[*o] > 0.0).collect();
    let curvature: Vec<Vec<f64>> = open
        .iter()
        .map(|o| {
            open.iter()
                .map(|other| {
                    let of_prior = if o == other {
                        weight * stated[*o] / (row[*o] * row[*o])
                    } else {
                        0.0
                    };
                    let of_readings = readings.iter().map(|alike| {
                        let likelihood = likelihood(alike, row);
                        alike.readings * alike.weights[*o] * alike.weights[*other]
                            / (likelihood * likelihood)
                    });
                    of_prior + of_readings.sum::<f64>()
                })
                .collect()
        })
        .collect();
    let mut variances = vec![0.0; row.len()];
    let Some(inverse) = inverse(&curvature) else {
        return variances;
    };
    let sums: Vec<f64> = inverse.iter().map(|line| line.iter().sum()).collect();
    let sum: f64 = sums.iter().sum();
    for (place, outcome) in open.iter().enumerate() {
        variances[*outcome] = inverse[place][place] - sums[place] * sums[place] / sum;
    }
    variances
}
