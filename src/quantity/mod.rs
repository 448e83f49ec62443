//! Numbers with a meaning: probabilities, rates, minutes and money.
//!
//! The lowest room: it imports no other.

mod cost;
mod probability;

pub use cost::{Minutes, Money};
pub use probability::{NotAProbability, NotARate, Probability, Rate};
