//! What the knowledge is worth: held against what closed jobs found.
//!
//! May import every room below: `quantity` to `job`.

pub mod learning;
