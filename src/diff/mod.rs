//! What differs between two editions of the knowledge, in the trade's terms: `docs/comparing.md`.
//!
//! Each entry of an edition becomes a tree of JSON values (`stated`), and one comparison of such trees
//! finds what differs (`change`). Comments, the order of entries and the files they are in do not count. What the differences do to the answers is worked out with the model itself, for each
//! complaint (`answers`) and each worked case (`case_answers`).

mod answers;
mod case_answers;
mod change;
mod comparison;
mod field;
mod list;
mod names;
mod renames;
pub mod report;
mod stated;
mod thing;
mod wording;

pub use answers::{AnswerDiffers, Candidates, FIRST, First, RepairMoved};
pub use case_answers::{CaseAnswer, CaseDiffers, CasesPut, MOVED, StandsIn};
pub use change::{Change, What};
pub use comparison::{Comparison, changes};
pub use field::Effect;
pub use list::{Item, ListDiffers, Sides};
pub use thing::{Kind, Thing};
