//! Why a record does not count.

use std::path::PathBuf;

use crate::record::RecordError;
use crate::text::quoted;

/// A record that does not count.
#[derive(Debug)]
pub struct Refused {
    /// The record.
    pub file: PathBuf,
    /// Why it does not count.
    pub why: Refusal,
}

/// Why a record does not count. The words begin where the file's name ended.
#[derive(Debug, thiserror::Error)]
pub enum Refusal {
    /// It is damaged or cannot be read.
    #[error("{}", without_path(.0))]
    Unreadable(#[from] RecordError),
    /// Its last line was cut off: that may have been the reopening of the job.
    #[error(
        "its last line, line {0}, was cut off while it was written: resuming the job once repairs it"
    )]
    Torn(u64),
    /// It is about another family of transmission.
    #[error("it is of another family, {}", quoted(.0))]
    OtherFamily(String),
    /// It is practice: nobody's vehicle was repaired.
    #[error("it is practice")]
    Practice,
    /// The job is not closed as fixed.
    #[error("the job is not closed as fixed")]
    Open,
    /// It has no repair that the closing could rest on.
    #[error(
        "it is closed as fixed, but the last repair before that did not cure it, or there is none"
    )]
    NoRepair,
    /// No verification reading of the repair was taken.
    #[error("no reading verified its repair")]
    NotVerified,
    /// A verification reading was abnormal.
    #[error("its repair was verified with {} = {}, which is not how a repaired vehicle reads", quoted(.measurement), quoted(.outcome))]
    NotAsExpected {
        /// The measurement.
        measurement: String,
        /// Its outcome.
        outcome: String,
    },
    /// The closing names no cause.
    #[error("it is closed without a cause")]
    NoCause,
    /// It names something that today's knowledge does not have.
    #[error("today's knowledge has no {kind} {}", quoted(.name))]
    Unknown {
        /// What kind of thing.
        kind: &'static str,
        /// Its name in the record.
        name: String,
    },
    /// A reading of this measurement gives no outcome a weight.
    #[error("a reading of {} gives no outcome a weight", quoted(.0))]
    NoWeight(String),
    /// Another file holds the same job.
    #[error("its job is counted already, from {}", .0.display())]
    Twice(PathBuf),
}

impl Refusal {
    /// A word for the kind of refusal, for other programs.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Unreadable(RecordError::Damaged { .. }) => "damaged",
            Self::Unreadable(_) => "unreadable",
            Self::Torn(_) => "torn",
            Self::OtherFamily(_) => "other-family",
            Self::Practice => "practice",
            Self::Open => "not-closed",
            Self::NoRepair => "no-repair",
            Self::NotVerified => "not-verified",
            Self::NotAsExpected { .. } => "not-as-expected",
            Self::NoCause => "no-cause",
            Self::Unknown { .. } => "unknown-name",
            Self::NoWeight(_) => "no-weight",
            Self::Twice(_) => "counted-twice",
        }
    }
}

/// The words of an error, its leading path taken off: the file is named beside them.
fn without_path(error: &RecordError) -> String {
    let words = error.to_string();
    let path = error.path().map(|path| format!("{}: ", path.display()));
    path.and_then(|path| words.strip_prefix(&path).map(str::to_owned))
        .unwrap_or(words)
}
