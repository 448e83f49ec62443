//! Which events stand after every going back, and whether each was in place.

use std::collections::BTreeSet;

use super::event::{Closed, Event};
use super::line::Entry;

/// An event that cannot come where it stands.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{why}")]
pub struct OutOfPlace {
    /// Its line, from 1.
    pub line: u64,
    /// Why not.
    pub why: Why,
}

/// Why an event cannot come where it stands.
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
        /// The answers that stand.
        standing: usize,
    },
    /// A going back names other lines than the answers it takes back.
    #[error("`back` names other lines than the answers it takes back")]
    Lines,
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
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stage {
    Diagnosis,
    Repaired,
    Closed { repaired: bool },
}

impl Stage {
    /// Where the job is after an answer.
    fn after(self, answer: &Event) -> Result<Self, Why> {
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

/// What stands of a record.
#[derive(Debug, Default)]
pub(super) struct Standing {
    /// The answers that stand, by line, each with where the job was after it.
    answers: Vec<(u64, Stage)>,
    /// The lines taken back.
    taken_back: BTreeSet<u64>,
}

impl Standing {
    /// What stands of a record's events. Linear in their number.
    ///
    /// # Errors
    ///
    /// [`OutOfPlace`] for the first event that cannot come where it stands.
    pub(super) fn of(entries: &[Entry]) -> Result<Self, OutOfPlace> {
        let mut standing = Self::default();
        if entries.is_empty() {
            return Err(OutOfPlace {
                line: 1,
                why: Why::NotOpened,
            });
        }
        for (line, entry) in (1..).zip(entries) {
            standing
                .admit(line, &entry.event)
                .map_err(|why| OutOfPlace { line, why })?;
        }
        Ok(standing)
    }

    fn admit(&mut self, line: u64, event: &Event) -> Result<(), Why> {
        match event {
            Event::Opened(_) if line > 1 => return Err(Why::OpenedAgain),
            Event::Opened(_) => {}
            _ if line == 1 => return Err(Why::NotOpened),
            Event::Back { steps, lines } => {
                let last = self.last(*steps)?;
                if *lines != last {
                    return Err(Why::Lines);
                }
                self.answers.truncate(self.answers.len() - last.len());
                self.taken_back.extend(last);
            }
            answer if answer.is_answer() => {
                let stage = self
                    .answers
                    .last()
                    .map_or(Stage::Diagnosis, |(_, stage)| *stage);
                self.answers.push((line, stage.after(answer)?));
            }
            _ => {}
        }
        Ok(())
    }

    /// The lines of the last `steps` answers that stand, latest first.
    ///
    /// # Errors
    ///
    /// [`Why::Steps`] where there are not so many, or for no step at all.
    pub(super) fn last(&self, steps: u32) -> Result<Vec<u64>, Why> {
        let refused = Why::Steps {
            asked: steps,
            standing: self.answers.len(),
        };
        let count = usize::try_from(steps).unwrap_or(usize::MAX);
        if count == 0 || count > self.answers.len() {
            return Err(refused);
        }
        Ok(self
            .answers
            .iter()
            .rev()
            .take(count)
            .map(|(line, _)| *line)
            .collect())
    }

    /// The lines of the answers that stand, earliest first, and the lines taken back.
    pub(super) fn into_lines(self) -> (Vec<u64>, BTreeSet<u64>) {
        (
            self.answers.into_iter().map(|(line, _)| line).collect(),
            self.taken_back,
        )
    }
}
