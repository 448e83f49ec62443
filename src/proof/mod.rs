//! What the knowledge is worth: judged by itself, by its worked cases, by drawn vehicles, by what closed
//! jobs found, and against another edition.
//!
//! May import every room below: `quantity` to `advice`.

pub mod cases;
mod checking;
pub mod comparison;
pub mod judgement;
pub mod learning;
pub mod study;

pub use checking::{Checked, check};
