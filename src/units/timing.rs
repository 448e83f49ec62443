//! The clock of timed tests: how long one may last, and how long to wait before the next.

use jiff::{SignedDuration, Timestamp};
use std::time::Duration;

/// How long a test may be held: the stall test, five seconds (common practice).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit(Duration);

impl Limit {
    /// A limit in seconds; `None` where that is not a finite number above 0, or beyond an hour.
    #[must_use]
    pub fn seconds(seconds: f64) -> Option<Self> {
        period(seconds).map(Self)
    }

    /// How long it is.
    #[must_use]
    pub const fn get(self) -> Duration {
        self.0
    }

    /// What is left of the test at this moment; `None` once the limit is reached.
    #[must_use]
    pub fn left(self, started: Timestamp, now: Timestamp) -> Option<Duration> {
        remaining(self.0, started, now)
    }

    /// Whether a test that was held so long, in seconds, was within the limit.
    #[must_use]
    pub fn allows(self, seconds: f64) -> bool {
        seconds <= self.0.as_secs_f64()
    }

    /// When a test ended whose end nobody recorded, the program having been stopped meanwhile: at
    /// the latest the limit allows.
    #[must_use]
    pub fn latest_end(self, started: Timestamp) -> Timestamp {
        SignedDuration::try_from(self.0)
            .ok()
            .and_then(|limit| started.checked_add(limit).ok())
            .unwrap_or(started)
    }
}

/// How long the fluid cools before the next test of the kind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoolDown(Duration);

impl CoolDown {
    /// A cool-down in seconds; `None` where that is not a finite number above 0, or beyond an hour.
    #[must_use]
    pub fn seconds(seconds: f64) -> Option<Self> {
        period(seconds).map(Self)
    }

    /// How long it is.
    #[must_use]
    pub const fn get(self) -> Duration {
        self.0
    }

    /// How long to wait yet after a test that ended then; `None` where it may be taken. A clock that
    /// was set back does not shorten the wait, and does not make it longer than the whole.
    #[must_use]
    pub fn left(self, ended: Timestamp, now: Timestamp) -> Option<Duration> {
        remaining(self.0, ended, now)
    }
}

/// A wait in whole seconds, begun ones counted full, so that nobody starts early.
#[must_use]
pub const fn whole_seconds(wait: Duration) -> u64 {
    if wait.subsec_nanos() > 0 {
        wait.as_secs() + 1
    } else {
        wait.as_secs()
    }
}

fn period(seconds: f64) -> Option<Duration> {
    const LONGEST: f64 = 3600.0;
    (seconds > 0.0 && seconds <= LONGEST).then(|| Duration::from_secs_f64(seconds))
}

fn remaining(whole: Duration, since: Timestamp, now: Timestamp) -> Option<Duration> {
    // Where the clock was set back, no time has passed that could be counted.
    let passed = Duration::try_from(now.duration_since(since)).unwrap_or(Duration::ZERO);
    whole.checked_sub(passed).filter(|left| !left.is_zero())
}
