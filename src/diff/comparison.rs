//! Two editions compared.

use serde::Serialize;

use super::answers::{AnswerDiffers, differing};
use super::case_answers::{CasesPut, put};
use super::change::{self, Change};
use super::names::{Editions, Renames};
use super::renames::between;
use super::stated::things;
use crate::knowledge::Knowledge;

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
        let renames = between(old, new);
        let (was, now) = (things(old, &renames), things(new, &Renames::default()));
        let changes = change::changes(&was, &now, &renames);
        if changes.is_empty() {
            return Self::default();
        }
        let editions = Editions { old, new, renames };
        Self {
            changes,
            answers: differing(&editions),
            cases: put(&editions, &was, &now),
        }
    }
}

/// What is stated otherwise in the newer of two editions.
pub fn changes(old: &Knowledge, new: &Knowledge) -> Vec<Change> {
    let renames = between(old, new);
    change::changes(
        &things(old, &renames),
        &things(new, &Renames::default()),
        &renames,
    )
}
