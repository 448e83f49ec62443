//! What `new` writes: new files, and files that grow. No file is written over that is not as it was read.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::commands::{DONE, Error, FINDINGS, Streams};
use crate::files;
use crate::load::{self, NoPlace, Source, insert};
use crate::text::Tone;

/// What is to be written, and what to do then.
pub(super) struct Plan {
    folder: PathBuf,
    /// The knowledge as it was read.
    read: Source,
    /// The knowledge with everything written.
    pub(super) planned: Source,
    /// The files that differ, by their paths in the folder.
    paths: Vec<String>,
    pub(super) next: Vec<String>,
}

impl Plan {
    pub(super) fn new(folder: PathBuf, read: Source) -> Self {
        Self {
            folder,
            planned: read.clone(),
            read,
            paths: Vec::new(),
            next: Vec::new(),
        }
    }

    /// A file with this text.
    pub(super) fn file(&mut self, path: &str, text: &str) {
        self.planned = self.planned.clone().with_text(path, text);
        if !self.paths.iter().any(|known| known == path) {
            self.paths.push(path.to_owned());
        }
    }

    /// A file that grows by an entry; a file that has grown already grows on.
    pub(super) fn grow(&mut self, path: &str, way: &[&str], entry: &str) -> Result<(), NoPlace> {
        let before = text(&self.planned, path).unwrap_or_default();
        let grown = insert(before, way, entry)?;
        self.file(path, &grown);
        Ok(())
    }

    pub(super) fn carry_out(self, streams: &mut Streams<'_>) -> Result<u8, Error> {
        self.paths.iter().try_for_each(|path| self.check(path))?;
        // Before anything is written: a start that does not load would be no start.
        if let Err(findings) = load::load(&self.planned) {
            writeln!(streams.err, "{findings}\n")?;
            writeln!(streams.err, "halfsplit: nothing was written")?;
            return Ok(FINDINGS);
        }
        self.paths.iter().try_for_each(|path| self.write(path))?;
        let mut page = streams.page();
        page.heading("Written")?;
        for path in &self.paths {
            let written = self.folder.join(path).display().to_string();
            let grown = match text(&self.read, path) {
                Some(_) => ": added to, no other line changed",
                None => "",
            };
            page.item(Tone::Plain, 2, "", &(written + grown))?;
        }
        page.heading("Next")?;
        for words in &self.next {
            page.item(Tone::Plain, 2, "- ", words)?;
        }
        let check = format!("Then: halfsplit check {}", self.folder.display());
        page.item(Tone::Strong, 2, "- ", &check)?;
        Ok(DONE)
    }

    /// Whether a file is still as it was read, and not there where it is new.
    fn check(&self, path: &str) -> Result<(), Error> {
        let full = self.folder.join(path);
        let shown = full.display();
        match text(&self.read, path) {
            None if full.symlink_metadata().is_ok() => Err(Error::Usage(format!(
                "{shown}: there is a file of that name already, and it is not written over"
            ))),
            None => Ok(()),
            Some(before) => match fs::read_to_string(&full) {
                Ok(now) if now == before => Ok(()),
                Ok(_) => Err(Error::Files(format!(
                    "{shown}: the file was changed meanwhile; nothing was written"
                ))),
                Err(error) => Err(refused(&full, &error)),
            },
        }
    }

    fn write(&self, path: &str) -> Result<(), Error> {
        self.check(path)?;
        let full = self.folder.join(path);
        let now = text(&self.planned, path).unwrap_or_default();
        let done = match (text(&self.read, path), full.parent()) {
            (None, Some(folder)) => {
                fs::create_dir_all(folder).and_then(|()| files::create(&full, now))
            }
            _ => files::replace(&full, now),
        };
        done.map_err(|error| refused(&full, &error))
    }
}

/// The text of a file of the knowledge.
fn text<'s>(source: &'s Source, path: &str) -> Option<&'s str> {
    let mut files = source.files();
    files
        .find(|(known, _)| *known == path)
        .map(|(_, text)| text)
}

fn refused(path: &Path, error: &io::Error) -> Error {
    Error::Files(format!("{}: could not be written: {error}", path.display()))
}
