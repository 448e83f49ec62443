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

/// The job record: what is kept, what is refused, what it amounts to.
mod record;
/// Fault trees against published examples and against trying everything.
mod trees;
