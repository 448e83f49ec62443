//! Reads a knowledge folder and checks it: YAML in, [`Knowledge`] or findings out.
//!
//! Files become lists of values with their positions (`yaml`, `document`, `node`), those become the types of the
//! files (`value`, `raw`), and those are checked into knowledge (`check`). No step stops at a mistake: all
//! findings of a folder come at once. May import `text`, `units`, `entry`, `fault_tree` and `knowledge`.

mod amend;
mod check;
mod code;
mod describe;
mod document;
mod finding;
mod folder;
mod ids;
mod insert;
mod log;
mod narrow;
mod node;
mod outline;
mod places;
mod raw;
mod schema;
mod shipped;
mod shop;
mod source;
mod value;
mod yaml;

use crate::knowledge::Knowledge;

pub use amend::amend;
pub use check::names::is_id;
pub use code::{Code, Severity};
pub use finding::{Finding, Findings, Place};
pub use folder::FileKind;
pub use ids::{IdKind, Ids};
pub use insert::{NoPlace, insert};
pub(crate) use log::{Report, Spot};
pub use outline::{AskedLimit, FamilyOutline, Outline};
pub(crate) use places::{Places, place_of};
pub use schema::{schema, schema_of_shop, schema_of_trees};
pub use shop::{ShopProfile, shop};
pub use source::{NoFolder, Source};

/// Knowledge that can be used, and what was noticed while it was read.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// The knowledge.
    pub knowledge: Knowledge,
    /// Warnings, sorted by file, line and column.
    pub warnings: Findings,
}

/// Reads and checks a knowledge folder: where any finding is an error, all of them, warnings too.
pub fn load(source: &Source) -> Result<Loaded, Findings> {
    let log = log::Log::new(&source.files);
    let folder = folder::sort(source, &log);
    let mut knowledge = check::check(&folder, &log);
    let findings = log.finish();
    if findings.have_errors() {
        return Err(findings);
    }
    let files = source.files.iter().filter(|file| !file.is_for_people());
    let texts = files.filter_map(|file| Some((file.path.clone(), file.whole()?.clone())));
    knowledge.files = texts.collect();
    Ok(Loaded {
        knowledge,
        warnings: findings,
    })
}
