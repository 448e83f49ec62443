//! `vehicles/*.yaml`.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::load::kinds::{Id, Text, UnitName};
use crate::load::placed::{Entries, Name, Placed};

/// The spec sheet of one model: `vehicles/<name>.yaml`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct VehicleFile {
    /// The id of the vehicle, in kebab case.
    #[schemars(with = "Id")]
    pub(crate) vehicle: Name,
    /// The model, in words.
    #[schemars(with = "Text")]
    pub(crate) title: Name,
    /// The id of its family.
    #[schemars(with = "Id")]
    pub(crate) family: Name,
    /// Whether the sheet is invented for a demonstration.
    #[serde(default)]
    pub(crate) invented: bool,
    /// How readings are shown: `metric` or `us`.
    pub(crate) units: Option<Units>,
    /// Limits, by name.
    pub(crate) limits: Entries<SheetLimit>,
}

/// How readings are shown.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Units {
    /// kPa, °C, N·m.
    Metric,
    /// psi, °F, lbf·ft.
    Us,
}

/// A limit of the sheet: numbers with their unit, or words.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct SheetLimit {
    /// The least good value.
    pub(crate) min: Option<Placed<f64>>,
    /// The greatest good value.
    pub(crate) max: Option<Placed<f64>>,
    /// The value from which on it is far off.
    pub(crate) far: Option<Placed<f64>>,
    /// The unit of the numbers.
    #[schemars(with = "Option<UnitName>")]
    pub(crate) unit: Option<Name>,
    /// The limit in words, where it has no number.
    #[schemars(with = "Option<Text>")]
    pub(crate) words: Option<Name>,
    /// Where it comes from.
    #[schemars(with = "Text")]
    pub(crate) source: Name,
}
