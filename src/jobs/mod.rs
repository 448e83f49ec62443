//! The folder of jobs at a glance: what is open, what waits for its proof, what is closed.
//!
//! Imports `sheet` and the rooms below it.

mod folder;
mod priced;
mod row;

pub use folder::{Folder, Unreadable};
pub use priced::Priced;
pub use row::{Row, age};
