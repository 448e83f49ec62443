//! `measurements/*.yaml`.

use schemars::JsonSchema;
use serde::Deserialize;

use super::Span;
use crate::load::kinds::{Amount, Id, LimitKey, LimitName, Named, Quantity, Share, Text, UnitName};
use crate::load::placed::{Caught, Entries, Items, Name, Placed};

/// Measurements: `<family>/measurements/*.yaml`, grouped by how they are taken.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct MeasurementsFile {
    /// Measurements, by id.
    pub(crate) measurements: Caught<Entries<Measurement>>,
}

/// Something to read, look at or feel.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Measurement {
    /// Ids it had before, by which older records may name it.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) formerly: Items<Name>,
    /// What is measured.
    #[schemars(with = "Text")]
    pub(crate) title: Name,
    /// The question at the prompt.
    #[schemars(with = "Text")]
    pub(crate) ask: Name,
    /// What an answer looks like.
    pub(crate) reading: Placed<Reading>,
    /// For a number: the outcomes by id, each with the values it stands for.
    pub(crate) outcomes: Option<Entries<Bands>>,
    /// The set-ups that must be in place.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) set_ups: Items<Name>,
    /// The conditions that must hold for the reading to count.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) conditions: Items<Name>,
    /// The minutes of the measurement itself, its set-ups apart.
    #[schemars(with = "Amount")]
    pub(crate) minutes: Placed<f64>,
    /// The cautions shown before it.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) cautions: Items<Name>,
    /// The symptoms it is offered for; left out where it is offered for all.
    #[serde(rename = "for")]
    #[schemars(with = "Option<Items<Id>>")]
    pub(crate) offered_for: Option<Items<Name>>,
    /// Limits of the vehicle's sheet to show beside a reading of words.
    #[serde(default)]
    #[schemars(with = "Items<LimitName>")]
    pub(crate) limits: Items<Name>,
    /// The trap or remark that belongs to it.
    #[schemars(with = "Option<Text>")]
    pub(crate) note: Option<Name>,
    /// What to do, step by step.
    #[serde(default)]
    #[schemars(with = "Items<Text>")]
    pub(crate) steps: Items<Name>,
    /// For each outcome but the normal one: how often each cause gives it, 0 to 1.
    #[schemars(with = "Entries<Entries<Share>>")]
    pub(crate) shows: Entries<Entries<Placed<f64>>>,
    /// How often it reads so with none of the named causes; 0.02 for an outcome that is not stated.
    #[serde(default)]
    #[schemars(with = "Entries<Share>")]
    pub(crate) chance: Entries<Placed<f64>>,
    /// Where the probability goes that a cause's row leaves over: to `normal`, or as `chance`.
    pub(crate) rest: Option<Rest>,
    /// Whether a second reading adds to the first instead of replacing it.
    #[serde(default)]
    pub(crate) repeat: bool,
    /// How it is timed with the program.
    pub(crate) timed: Option<Timed>,
    /// Who says so.
    #[schemars(with = "Text")]
    pub(crate) source: Name,
}

/// What an answer looks like: `choices` for words, `quantity` and `unit` for a number.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Reading {
    /// For words: the outcomes, in the order shown, as a list or as a map to a few words each.
    pub(crate) choices: Option<Choices>,
    /// For words: the outcome of a vehicle with none of the named causes, where it is not called `normal`.
    #[schemars(with = "Option<Id>")]
    pub(crate) normal: Option<Name>,
    /// For words: whether trouble codes stand for outcomes, by codes.yaml.
    #[serde(default)]
    pub(crate) codes: bool,
    /// For a number: what is measured: pressure, temperature and so on.
    #[schemars(with = "Option<Quantity>")]
    pub(crate) quantity: Option<Name>,
    /// For a number: the unit of a bare number and of the bands.
    #[schemars(with = "Option<UnitName>")]
    pub(crate) unit: Option<Name>,
    /// For a number: what reads it.
    #[schemars(with = "Option<Id>")]
    pub(crate) instrument: Option<Name>,
    /// For a number: the values that are possible at all; others are questioned.
    pub(crate) plausible: Option<Span>,
    /// For a computed number: the formula over the names of `takes`.
    #[schemars(with = "Option<Text>")]
    pub(crate) value: Option<Name>,
    /// For a computed number: the raw readings, by their names in the formula.
    #[schemars(with = "Option<Named<Text, Take>>")]
    pub(crate) takes: Option<Entries<Take>>,
    /// For a computed number: what else its raw readings must make plausible, by name.
    #[schemars(with = "Option<Named<Text, Check>>")]
    pub(crate) checks: Option<Entries<Check>>,
}

/// A quantity that raw readings make on the way; outside its span the readings are questioned.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Check {
    /// The formula over the names of `takes`.
    #[schemars(with = "Text")]
    pub(crate) value: Name,
    /// The values that are possible at all.
    pub(crate) plausible: Span,
}

/// A list of outcomes, or a map of outcomes to a few words each.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(rename = "$shape")]
#[schemars(untagged, rename = "Choices")]
pub(crate) enum Choices {
    /// Outcomes without words.
    #[serde(rename = "$list")]
    Plain(#[schemars(with = "Items<Id>")] Items<Name>),
    /// Outcomes with a few words each.
    #[serde(rename = "$map")]
    Glossed(#[schemars(with = "Entries<Text>")] Entries<Name>),
}

/// A raw reading that a number is computed from.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Take {
    /// The question.
    #[schemars(with = "Text")]
    pub(crate) ask: Name,
    /// What is measured: pressure, temperature and so on.
    #[schemars(with = "Quantity")]
    pub(crate) quantity: Name,
    /// The unit of a bare number, and of the number in the formula.
    #[schemars(with = "UnitName")]
    pub(crate) unit: Name,
    /// What reads it.
    #[schemars(with = "Option<Id>")]
    pub(crate) instrument: Option<Name>,
    /// The values that are possible at all; others are questioned.
    pub(crate) plausible: Option<Span>,
}

/// The values an outcome stands for: a band, or a list of bands.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(rename = "$shape")]
#[schemars(untagged, rename = "Bands")]
pub(crate) enum Bands {
    /// One band.
    #[serde(rename = "$map")]
    One(Box<Placed<Band>>),
    /// Several bands.
    #[serde(rename = "$list")]
    Several(Items<Placed<Band>>),
}

/// A band of values: at most one lower end (`from` or `above`) and one upper end (`to` or `below`);
/// or, alone, the words of an outcome that no number stands for.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Band {
    /// Values from here on, this one included.
    pub(crate) from: Option<Placed<Limit>>,
    /// Values above this one.
    pub(crate) above: Option<Placed<Limit>>,
    /// Values up to here, this one included.
    pub(crate) to: Option<Placed<Limit>>,
    /// Values below this one.
    pub(crate) below: Option<Placed<Limit>>,
    /// What the outcome means, where it is seen or felt and no number stands for it.
    #[schemars(with = "Option<Text>")]
    pub(crate) words: Option<Name>,
}

/// A number in the reading's unit, or a name in the vehicle's sheet such as `stall.max`.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename = "$shape")]
#[schemars(untagged, rename = "Limit")]
pub(crate) enum Limit {
    /// A number.
    #[serde(rename = "$number")]
    Number(f64),
    /// A name in the vehicle's sheet.
    #[serde(rename = "$text")]
    Named(#[schemars(with = "LimitKey")] String),
}

/// Where the probability goes that a cause's row leaves over.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Rest {
    /// To the normal outcome.
    Normal,
    /// Spread as chance over the outcomes the row does not state.
    Chance,
}

/// How a measurement is timed: `lag`, or a stall with its limit and cooling.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(rename = "$shape")]
#[schemars(untagged, rename = "Timed")]
pub(crate) enum Timed {
    /// `lag`: the time from the lever to the bump.
    #[serde(rename = "$text")]
    Word(Placed<TimedWord>),
    /// A stall, held no longer than a limit.
    #[serde(rename = "$map")]
    Held(TimedStall),
}

/// The ways of timing that need no figures.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum TimedWord {
    /// The time from the lever to the bump.
    Lag,
}

/// A timed stall.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct TimedStall {
    /// The stall.
    pub(crate) stall: Stall,
}

/// The figures of a timed stall.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Stall {
    /// The longest it may be held, in seconds.
    #[schemars(with = "Amount")]
    pub(crate) limit: Placed<f64>,
    /// The least cooling after it, in seconds.
    #[schemars(with = "Amount")]
    pub(crate) cool_down: Placed<f64>,
}
