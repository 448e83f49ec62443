//! Reads a knowledge folder and checks it: YAML in, [`Knowledge`] or findings out.
//!
//! Files become a tree of values that know their places (`node`), that becomes the types of the files
//! (`raw`), and those are checked into knowledge (`check`). No step stops at a mistake: all findings of
//! a folder come at once. May import `quantity`, `tree` and `knowledge`.

mod check;
mod code;
mod finding;
mod folder;
mod insert;
mod kinds;
mod log;
mod narrow;
mod node;
mod placed;
mod places;
mod raw;
mod read_error;
mod reader;
mod refusal;
mod schema;
mod source;

use crate::knowledge::Knowledge;

pub use check::names::is_id;
pub use code::{Code, Severity};
pub use finding::{Finding, Findings, Place};
pub use folder::FileKind;
pub use insert::{NoPlace, insert};
pub(crate) use log::{Report, Spot};
pub(crate) use places::{Places, place_of};
pub use schema::{schema, schema_of_trees};
pub use source::{NoFolder, Source};

/// Knowledge that can be used, and what was noticed while it was read.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// The knowledge.
    pub knowledge: Knowledge,
    /// Warnings, sorted by file, line and column.
    pub warnings: Findings,
}

/// Reads and checks a knowledge folder.
///
/// # Errors
///
/// All [`Findings`], warnings among them, where any of them is an error.
pub fn load(source: &Source) -> Result<Loaded, Findings> {
    let log = log::Log::new(&source.files);
    let folder = folder::sort(source, &log);
    let mut knowledge = check::check(&folder, &log);
    let findings = log.finish();
    if findings.have_errors() {
        return Err(findings);
    }
    knowledge.fingerprints = source
        .files()
        .filter(|(path, _)| !path.to_ascii_uppercase().contains("README"))
        .map(|(path, text)| (path.to_owned(), source::fingerprint(text)))
        .collect();
    Ok(Loaded {
        knowledge,
        warnings: findings,
    })
}
