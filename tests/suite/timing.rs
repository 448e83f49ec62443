//! The clock of timed tests.

use halfsplit::units::timing::whole_seconds;
use std::time::Duration;

#[test]
fn a_wait_is_told_in_seconds_begun() {
    assert_eq!(whole_seconds(Duration::from_millis(41_001)), 42);
    assert_eq!(whole_seconds(Duration::from_secs(42)), 42);
}
