//! What differs between two editions of the knowledge, in the trade's terms: `docs/comparing.md`.
//!
//! Each thing of an edition becomes what is stated of it (`facts`), by name; what is stated is
//! compared one figure, text or list at a time (`changes`), trees gate by gate (`gates`). Comments,
//! the order of entries and the files they stand in state nothing. What a difference does to the
//! answers is worked out with the model itself, for each complaint (`answers`) and each worked case
//! (`case_answers`).

mod answers;
mod case_answers;
mod change;
mod changes;
mod fact;
mod facts;
mod gates;
mod list;
mod names;
mod renames;
pub mod report;
mod thing;

pub use answers::{AnswerDiffers, FIRST, First, RepairMoved};
pub use case_answers::{CaseAnswer, CaseDiffers, CasesPut, MOVED, StandsIn, answer_of};
pub use change::{Change, Item, ListDiffers, What};
pub use fact::{Aspect, Effect, Facts, List, Value};
pub use thing::{Kind, Thing};

use crate::knowledge::Knowledge;

/// Two editions held against each other.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Comparison {
    /// What is stated otherwise: what moves the belief first, then limits, costs and words.
    pub changes: Vec<Change>,
    /// The complaints with another answer before any reading.
    pub answers: Vec<AnswerDiffers>,
    /// The worked cases, put to both editions.
    pub cases: CasesPut,
}

impl Comparison {
    /// Holds two editions against each other. Where nothing is stated otherwise, no answer is
    /// worked out: it cannot differ.
    #[must_use]
    pub fn of(old: &Knowledge, new: &Knowledge) -> Self {
        let same = changes::Sameness::of(old, new);
        let changes = changes::changes(old, new, &same);
        if changes.is_empty() {
            return Self::default();
        }
        Self {
            changes,
            answers: answers::differing(old, new, &same),
            cases: case_answers::put(old, new, &same),
        }
    }
}

/// What is stated otherwise in the newer of two editions.
#[must_use]
pub fn changes(old: &Knowledge, new: &Knowledge) -> Vec<Change> {
    changes::changes(old, new, &changes::Sameness::of(old, new))
}
