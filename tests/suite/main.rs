//! The tests, one binary.

/// Set-ups, repair order, ranking and the policy, against hand sums and exhaustive search.
mod planning;
