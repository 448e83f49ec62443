//! Why a record could not be made, opened, read or added to.

use std::io;
use std::path::{Path, PathBuf};

use super::event::FORMAT;
use super::line::{Fault, MAX_LINE};
use super::record::MAX_RECORD;
use super::standing::Why;

/// Why a record could not be made, opened, read or added to: what was found, where, what to do.
#[derive(Debug, thiserror::Error)]
pub enum RecordError {
    /// There is a file of that name.
    #[error("{0}: there is a file of that name already; resume that job, or name another file")]
    Exists(PathBuf),
    /// There is no such file.
    #[error("{0}: there is no such file")]
    Missing(PathBuf),
    /// There is no folder to put it in.
    #[error("{0}: the folder it should go into does not exist")]
    NoFolder(PathBuf),
    /// A folder, a device or a pipe.
    #[error("{path}: this is {what}, not a job record")]
    NotAFile {
        /// The path.
        path: PathBuf,
        /// What it is.
        what: &'static str,
    },
    /// The file may be read and not written.
    #[error("{0}: the file is read-only, so no answer could be kept; make it writable, or copy it")]
    ReadOnly(PathBuf),
    /// The user may not.
    #[error("{0}: you have no permission to use this file or its folder")]
    NotAllowed(PathBuf),
    /// Another process holds it.
    #[error(
        "{0}: another halfsplit is at work on this job; end it there, or open another job here"
    )]
    Locked(PathBuf),
    /// The file system knows no locks.
    #[error(
        "{path}: this file system cannot keep a second program out ({source}); move the record to a local disk"
    )]
    NoLocks {
        /// The path.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// Nothing in it.
    #[error("{0}: the file is empty: no job was opened in it; delete it and start a new one")]
    Empty(PathBuf),
    /// Only a torn line in it.
    #[error(
        "{0}: the file holds part of one line and no whole event: no job was opened in it; start a new one under another name"
    )]
    NeverOpened(PathBuf),
    /// Made in a format yet to come.
    #[error(
        "{path}: the record is in format {found}, and this program knows formats up to {FORMAT}; use the halfsplit that made it, or a newer one"
    )]
    NewerFormat {
        /// The path.
        path: PathBuf,
        /// The record's format.
        found: u64,
    },
    /// Damage before the end.
    #[error("{path}: line {line} is damaged: {fault}; {}", advice(*.line))]
    Damaged {
        /// The path.
        path: PathBuf,
        /// The line, from 1.
        line: u64,
        /// What is wrong with it.
        fault: Fault,
    },
    /// A line of more than [`MAX_LINE`] bytes.
    #[error(
        "{path}: line {line} is longer than {MAX_LINE} bytes: this is no job record, or it is damaged"
    )]
    LineTooLong {
        /// The path.
        path: PathBuf,
        /// The line, from 1.
        line: u64,
    },
    /// More than [`MAX_RECORD`] bytes.
    #[error("{0}: the file is larger than {MAX_RECORD} bytes: this is no job record")]
    TooLarge(PathBuf),
    /// The event cannot come now; nothing was written.
    #[error("{0}; nothing was recorded")]
    OutOfPlace(Why),
    /// The event cannot be written; nothing was.
    #[error("`{event}` cannot be recorded: {words}; nothing was recorded")]
    Unwritable {
        /// The event.
        event: &'static str,
        /// Why not.
        words: String,
    },
    /// Someone else changed, moved or replaced the file while this program held it.
    #[error(
        "{0}: another program changed, moved or replaced the file while the job was open; nothing was recorded; look at the file and resume"
    )]
    ChangedUnderneath(PathBuf),
    /// An earlier write failed and could not be undone.
    #[error(
        "{0}: an earlier answer could not be written, so no more are taken; see that there is space, and resume"
    )]
    Broken(PathBuf),
    /// The system refused.
    #[error("{path}: could not {doing}: {source}")]
    System {
        /// The path.
        path: PathBuf,
        /// What was being done.
        doing: &'static str,
        /// What the system says.
        source: io::Error,
    },
}

/// What to do about a damaged line.
fn advice(line: u64) -> String {
    let restore = "nothing was changed; restore the file from a copy";
    match line.saturating_sub(1) {
        0 => restore.to_owned(),
        1 => format!("{restore}, or copy its first line into a new file and resume that"),
        before => {
            format!("{restore}, or copy its first {before} lines into a new file and resume that")
        }
    }
}

impl RecordError {
    /// What a refusal by the system means.
    pub(super) fn system(path: &Path, doing: &'static str, source: io::Error) -> Self {
        let path = path.to_owned();
        match source.kind() {
            io::ErrorKind::PermissionDenied => Self::NotAllowed(path),
            io::ErrorKind::ReadOnlyFilesystem => Self::ReadOnly(path),
            _ => Self::System {
                path,
                doing,
                source,
            },
        }
    }
}
