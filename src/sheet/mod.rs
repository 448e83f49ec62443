//! A job on one sheet: read back from its record as one value, and written as HTML, Markdown or JSON.
//!
//! The value holds all that is shown; the three renderings decide nothing. Imports `session` and the rooms below it.

mod course;
mod document;
mod html;
mod markdown;
mod part;
mod recordings;
mod tree;
mod value;
mod verdict;

pub use document::{SHEET_STYLE, Style, finished, framed, ticked};
pub use html::{html, one_reading, recording};
pub use markdown::markdown;
pub use part::{Met, Proof, Reading, RepairDone, SetAsideOn, Typed, bands};
pub use recordings::recordings;
pub use tree::{Branch, Likely, Tree, tree};
pub use value::{Remark, Sheet, Time};
pub use verdict::{Stage, Verdict};
