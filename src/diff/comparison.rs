//! Two editions compared.

use serde::Serialize;

use super::answers::{AnswerDiffers, differing};
use super::cases::{CasesPut, put};
use super::change::{self, Change};
use super::edition::{Entries, entries};
use super::renames::in_newer_names;
use crate::knowledge::{Family, Knowledge};

/// What differs between two editions.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Comparison {
    /// What is stated otherwise: what moves the belief first, then limits, costs and words.
    pub changes: Vec<Change>,
    /// The complaints with another answer before any reading.
    pub answers: Vec<AnswerDiffers>,
    /// The worked cases, put to both editions.
    pub cases: CasesPut,
}

impl Comparison {
    /// Compares two editions. Where nothing is stated otherwise, no answer is worked out: it cannot
    /// differ.
    pub fn of(old: &Knowledge, new: &Knowledge) -> Self {
        let (old, stated, changes) = stated(old, new);
        if changes.is_empty() {
            return Self::default();
        }
        let both = new.families.iter();
        let both = both.filter_map(|now| Some([old.family(&now.name)?, now]));
        let families: Vec<[&Family; 2]> = both.collect();
        Self {
            changes,
            answers: differing(&families, [&old, new]),
            cases: put(&families, [&old, new], &stated),
        }
    }
}

/// What is stated otherwise in the newer of two editions.
pub fn changes(old: &Knowledge, new: &Knowledge) -> Vec<Change> {
    stated(old, new).2
}

/// The older edition in the names of the newer, what each states, and what differs in that.
fn stated(old: &Knowledge, new: &Knowledge) -> (Knowledge, [Entries; 2], Vec<Change>) {
    let now = entries(new);
    let (old, renamed) = in_newer_names(old, &now);
    let was = entries(&old);
    let changes = change::changes(&was, &now, &renamed);
    (old, [was, now], changes)
}
