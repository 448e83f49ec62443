//! A knowledge file, as each kind in turn.

#![no_main]

#[macro_use]
mod frame;

fuzz!(knowledge_file);
