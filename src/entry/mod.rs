//! What a person types: numbers with their units and tolerances, trouble codes.

mod entry_text;
mod number;
mod number_entry;
mod trouble_code;
mod unit_text;

pub use number_entry::*;
pub use trouble_code::{NotATroubleCode, TroubleCode};
