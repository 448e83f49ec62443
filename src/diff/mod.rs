//! What differs between two editions of the knowledge, in the trade's terms: `docs/comparing.md`.
//!
//! Each entry of an edition is serialised and laid flat (`entries`, `tree`), the older edition is put in the newer one's
//! names (`renames`), and what stands at the same place is compared (`change`). Comments, the order of entries and the
//! files they are in do not count. What the differences do to the answers is worked out with the model itself, for each
//! complaint (`answers`) and each worked case (`case_answers`).

mod answers;
mod case_answers;
mod change;
mod comparison;
mod entries;
mod facts;
mod field;
mod list;
mod recordings;
mod renames;
pub mod report;
mod thing;
mod tree;
mod wording;

pub use answers::{AnswerDiffers, Candidates, FIRST, First, RepairMoved};
pub use case_answers::{CaseAnswer, CaseDiffers, CasesPut, MOVED, StandsIn};
pub use change::{Change, What};
pub use comparison::{Comparison, changes};
pub use facts::Facts;
pub use list::{Item, ListDiffers, Sides};
pub use thing::{Effect, Kind, Thing};
