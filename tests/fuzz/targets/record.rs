//! A record, and a line of one.

#![no_main]

#[macro_use]
mod frame;

fuzz!(record_line, record);
