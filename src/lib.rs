//! Halfsplit names the next measurement for a driveline complaint, and says when to stop measuring
//! and repair.
//!
//! The rooms, highest first; a room imports rooms below it, never above.

pub mod cases;
pub mod commands;
pub mod decide;
pub mod diff;
pub mod drawing;
pub mod entry;
pub mod fault_tree;
pub mod infer;
pub mod knowledge;
pub mod learn;
pub mod lint;
pub mod load;
pub mod record;
pub mod session;
pub mod simulate;
pub mod terminal;
pub mod text;
pub mod units;
