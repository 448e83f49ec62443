//! Lines typed into a session.

#![no_main]

#[macro_use]
mod frame;

fuzz!(session);
