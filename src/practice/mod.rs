//! Practice: a vehicle whose fault is hidden, what a trainee does with it, and what can be learnt from that.
//! docs/practice.md.
//!
//! An exercise is played as a job: the session asks what a measurement needs, the hidden vehicle answers, and the record
//! keeps it. From the record alone come the debrief and the class.

mod begin;
mod cards;
mod class;
mod course;
mod debrief;
mod hidden;
mod play;
mod seal;

pub use begin::{SEALED, exercise_called, opening};
pub use cards::{card, first_looks, measurements_of};
pub use class::Class;
pub use course::{Course, Step, What};
pub use debrief::{Debrief, End};
pub use hidden::{Hidden, Unplayable};
pub use play::{Asked, Move, Practice, Reply, is_over};
pub use seal::{sealed, unsealed};
