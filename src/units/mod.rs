//! Quantities: units and their conversion, probabilities, minutes and money; what an instrument's
//! accuracy makes of a number, and what the number says about the bands it may lie in; formulas over
//! numbers.

pub mod conformity;
mod cost;
mod dimension;
pub mod formula;
mod interval;
pub(crate) mod normal;
mod probability;
pub mod timing;
pub mod uncertainty;
pub(crate) mod unit;

pub use cost::{Minutes, Money};
pub use dimension::{Dimension, System};
pub use interval::Interval;
pub use probability::{NotAProbability, NotARate, Probability, Rate};
pub use unit::Unit;
pub(crate) use unit::folded;
