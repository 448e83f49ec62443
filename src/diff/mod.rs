//! What differs between two editions of the knowledge, in the trade's terms: `docs/comparing.md`.
//!
//! Each entry of an edition is serialised into a tree of values (`edition`), the older edition is put in the newer one's
//! names (`renames`), and what stands at the same place is compared (`change`). Comments, the order of entries and the
//! files they are in do not count. What the differences do to the answers is worked out with the model itself, for each
//! complaint (`answers`) and each worked case (`cases`).

mod answers;
mod cases;
mod change;
mod comparison;
mod edition;
mod field;
mod list;
mod renames;
pub mod report;
mod thing;
mod tree;
mod value;
mod wording;

pub use answers::{AnswerDiffers, Candidates, FIRST, First, RepairMoved};
pub use cases::{CaseAnswer, CaseDiffers, CasesPut, MOVED, StandsIn};
pub use change::{Change, What};
pub use comparison::{Comparison, changes};
pub use list::{Item, ListDiffers, Sides};
pub use thing::{Effect, Kind, Thing};
