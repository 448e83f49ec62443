//! What the knowledge is worth: held against drawn vehicles, against what closed jobs found, and
//! against another edition.
//!
//! May import every room below: `quantity` to `advice`.

pub mod comparison;
pub mod learning;
pub mod study;
