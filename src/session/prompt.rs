//! What is asked next, and all that is needed to answer it, as plain data. A renderer decides nothing.

use std::collections::BTreeMap;

use serde::Serialize;

use super::measure::{Measure, SetUpAsked};
use super::on_the_way::OnTheWay;
use super::outlook::{Change, Outlook};
use super::repair::RepairSheet;
use super::status::Status;
use crate::infer::{self, bands_on};
use crate::knowledge::{Measurement, Timed, Vehicle};
use crate::record;
use crate::units::System;

/// A question to the technician.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Prompt {
    /// What is asked.
    pub ask: Ask,
    /// The job at a glance; none before there is a complaint.
    pub status: Option<Status>,
    /// The measurement that the question belongs to.
    pub measure: Option<Box<Measure>>,
    /// Where the diagnosis is; none before there is a complaint, and none once a repair is done.
    pub outlook: Option<Box<Outlook>>,
    /// What the last answer changed.
    pub change: Option<Change>,
    /// What is advised; goes into the record with the answer. None where the technician is in the middle of a
    /// measurement or chose to repair.
    pub advice: Option<record::Advice>,
}

/// What is asked.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Ask {
    /// Whether to go on without what the knowledge no longer has.
    Lost {
        /// What the record names and the knowledge lacks.
        lost: Vec<String>,
    },
    /// What still stands, where the job was left for long.
    Still {
        /// What stood then and did not when the vehicle came in.
        choices: Vec<Choice>,
    },
    /// The complaint, in the customer's words.
    Complaint,
    /// Which symptoms the customer's words mean.
    Symptoms {
        /// The customer's words.
        words: String,
        /// The symptoms, those that the words match first.
        choices: Vec<Choice>,
    },
    /// Whether the customer's words answer some measurements already.
    Told {
        /// What they answer.
        told: Vec<Told>,
    },
    /// Nothing: the words mean no symptom of the family, and the general looks are taken.
    NoSymptom {
        /// The customer's words.
        words: String,
        /// The looks that were not normal.
        found: Vec<Told>,
    },
    /// Nothing: no set of causes explains the complaint, and an answer must be taken back.
    Stuck {
        /// Why not.
        why: String,
    },
    /// To wait: the last stall test has not cooled down.
    Cooling {
        /// Whole seconds left.
        seconds: u64,
    },
    /// Whether a condition of the measurement holds.
    Condition {
        /// The condition's id.
        condition: String,
        /// The question.
        question: String,
        /// The unit of the answer; none for yes or no.
        unit: Option<String>,
        /// The least value that is asked for, in `unit`.
        from: Option<f64>,
        /// The greatest.
        to: Option<f64>,
        /// What the last answer can mean: `#1` or `yes` takes the first.
        #[serde(skip)]
        meant: Vec<record::Condition>,
    },
    /// How long a stall test was held.
    Hold {
        /// The longest it may be held, in seconds.
        limit: f64,
        /// When to say that the throttle is to be let go, in seconds; none where that is at the limit.
        #[serde(skip_serializing_if = "Option::is_none")]
        warn: Option<f64>,
        /// The least cool-down after it, in seconds.
        cool_down: f64,
    },
    /// The reading of the measurement.
    Reading(Box<ReadingAsked>),
    /// Whether the repair is done.
    Repair(Box<RepairSheet>),
    /// Whether a repair that need not be the advised one was done.
    Did {
        /// The repair.
        repair: String,
        /// What is done in it.
        title: String,
        /// What must be read before it and was not.
        unread: Vec<String>,
        /// What happens where a part is condemned before that.
        #[serde(skip_serializing_if = "Option::is_none")]
        unproved: Option<String>,
    },
    /// Nothing listed is worth repairing: hand the job on.
    HandOn {
        /// What that costs, in the shop's currency.
        cost: f64,
        /// What must be put back before the vehicle is handed over, in order.
        put_back: Vec<SetUpAsked>,
    },
    /// Whether something that verifies the repair is done.
    Confirm {
        /// What is to be done.
        question: String,
        /// The answers.
        choices: Vec<Choice>,
    },
    /// Whether the repair cured the complaint.
    Fixed {
        /// How the repairs are verified.
        verify: Vec<String>,
        /// What must be put back before the vehicle is handed over, in order.
        put_back: Vec<SetUpAsked>,
        /// What closes any job, to be done before the question is answered.
        first: Option<String>,
        /// What was to be read to verify it and was left out.
        not_read: Vec<String>,
        /// What was measured to verify it and was not as expected.
        off: Vec<String>,
        /// What verifies the repairs and is not done yet: the job stays open with it.
        not_done: Vec<String>,
    },
    /// Which cause the repair cured.
    Found {
        /// The causes that it can have been, the likeliest by the readings first.
        choices: Vec<Choice>,
    },
    /// Nothing: the job is closed. Where the cause is unknown it may still be told.
    Closed {
        /// What was found and repaired.
        cured: String,
        /// How the cause is known.
        found: Option<record::Found>,
        /// The causes that it can have been, where nobody knows yet.
        choices: Vec<Choice>,
        /// What was found on the way and is still to be put right.
        on_the_way: Vec<OnTheWay>,
    },
}

/// An outcome of a measurement, and the words that it was answered with.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Told {
    /// The measurement's id.
    pub measurement: String,
    /// What is measured.
    pub title: String,
    /// The outcome.
    pub outcome: String,
    /// What the outcome means.
    pub meaning: String,
    /// The words.
    pub words: String,
}

/// One of the answers to choose from: by its name, or by its place in the list from 1.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Choice {
    /// The name.
    pub name: String,
    /// What it means.
    pub title: String,
    /// Whether the customer's words match it.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub matches: bool,
}

/// A reading that is asked for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReadingAsked {
    /// The question.
    pub question: String,
    /// The answers in words; where a number is asked for, only those that no number expresses.
    pub choices: Vec<Choice>,
    /// The unit of a number that is typed without one; none where the answer is a word.
    pub unit: Option<String>,
    /// Where no sheet judges a number: the outcomes, one of which is to be answered.
    pub without_sheet: Option<Vec<String>>,
    /// Whether it is a time from one event to another, which a program can take.
    pub lag: bool,
    /// How many times it is timed; the mean counts.
    pub tries: u32,
    /// The raw readings that the number is computed from, to be answered one by one.
    pub parts: Vec<PartAsked>,
    /// The instrument in use, where the technician named another than the usual one.
    pub instrument: Option<String>,
    /// The ways in which the last answer can be meant: `#1` or `yes` takes the first.
    pub meant: Vec<String>,
    /// What was understood so far.
    #[serde(skip)]
    pub(super) draft: Draft,
}

impl ReadingAsked {
    /// The question of a measurement. One that verifies a repair is answered at once, without its raw readings.
    pub(super) fn of(
        measurement: &Measurement,
        vehicle: Option<&Vehicle>,
        instrument: Option<&str>,
        verifies: bool,
        system: System,
    ) -> Self {
        let number = measurement.number();
        let outcomes = measurement.outcomes.iter();
        let in_words = outcomes.filter(|outcome| number.is_none() || outcome.bands.is_empty());
        let to_judge = number.filter(|_| !verifies);
        let takes = to_judge.map_or(&[][..], |number| &number.takes);
        Self {
            question: measurement.ask.clone(),
            choices: in_words
                .map(|o| Choice::new(&o.name, o.gloss.as_deref().unwrap_or_default()))
                .collect(),
            unit: number.map(|number| number.unit.shown_in(system).symbol().to_owned()),
            without_sheet: to_judge
                .filter(|_| vehicle.is_none() && bands_on(measurement, None).is_err())
                .map(|_| {
                    let outcomes = measurement.outcomes.iter();
                    outcomes.map(|outcome| outcome.name.clone()).collect()
                }),
            lag: matches!(measurement.timed, Some(Timed::Lag { .. })),
            tries: match measurement.timed {
                Some(Timed::Lag { tries }) => tries,
                _ => 1,
            },
            parts: takes
                .iter()
                .map(|take| PartAsked {
                    name: take.name.clone(),
                    question: take.ask.clone(),
                    unit: take.unit.shown_in(system).symbol().to_owned(),
                    typed: None,
                })
                .collect(),
            instrument: instrument.map(str::to_owned),
            meant: Vec::new(),
            draft: Draft::default(),
        }
    }

    /// The raw reading that is asked for now.
    pub fn part(&self) -> Option<&PartAsked> {
        self.parts.iter().find(|part| part.typed.is_none())
    }
}

/// A raw reading that a number is computed from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PartAsked {
    /// Its name in the formula.
    pub name: String,
    /// The question.
    pub question: String,
    /// The unit of a number that is typed without one.
    pub unit: String,
    /// What was typed, once it is answered.
    pub typed: Option<String>,
}

/// What was understood of a reading that is not complete: nothing of it is in the record yet.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Draft {
    pub(super) parts: BTreeMap<String, infer::Part>,
    pub(super) meant: Vec<Meant>,
}

/// What an answer to a reading can mean.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Meant {
    Part(infer::Part),
    Whole(Box<infer::Taken>),
}

impl Prompt {
    /// A question outside the diagnosis.
    pub(super) fn of(ask: Ask) -> Self {
        Self {
            ask,
            status: None,
            measure: None,
            outlook: None,
            change: None,
            advice: None,
        }
    }
}

impl Choice {
    /// What it is on a screen: what it means, else its name in words.
    pub fn words(&self) -> String {
        if self.title.is_empty() {
            self.name.replace('-', " ")
        } else {
            self.title.clone()
        }
    }

    pub(super) fn new(name: &str, title: &str) -> Self {
        Self {
            name: name.to_owned(),
            title: title.to_owned(),
            matches: false,
        }
    }
}
