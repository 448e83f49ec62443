//! `codes.yaml`.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::manual::placed::{Caught, Entries, Name};

/// Trouble codes: `<family>/codes.yaml`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct CodesFile {
    /// Trouble codes, such as P0841.
    pub(crate) codes: Caught<Entries<CodeMeaning>>,
}

/// What a trouble code says.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct CodeMeaning {
    /// Its definition, in our own words.
    pub(crate) means: Name,
    /// The outcome of the code measurement that it counts as.
    pub(crate) kind: Name,
    /// Where the definition comes from.
    pub(crate) source: Name,
}
