//! Which files the arguments mean.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::record::ENDING;

/// Why the files of an argument cannot be listed.
#[derive(Debug, thiserror::Error)]
pub enum FilesError {
    /// The system refused.
    #[error("{path}: {source}")]
    System {
        /// The file or folder.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// A folder without records.
    #[error("{0}: the folder holds no file whose name ends in {ENDING}")]
    NoRecords(PathBuf),
}

/// The records that files and folders mean, each once, in the order of their full paths.
///
/// A file is taken as it is; of a folder every `*.job.jsonl` in it and below it. Links to folders
/// inside a folder are not followed: they may lead in a circle.
///
/// # Errors
///
/// [`FilesError`] where an argument is not there, a folder cannot be read, or holds no record.
pub fn records(arguments: &[PathBuf]) -> Result<Vec<PathBuf>, FilesError> {
    let mut files = BTreeMap::new();
    for argument in arguments {
        let full = fs::canonicalize(argument).map_err(|source| refused(argument, source))?;
        if full.is_dir() {
            let before = files.len();
            let mut found = Vec::new();
            walk(argument, &full, &mut found)?;
            if found.is_empty() && files.len() == before {
                return Err(FilesError::NoRecords(argument.clone()));
            }
            files.extend(found);
        } else {
            files.insert(full, argument.clone());
        }
    }
    Ok(files.into_values().collect())
}

fn refused(path: &Path, source: io::Error) -> FilesError {
    FilesError::System {
        path: path.to_owned(),
        source,
    }
}

/// The records in a folder and below it: full path, and path as the argument leads to it.
fn walk(given: &Path, full: &Path, found: &mut Vec<(PathBuf, PathBuf)>) -> Result<(), FilesError> {
    for entry in fs::read_dir(full).map_err(|source| refused(given, source))? {
        let entry = entry.map_err(|source| refused(given, source))?;
        let name = entry.file_name();
        let (given, full) = (given.join(&name), full.join(&name));
        let kind = entry
            .file_type()
            .map_err(|source| refused(&given, source))?;
        if kind.is_dir() {
            walk(&given, &full, found)?;
        } else if name.to_string_lossy().ends_with(ENDING) && !(kind.is_symlink() && full.is_dir())
        {
            found.push((full, given));
        }
    }
    Ok(())
}
