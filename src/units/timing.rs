//! The clock of timed tests.

use std::time::Duration;

/// How long a test may be held, such as a stall test, or how long to wait before the next, in seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit(f64);

impl Limit {
    /// A limit in seconds; `None` where that is not a finite number above 0, or beyond an hour.
    pub fn seconds(seconds: f64) -> Option<Self> {
        const LONGEST: f64 = 3600.0;
        (seconds > 0.0 && seconds <= LONGEST).then_some(Self(seconds))
    }

    /// Whether a test that was held so long, in seconds, was within the limit.
    pub fn allows(self, seconds: f64) -> bool {
        seconds <= self.0
    }
}

/// A wait in whole seconds, begun ones counted full, so that nobody starts early.
pub const fn whole_seconds(wait: Duration) -> u64 {
    if wait.subsec_nanos() > 0 {
        wait.as_secs() + 1
    } else {
        wait.as_secs()
    }
}
