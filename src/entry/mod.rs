//! What a person types: numbers with their units and tolerances, choices, trouble codes.

mod answer;
mod choice;
mod entry_text;
mod number;
mod number_entry;
mod plain;
mod trouble_code;
mod unit_text;

pub use answer::Answer;
pub use choice::{Choice, NoChoice, choose};
pub use number_entry::{Entry, Expected, LONGEST, Span, understand, understand_tries};
pub use plain::{Aside, aside, folded, yes_or_no};
pub use trouble_code::{NotATroubleCode, TroubleCode};
