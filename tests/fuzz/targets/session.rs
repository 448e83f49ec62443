//! Lines typed into a session.

#![no_main]
#![allow(
    dead_code,
    reason = "each target uses some of what is given random bytes"
)]

#[path = "../../suite/faults/targets.rs"]
mod targets;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    targets::session(bytes);
});
