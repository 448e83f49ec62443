//! The clock of timed tests.

use halfsplit::units::timing::{Limit, whole_seconds};
use std::time::Duration;

#[test]
fn a_test_may_last_to_its_limit() {
    let five = Limit::seconds(5.0).unwrap();
    assert!(five.allows(5.0) && !five.allows(5.1));
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
    }
}
