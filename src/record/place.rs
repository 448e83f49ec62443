//! The folder around a record: what a record is called when nobody names it, what survives a loss of power, and whether the file is still there.

use std::fs::{self, File, Metadata, OpenOptions, Permissions};
use std::io::{self, ErrorKind, Write as _};
use std::path::{Path, PathBuf};

use jiff::civil::Date;

/// How the name of a record ends.
pub const ENDING: &str = ".job.jsonl";
/// How the name of a record of practice ends: not like that of a job, so that no list of jobs has it.
pub const PRACTICE_ENDING: &str = ".practice.jsonl";

/// The file name of a date's record with a running number and an ending: `2026-11-25-1.job.jsonl`.
pub fn file_name(date: Date, number: u32, ending: &str) -> String {
    format!("{date}-{number}{ending}")
}

/// Makes a name in a folder survive a loss of power: POSIX promises that of the file alone.
#[cfg(unix)]
pub(super) fn sync_folder_of(path: &Path) -> io::Result<()> {
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    File::open(folder.unwrap_or(Path::new(".")))?.sync_all()
}

/// Where a folder cannot be opened as a file, the system keeps its names by itself.
#[cfg(not(unix))]
pub(super) fn sync_folder_of(_path: &Path) -> io::Result<()> {
    Ok(())
}

/// Whether a path still leads to the open file: a program that saves by replacing leaves us writing
/// to a file without a name.
#[cfg(unix)]
pub(super) fn leads_to(path: &Path, file: &Metadata) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    fs::metadata(path).is_ok_and(|there| (there.dev(), there.ino()) == (file.dev(), file.ino()))
}

/// Whether a path still leads to a file of the same length.
#[cfg(not(unix))]
pub(super) fn leads_to(path: &Path, file: &Metadata) -> bool {
    fs::metadata(path).is_ok_and(|there| there.len() == file.len())
}

/// Puts the bytes of a torn line into a file beside the record.
pub(super) fn set_aside(record: &Path, bytes: &[u8], rights: Permissions) -> io::Result<PathBuf> {
    beside(record, ".torn", bytes, rights)
}

/// Puts bytes into a file beside the record, with its rights, on disk before it returns. An earlier file is never
/// written over: the next number is taken, unless it holds these bytes already.
pub(super) fn beside(
    record: &Path,
    ending: &str,
    bytes: &[u8],
    rights: Permissions,
) -> io::Result<PathBuf> {
    let mut number = 1_u32;
    loop {
        let mut name = record.as_os_str().to_owned();
        name.push(ending);
        if number > 1 {
            name.push(format!("-{number}"));
        }
        let path = PathBuf::from(name);
        match OpenOptions::new().write(true).create_new(true).open(&path) {
            Ok(mut file) => {
                let written = file
                    .set_permissions(rights)
                    .and_then(|()| file.write_all(bytes))
                    .and_then(|()| file.sync_all())
                    .and_then(|()| sync_folder_of(&path));
                if written.is_err() {
                    // Half of it would be taken for the whole.
                    let _ = fs::remove_file(&path);
                }
                return written.map(|()| path);
            }
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {
                let same = fs::metadata(&path).is_ok_and(|there| {
                    there.is_file() && there.len() == u64::try_from(bytes.len()).unwrap_or(0)
                });
                if same && fs::read(&path).is_ok_and(|there| there == bytes) {
                    return Ok(path);
                }
                number = number.checked_add(1).ok_or(error)?;
            }
            Err(error) => return Err(error),
        }
    }
}
