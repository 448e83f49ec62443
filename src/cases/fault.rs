//! What can be wrong with a case.

use std::fmt;

use serde::Serialize;

use super::{Believed, Proposal};
use crate::text::figures::tenths_of_percent;

/// What is not as a case expects.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fault {
    /// The vehicle of the case is in no sheet.
    NoVehicle,
    /// No causes explain its symptoms together.
    Unexplained(String),
    /// The knowledge is larger than a plan can weigh.
    TooLarge(String),
    /// A reading, by its place, that is not understood at once.
    NotUnderstood {
        /// Which of its readings.
        reading: usize,
        /// Why.
        words: String,
    },
    /// Other repairs lead.
    OtherRepairs(Believed),
    /// No listed cause fits, though one is expected.
    NothingFits,
    /// Another cause is believed as much as one of those that should look alike.
    OtherCause(Believed),
    /// One of the causes that should look alike has fallen far behind the first of them.
    ToldApart(Believed),
    /// A listed cause fits, though none is expected to.
    Fits(Believed),
    /// Another first step is proposed.
    OtherFirst(Proposal),
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoVehicle => f.write_str("its vehicle is in no sheet"),
            Self::Unexplained(words) | Self::TooLarge(words) => f.write_str(words),
            Self::NotUnderstood { reading, words } => {
                write!(f, "reading {} is not understood: {words}", reading + 1)
            }
            Self::OtherRepairs(leads) => write!(f, "{leads} leads"),
            Self::NothingFits => f.write_str("it comes out that nothing listed fits"),
            Self::OtherCause(leads) => write!(f, "{leads} stands among the first causes"),
            Self::ToldApart(behind) => {
                write!(f, "{behind} has fallen behind, so it does not look alike")
            }
            Self::Fits(leads) => write!(f, "{leads} leads, so a listed cause fits"),
            Self::OtherFirst(Proposal::Measure(other)) => {
                write!(f, "the first proposal is {other}")
            }
            Self::OtherFirst(Proposal::Repair(repairs)) => {
                write!(f, "the first proposal is to {}", repairs.join(" + "))
            }
            Self::OtherFirst(Proposal::Escalate) => {
                f.write_str("the first proposal is to hand the job on")
            }
        }
    }
}

impl fmt::Display for Believed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let chance = tenths_of_percent(self.probability);
        write!(f, "{} ({chance})", self.names.join(" + "))
    }
}

impl fmt::Display for super::Expected {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Repairs(repairs) => f.write_str(&repairs.join(" + ")),
            Self::Ambiguity(causes) => write!(f, "{}, not told apart", causes.join(" or ")),
            Self::Unlisted => f.write_str("no listed cause"),
        }
    }
}
