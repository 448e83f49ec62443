//! Where the time comes from.

use std::fmt;
use std::sync::Arc;

use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

/// A source of the time: the system's, or one that a test or a script sets.
#[derive(Clone)]
pub struct Clock {
    now: Arc<dyn Fn() -> Timestamp + Send + Sync>,
    /// The time zone; `None` for the system's, which takes a while to find out.
    zone: Option<TimeZone>,
}

impl Clock {
    /// The system's clock and time zone.
    pub fn system() -> Self {
        Self {
            now: Arc::new(Timestamp::now),
            zone: None,
        }
    }

    /// A clock that asks `now` each time; its dates are in UTC.
    pub fn of(now: impl Fn() -> Timestamp + Send + Sync + 'static) -> Self {
        Self {
            now: Arc::new(now),
            zone: Some(TimeZone::UTC),
        }
    }

    /// A clock that does not move; its dates are in UTC.
    pub fn fixed(time: Timestamp) -> Self {
        Self::of(move || time)
    }

    /// The time now.
    pub fn now(&self) -> Timestamp {
        (self.now)()
    }

    /// A time in the clock's own time zone, to the minute, as a person reads it: `2026-11-25 10:02`.
    pub fn shown(&self, time: Timestamp) -> String {
        self.local(time).strftime("%Y-%m-%d %H:%M").to_string()
    }

    /// The date now, in the clock's own time zone: for names a person reads, not for the record.
    pub fn today(&self) -> Date {
        self.local(self.now()).date()
    }

    fn local(&self, time: Timestamp) -> DateTime {
        let zone = self.zone.clone().unwrap_or_else(TimeZone::system);
        zone.to_datetime(time)
    }
}

impl fmt::Debug for Clock {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Clock")
            .field("zone", &self.zone)
            .finish_non_exhaustive()
    }
}

/// `time + seconds`; no earlier than `time`, no later than the last time there is.
pub(super) fn later(time: Timestamp, seconds: f64) -> Timestamp {
    SignedDuration::try_from_secs_f64(seconds.max(0.0))
        .ok()
        .and_then(|duration| time.checked_add(duration).ok())
        .unwrap_or(Timestamp::MAX)
}
