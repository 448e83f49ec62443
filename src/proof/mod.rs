//! What the knowledge is worth: judged by itself, by its worked cases, by drawn vehicles, and by what
//! closed jobs found.
//!
//! May import every room below: `quantity` to `advice`.

pub mod cases;
mod checking;
pub mod judgement;
pub mod learning;
pub mod study;

pub use checking::{Checked, check};
