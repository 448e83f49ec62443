//! The talk at the vehicle: what is asked, what is answered, what is kept.
//!
//! Everything a visit knows it derives from the job record, after every answer anew: going back,
//! stopping and coming back are then nothing special. May import every room below.

mod ask;
mod closing;
mod computed;
mod ending;
mod explain;
mod opening;
mod talk;
mod validity;
mod visit;
mod word;

pub use opening::{Opening, Sheet, open};
pub use talk::{Heard, Talk};
pub use visit::{BayError, Ended, Visit};
pub use word::{WORDS, Word};
