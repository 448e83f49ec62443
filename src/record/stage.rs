//! Where a job is after each answer, and so which event may come next.

use super::event::{Closed, Event};

/// An event out of place.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{why}")]
pub struct OutOfPlace {
    /// Its line, from 1.
    pub line: u64,
    /// Why not.
    pub why: Why,
}

/// Why an event is out of place.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Why {
    /// A record begins with its opening.
    #[error("a record must begin with `opened`")]
    NotOpened,
    /// A record has one opening.
    #[error("`opened` comes once, as the first line")]
    OpenedAgain,
    /// More steps back than there are answers, or none.
    #[error("{asked} steps back asked for, and {standing} answers can be taken back")]
    Steps {
        /// The steps asked for.
        asked: u32,
        /// The answers that can be taken back.
        standing: usize,
    },
    /// A going back names other lines than the answers it takes back.
    #[error("`back` names other lines than the answers it takes back")]
    Lines,
    /// A line taken back that holds no reading.
    #[error("`withdrawn` names line {0}, which holds no reading that stands")]
    NoReading(u64),
    /// The job is closed as fixed.
    #[error("the job is closed as fixed: reopen it before `{0}`")]
    Closed(&'static str),
    /// There is nothing to reopen.
    #[error("`reopened`, and the job is not closed as fixed")]
    NotClosed,
    /// There is nothing to verify.
    #[error("`verification`, and no repair is waiting for one")]
    NothingRepaired,
}

/// Where a job is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Stage {
    /// Nothing is repaired yet, or the repair did not help.
    #[default]
    Diagnosis,
    /// A repair waits for its verification.
    Repaired,
    /// Closed as fixed.
    Closed {
        /// After a repair.
        repaired: bool,
    },
}

impl Stage {
    /// Where the job is after an answer.
    pub(super) fn after(self, answer: &Event) -> Result<Self, Why> {
        match (self, answer) {
            (Self::Closed { repaired: true }, Event::Reopened { .. }) => Ok(Self::Repaired),
            (Self::Closed { repaired: false }, Event::Reopened { .. }) => Ok(Self::Diagnosis),
            (Self::Closed { .. }, other) => Err(Why::Closed(other.name())),
            (_, Event::Reopened { .. }) => Err(Why::NotClosed),
            (Self::Diagnosis, Event::Verification(_)) => Err(Why::NothingRepaired),
            (_, Event::Repair(_)) => Ok(Self::Repaired),
            (stage, Event::Closed(Closed { fixed: true, .. })) => Ok(Self::Closed {
                repaired: stage == Self::Repaired,
            }),
            (_, Event::Closed(Closed { fixed: false, .. })) => Ok(Self::Diagnosis),
            (stage, _) => Ok(stage),
        }
    }
}
