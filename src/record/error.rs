//! Why a record could not be made, opened, read or added to.

use std::io;
use std::path::{Path, PathBuf};

use super::line::Fault;
use super::stage::Why;

/// Why a record could not be made, opened, read or added to: what was found, where, what to do.
#[derive(Debug, thiserror::Error)]
pub enum RecordError {
    /// There is a file of that name.
    #[error("{0}: there is a file of that name already; resume that job, or name another file")]
    Exists(PathBuf),
    /// There is no such file.
    #[error("{0}: there is no such file")]
    Missing(PathBuf),
    /// Another process holds it.
    #[error(
        "{0}: another halfsplit is at work on this job; end it there, or open another job here"
    )]
    Locked(PathBuf),
    /// A file that cannot serve as a record, or no longer can.
    #[error("{path}: {why}")]
    Unusable {
        /// The path.
        path: PathBuf,
        /// What it is, and what to do.
        why: String,
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
    pub(super) fn unusable(path: &Path, why: impl Into<String>) -> Self {
        Self::Unusable {
            path: path.to_owned(),
            why: why.into(),
        }
    }

    /// What a refusal by the system means.
    pub(super) fn system(path: &Path, doing: &'static str, source: io::Error) -> Self {
        match source.kind() {
            io::ErrorKind::PermissionDenied => Self::unusable(
                path,
                "you have no permission to use this file or its folder",
            ),
            io::ErrorKind::ReadOnlyFilesystem => Self::read_only(path),
            _ => Self::System {
                path: path.to_owned(),
                doing,
                source,
            },
        }
    }

    /// The file may be read and not written.
    pub(super) fn read_only(path: &Path) -> Self {
        Self::unusable(
            path,
            "the file is read-only, so no answer could be kept; make it writable, or copy it",
        )
    }

    /// The file it is about, where it is about one.
    pub fn path(&self) -> Option<&Path> {
        match self {
            Self::Exists(path)
            | Self::Missing(path)
            | Self::Locked(path)
            | Self::Unusable { path, .. }
            | Self::Damaged { path, .. }
            | Self::System { path, .. } => Some(path),
            Self::OutOfPlace(_) | Self::Unwritable { .. } => None,
        }
    }
}
