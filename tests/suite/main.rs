//! The tests, one binary.
