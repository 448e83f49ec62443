//! `codes.yaml`.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::load::kinds::{CodeName, Id, Named, Text};
use crate::load::placed::{Caught, Entries, Name};

/// Trouble codes: `<family>/codes.yaml`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct CodesFile {
    /// Trouble codes, such as P0841.
    #[schemars(with = "Named<CodeName, CodeMeaning>")]
    pub(crate) codes: Caught<Entries<CodeMeaning>>,
}

/// What a trouble code says.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct CodeMeaning {
    /// Its definition, in our own words.
    #[schemars(with = "Text")]
    pub(crate) means: Name,
    /// The outcome of the code measurement that it counts as.
    #[schemars(with = "Id")]
    pub(crate) kind: Name,
    /// Where the definition comes from.
    #[schemars(with = "Text")]
    pub(crate) source: Name,
}
