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

/// Drawings of fault trees.
mod drawing;

/// Set-ups, repair order, ranking and the policy, against hand sums and exhaustive search.
mod planning;

/// The units and how they convert.
mod units;

/// Fault trees against published examples.
mod trees_published;
/// Fault trees against trying everything.
mod trees_referee;
/// Fault trees that are large, deep or wide.
mod trees_size;
/// A plain list of gates to write trees with, try everything on, and draw on a failure.
mod trees_sketch;
/// What an instrument's data sheet makes of a reading.
mod instruments;
/// What a reading says about the bands of its true value.
mod conformity;
/// The shape of trouble codes.
mod trouble_codes;
/// The clock of timed tests.
mod timing;
/// Derived quantities.
mod formula;
/// What a person types for a number.
mod entry;
/// Whatever a person types.
mod entry_properties;
/// Figures that other libraries computed.
mod reference;
/// The job record: what is kept, what is refused, what it amounts to.
mod record;
/// Fault trees against published examples and against trying everything.
mod trees;
