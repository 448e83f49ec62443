//! Time spent and what it costs.

use std::iter::Sum;
use std::ops::Add;

use serde::Serialize;

/// Amounts that add up and are never negative.
macro_rules! amounts {
    ($(#[doc = $doc:literal] $name:ident;)+) => {$(
        #[doc = $doc]
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd, Serialize)]
        pub struct $name(f64);

        impl $name {
            /// Nothing.
            pub const ZERO: Self = Self(0.0);

            /// The amount of a number; `None` where it is negative or not finite.
            pub fn new(number: f64) -> Option<Self> {
                (number.is_finite() && number >= 0.0).then_some(Self(number + 0.0))
            }

            /// The number.
            pub const fn get(self) -> f64 {
                self.0
            }
        }

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
                parts.fold(Self::ZERO, Add::add)
            }
        }
    )+};
}

amounts! {
    #[doc = "Working time in minutes, never negative."]
    Minutes;
    #[doc = "A sum of money in the shop's own currency, never negative."]
    Money;
}

impl Minutes {
    /// What the time costs at a labour rate per hour: `minutes · rate / 60`.
    pub fn at(self, labour_rate: Money) -> Money {
        Money(self.0 * labour_rate.0 / 60.0)
    }
}
