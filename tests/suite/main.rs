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
/// A textbook family and edits to it.
mod textbook;
/// Knowledge files: what is found wrong, where, and what is suggested.
mod loading;
/// The knowledge that is shipped.
mod shipped;
/// Families as textbooks state them, written as YAML and loaded.
mod family_text;
/// Jobs on a family, everything by the names of its files.
mod by_name;
/// Published examples of belief.
mod belief_published;
/// Published examples of choosing a test.
mod ranking_published;
/// What becomes a candidate, and the rules of rows, shares and misfits, by hand sums.
mod candidates;
/// The whole of the reasoning against an obvious second implementation.
mod belief_referee;
/// Facts of the trade, on the knowledge that is shipped.
mod trade_facts;
/// Distinctions a careless tree gets wrong, on the knowledge that is shipped.
mod distinctions;
/// Everything that is shipped, swept.
mod sweep;
/// The rooms of the house, and what each may use.
mod house;
