//! What can happen in a job. The fields are an interface to other programs: `docs/jobs.md`.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::picture::Picture;
use crate::knowledge::Workshop;

/// The format this program writes. A change that an older program would misread raises it.
pub const FORMAT: u32 = 1;

/// How far the weights of a reading may miss 1 by rounding.
const WEIGHTS_MAY_MISS: f64 = 1e-6;

/// One thing that happened. In the file `event` names it, and its fields are beside that name.
///
/// Some events are *answers*, which going back takes back: see [`Event::is_answer`].
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "kebab-case")]
pub enum Event {
    /// The job was opened: the first line, and only that.
    Opened(Opened),
    /// The complaint in the customer's words.
    Complaint {
        /// The words.
        words: String,
    },
    /// A symptom confirmed present or absent. The last word on a symptom holds.
    Symptom {
        /// The symptom's id.
        symptom: String,
        /// Present, or confirmed absent.
        present: bool,
    },
    /// The customer's words mean no symptom of the family. A symptom named later is looked into all the same.
    NoSymptom {},
    /// The job is on another vehicle than was thought: what was read is judged again by its sheet.
    Vehicle {
        /// The vehicle's spec sheet; none for one without.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        vehicle: Option<String>,
        /// The readings whose limits are those of a sheet, as they are judged from now on.
        readings: Vec<Judged>,
    },
    /// What is in place now, all of it: no answer, since going back does not take a gauge off.
    InPlace {
        /// The ids of all set-ups in place.
        set_ups: Vec<String>,
    },
    /// What was found about a condition that a measurement needs.
    Condition(Condition),
    /// A reading. A later one of the same measurement replaces it.
    Reading(Box<Reading>),
    /// A timed test began or ended: no answer, since going back does not cool anything down.
    Timed(Timed),
    /// A measurement that is not to be offered.
    SetAside(SetAside),
    /// The technician takes this measurement next; it is offered again where it was set aside.
    TakenUp {
        /// The measurement's id.
        measurement: String,
        /// The instrument named for it; the choice of the measurement itself is then of before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        instrument: Option<String>,
    },
    /// A remark: no answer, and so never taken back.
    Note {
        /// The words.
        words: String,
        /// What the record names, the knowledge no longer has, and the technician goes on without.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        without: Vec<String>,
        /// The recording that the readings on the next lines came from, where they did.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        recording: Option<Box<Picture>>,
    },
    /// What the program advised.
    Advice(Advice),
    /// The last answers are taken back. They stay in the file.
    Back {
        /// How many, at least 1.
        steps: u32,
        /// Their line numbers, latest first. [`History`](super::History) fills them in.
        #[serde(default)]
        lines: Vec<u64>,
    },
    /// A reading is taken back, whatever came after it. It stays in the file.
    Withdrawn {
        /// Its line.
        reading: u64,
    },
    /// A repair was done, as advised or otherwise.
    Repair(Repair),
    /// A reading that verifies the repair.
    Verification(Verification),
    /// The job was closed as fixed, or a repair was found not to have fixed it.
    Closed(Closed),
    /// Something of a job that is practice: help was asked for, or a rule was broken.
    Marked {
        /// What.
        mark: Mark,
        /// The measurement, set-up or repair that it is about.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        about: Option<String>,
    },
    /// A job closed as fixed goes on after all.
    Reopened {
        /// Why.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        words: Option<String>,
    },
}

/// How a job begins.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Opened {
    /// The format of the record, [`FORMAT`].
    pub format: u32,
    /// The family of transmission.
    pub family: String,
    /// The vehicle's spec sheet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vehicle: Option<String>,
    /// The files of the knowledge, each with its [`fingerprint`](crate::files::fingerprint()).
    pub knowledge: BTreeMap<String, String>,
    /// The shop's own order number, plate or remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ticket: Option<String>,
    /// What the shop is like, where it has said so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shop: Option<Workshop>,
    /// Where it is practice: which.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub practice: Option<Practice>,
}

impl Opened {
    /// The opening of a job on a family, in today's [`FORMAT`], with neither vehicle nor ticket.
    pub fn new(family: impl Into<String>, knowledge: BTreeMap<String, String>) -> Self {
        Self {
            format: FORMAT,
            family: family.into(),
            knowledge,
            ..Self::default()
        }
    }
}

/// What was found about a condition. Whether it is stale is for the reader to judge by its time.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Condition {
    /// The condition's id.
    pub condition: String,
    /// What was typed.
    pub raw: String,
    /// Whether the condition holds.
    pub holds: bool,
    /// The value, where the condition is a quantity.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// The value's unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
}

/// What one measurement gave.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// The measurement's id.
    pub measurement: String,
    /// What was typed.
    pub raw: String,
    /// The most probable outcome.
    pub outcome: String,
    /// The probability of each outcome given the instrument, 0 to 1 (docs/method.md, section 6).
    pub weights: BTreeMap<String, f64>,
    /// The value in `unit`, where the reading is a quantity.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// The value's unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// The standard uncertainty in `unit` (JCGM 100).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uncertainty: Option<f64>,
    /// The instrument really used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<String>,
    /// The readings that a derived quantity was computed from, by name.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub values: BTreeMap<String, PartReading>,
    /// Trouble codes read, where the measurement reads codes: an empty list says "no codes".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub codes: Option<Vec<String>>,
    /// Whether it moves the diagnosis. A reading taken outside its conditions is kept and does not.
    pub counts: bool,
    /// Why it does not count.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why_not: Option<String>,
    /// Which taking of this measurement it is, from 1.
    pub attempt: u32,
}

/// A reading judged again by another vehicle's sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Judged {
    /// The line of the reading.
    pub reading: u64,
    /// The most probable outcome.
    pub outcome: String,
    /// The probability of each outcome given the instrument, 0 to 1 (docs/method.md, section 6).
    pub weights: BTreeMap<String, f64>,
    /// Whether it moves the diagnosis: not where the sheet has no limit to judge it by.
    pub counts: bool,
    /// Why it does not count.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why_not: Option<String>,
}

/// One of the readings behind a derived quantity.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PartReading {
    /// What was typed.
    pub raw: String,
    /// The value in `unit`.
    pub value: f64,
    /// Its unit; none for a bare ratio or count.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// Its standard uncertainty in `unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uncertainty: Option<f64>,
}

/// A timed test, for the cool-down that must survive a restart.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Timed {
    /// The measurement's id.
    pub measurement: String,
    /// Whether it began or ended.
    pub phase: Phase,
    /// How long it took, in seconds; at its start, how long it may take.
    pub seconds: f64,
    /// How long the cool-down after its end is, in seconds.
    pub cool_down: f64,
}

/// Whether a timed test began or ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Phase {
    /// It began. With no end in the record, it is taken to have lasted as long as it may.
    Started,
    /// It ended.
    Ended,
}

/// A measurement that is not to be offered.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SetAside {
    /// The measurement's id.
    pub measurement: String,
    /// Skipped, or not possible here.
    pub how: SetAsideHow,
    /// Why, in the technician's words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// The equipment that is not here, where that is why: what else needs it is not offered either.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lacks: Option<String>,
}

/// How a measurement was set aside.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SetAsideHow {
    /// Passed over for now.
    Skipped,
    /// It cannot be done here.
    NotPossible,
}

/// What the program advised.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Advice {
    /// What kind of thing to do.
    pub advice: AdviceKind,
    /// The measurement to take, or to take again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measurement: Option<String>,
    /// The repairs to do, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub repairs: Vec<String>,
    /// The expected cost from here on, in the shop's currency.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cost: Option<f64>,
    /// What would then most probably cure the vehicle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leading: Option<Leading>,
    /// Whether the technician asked for it, against the advice or not.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub asked: bool,
}

/// The repairs that would most probably cure a vehicle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Leading {
    /// The ids of the repairs, to be done together.
    pub repairs: Vec<String>,
    /// How probable it is that they cure it, 0 to 1.
    pub probability: f64,
}

/// What kind of thing was advised.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AdviceKind {
    /// Take a measurement.
    Measure,
    /// Repair now.
    Repair,
    /// Take a reading again before anything is dismantled.
    TakeAgain,
    /// Hand the job on: an unlisted cause, or too dear to go on.
    Escalate,
}

/// A repair done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Repair {
    /// The ids of the repairs.
    pub repairs: Vec<String>,
    /// The causes they were done for, which act together.
    pub causes: Vec<String>,
    /// How probable that was, 0 to 1, as last shown.
    pub probability: f64,
}

/// A reading that verifies a repair.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Verification {
    /// The measurement's id.
    pub measurement: String,
    /// What was typed.
    pub raw: String,
    /// The outcome.
    pub outcome: String,
    /// Whether it is the outcome a mended vehicle gives.
    pub as_expected: bool,
}

/// How a job, or an attempt at its repair, ended.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Closed {
    /// Fixed: the job ends. Not fixed: `causes` are ruled out, as one set, and the job goes on.
    pub fixed: bool,
    /// The causes found, or ruled out.
    pub causes: Vec<String>,
    /// The repairs done.
    pub repairs: Vec<String>,
    /// How the causes of a job closed as fixed are known. Records of before it was asked have none:
    /// their causes were the likeliest by the readings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<Found>,
    /// Where nobody saw it: the causes beside `causes` of which it was one, or several.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub among: Vec<String>,
    /// A remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub words: Option<String>,
}

/// What is marked in practice.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    /// It was asked which question divides the suspects.
    Hint,
    /// It was asked what to do next.
    Advice,
    /// It was asked what is likely so far.
    Suspects,
    /// A set-up was entered by itself.
    Prepared,
    /// Something dangerous, to people or to the vehicle.
    Unsafe,
    /// A reading that should wait for another.
    OutOfOrder,
    /// A reading whose conditions do not hold.
    OutOfCondition,
    /// A repair before what must be read first.
    Unproved,
    /// The job was handed on.
    HandedOn,
}

/// What makes a job practice: nobody's vehicle was repaired.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Practice {
    /// The name of the exercise.
    pub exercise: String,
    /// The seed it was drawn from, where it is none of the knowledge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub draw: Option<u64>,
    /// Whether it was sealed, so that its fault is not in the knowledge of who reads this.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub sealed: bool,
    /// Who practises.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trainee: Option<String>,
    /// Whether no help is given.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub no_help: bool,
}

/// How it is known which causes a repair cured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Found {
    /// Somebody saw it.
    Stated,
    /// No other listed cause of the complaint is cured by that repair.
    Only,
    /// Nobody saw it.
    Unknown,
}

fn probable(p: f64) -> bool {
    (0.0..=1.0).contains(&p)
}

/// Why weights are no probabilities of outcomes, where they are none.
fn impossible_weights(weights: &BTreeMap<String, f64>) -> Option<String> {
    let sum: f64 = weights.values().sum();
    let mut each = weights.iter();
    if let Some((outcome, weight)) = each.find(|(_, weight)| !probable(**weight)) {
        return Some(format!(
            "the weight of `{outcome}` is {weight}, and a probability is from 0 to 1"
        ));
    }
    ((sum - 1.0).abs() > WEIGHTS_MAY_MISS)
        .then(|| format!("its weights add up to {sum}, and probabilities to 1"))
}

macro_rules! names {
    ($($variant:ident $name:literal,)+) => {
        /// The names that `event` may have in a file, in the order of the variants.
        pub const NAMES: [&'static str; [$($name),+].len()] = [$($name),+];

        /// Its name in the file.
        pub const fn name(&self) -> &'static str {
            match self {
                $(Self::$variant { .. } => $name,)+
            }
        }
    };
}

impl Event {
    names! {
        Opened "opened",
        Complaint "complaint",
        Symptom "symptom",
        NoSymptom "no-symptom",
        Vehicle "vehicle",
        InPlace "in-place",
        Condition "condition",
        Reading "reading",
        Timed "timed",
        SetAside "set-aside",
        TakenUp "taken-up",
        Note "note",
        Advice "advice",
        Back "back",
        Withdrawn "withdrawn",
        Repair "repair",
        Verification "verification",
        Closed "closed",
        Marked "marked",
        Reopened "reopened",
    }

    /// What is impossible about its figures, in words, where something is. Types alone do not say that
    /// weights are probabilities.
    pub(super) fn impossible(&self) -> Option<String> {
        match self {
            Self::Reading(reading) => impossible_weights(&reading.weights).or_else(|| {
                let none = reading.attempt == 0;
                none.then(|| "`attempt` counts from 1".to_owned())
            }),
            Self::Vehicle { readings, .. } => {
                let mut weights = readings.iter().map(|judged| &judged.weights);
                weights.find_map(impossible_weights)
            }
            Self::Repair(repair) if !probable(repair.probability) => Some(format!(
                "`probability` is {}, and a probability is from 0 to 1",
                repair.probability
            )),
            _ => None,
        }
    }

    /// A remark.
    pub fn note(words: impl Into<String>) -> Self {
        Self::Note {
            words: words.into(),
            without: Vec::new(),
            recording: None,
        }
    }

    /// `steps` answers taken back.
    pub const fn back(steps: u32) -> Self {
        Self::Back {
            steps,
            lines: Vec::new(),
        }
    }

    /// Whether it is an answer: what a person said about the vehicle, and so may take back.
    ///
    /// Facts that going back does not undo (what is in place, a timed test), remarks, and what the
    /// program itself said are none.
    pub const fn is_answer(&self) -> bool {
        match self {
            Self::Complaint { .. }
            | Self::Symptom { .. }
            | Self::NoSymptom {}
            | Self::Vehicle { .. }
            | Self::Condition(_)
            | Self::Reading(_)
            | Self::SetAside(_)
            | Self::TakenUp { .. }
            | Self::Repair(_)
            | Self::Verification(_)
            | Self::Closed(_)
            | Self::Reopened { .. } => true,
            Self::Opened(_)
            | Self::InPlace { .. }
            | Self::Timed(_)
            | Self::Note { .. }
            | Self::Advice(_)
            | Self::Back { .. }
            | Self::Withdrawn { .. }
            | Self::Marked { .. } => false,
        }
    }
}
