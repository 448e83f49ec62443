//! What a maintainer would want to know about knowledge that loads: nothing in it is broken, but something is
//! probably not intended. Each lint has a code of its own, explained in docs/findings.md.

mod accept;
mod check;
mod coverage;
mod desk;
mod exercises;
mod figures;
mod report;
mod set_ups;
mod sheets;
mod sources;
mod tables;
mod texts;
mod wording;

pub use accept::without_accepted;
pub use check::{Checked, Counts, check, judge};
pub use report::report;
pub use tables::Tables;
