//! The priors' weights, and figures with their intervals.

use statrs::function::beta::beta_reg;
use statrs::function::gamma::gamma_lr;

use super::odds::Odds;

/// How many jobs a stated rate is worth. With 500, a cause of 14 in 1,000 is as sure as seven findings
/// make it, which leaves it open to a factor of about two either way.
pub const PRIOR_JOBS: f64 = 500.0;
/// How many readings a stated row is worth. With 15, a stated 0.8 has a standard deviation of 0.1:
/// `√(0.8 · 0.2 / 16)`.
pub const PRIOR_READINGS: f64 = 15.0;
/// The share of the posterior inside an interval; the rest is halved to both sides.
const LEVEL: f64 = 0.95;

/// The most that stated figures may weigh: as much as more jobs than any shop closes.
const MOST: f64 = 1e9;

/// How much the stated figures weigh against the counts: both above 0, at most 10⁹.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prior {
    jobs: f64,
    readings: f64,
}

impl Prior {
    /// So many jobs for a rate, so many readings for a row; `None` where one is not above 0 or above 10⁹.
    pub fn new(jobs: f64, readings: f64) -> Option<Self> {
        let fits = |weight: f64| weight > 0.0 && weight <= MOST;
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

/// A figure after the counts: its mean and its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Posterior {
    /// The mean.
    pub mean: f64,
    /// The interval.
    pub interval: [f64; 2],
}

impl Posterior {
    /// A share with the density `Beta(a, b)`.
    pub(super) fn beta(a: f64, b: f64) -> Self {
        let ends = [(1.0 - LEVEL) / 2.0, f64::midpoint(1.0, LEVEL)];
        Self {
            mean: a / (a + b),
            interval: ends.map(|p| beta_quantile(a, b, p)),
        }
    }

    /// A rate in 1,000 jobs, from odds with a gamma density.
    pub(super) fn rate(odds: Odds) -> Self {
        let ends = [(1.0 - LEVEL) / 2.0, f64::midpoint(1.0, LEVEL)];
        let rate = |odds: f64| 1000.0 * odds / (1.0 + odds);
        let Odds { mean, shape } = odds;
        Self {
            mean: rate(mean),
            interval: ends.map(|p| rate(gamma_quantile(shape, p) * mean / shape)),
        }
    }
}

/// The quantile of a beta distribution: the `x` with `I_x(a, b) = p`; 0 where `a` is 0, 1 where `b` is.
/// Abramowitz and Stegun, 26.5.
pub fn beta_quantile(a: f64, b: f64, p: f64) -> f64 {
    if a <= 0.0 {
        0.0
    } else if b <= 0.0 {
        1.0
    } else {
        reached(|x| beta_reg(a, b, x) >= p, 1.0)
    }
}

/// The quantile of a gamma distribution of scale 1: the `x` with `P(shape, x) = p`. Abramowitz and Stegun, 6.5.
pub fn gamma_quantile(shape: f64, p: f64) -> f64 {
    let mut most = 1.0;
    while gamma_lr(shape, most) < p {
        most *= 2.0;
    }
    reached(|x| gamma_lr(shape, x) >= p, most)
}

/// The least number from 0 to `most` at which this holds, to the last bits.
///
/// By halving on the distribution functions of `statrs`: its own inverse of the beta (AS 109) starts no lower than
/// 0.0001 and may not come to rest for the small `a` of a rare cause.
fn reached(holds: impl Fn(f64) -> bool, most: f64) -> f64 {
    let (mut low, mut high) = (0.0_f64, most);
    // The halves are exhausted long before, save next to 0.
    for _ in 0..1100 {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high || high - low < 1e-17 {
            break;
        }
        if holds(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    f64::midpoint(low, high)
}
