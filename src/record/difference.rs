//! Whether a record was made with other knowledge than today's.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// How one file of the knowledge differs from the one a record was made with.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Difference {
    /// It reads otherwise today.
    Changed(String),
    /// It was not there when the job was opened.
    Added(String),
    /// It was there when the job was opened and is not today.
    Gone(String),
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Changed(file) => write!(f, "{file} has changed since the job was opened"),
            Self::Added(file) => write!(f, "{file} was added after the job was opened"),
            Self::Gone(file) => write!(f, "{file} was there when the job was opened and is gone"),
        }
    }
}

/// The files that differ between two sets of fingerprints, by file name.
pub(super) fn differences(
    then: &BTreeMap<String, String>,
    today: &BTreeMap<String, String>,
) -> Vec<Difference> {
    let files: BTreeSet<&String> = then.keys().chain(today.keys()).collect();
    let difference = |file: &String| match (then.get(file), today.get(file)) {
        (Some(_), None) => Some(Difference::Gone(file.clone())),
        (None, _) => Some(Difference::Added(file.clone())),
        (before, now) => (before != now).then(|| Difference::Changed(file.clone())),
    };
    files.into_iter().filter_map(difference).collect()
}
