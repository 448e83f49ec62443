//! `trees/*.yaml`.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::load::kinds::{Count, Id, Strength, Text};
use crate::load::placed::{Caught, Entries, Items, Name, Placed};

/// A complaint and its fault tree: `<family>/trees/<symptom>.yaml`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct TreeFile {
    /// The id of the symptom, in kebab case.
    #[schemars(with = "Id")]
    pub(crate) symptom: Name,
    /// Ids it had before, by which older records may name it.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) formerly: Items<Name>,
    /// The top event, in the trade's words.
    #[schemars(with = "Text")]
    pub(crate) title: Caught<Name>,
    /// Regular expressions for the customer's words, upper and lower case alike.
    #[schemars(with = "Option<Items<Text>>")]
    pub(crate) complaints: Option<Caught<Items<Name>>>,
    /// Customers' wordings that must find this symptom before any other.
    #[schemars(with = "Option<Items<Text>>")]
    pub(crate) examples: Option<Caught<Items<Name>>>,
    /// What brings the symptom about.
    pub(crate) top: Caught<Placed<Gate>>,
}

/// Parts that several trees share: `<family>/trees/shared.yaml`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct SharedFile {
    /// Shared parts, by id.
    pub(crate) shared: Caught<Entries<Placed<Gate>>>,
}

/// A gate: exactly one of `any`, `all`, and `at_least` with `of`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("oneOf" = [
    {"required": ["any"]},
    {"required": ["all"]},
    {"required": ["of"]},
], "dependencies" = {"at_least": ["of"], "of": ["at_least"]}))]
pub(crate) struct Gate {
    /// The event, in words. Only the top of a tree goes without.
    #[schemars(with = "Option<Text>")]
    pub(crate) event: Option<Name>,
    /// At least one of these (OR).
    pub(crate) any: Option<Items<Branch>>,
    /// All of these together (AND).
    pub(crate) all: Option<Items<Branch>>,
    /// At least so many of `of` (voting).
    #[schemars(with = "Option<Count>")]
    pub(crate) at_least: Option<Placed<f64>>,
    /// What `at_least` counts.
    pub(crate) of: Option<Items<Branch>>,
}

/// What a gate is fed by: a cause, a cause or a shared part with a strength, or another gate.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(rename = "$shape")]
#[schemars(untagged, rename = "Branch")]
pub(crate) enum Branch {
    /// The id of a cause, at strength 1.
    #[serde(rename = "$text")]
    Cause(#[schemars(with = "Id")] Name),
    /// A cause or shared part with a strength, or another gate.
    #[serde(rename = "$map")]
    Inner(Box<Placed<Inner>>),
}

/// `cause` or `shared` with a strength, or a gate with its event.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("oneOf" = [
    {"required": ["any"]},
    {"required": ["all"]},
    {"required": ["of"]},
    {"required": ["cause"]},
    {"required": ["shared"]},
], "dependencies" = {"at_least": ["of"], "of": ["at_least"]}))]
pub(crate) struct Inner {
    /// The id of a cause.
    #[schemars(with = "Option<Id>")]
    pub(crate) cause: Option<Name>,
    /// The id of a shared part.
    #[schemars(with = "Option<Id>")]
    pub(crate) shared: Option<Name>,
    /// How often the cause or shared part, where present, brings this about; 1 where it is left out.
    #[schemars(with = "Option<Strength>")]
    pub(crate) strength: Option<Placed<f64>>,
    /// For a gate: the event, in words.
    #[schemars(with = "Option<Text>")]
    pub(crate) event: Option<Name>,
    /// For a gate: at least one of these (OR).
    pub(crate) any: Option<Items<Branch>>,
    /// For a gate: all of these together (AND).
    pub(crate) all: Option<Items<Branch>>,
    /// For a gate: at least so many of `of` (voting).
    #[schemars(with = "Option<Count>")]
    pub(crate) at_least: Option<Placed<f64>>,
    /// For a gate: what `at_least` counts.
    pub(crate) of: Option<Items<Branch>>,
}
