//! `codes.yaml`.

use crate::load::describe::{CodeName, Named, OutcomeRef};
use crate::load::value::{Caught, Entries, Name, records};

records! {
    /// Trouble codes: `<family>/codes.yaml`.
    CodesFile {
        /// Trouble codes, such as P0841.
        codes: Caught<Entries<CodeMeaning>> as Named<CodeName, CodeMeaning>,
    }

    /// What a trouble code says.
    CodeMeaning {
        /// Its definition, in our own words.
        means: String,
        /// The outcome of the code measurement that it counts as.
        kind: Name as OutcomeRef,
        /// Where the definition comes from.
        source: String,
    }
}
