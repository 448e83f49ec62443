//! What to read, look at or feel, and what each outcome says.

use std::collections::BTreeMap;

use serde::Serialize;

use super::ids::{
    CauseId, ConditionId, InstrumentId, MeasurementId, OutcomeId, SetUpId, SymptomId,
};
use super::limit::{Limit, LimitBand};
use super::order::Unless;
use super::pattern::Pattern;
use super::signal::Recording;
use super::stated::{is_default, pairs};
use crate::entry::{Choice, NoChoice, choose};
use crate::units::formula::Formula;
use crate::units::{Interval, Minutes, Probability, Unit};

/// Something to read, look at or feel.
#[derive(Clone, Debug, Serialize)]
pub struct Measurement {
    /// Its id in the files.
    pub name: String,
    /// Ids it had before, by which older records may name it.
    pub formerly: Vec<String>,
    /// What is measured.
    pub title: String,
    /// The question at the prompt.
    pub ask: String,
    /// What an answer looks like.
    #[serde(flatten)]
    pub reading: Reading,
    /// Its outcomes, in the order they are shown.
    pub outcomes: Vec<Outcome>,
    /// The outcome that a vehicle with none of the named causes gives.
    pub normal: OutcomeId,
    /// What must be in place.
    pub set_ups: Vec<SetUpId>,
    /// It is offered once each of these has a reading that counts.
    pub after: Vec<MeasurementId>,
    /// When it is not offered.
    pub unless: Unless,
    /// What can be read in the same go, without time or set-ups of its own.
    pub along: Vec<MeasurementId>,
    /// The set-ups that stand, without work, once it has read so.
    #[serde(skip_serializing_if = "is_default")]
    pub sets: Vec<(OutcomeId, Vec<SetUpId>)>,
    /// What is typed and can mean several outcomes.
    pub unclear: Vec<String>,
    /// On whose word it is answered, where nobody reads it at the vehicle.
    pub told_by: Option<ToldBy>,
    /// Whether it shows a fault only while that acts.
    pub only_then: bool,
    /// The causes that an outcome shows by itself, whatever they do to the complaint.
    #[serde(skip_serializing_if = "is_default")]
    pub finds: Vec<(OutcomeId, Vec<CauseId>)>,
    /// What must hold for the reading to count.
    pub conditions: Vec<ConditionId>,
    /// Time of the measurement itself, its set-ups apart.
    pub minutes: Minutes,
    /// The cautions before it: places in the family's list of caution texts.
    pub cautions: Vec<usize>,
    /// The cautions that say what comes of taking what comes after it before it is read.
    pub unread: Vec<usize>,
    /// The cautions that say what comes of taking what an outcome rules out.
    #[serde(skip_serializing_if = "is_default")]
    pub ruled_out: Vec<(OutcomeId, Vec<usize>)>,
    /// The symptoms it is offered for; `None` for all.
    #[serde(rename = "for")]
    pub offered_for: Option<Vec<SymptomId>>,
    /// Limits of the sheet to show beside a reading of words: names in the vehicle's sheet.
    pub limits: Vec<String>,
    /// The trap or remark that belongs to it.
    pub note: Option<String>,
    /// What to do, step by step.
    pub steps: Vec<String>,
    /// What each named cause does to it.
    #[serde(serialize_with = "pairs", skip_serializing_if = "is_default")]
    pub shows: BTreeMap<CauseId, Row>,
    /// What it gives with none of the named causes.
    #[serde(skip)]
    pub chance: Chance,
    /// What a named cause's row leaves over.
    pub rest: Rest,
    /// Whether a second reading adds to the first instead of replacing it.
    pub repeat: bool,
    /// How it is timed with the program, where it is.
    pub timed: Option<Timed>,
    /// How it is read from a recording, where it is.
    pub recording: Option<Recording>,
    /// Who says so.
    pub source: String,
}

/// What an answer to a measurement looks like.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "reading")]
pub enum Reading {
    /// One of the outcomes, in words.
    #[serde(rename = "words")]
    Words,
    /// One of the outcomes, or trouble codes that stand for them.
    #[serde(rename = "words or trouble codes")]
    Codes,
    /// A number, judged by the bands of the outcomes.
    #[serde(rename = "a number")]
    Number(Number),
}

/// A reading that is a number.
#[derive(Clone, Debug, Serialize)]
pub struct Number {
    /// The unit the bands are in, assumed for a bare number.
    pub unit: Unit,
    /// What reads it; `None` for a number computed from others.
    pub instrument: Option<InstrumentId>,
    /// The values that are possible at all, in `unit`; others are questioned.
    pub plausible: Option<Interval>,
    /// How wide an open band is taken where no band is bounded, in `unit`; `None` for a fifth of its limit's size.
    pub open: Option<f64>,
    /// The raw readings it is computed from; empty where it is read itself.
    pub takes: Vec<Take>,
    /// How it is computed from them.
    pub formula: Option<Box<Formula>>,
    /// What else the raw readings must make plausible.
    pub checks: Vec<Check>,
}

/// A quantity that raw readings make on the way, and the values it can have at all.
#[derive(Clone, Debug, Serialize)]
pub struct Check {
    /// What it is, for the person who is asked to read again.
    pub name: String,
    /// How it is computed from the raw readings.
    pub formula: Box<Formula>,
    /// The values that are possible at all.
    pub plausible: Interval,
}

/// A raw reading that a number is computed from.
#[derive(Clone, Debug, Serialize)]
pub struct Take {
    /// Its name in the formula.
    pub name: String,
    /// The question.
    pub ask: String,
    /// Its unit, assumed for a bare number and used in the formula.
    pub unit: Unit,
    /// What reads it.
    pub instrument: Option<InstrumentId>,
    /// The values that are possible at all, in `unit`.
    pub plausible: Option<Interval>,
    /// The value usually read, in `unit`: the uncertainty of the computed number is foreseen there.
    pub typical: Option<f64>,
}

/// One of the finite list of things a measurement can give.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Outcome {
    /// Its id in the files.
    pub name: String,
    /// What it means, in a technician's few words.
    pub gloss: Option<String>,
    /// What else is typed for it.
    pub words: Vec<String>,
    /// Patterns of the customer's words that say so already when they tell their complaint.
    pub heard: Vec<Pattern>,
    /// The values it stands for; empty for a reading of words.
    #[serde(skip)]
    pub bands: Vec<LimitBand>,
}

impl Outcome {
    /// What it means; its id as words where nothing else is written.
    pub fn words(&self) -> String {
        self.gloss
            .clone()
            .unwrap_or_else(|| self.name.replace('-', " "))
    }

    /// It as a choice to type.
    pub fn choice(&self) -> Choice<'_> {
        Choice {
            name: &self.name,
            gloss: self.gloss.as_deref().unwrap_or_default(),
            words: &self.words,
        }
    }
}

/// What one named cause does to a measurement: by outcome, the stated probability.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Row(#[serde(serialize_with = "pairs")] pub BTreeMap<OutcomeId, Probability>);

/// What a measurement gives with none of its named causes: by outcome, summing to 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Chance(pub Vec<Probability>);

/// Where the probability goes that a named cause's row leaves over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Rest {
    /// To the normal outcome.
    Normal,
    /// Spread as chance over the outcomes the row does not state.
    Chance,
}

/// On whose word a measurement is answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum ToldBy {
    /// The customer's.
    Customer,
}

/// How a measurement is timed with the program.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(tag = "way", rename_all = "lowercase")]
pub enum Timed {
    /// Held no longer than a limit, then cooled down before the next of its kind.
    Stall {
        /// The longest it may be held, in seconds.
        limit: f64,
        /// When to say that the throttle is to be let go, in seconds.
        warn: Option<f64>,
        /// The least cooling after it, in seconds.
        cool_down: f64,
    },
    /// The time from the lever to the bump.
    Lag {
        /// How many times it is timed; the mean counts.
        tries: u32,
    },
}

/// What a trouble code says.
#[derive(Clone, Debug, Serialize)]
pub struct CodeMeaning {
    /// Its definition, in our own words.
    pub means: String,
    /// The outcome of the code measurement it counts as.
    pub kind: String,
    /// Where the definition comes from.
    pub source: String,
}

impl Measurement {
    /// The outcome of a name.
    pub fn outcome(&self, name: &str) -> Option<OutcomeId> {
        self.outcomes
            .iter()
            .position(|outcome| outcome.name == name)
            .map(OutcomeId::at)
    }

    /// The outcome that is typed, as [`choose`] understands it.
    pub fn choose(&self, text: &str) -> Result<OutcomeId, NoChoice> {
        let choices: Vec<Choice<'_>> = self.outcomes.iter().map(Outcome::choice).collect();
        choose(text, &choices, &self.unclear).map(OutcomeId::at)
    }

    /// Whether it is offered for any of the symptoms.
    pub fn is_for(&self, symptoms: &[SymptomId]) -> bool {
        self.offered_for
            .as_ref()
            .is_none_or(|offered| symptoms.iter().any(|symptom| offered.contains(symptom)))
    }

    /// The number it reads, where it reads one.
    pub const fn number(&self) -> Option<&Number> {
        match &self.reading {
            Reading::Number(number) => Some(number),
            Reading::Words | Reading::Codes => None,
        }
    }

    /// Whether an outcome's band ends at a limit of the vehicle's sheet.
    pub fn is_judged_by_a_sheet(&self) -> bool {
        self.outcomes
            .iter()
            .flat_map(|outcome| &outcome.bands)
            .flat_map(LimitBand::limits)
            .any(|limit| matches!(limit, Limit::Named { .. }))
    }

    /// The limits of a vehicle's sheet that judge it, in the order its outcomes name them.
    pub fn sheet_limits(&self) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        for limit in self
            .outcomes
            .iter()
            .flat_map(|outcome| &outcome.bands)
            .flat_map(LimitBand::limits)
        {
            if let Limit::Named { sheet, .. } = limit
                && !names.contains(sheet)
            {
                names.push(sheet.clone());
            }
        }
        for name in &self.limits {
            // A limit in words stands beside the reading as `name` or `name.key`.
            let sheet = name
                .rsplit_once('.')
                .map_or(name.as_str(), |(sheet, _)| sheet);
            if !names.iter().any(|known| known == sheet) {
                names.push(sheet.to_owned());
            }
        }
        names
    }
}
