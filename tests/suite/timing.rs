//! The clock of timed tests.

use halfsplit::units::timing::{CoolDown, Limit, whole_seconds};
use jiff::Timestamp;
use std::time::Duration;

fn at(text: &str) -> Timestamp {
    text.parse().unwrap()
}

#[test]
fn a_cool_down_says_how_long_is_left() {
    let minute = CoolDown::seconds(60.0).unwrap();
    let ended = at("2026-03-01T10:00:00Z");
    assert_eq!(minute.left(ended, ended), Some(Duration::from_mins(1)));
    assert_eq!(
        minute.left(ended, at("2026-03-01T10:00:18Z")),
        Some(Duration::from_secs(42))
    );
    assert_eq!(minute.left(ended, at("2026-03-01T10:01:00Z")), None);
    assert_eq!(
        minute.left(ended, at("2026-03-01T18:00:00Z")),
        None,
        "also after a restart"
    );
}

#[test]
fn a_clock_that_was_set_back_does_not_shorten_a_cool_down() {
    let minute = CoolDown::seconds(60.0).unwrap();
    let ended = at("2026-03-01T10:00:00Z");
    assert_eq!(
        minute.left(ended, at("2026-03-01T09:00:00Z")),
        Some(Duration::from_mins(1))
    );
}

#[test]
fn a_test_may_last_to_its_limit() {
    let five = Limit::seconds(5.0).unwrap();
    let started = at("2026-03-01T10:00:00Z");
    assert_eq!(
        five.left(started, at("2026-03-01T10:00:01.5Z")),
        Some(Duration::from_millis(3500))
    );
    assert_eq!(five.left(started, at("2026-03-01T10:00:05Z")), None);
    assert!(five.allows(5.0) && !five.allows(5.1));
    assert_eq!(five.latest_end(started), at("2026-03-01T10:00:05Z"));
}

#[test]
fn a_wait_is_told_in_seconds_begun() {
    assert_eq!(whole_seconds(Duration::from_millis(41_001)), 42);
    assert_eq!(whole_seconds(Duration::from_secs(42)), 42);
}

#[test]
fn a_time_without_a_meaning_is_no_limit() {
    for seconds in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e300] {
        assert_eq!(Limit::seconds(seconds), None);
        assert_eq!(CoolDown::seconds(seconds), None);
    }
}
