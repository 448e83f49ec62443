//! The tests, one binary: each module says what belongs in it.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::float_cmp,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a test may fail loudly, and exact values are compared where they are exact"
)]

/// Fault trees against published examples and against trying everything.
mod trees;

/// The units and how they convert.
mod units;
/// What an instrument's data sheet makes of a reading.
mod instruments;
/// What a reading says about the bands of its true value.
mod conformity;
/// The shape of trouble codes.
mod trouble_codes;
/// The clock of timed tests.
mod timing;
// Derived quantities.
mod formula;
/// The knowledge that is shipped.
mod shipped;
