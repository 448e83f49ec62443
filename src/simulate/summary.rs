//! What many jobs come to: shares, means and percentiles, weighed by how often each fault turns up.

use serde::Serialize;

use super::mechanic::Course;

/// A number over many jobs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Spread {
    /// The mean.
    pub mean: f64,
    /// Nine jobs in ten take no more.
    #[serde(rename = "p90")]
    pub ninth: f64,
}

/// What jobs come to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Summary {
    /// How many jobs.
    pub jobs: usize,
    /// Share of jobs in which the first repair is the right one. A repair that was done for what it shows, and did
    /// not cure, counts as a measurement.
    pub first: f64,
    /// The same, where a repair that was done for what it shows counts as a repair.
    #[serde(rename = "first_looks_counted")]
    pub first_of_all: f64,
    /// The standard error of `first`: how far another draw of vehicles would put it.
    pub first_error: f64,
    /// Share cured by the second repair at the latest.
    pub within_two: f64,
    /// Share never cured: handed on before the right repair.
    pub never: f64,
    /// Share handed on before any repair.
    pub handed_on_at_once: f64,
    /// Share of which it was said that nothing listed fits.
    pub nothing_fits: f64,
    /// Share of which it was said that the readings fit nothing well.
    pub fits_badly: f64,
    /// Share whose unit was taken out, or opened up, in vain.
    pub unit_out_in_vain: f64,
    /// Minutes of everything.
    pub minutes: Spread,
    /// Cost of everything.
    pub cost: Spread,
    /// Mean number of readings.
    pub readings: f64,
}

/// The jobs of one fault, and how probable the fault is.
pub(super) struct Stratum<'c> {
    pub(super) probability: f64,
    pub(super) courses: &'c [Course],
}

/// 1 where it is so, else 0: a share as a mean.
pub(super) fn share(so: bool) -> f64 {
    f64::from(u8::from(so))
}

impl Summary {
    /// Sums up strata: each fault counts by its probability, however many of its vehicles were drawn.
    /// Shares are of all the probability handed in. The standard error is that of a stratified sample
    /// (Cochran, Sampling Techniques, 5.3; from memory).
    pub(super) fn of(strata: &[Stratum<'_>]) -> Self {
        let drawn = strata.iter().filter(|stratum| !stratum.courses.is_empty());
        let total: f64 = drawn.clone().map(|stratum| stratum.probability).sum();
        if total <= 0.0 {
            return Self::default();
        }
        // `Σ w_H · mean_H / Σ w_H`.
        let mean = |of: &dyn Fn(&Course) -> f64| -> f64 {
            drawn
                .clone()
                .map(|stratum| {
                    let (mean, _) = moments(stratum.courses.iter().map(of));
                    stratum.probability / total * mean
                })
                .sum()
        };
        let within = |most: usize| {
            mean(&|course| share(course.cured_by().is_some_and(|place| place <= most)))
        };
        let spread = |of: &dyn Fn(&Course) -> f64| Spread {
            mean: mean(of),
            ninth: ninth(strata, of),
        };
        Self {
            jobs: strata.iter().map(|stratum| stratum.courses.len()).sum(),
            first: within(1),
            first_of_all: mean(&|course| share(course.cured_by_any() == Some(1))),
            first_error: standard_error(strata, total, &|course| {
                share(course.cured_by() == Some(1))
            }),
            within_two: within(2),
            never: 1.0 - within(usize::MAX),
            handed_on_at_once: mean(&|course| share(course.handed_on && course.tried.is_empty())),
            nothing_fits: mean(&|course| share(course.doubt.nothing_fits)),
            fits_badly: mean(&|course| share(course.doubt.fits_badly)),
            unit_out_in_vain: mean(&|course| share(course.unit_out_in_vain)),
            minutes: spread(&|course| course.minutes),
            cost: spread(&|course| course.cost),
            readings: mean(&|course| f64::from(course.readings)),
        }
    }
}

/// `√(Σ (w_H/Σw)² s²_H / n_H)`.
fn standard_error(strata: &[Stratum<'_>], total: f64, of: &dyn Fn(&Course) -> f64) -> f64 {
    strata
        .iter()
        .filter(|stratum| stratum.courses.len() > 1)
        .map(|stratum| {
            let (_, of_mean) = moments(stratum.courses.iter().map(of));
            (stratum.probability / total).powi(2) * of_mean
        })
        .sum::<f64>()
        .sqrt()
}

/// The mean, and the variance of the mean: `s²/n`.
pub(super) fn moments(numbers: impl Iterator<Item = f64> + Clone) -> (f64, f64) {
    #[allow(
        clippy::cast_precision_loss,
        reason = "thousands of vehicles, not 2^53"
    )]
    let count = numbers.clone().count() as f64;
    if count < 1.0 {
        return (0.0, 0.0);
    }
    let mean = numbers.clone().sum::<f64>() / count;
    let squares: f64 = numbers.map(|number| (number - mean).powi(2)).sum();
    let variance = if count > 1.0 {
        squares / (count - 1.0)
    } else {
        0.0
    };
    (mean, variance / count)
}

/// The least number that 90 % of the probability does not exceed.
fn ninth(strata: &[Stratum<'_>], of: &dyn Fn(&Course) -> f64) -> f64 {
    let mut numbers: Vec<(f64, f64)> = strata
        .iter()
        .flat_map(|stratum| {
            #[allow(
                clippy::cast_precision_loss,
                reason = "thousands of vehicles, not 2^53"
            )]
            let each = stratum.probability / stratum.courses.len() as f64;
            stratum.courses.iter().map(move |course| (of(course), each))
        })
        .collect();
    numbers.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = numbers.iter().map(|(_, weight)| weight).sum();
    let mut reached = 0.0;
    for (number, weight) in &numbers {
        reached += weight;
        // A hair less, so that rounding does not push the percentile one vehicle on.
        if reached >= 0.9 * total * (1.0 - 1e-12) {
            return *number;
        }
    }
    0.0
}
