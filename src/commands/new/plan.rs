//! What `new` writes: new files, and files that grow. No file is written over that is not as it was read.

use std::fs;
use std::path::{Path, PathBuf};

use crate::commands::{DONE, Error, FINDINGS, Streams};
use crate::files;
use crate::load::{self, NoPlace, Severity, Source, insert};
use crate::text::Tone;

/// What is to be written, and what to do then.
pub(super) struct Plan {
    folder: PathBuf,
    /// The knowledge as it was read.
    read: Source,
    /// The knowledge with everything written.
    pub(super) planned: Source,
    /// The files to write, by their paths in the folder, with what they said before; `None` for a new one.
    files: Vec<(String, Option<String>)>,
    pub(super) next: Vec<String>,
}

impl Plan {
    pub(super) fn new(folder: PathBuf, read: Source) -> Self {
        Self {
            folder,
            planned: read.clone(),
            read,
            files: Vec::new(),
            next: Vec::new(),
        }
    }

    /// The folder that is written to.
    pub(super) fn folder(&self) -> &Path {
        &self.folder
    }

    /// A new file.
    pub(super) fn file(&mut self, path: &str, text: &str) {
        self.put(path, None, text);
    }

    /// A file that grows by an entry; a file that has grown already grows on.
    pub(super) fn grow(&mut self, path: &str, way: &[&str], entry: &str) -> Result<(), NoPlace> {
        let before = text(&self.planned, path).to_owned();
        let grown = insert(&before, way, entry)?;
        self.put(path, Some(before), &grown);
        Ok(())
    }

    fn put(&mut self, path: &str, before: Option<String>, text: &str) {
        self.planned = self.planned.clone().with_text(path, text);
        if !self.files.iter().any(|(known, _)| known == path) {
            self.files.push((path.to_owned(), before));
        }
    }

    pub(super) fn carry_out(self, streams: &mut Streams<'_>) -> Result<u8, Error> {
        for (path, before) in &self.files {
            self.check(path, before.as_deref())?;
        }
        // Before anything is written: a start that adds an error would be no start. Those that are there stay.
        let findings = |source| load::load(source).err().unwrap_or_default();
        let mut added = findings(&self.planned).beyond(&findings(&self.read));
        added.0.retain(|one| one.severity == Severity::Error);
        if !added.is_empty() {
            writeln!(streams.err, "{added}\n")?;
            writeln!(streams.err, "halfsplit: nothing was written")?;
            return Ok(FINDINGS);
        }
        for (path, before) in &self.files {
            self.write(path, before.as_deref())?;
        }
        let mut page = streams.page();
        page.heading("Written")?;
        for (path, before) in &self.files {
            let written = self.folder.join(path).display().to_string();
            let grown = match before {
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
    fn check(&self, path: &str, before: Option<&str>) -> Result<(), Error> {
        let full = self.folder.join(path);
        let shown = full.display();
        match before {
            None if full.symlink_metadata().is_ok() => Err(Error::Usage(format!(
                "{shown}: there is a file of that name already, and it is not written over"
            ))),
            None => Ok(()),
            Some(before) => match fs::read_to_string(&full) {
                Ok(now) if now == before => Ok(()),
                Ok(_) => Err(Error::Files(format!(
                    "{shown}: the file was changed meanwhile; nothing was written"
                ))),
                Err(error) => Err(Error::unwritten(&full, &error)),
            },
        }
    }

    fn write(&self, path: &str, before: Option<&str>) -> Result<(), Error> {
        self.check(path, before)?;
        let full = self.folder.join(path);
        let now = text(&self.planned, path);
        let done = match (before, full.parent()) {
            (None, Some(folder)) => {
                fs::create_dir_all(folder).and_then(|()| files::create(&full, now))
            }
            _ => files::replace(&full, now),
        };
        done.map_err(|error| Error::unwritten(&full, &error))
    }
}

/// The text of a file of the knowledge; none where it is not there.
fn text<'s>(source: &'s Source, path: &str) -> &'s str {
    let mut files = source.files();
    let found = files.find(|(known, _)| *known == path);
    found.map_or("", |(_, text)| text)
}
