//! Time spent and what it costs.

use std::iter::Sum;
use std::ops::Add;

/// Working time in minutes, never negative.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Minutes(f64);

impl Minutes {
    /// No time at all.
    pub const ZERO: Self = Self(0.0);

    /// Minutes from their number; `None` where it is negative or not finite.
    #[must_use]
    pub fn new(number: f64) -> Option<Self> {
        (number.is_finite() && number >= 0.0).then_some(Self(number + 0.0))
    }

    /// The number of minutes.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }

    /// What the time costs at a labour rate per hour: `minutes · rate / 60`.
    #[must_use]
    pub fn at(self, labour_rate: Money) -> Money {
        Money(self.0 * labour_rate.0 / 60.0)
    }
}

impl Add for Minutes {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sum for Minutes {
    fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
        parts.fold(Self::ZERO, Add::add)
    }
}

/// A sum of money in the shop's own currency, never negative.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Money(f64);

impl Money {
    /// Nothing.
    pub const ZERO: Self = Self(0.0);

    /// Money from its number; `None` where it is negative or not finite.
    #[must_use]
    pub fn new(number: f64) -> Option<Self> {
        (number.is_finite() && number >= 0.0).then_some(Self(number + 0.0))
    }

    /// The number.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
        parts.fold(Self::ZERO, Add::add)
    }
}
