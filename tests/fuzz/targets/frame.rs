//! What every target is made of.

#[path = "../../suite/faults/targets.rs"]
#[allow(
    dead_code,
    reason = "each target uses some of what is given random bytes"
)]
pub(crate) mod targets;

/// Gives random bytes to these, one after the other.
macro_rules! fuzz {
    ($($target:ident),+) => {
        libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
            $(frame::targets::$target(bytes);)+
        });
    };
}
