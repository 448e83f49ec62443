//! Files written whole or not at all: nobody ever finds half of one, and what stood there stays until the new text
//! is on the disk. And the fingerprint of a file.

use std::fmt::Write as _;
use std::fs;
use std::io::{self, BufReader, Read as _, Write as _};
use std::path::{Path, PathBuf};

use sha2::{Digest as _, Sha256};
use tempfile::{Builder, NamedTempFile};

/// Who may read a new file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Readers {
    /// Its owner alone: it holds what customers said.
    Owner,
    /// Those whom the user's mask leaves it to, as with any new file.
    Usual,
}

impl Readers {
    /// Of what is written from jobs: its owner alone, unless others see the folder of jobs too.
    pub const fn of_jobs(shared: bool) -> Self {
        if shared { Self::Usual } else { Self::Owner }
    }

    /// The bits of a new file's permissions, before the user's mask is applied.
    #[cfg(unix)]
    pub(crate) const fn mode(self) -> u32 {
        match self {
            Self::Owner => 0o600,
            Self::Usual => 0o666,
        }
    }
}

/// Writes a file that must not be there yet.
///
/// # Errors
///
/// `AlreadyExists` where it is there; else what the system refuses. Nothing is left behind.
pub fn create(path: &Path, text: &str) -> io::Result<()> {
    Staged::new(path, text, Readers::Usual)?.create()
}

/// Writes a file, in place of the one that is there if one is; that one's permissions stay. A link stays a link, and
/// a device or a pipe is written to.
///
/// # Errors
///
/// What the system refuses. What was there is then as it was.
pub fn replace(path: &Path, text: &str) -> io::Result<()> {
    Staged::new(path, text, Readers::Usual)?.replace()
}

/// Whether a file can be written to a path: before the work on what is to go into it.
///
/// # Errors
///
/// What the system refuses. Nothing is left behind.
pub fn writable(path: &Path) -> io::Result<()> {
    Staged::new(path, "", Readers::Usual).map(drop)
}

/// A text on the disk under a passing name, beside the file that it is to become. Of several files, each is staged before
/// the first is put in its place.
#[derive(Debug)]
pub struct Staged {
    path: PathBuf,
    /// None of a device or a pipe, which the text goes into.
    file: Option<NamedTempFile>,
    text: String,
}

impl Staged {
    /// Stages the text of a file.
    pub fn new(path: &Path, text: &str, readers: Readers) -> io::Result<Self> {
        let (path, permissions) = match fs::metadata(path) {
            Ok(there) if !there.is_file() && !there.is_dir() => {
                return Ok(Self {
                    path: path.to_owned(),
                    file: None,
                    text: text.to_owned(),
                });
            }
            Ok(there) => (fs::canonicalize(path)?, Some(there.permissions())),
            Err(_) => (path.to_owned(), None),
        };
        let file = complete(&path, text, readers)?;
        if let Some(permissions) = permissions.filter(|_| path.is_file()) {
            file.as_file().set_permissions(permissions)?;
        }
        Ok(Self {
            path,
            file: Some(file),
            text: String::new(),
        })
    }

    /// Makes it the file, which must not be there yet.
    pub fn create(self) -> io::Result<()> {
        match self.file {
            Some(file) => file.persist_noclobber(&self.path).map(drop)?,
            None => return Err(io::ErrorKind::AlreadyExists.into()),
        }
        Ok(())
    }

    /// Makes it the file, in place of the one that is there if one is.
    pub fn replace(self) -> io::Result<()> {
        match self.file {
            Some(file) => file.persist(&self.path).map(drop)?,
            None => fs::write(&self.path, self.text)?,
        }
        Ok(())
    }
}

/// Writes files, each in place of the one that is there only with `over`: none before all are on the disk.
///
/// # Errors
///
/// The file, and what the system refuses; `AlreadyExists` where one is there.
pub fn write_all(
    files: &[(impl AsRef<Path>, &str)],
    over: bool,
) -> Result<(), (PathBuf, io::Error)> {
    let mut staged = Vec::new();
    for (path, text) in files {
        let path = path.as_ref();
        let of = Staged::new(path, text, Readers::Usual);
        staged.push((path, of.map_err(|error| (path.to_owned(), error))?));
    }
    for (path, file) in staged {
        let written = if over { file.replace() } else { file.create() };
        written.map_err(|error| (path.to_owned(), error))?;
    }
    Ok(())
}

/// The text in a file of a passing name in the folder of `path`, on the disk.
fn complete(path: &Path, text: &str, readers: Readers) -> io::Result<NamedTempFile> {
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    let mut builder = Builder::new();
    builder.prefix(".halfsplit-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        builder.permissions(fs::Permissions::from_mode(readers.mode()));
    }
    #[cfg(not(unix))]
    let _ = readers;
    let mut file = builder.tempfile_in(folder.unwrap_or(Path::new(".")))?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    Ok(file)
}

/// The bytes of a file, which must be one and have so many bytes at most: a pipe would be waited for, and a device never
/// ends.
///
/// # Errors
///
/// `InvalidInput` for what is no file and `FileTooLarge` for one that is too large; else what the system refuses.
pub fn read(path: &Path, most: u64) -> io::Result<Vec<u8>> {
    let about = fs::metadata(path)?;
    if !about.is_file() && !about.is_dir() {
        let why = "it is a device or a pipe, and a file is needed";
        return Err(io::Error::new(io::ErrorKind::InvalidInput, why));
    }
    let mut bytes = Vec::new();
    // Its length may be wrong, or have grown since it was asked.
    let read = fs::File::open(path)?.take(most.saturating_add(1));
    BufReader::new(read).read_to_end(&mut bytes)?;
    if u64::try_from(bytes.len()).unwrap_or(u64::MAX) > most {
        let why = format!("it is larger than {most} bytes");
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, why));
    }
    Ok(bytes)
}

/// [`read`], where the bytes must be UTF-8.
///
/// # Errors
///
/// `InvalidData` where they are not.
pub fn read_text(path: &Path, most: u64) -> io::Result<String> {
    String::from_utf8(read(path, most)?)
        .map_err(|_| io::Error::new(io::ErrorKind::InvalidData, "it is not UTF-8 text"))
}

/// The fingerprint of a file's bytes: the first 16 hexadecimal digits of its SHA-256 (FIPS 180-4).
pub fn fingerprint(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .take(8)
        .fold(String::new(), |mut digits, byte| {
            // Writing to a string does not fail.
            let _ = write!(digits, "{byte:02x}");
            digits
        })
}
