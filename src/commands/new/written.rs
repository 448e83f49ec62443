//! What `new` writes: new files, and files that grow. No file is written over that is not as it was read.

use std::fs;
use std::io;
use std::path::PathBuf;

use crate::commands::Error;
use crate::files;

/// One file to write.
pub(super) struct Written {
    pub(super) path: PathBuf,
    /// What it said before; `None` where it is new.
    pub(super) before: Option<String>,
    pub(super) text: String,
}

impl Written {
    /// Whether it would be written, before anything is.
    pub(super) fn may_be_written(&self) -> Result<(), Error> {
        let shown = self.path.display();
        match &self.before {
            None if self.path.symlink_metadata().is_ok() => Err(Error::Usage(format!(
                "{shown}: there is a file of that name already, and it is not written over"
            ))),
            None => Ok(()),
            Some(before) => match fs::read_to_string(&self.path) {
                Ok(now) if now == *before => Ok(()),
                Ok(_) => Err(Error::Files(format!(
                    "{shown}: the file was changed meanwhile; nothing was written"
                ))),
                Err(error) => Err(self.refused(&error)),
            },
        }
    }

    pub(super) fn write(&self) -> Result<(), Error> {
        self.may_be_written()?;
        let done = match (&self.before, self.path.parent()) {
            (None, Some(folder)) => {
                fs::create_dir_all(folder).and_then(|()| files::create(&self.path, &self.text))
            }
            _ => files::replace(&self.path, &self.text),
        };
        done.map_err(|error| self.refused(&error))
    }

    fn refused(&self, error: &io::Error) -> Error {
        let shown = self.path.display();
        Error::Files(format!("{shown}: could not be written: {error}"))
    }
}
