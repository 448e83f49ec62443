//! Why a command could not do what it was asked.

use std::fmt::Display;
use std::io;
use std::path::Path;

use super::streams::{DONE, FINDINGS, UNUSABLE};
use crate::decide::Misshapen;
use crate::infer::Unexplained;
use crate::learn::{CountsError, FilesError, OverlayError};
use crate::load::{Findings, NoFolder};
use crate::practice::Unplayable;
use crate::record::RecordError;
use crate::session::NotKnown;
use crate::simulate::Unworkable;
use crate::terminal::VisitError;

/// What a command comes to: mostly its exit code.
pub(crate) type Result<T = u8> = std::result::Result<T, Error>;

/// Why a command could not do what it was asked.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The arguments do not fit the knowledge.
    #[error("{0}")]
    Usage(String),
    /// No candidate explains the complaint.
    #[error(transparent)]
    Unexplained(#[from] Unexplained),
    /// The case is too large to decide on.
    #[error(transparent)]
    Misshapen(#[from] Misshapen),
    /// The knowledge has errors.
    #[error("the knowledge has errors")]
    Findings(#[from] Findings),
    /// The shop's profile has errors.
    #[error("the shop's profile has errors")]
    Shop(Findings),
    /// The knowledge folder cannot be read.
    #[error(transparent)]
    Folder(#[from] NoFolder),
    /// The learned figures cannot be read or written.
    #[error(transparent)]
    Overlay(#[from] OverlayError),
    /// The jobs to learn from cannot be read.
    #[error(transparent)]
    Jobs(#[from] FilesError),
    /// Nor can counts of jobs.
    #[error(transparent)]
    Counts(#[from] CountsError),
    /// Vehicles cannot be drawn from the knowledge.
    #[error(transparent)]
    Unworkable(#[from] Unworkable),
    /// An exercise cannot be played.
    #[error(transparent)]
    Unplayable(#[from] Unplayable),
    /// The job record cannot be used.
    #[error(transparent)]
    Record(#[from] RecordError),
    /// The knowledge lacks what the job was opened with.
    #[error(transparent)]
    NotKnown(#[from] NotKnown),
    /// A file or a folder cannot be used.
    #[error("{0}")]
    Files(String),
    /// Reading or writing failed.
    #[error(transparent)]
    Io(#[from] io::Error),
}

impl From<VisitError> for Error {
    fn from(error: VisitError) -> Self {
        match error {
            VisitError::Io(error) => Self::Io(error),
            VisitError::Record(error) => Self::Record(error),
        }
    }
}

impl Error {
    /// What is wrong with a file or a folder.
    pub(super) fn of_file(path: &Path, why: impl Display) -> Self {
        Self::Files(format!("{}: {why}", path.display()))
    }

    /// A file that could not be written.
    pub(super) fn unwritten(path: &Path, error: &io::Error) -> Self {
        Self::of_file(path, format_args!("could not be written: {error}"))
    }

    /// The exit code of the program; a reader that has left is no failure.
    pub(super) fn code(&self) -> u8 {
        match self {
            Self::Findings(_) => FINDINGS,
            Self::Io(error) if error.kind() == io::ErrorKind::BrokenPipe => DONE,
            _ => UNUSABLE,
        }
    }
}
