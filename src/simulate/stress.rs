//! Worlds in which the knowledge's figures are wrong.

use std::fmt;

use super::chance::Chance;
use crate::knowledge::Family;
use crate::units::{Probability, Rate};

/// In which way the vehicles differ from what the knowledge says of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stress {
    /// Every cause is so many times as common or as rare as stated, one or the other by chance.
    Rates(f64),
    /// Every stated figure of `shows` is this much higher or lower, one or the other by chance.
    Shows(f64),
    /// This share of readings is any other outcome than the vehicle's.
    Misread(f64),
}

impl fmt::Display for Stress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Rates(factor) => write!(f, "rates off by a factor of {factor}"),
            Self::Shows(by) => write!(f, "`shows` figures off by {by}"),
            Self::Misread(share) => write!(f, "one reading in {:.0} wrong", 1.0 / share),
        }
    }
}

impl Stress {
    /// What a study holds the knowledge against.
    pub const ALL: [Self; 4] = [
        Self::Rates(2.0),
        Self::Rates(3.0),
        Self::Shows(0.2),
        Self::Misread(0.05),
    ];

    /// The share of readings that are misread.
    pub(super) const fn misread(self) -> f64 {
        match self {
            Self::Misread(share) => share,
            Self::Rates(_) | Self::Shows(_) => 0.0,
        }
    }

    /// The family as the world really is.
    pub(super) fn on(self, family: &Family, chance: Chance) -> Family {
        let mut real = family.clone();
        match self {
            Self::Rates(factor) => {
                for cause in &mut real.causes {
                    let up = chance.uniform(&["rate", &cause.name]) < 0.5;
                    let rate = cause.rate.get() * if up { factor } else { 1.0 / factor };
                    cause.rate = Rate::per_thousand(rate).unwrap_or(cause.rate);
                }
            }
            Self::Shows(by) => {
                let names: Vec<String> = family
                    .causes
                    .iter()
                    .map(|cause| cause.name.clone())
                    .collect();
                for measurement in &mut real.measurements {
                    for (cause, row) in &mut measurement.shows {
                        let mut sum = 0.0;
                        for (outcome, figure) in &mut row.0 {
                            let words = [
                                "shows",
                                &measurement.name,
                                &names[cause.index()],
                                &measurement.outcomes[outcome.index()].name,
                            ];
                            let sign = if chance.uniform(&words) < 0.5 {
                                1.0
                            } else {
                                -1.0
                            };
                            *figure = Probability::nearest(figure.get() + sign * by);
                            sum += figure.get();
                        }
                        if sum > 1.0 {
                            for figure in row.0.values_mut() {
                                *figure = Probability::nearest(figure.get() / sum);
                            }
                        }
                    }
                }
            }
            Self::Misread(_) => {}
        }
        real
    }
}
