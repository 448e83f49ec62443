//! What `new` writes: new files, and files that grow. No file is written over that is not as it was read.

use std::fmt;
use std::fs::{self, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use crate::commands::Error;

/// One file to write.
pub(super) struct Written {
    path: PathBuf,
    /// What it said before; `None` where it is new.
    before: Option<String>,
    text: String,
}

impl Written {
    /// A new file.
    pub(super) const fn file(path: PathBuf, text: String) -> Self {
        Self {
            path,
            before: None,
            text,
        }
    }

    /// A file that grows.
    pub(super) const fn grown(path: PathBuf, before: String, text: String) -> Self {
        Self {
            path,
            before: Some(before),
            text,
        }
    }

    /// Whether it would be written, before anything is.
    pub(super) fn may_be_written(&self) -> Result<(), Error> {
        let stands = self.path.symlink_metadata().is_ok();
        match &self.before {
            None if stands => Err(Error::Usage(format!(
                "{}: there is a file of that name already, and it is not written over",
                self.path.display()
            ))),
            None => Ok(()),
            Some(before) => match fs::read_to_string(&self.path) {
                Ok(now) if now == *before => Ok(()),
                Ok(_) => Err(Error::Files(format!(
                    "{}: the file was changed meanwhile; nothing was written",
                    self.path.display()
                ))),
                Err(error) => Err(refused(&self.path, &error)),
            },
        }
    }

    pub(super) fn write(&self) -> Result<(), Error> {
        self.may_be_written()?;
        let done = if self.before.is_none() {
            if let Some(folder) = self.path.parent() {
                fs::create_dir_all(folder).map_err(|error| refused(folder, &error))?;
            }
            create(&self.path, &self.text)
        } else {
            replace(&self.path, &self.text)
        };
        done.map_err(|error| refused(&self.path, &error))
    }
}

impl fmt::Display for Written {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.path.display())?;
        if self.before.is_some() {
            f.write_str(": an entry more, every line that stood stands")?;
        }
        Ok(())
    }
}

fn create(path: &Path, text: &str) -> io::Result<()> {
    let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()
}

/// The old file stands until the new one is whole.
fn replace(path: &Path, text: &str) -> io::Result<()> {
    // A link stays a link: what it leads to is replaced.
    let path = fs::canonicalize(path)?;
    let mut beside = path.as_os_str().to_owned();
    beside.push(".new");
    create(Path::new(&beside), text)?;
    let rights = fs::metadata(&path)?.permissions();
    fs::set_permissions(&beside, rights)?;
    fs::rename(&beside, &path)
}

fn refused(path: &Path, error: &io::Error) -> Error {
    Error::Files(format!("{}: could not be written: {error}", path.display()))
}
