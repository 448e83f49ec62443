//! The tests, one binary.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on has failed"
)]

// The units and how they convert.
mod units;
// What an instrument's data sheet makes of a reading.
mod instruments;
// What a reading says about the bands of its true value.
mod conformity;
// The shape of trouble codes.
mod trouble_codes;
// The clock of timed tests.
mod timing;
// Derived quantities.
mod formula;
// What a person types for a number.
mod entry;
// Whatever a person types.
mod entry_properties;
// Figures that other libraries computed.
mod reference;
