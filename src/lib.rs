//! Halfsplit names the next measurement for a driveline complaint, and says when to stop measuring
//! and repair.
//!
//! The rooms, lowest first; a room imports rooms below it, never above.

pub mod advice;
pub mod bay;
pub mod belief;
pub mod command;
pub mod job;
pub mod knowledge;
pub mod manual;
mod names;
pub mod plan;
pub mod proof;
pub mod quantity;
pub mod screen;
pub mod tree;
