//! From counts to figures: conjugate priors, and the quantiles of the beta distribution.
//!
//! Gelman et al., *Bayesian Data Analysis*, 3rd ed. 2013: the beta prior of a share, 2.1 and 2.4; the
//! Dirichlet prior of a row, 3.4. Written out in `docs/learning.md`.

use statrs::function::beta::beta_reg;

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
