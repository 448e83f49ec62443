//! A worked case as it came out, in names.

use std::fmt;

use serde::Serialize;

use crate::knowledge::{Expect, Family};
use crate::text::counted;
use crate::text::figures::tenths_of_percent;

/// A worked case as it came out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CaseRun {
    /// The family, by its name.
    pub family: String,
    /// The file of the case, by its path in the folder.
    pub file: String,
    /// What the case is about.
    pub title: String,
    /// The answer that it expects.
    pub expected: Expected,
    /// The first proposal that it expects, where it states one.
    pub expected_first: Option<String>,
    /// The answer after its last reading; `None` where it could not be played so far.
    pub answer: Option<Answer>,
    /// The first proposal, where the case states one.
    pub first: Option<Proposal>,
    /// The belief before any reading, then after each.
    pub chain: Vec<Stage>,
    /// The stage whose reading took most from the expected answer, by its odds; `None` where none did.
    pub lost_most: Option<usize>,
    /// What is not as expected.
    pub faults: Vec<Fault>,
}

impl CaseRun {
    /// Whether the case comes out as expected.
    pub fn passes(&self) -> bool {
        self.faults.is_empty()
    }
}

/// The answer that a case expects.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Expected {
    /// These repairs together lead.
    Repairs(Vec<String>),
    /// These causes lead, and nothing tells which.
    Ambiguity(Vec<String>),
    /// No listed cause is believed as much as the unlisted one.
    Unlisted,
    /// What is stated of single causes.
    Causes(Vec<String>),
}

impl Expected {
    /// The answer in names.
    pub(crate) fn of(family: &Family, expect: &Expect) -> Self {
        match expect {
            Expect::Repairs(repairs) => Self::Repairs(family.names_of(repairs)),
            Expect::Ambiguity(causes) => Self::Ambiguity(family.names_of(causes)),
            Expect::Unlisted => Self::Unlisted,
            Expect::Causes(claims) => {
                let claims = claims.iter();
                let claims =
                    claims.map(|(claim, id)| format!("{} {claim}", family.cause(*id).name));
                Self::Causes(claims.collect())
            }
        }
    }
}

/// The beliefs after the last reading.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answer {
    /// The repairs that would cure the vehicle, the most probable first.
    pub repairs: Vec<Believed>,
    /// The causes, the most probable first.
    pub causes: Vec<Believed>,
    /// The belief in the unlisted cause.
    pub unlisted: f64,
    /// Whether no listed candidate is believed as much as the unlisted cause.
    pub nothing_fits: bool,
}

/// Something believed: a set of repairs done together, or one cause.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Believed {
    /// Its names.
    pub names: Vec<String>,
    /// How probable it is.
    pub probability: f64,
}

/// What is proposed before any reading.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Proposal {
    /// Take this measurement.
    Measure(String),
    /// Repair at once, these first.
    Repair(Vec<String>),
    /// Hand the job on.
    Escalate,
}

/// A reading, and the belief after it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stage {
    /// What was read; `None` before any reading.
    pub reading: Option<Read>,
    /// The leading repairs, the most probable first.
    pub leading: Vec<Believed>,
    /// The belief in the expected answer.
    pub expected: f64,
    /// The belief in the unlisted cause.
    pub unlisted: f64,
}

/// A reading of a case.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Read {
    /// What was measured.
    pub measurement: String,
    /// What was typed.
    pub typed: String,
    /// The outcome that it most probably means.
    pub outcome: String,
}

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
    /// What is stated of a cause is not so.
    NotSo {
        /// What is stated.
        claim: String,
        /// Of which cause.
        cause: Believed,
    },
    /// A listed cause fits, though none is expected to.
    Fits(Believed),
    /// Another first step is proposed.
    OtherFirst(Proposal),
    /// A repair is advised before all was read that the case wants read before it.
    TooSoon {
        /// The repair.
        repair: String,
        /// What was not read yet.
        unread: Vec<String>,
        /// After how many readings.
        after: usize,
    },
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
            Self::NotSo { claim, cause } => write!(f, "{cause} is not: {claim}"),
            Self::Fits(leads) => write!(f, "{leads} leads, so a listed cause fits"),
            Self::TooSoon {
                repair,
                unread,
                after,
            } => {
                let unread = unread.join(", ");
                let after = counted(*after, "reading", "readings");
                write!(f, "{repair} is advised after {after}, without {unread}")
            }
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

impl fmt::Display for Expected {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Repairs(repairs) => f.write_str(&repairs.join(" + ")),
            Self::Ambiguity(causes) => write!(f, "{}, not told apart", causes.join(" or ")),
            Self::Unlisted => f.write_str("no listed cause"),
            Self::Causes(claims) => f.write_str(&claims.join(", ")),
        }
    }
}
