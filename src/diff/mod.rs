//! What differs between two editions of the knowledge, in the trade's terms: `docs/comparing.md`.
//!
//! Each entry of an edition is serialised into values at places (`edition`), the older edition is put in the newer one's
//! names (`renames`), and what stands at the same place is compared (`change`). Comments, the order of entries and the
//! files they are in do not count. What the differences do to the answers is worked out with the model itself, for each
//! complaint (`answers`) and each worked case (`cases`).

mod answers;
mod cases;
mod change;
mod edition;
mod entry;
mod field;
mod kind;
mod list;
mod renames;
pub mod report;
mod tree;
mod wording;

use serde::Serialize;

pub use answers::{AnswerDiffers, Candidates, FIRST, First, RepairMoved};
pub use cases::{CaseAnswer, CaseDiffers, CasesPut, MOVED, StandsIn};
pub use change::{Change, What};
pub use entry::{Figure, Value};
pub use kind::{Effect, Kind, Thing};
pub use list::{Item, ListDiffers, Sides};

use crate::knowledge::{Family, Knowledge};
use edition::{Entries, entries};
use renames::in_newer_names;

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
            answers: answers::differing(&families, [&old, new]),
            cases: cases::put(&families, [&old, new], &stated),
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
