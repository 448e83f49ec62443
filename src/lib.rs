//! Halfsplit names the next measurement for a driveline complaint, and says when to stop measuring
//! and repair.
//!
//! The rooms, lowest first; a room imports rooms below it, never above.

pub mod knowledge;
pub mod manual;
pub mod quantity;
pub mod tree;
