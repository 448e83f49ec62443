//! The clock of timed tests.

use std::time::Duration;

/// A wait in whole seconds, begun ones counted full, so that nobody starts early.
pub const fn whole_seconds(wait: Duration) -> u64 {
    if wait.subsec_nanos() > 0 {
        wait.as_secs() + 1
    } else {
        wait.as_secs()
    }
}
