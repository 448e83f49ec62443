//! `cases/*.yaml`.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::load::kinds::{Id, Named, Text};
use crate::load::placed::{Entries, Items, Name, Placed, Scalar};

/// A worked case: `<family>/cases/<name>.yaml`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct CaseFile {
    /// What it is about.
    #[schemars(with = "Text")]
    pub(crate) case: Name,
    /// The symptoms present.
    #[schemars(with = "Items<Id>")]
    pub(crate) symptoms: Items<Name>,
    /// The symptoms confirmed absent.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) absent: Items<Name>,
    /// The vehicle; it is needed where a reading is judged by a limit of the sheet.
    #[schemars(with = "Option<Id>")]
    pub(crate) vehicle: Option<Name>,
    /// The customer's words.
    #[schemars(with = "Option<Text>")]
    pub(crate) complaint: Option<Name>,
    /// The readings, in the order they were taken.
    pub(crate) readings: Items<CaseReading>,
    /// The answer.
    pub(crate) expect: Placed<Expect>,
    /// The first measurement proposed.
    #[schemars(with = "Option<Id>")]
    pub(crate) first: Option<Name>,
    /// What was found, in words.
    #[schemars(with = "Option<Text>")]
    pub(crate) found: Option<Name>,
}

/// A reading of a case.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct CaseReading {
    /// The id of the measurement.
    #[schemars(with = "Id")]
    pub(crate) measurement: Name,
    /// What was typed: the id of an outcome, or a number with its unit.
    pub(crate) value: Option<Placed<Scalar>>,
    /// For a computed number, in place of `value`: what was typed for each raw reading, by its name.
    #[schemars(with = "Option<Named<Text, Scalar>>")]
    pub(crate) values: Option<Entries<Placed<Scalar>>>,
}

/// The answer of a case: exactly one of these.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("minProperties" = 1, "maxProperties" = 1))]
pub(crate) struct Expect {
    /// One repair.
    #[schemars(with = "Option<Id>")]
    pub(crate) repair: Option<Name>,
    /// Several repairs, all of them.
    #[schemars(with = "Option<Items<Id>>")]
    pub(crate) repairs: Option<Items<Name>>,
    /// Causes between which nothing left can tell.
    #[schemars(with = "Option<Items<Id>>")]
    pub(crate) ambiguity: Option<Items<Name>>,
    /// No listed cause fits.
    pub(crate) unlisted: Option<bool>,
}
