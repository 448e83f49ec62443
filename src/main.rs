//! The `halfsplit` program.

fn main() {}
