//! The session: from the record to the case it holds in today's knowledge.

mod recorded;

pub use recorded::{NotKnown, RecordedCase, opened_on, recorded_case};
