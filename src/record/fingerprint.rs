//! Whether a record was made with other knowledge than today's.

use std::collections::BTreeMap;
use std::fmt::{self, Write as _};

use sha2::{Digest, Sha256};

/// The fingerprint of a file's bytes: the first 16 hexadecimal digits of its SHA-256 (FIPS 180-4).
pub fn fingerprint(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .take(8)
        .fold(String::new(), |mut digits, byte| {
            // Writing to a string does not fail.
            let _ = write!(digits, "{byte:02x}");
            digits
        })
}

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
    let mut found: Vec<(&String, Difference)> = Vec::new();
    for (file, print) in then {
        match today.get(file) {
            None => found.push((file, Difference::Gone(file.clone()))),
            Some(other) if other != print => {
                found.push((file, Difference::Changed(file.clone())));
            }
            Some(_) => {}
        }
    }
    for file in today.keys().filter(|file| !then.contains_key(*file)) {
        found.push((file, Difference::Added(file.clone())));
    }
    found.sort();
    found
        .into_iter()
        .map(|(_, difference)| difference)
        .collect()
}
