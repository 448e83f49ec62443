//! From counts to figures: conjugate priors, and the quantiles of the beta distribution.
//!
//! Gelman et al., *Bayesian Data Analysis*, 3rd ed. 2013: the beta prior of a share, 2.1 and 2.4; the
//! Dirichlet prior of a row, 3.4. Written out in `docs/learning.md`.

use statrs::function::beta::beta_reg;

use super::tally::{Dates, Tally};
use crate::infer::row_under;
use crate::knowledge::{CauseId, Family, MeasurementId, OutcomeId};
use crate::units::Rate;

/// How many jobs a stated rate is worth. With 500, a cause of 14 in 1,000 is as sure as seven findings
/// make it, which leaves it open to a factor of about two either way.
pub const PRIOR_JOBS: f64 = 500.0;
/// How many readings a stated row is worth. With 15, a stated 0.8 has a standard deviation of 0.1:
/// `√(0.8 · 0.2 / 16)`.
pub const PRIOR_READINGS: f64 = 15.0;
/// The share of the posterior inside an interval; the rest is halved to both sides.
pub const LEVEL: f64 = 0.95;

/// How much the stated figures weigh against the counts: both above 0, finite.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prior {
    jobs: f64,
    readings: f64,
}

impl Prior {
    /// So many jobs for a rate, so many readings for a row; `None` where one is not above 0 or not
    /// finite.
    pub fn new(jobs: f64, readings: f64) -> Option<Self> {
        let fits = |weight: f64| weight > 0.0 && weight.is_finite();
        (fits(jobs) && fits(readings)).then_some(Self { jobs, readings })
    }

    /// The jobs that a stated rate is worth.
    pub const fn jobs(self) -> f64 {
        self.jobs
    }

    /// The readings that a stated row is worth.
    pub const fn readings(self) -> f64 {
        self.readings
    }
}

impl Default for Prior {
    fn default() -> Self {
        Self {
            jobs: PRIOR_JOBS,
            readings: PRIOR_READINGS,
        }
    }
}

/// A share after the counts: its mean and its [`LEVEL`] interval, each 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Posterior {
    /// The mean.
    pub mean: f64,
    /// The interval.
    pub interval: [f64; 2],
}

/// A figure of the knowledge that the counts moved, in the figure's own unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// What the knowledge says.
    pub was: f64,
    /// What it says with the counts taken in: the posterior mean.
    pub now: f64,
    /// The [`LEVEL`] interval of the posterior.
    pub interval: [f64; 2],
    /// In how many of `jobs` it was seen.
    pub seen: u64,
    /// The jobs it rests on.
    pub jobs: u64,
    /// Of a rate: in how many further jobs it was this cause or another of the same repair, and nobody
    /// said which. Each counts for a share, by the rates of these causes.
    pub unstated: u64,
    /// When they were closed.
    pub dates: Dates,
}

/// How often a cause gives an outcome, moved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shown {
    /// The measurement.
    pub measurement: MeasurementId,
    /// The outcome, never the normal one: it takes what the others leave.
    pub outcome: OutcomeId,
    /// The cause.
    pub cause: CauseId,
    /// The probability.
    pub figure: Figure,
}

/// What was learned: every figure that moved.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Learned {
    /// The weight of the stated figures.
    pub prior: Prior,
    /// Rates, of 1,000 jobs, in the order of the family's causes.
    pub rates: Vec<(CauseId, Figure)>,
    /// Rows, in the order of measurements, outcomes and causes.
    pub shows: Vec<Shown>,
}

/// Takes the counts in.
///
/// Of no job nothing is learned. A row moves where the measurement names the cause and was taken in
/// a job where that cause alone was found.
pub fn learn(family: &Family, tally: &Tally, prior: Prior) -> Learned {
    let mut learned = Learned {
        prior,
        ..Learned::default()
    };
    let Some(dates) = tally.dates() else {
        return learned;
    };
    for (place, cause) in family.causes.iter().enumerate() {
        let id = CauseId::at(place);
        let (seen, jobs) = (tally.with_cause(id), tally.jobs());
        let (unstated, shared) = shared_out(family, tally, prior, id);
        #[allow(clippy::cast_precision_loss, reason = "no shop closes 2^53 jobs")]
        let found = seen as f64 + shared;
        let Posterior { mean, interval } = rate_posterior(cause.rate, prior.jobs, found, jobs);
        let figure = Figure {
            was: cause.rate.get(),
            now: 1000.0 * mean,
            interval: interval.map(|end| 1000.0 * end),
            seen,
            jobs,
            unstated,
            dates,
        };
        learned.rates.push((id, figure));
    }
    for (place, measurement) in family.measurements.iter().enumerate() {
        let id = MeasurementId::at(place);
        for cause in measurement.shows.keys() {
            let Some(outcomes) = tally.outcomes(id, *cause) else {
                continue;
            };
            let stated = row_under(measurement, &[*cause]);
            let row = row_posterior(&stated, prior.readings, &outcomes.jobs);
            for (outcome, posterior) in row.into_iter().enumerate() {
                let seen = outcomes.jobs[outcome];
                // A share of 0 that was not seen stays 0: there is nothing to move.
                if outcome == measurement.normal.index() || (stated[outcome] <= 0.0 && seen == 0) {
                    continue;
                }
                learned.shows.push(Shown {
                    measurement: id,
                    outcome: OutcomeId::at(outcome),
                    cause: *cause,
                    figure: Figure {
                        was: stated[outcome],
                        now: posterior.mean,
                        interval: posterior.interval,
                        seen,
                        jobs: outcomes.taken(),
                        unstated: 0,
                        dates: outcomes.dates,
                    },
                });
            }
        }
    }
    learned
        .shows
        .sort_by_key(|shown| (shown.measurement, shown.outcome, shown.cause));
    learned
}

/// The jobs in which it was a cause or another and nobody said which, and what they count for it: of
/// each the share `(W·r + k) / Σ(W·r + k)` over the causes that it may have been, with `r` the stated
/// rate and `k` the jobs where the cause was stated.
fn shared_out(family: &Family, tally: &Tally, prior: Prior, id: CauseId) -> (u64, f64) {
    #[allow(clippy::cast_precision_loss, reason = "no shop closes 2^53 jobs")]
    let weight = |id: CauseId| {
        prior.jobs * family.cause(id).rate.get() / 1000.0 + tally.with_cause(id) as f64
    };
    let (mut jobs, mut shared) = (0, 0.0);
    for (among, count) in tally.unstated() {
        if among.contains(&id) {
            let all: f64 = among.iter().map(|other| weight(*other)).sum();
            jobs += count;
            #[allow(clippy::cast_precision_loss, reason = "no shop closes 2^53 jobs")]
            let count = count as f64;
            shared += count * weight(id) / all;
        }
    }
    (jobs, shared)
}

/// The share of jobs with a cause: prior `Beta(W·r, W·(1 − r))` with `r = rate/1000`, then found in
/// `found` of `jobs`, shares of a job among them; the mean is `(W·r + found) / (W + jobs)`.
#[allow(clippy::cast_precision_loss, reason = "no shop closes 2^53 jobs")]
pub fn rate_posterior(rate: Rate, weight: f64, found: f64, jobs: u64) -> Posterior {
    let r = rate.get() / 1000.0;
    let without = (jobs as f64 - found).max(0.0);
    share(weight * r, weight * (1.0 - r), found, without)
}

/// A cause's row over the outcomes: prior `Dirichlet(W·p_o)`, then `n_o` jobs each; the mean is
/// `(W·p_o + n_o) / (W + n)`. The marginal of an outcome is `Beta(W·p_o + n_o, W·(1 − p_o) + n − n_o)`.
#[allow(clippy::cast_precision_loss, reason = "no shop closes 2^53 jobs")]
pub fn row_posterior(stated: &[f64], weight: f64, counts: &[u64]) -> Vec<Posterior> {
    let all: u64 = counts.iter().sum();
    stated
        .iter()
        .zip(counts)
        .map(|(p, seen)| {
            let (seen, others) = (*seen as f64, (all - seen) as f64);
            share(weight * p, weight * (1.0 - p), seen, others)
        })
        .collect()
}

fn share(a: f64, b: f64, seen: f64, not_seen: f64) -> Posterior {
    let (a, b) = (a + seen, b + not_seen);
    let tail = (1.0 - LEVEL) / 2.0;
    Posterior {
        mean: a / (a + b),
        interval: [beta_quantile(a, b, tail), beta_quantile(a, b, 1.0 - tail)],
    }
}

/// The quantile of a beta distribution: the `x` with `I_x(a, b) = p`; 0 where `a` is 0, 1 where `b` is.
///
/// By halving on the distribution function of `statrs`: its own inverse (AS 109) starts no lower than
/// 0.0001 and may not come to rest for the small `a` of a rare cause. To 1e-15 or the last bits of `x`.
/// Abramowitz and Stegun, 26.5.
pub fn beta_quantile(a: f64, b: f64, p: f64) -> f64 {
    if a <= 0.0 {
        return 0.0;
    }
    if b <= 0.0 {
        return 1.0;
    }
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    // The halves of 0 to 1 are exhausted long before, save next to 0.
    for _ in 0..1100 {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high || high - low < 1e-17 {
            break;
        }
        if beta_reg(a, b, middle) < p {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}
