//! Numbers with a meaning: probabilities, rates, minutes and money; units, and readings as people
//! type them; what an instrument makes of a reading, and what that says about the bands it may
//! belong to; formulas over readings; trouble codes; the clock of timed tests.
//!
//! The lowest room: it imports no other.

pub mod conformity;
mod cost;
mod dimension;
pub mod entry;
mod entry_text;
pub mod formula;
mod interval;
mod normal;
mod number;
mod probability;
pub mod timing;
mod trouble_code;
pub mod uncertainty;
mod unit;
mod unit_text;
mod words;

pub use cost::{Minutes, Money};
pub use dimension::{Dimension, System};
pub use interval::Interval;
pub use probability::{NotAProbability, NotARate, Probability, Rate};
pub use trouble_code::{NotATroubleCode, TroubleCode};
pub use unit::Unit;
pub use words::{plain, quoted};
