//! What is typed for a number.

#![no_main]

#[macro_use]
mod frame;

fuzz!(typed);
