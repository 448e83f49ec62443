//! What `new` writes: new files, and files that grow. No file is written over that is not as it was read.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use tempfile::Builder;

use crate::commands::{DONE, Error, FINDINGS, Streams};
use crate::files::{self, Readers, Staged};
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
    /// The family whose folder is new.
    pub(super) new_family: Option<String>,
}

impl Plan {
    pub(super) fn new(folder: PathBuf, read: Source) -> Self {
        Self {
            folder,
            planned: read.clone(),
            read,
            files: Vec::new(),
            next: Vec::new(),
            new_family: None,
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
        self.write()?;
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

    /// Writes the files: a new family's folder appears with all its files, and of any others none is put in its place
    /// before all are on the disk.
    fn write(&self) -> Result<(), Error> {
        for (path, before) in &self.files {
            self.check(path, before.as_deref())?;
        }
        if let Some(name) = &self.new_family {
            let written = self.write_family(name);
            written.map_err(|error| Error::unwritten(&self.folder.join(name), &error))?;
        }
        let mut staged = Vec::new();
        for (path, before) in self
            .files
            .iter()
            .filter(|(path, _)| !self.is_of_family(path))
        {
            let full = self.folder.join(path);
            let folder = full.parent().unwrap_or(&self.folder);
            let file = fs::create_dir_all(folder)
                .and_then(|()| Staged::new(&full, text(&self.planned, path), Readers::Usual))
                .map_err(|error| Error::unwritten(&full, &error))?;
            staged.push((full, file, before.is_some()));
        }
        for (full, file, grown) in staged {
            let written = if grown { file.replace() } else { file.create() };
            written.map_err(|error| Error::unwritten(&full, &error))?;
        }
        Ok(())
    }

    /// Whether a file lies in the folder of the new family.
    fn is_of_family(&self, path: &str) -> bool {
        let top = path.split_once('/').map(|(top, _)| top);
        top.is_some() && top == self.new_family.as_deref()
    }

    /// Writes the folder of a new family in one of a passing name, and moves it to its place.
    fn write_family(&self, name: &str) -> io::Result<()> {
        fs::create_dir_all(&self.folder)?;
        let passing = Builder::new()
            .prefix(".halfsplit-")
            .tempdir_in(&self.folder)?;
        for (path, _) in self
            .files
            .iter()
            .filter(|(path, _)| self.is_of_family(path))
        {
            let full = passing.path().join(path);
            fs::create_dir_all(full.parent().unwrap_or(passing.path()))?;
            files::create(&full, text(&self.planned, path))?;
        }
        fs::rename(passing.path().join(name), self.folder.join(name))
    }
}

/// The text of a file of the knowledge; none where it is not there.
fn text<'s>(source: &'s Source, path: &str) -> &'s str {
    let mut files = source.files();
    let found = files.find(|(known, _)| *known == path);
    found.map_or("", |(_, text)| text)
}
