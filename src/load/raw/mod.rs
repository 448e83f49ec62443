//! The knowledge files as they are written, before anything is checked: one type a kind of file.
//!
//! The comments of the fields become the descriptions in the JSON Schemas, which editors show while a
//! maintainer types.

pub(crate) mod cases;
pub(crate) mod causes;
pub(crate) mod codes;
pub(crate) mod family;
pub(crate) mod measurements;
pub(crate) mod trees;
pub(crate) mod vehicles;

use schemars::JsonSchema;
use serde::Deserialize;

use crate::load::placed::Placed;

/// A span of numbers.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Span {
    /// The least number.
    pub(crate) from: Placed<f64>,
    /// The greatest number.
    pub(crate) to: Placed<f64>,
}
