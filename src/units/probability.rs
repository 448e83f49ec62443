//! Probabilities and rates.

use std::fmt;

use serde::Serialize;

/// A probability: finite, 0 to 1.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd, Serialize)]
pub struct Probability(f64);

/// The number was not a probability: it is kept for the message.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("{0} is no probability: it must lie between 0 and 1")]
pub struct NotAProbability(pub f64);

impl Probability {
    /// Never.
    pub const ZERO: Self = Self(0.0);
    /// Always.
    pub const ONE: Self = Self(1.0);

    /// A probability from its number.
    ///
    /// # Errors
    ///
    /// [`NotAProbability`] where the number is not finite or not within 0 to 1.
    pub fn new(number: f64) -> Result<Self, NotAProbability> {
        if (0.0..=1.0).contains(&number) {
            // Adding zero turns -0.0 into 0.0, so that equal values print alike.
            Ok(Self(number + 0.0))
        } else {
            Err(NotAProbability(number))
        }
    }

    /// The probability nearest to a computed number: rounding may have left it just outside 0 to 1.
    pub fn nearest(number: f64) -> Self {
        Self(number.clamp(0.0, 1.0) + 0.0)
    }

    /// The number, 0 to 1.
    pub const fn get(self) -> f64 {
        self.0
    }

    /// `1 − p`.
    pub fn complement(self) -> Self {
        Self(1.0 - self.0)
    }
}

impl fmt::Display for Probability {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// In how many of 1,000 jobs a cause is present: above 0, below 1,000.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize)]
pub struct Rate(f64);

/// The number was not a rate: it is kept for the message.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("{0} is no rate: it counts jobs in 1,000 and must lie above 0 and below 1,000")]
pub struct NotARate(pub f64);

impl Rate {
    /// A rate from its number of jobs in 1,000.
    ///
    /// # Errors
    ///
    /// [`NotARate`] where the number is not finite or not between 0 and 1,000 (both excluded).
    pub fn per_thousand(number: f64) -> Result<Self, NotARate> {
        if number > 0.0 && number < 1000.0 {
            Ok(Self(number))
        } else {
            Err(NotARate(number))
        }
    }

    /// Jobs in 1,000.
    pub const fn get(self) -> f64 {
        self.0
    }

    /// The odds `r/(1 − r)` of the cause, with `r = rate/1000`. docs/method.md, section 4.
    pub fn odds(self) -> f64 {
        let r = self.0 / 1000.0;
        r / (1.0 - r)
    }
}
