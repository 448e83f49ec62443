//! A knowledge file, as each kind in turn.

#![no_main]
#![allow(
    dead_code,
    reason = "each target uses some of what is given random bytes"
)]

#[path = "../../suite/faults/targets.rs"]
mod targets;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    targets::knowledge_file(bytes);
});
