//! What the knowledge is worth: held against what closed jobs found, and against another edition.
//!
//! May import every room below: `quantity` to `job`.

pub mod comparison;
pub mod learning;
