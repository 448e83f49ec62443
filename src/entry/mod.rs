//! What a person types: numbers with their units and tolerances, choices, trouble codes.

mod answer;
mod choice;
mod entry_text;
mod number;
mod number_entry;
mod trouble_code;
mod unit_text;

pub use answer::Answer;
pub use choice::{Choice, NoChoice, choose, folded};
pub use number_entry::{Entry, Expected, LONGEST, Span, understand};
pub use trouble_code::{NotATroubleCode, TroubleCode};
