//! `causes.yaml`.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::load::kinds::{Amount, Id, PerThousand, Text};
use crate::load::placed::{Caught, Entries, Items, Name, Placed};

/// Causes, and the repairs that put them right: `<family>/causes.yaml`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct CausesFile {
    /// Repairs, by id.
    pub(crate) repairs: Caught<Entries<Repair>>,
    /// Causes, by id.
    pub(crate) causes: Caught<Entries<Cause>>,
}

/// What puts a cause right.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Repair {
    /// Ids it had before, by which older records may name it.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) formerly: Items<Name>,
    /// What is done.
    #[schemars(with = "Text")]
    pub(crate) title: Name,
    /// Hands-on minutes, the verification included.
    #[schemars(with = "Amount")]
    pub(crate) minutes: Placed<f64>,
    /// The price of its parts.
    #[schemars(with = "Amount")]
    pub(crate) parts: Placed<f64>,
    /// What to verify afterwards, in words.
    #[schemars(with = "Text")]
    pub(crate) verify: Name,
    /// The measurements that verify it.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) verify_with: Items<Name>,
    /// The care it asks for: ids under `care` in family.yaml. `close-out` is implied.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) care: Items<Name>,
    /// Whether the valve body is opened, or the tray taken off.
    #[serde(default)]
    pub(crate) opens_valve_body: bool,
    /// The measurements it answers on the way.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) reveals: Items<Name>,
}

/// One thing that can be wrong.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Cause {
    /// Ids it had before, by which older records may name it.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) formerly: Items<Name>,
    /// What is wrong, in the trade's words.
    #[schemars(with = "Text")]
    pub(crate) title: Name,
    /// The part of the vehicle it belongs to.
    #[schemars(with = "Text")]
    pub(crate) part: Name,
    /// Of 1,000 driveline jobs, in how many this is wrong.
    #[schemars(with = "PerThousand")]
    pub(crate) rate: Placed<f64>,
    /// The repair that puts it right.
    #[schemars(with = "Id")]
    pub(crate) repair: Name,
    /// Who says so.
    #[schemars(with = "Text")]
    pub(crate) source: Name,
}
