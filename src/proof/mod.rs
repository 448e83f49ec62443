//! What the knowledge is worth: held against drawn vehicles, and against what closed jobs found.
//!
//! May import every room below: `quantity` to `advice`.

pub mod learning;
pub mod study;
