//! The file of a job.

use std::fmt;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, BufRead as _, BufReader, ErrorKind, Read as _, Write as _};
use std::path::{Path, PathBuf};

use super::clock::Clock;
use super::error::RecordError;
use super::event::{Event, FORMAT, Opened};
use super::history::History;
use super::line::{Entry, Fault, MAX_LINE, newer_format, sum_fits};
use super::place::{
    ENDING, PRACTICE_ENDING, beside, file_name, leads_to, set_aside, sync_folder_of,
};
use super::state::State;
use crate::files::Readers;

/// The largest record, in bytes.
pub const MAX_RECORD: u64 = 16_000_000;

/// A last line that was cut off while it was written: its answer was never accepted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Torn {
    /// The line, from 1.
    pub line: u64,
    /// Its bytes, as they were found.
    pub bytes: Vec<u8>,
    /// The file beside the record that they were moved to; `None` where the record was only read.
    pub moved_to: Option<PathBuf>,
}

impl fmt::Display for Torn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            line,
            bytes,
            moved_to,
        } = self;
        let (count, before) = (bytes.len(), line.saturating_sub(1));
        write!(
            f,
            "the last line, line {line} of {count} bytes, was cut off while it was written; "
        )?;
        match moved_to {
            Some(path) => write!(f, "it was moved to {}", path.display())?,
            None => write!(f, "it is left out")?,
        }
        match before {
            1 => write!(f, " and the event before it stands"),
            _ => write!(f, " and the {before} events before it stand"),
        }
    }
}

/// A record that was only read.
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    /// The events in the file.
    pub history: History,
    /// The torn last line, left out and left there. Another process may just be writing it.
    pub torn: Option<Torn>,
}

/// The record of a job, open for adding to, and locked against every other process until dropped.
#[derive(Debug)]
pub struct Record {
    path: PathBuf,
    file: File,
    /// The bytes on disk that are ours.
    bytes: u64,
    history: History,
    clock: Clock,
    broken: bool,
}

impl Record {
    /// Opens a job in a new file, which its owner alone may read. When this returns, the opening is on disk and so is
    /// the file's name. `opened.format` is set to [`FORMAT`].
    ///
    /// # Errors
    ///
    /// [`RecordError::Exists`] where there is such a file, and what the system refuses.
    pub fn create(path: &Path, opened: Opened, clock: Clock) -> Result<Self, RecordError> {
        Self::create_for(Readers::Owner, path, opened, clock)
    }

    /// [`Record::create`] for others to read too, or not.
    fn create_for(
        readers: Readers,
        path: &Path,
        mut opened: Opened,
        clock: Clock,
    ) -> Result<Self, RecordError> {
        opened.format = FORMAT;
        let salt = path.file_name().unwrap_or_default().to_string_lossy();
        let history = History::begin(opened, clock.now(), &salt);
        let line = line_of(&history.entries()[0])?;
        let file = new_file(path, readers).map_err(|error| match error.kind() {
            ErrorKind::AlreadyExists => RecordError::Exists(path.to_owned()),
            ErrorKind::NotFound => {
                RecordError::unusable(path, "the folder it should go into does not exist")
            }
            _ => RecordError::system(path, "make the file", error),
        })?;
        let mut record = Self::on(path, file, 0, history, clock);
        let begun = lock(&record.file, path).and_then(|()| {
            record.write(&line)?;
            sync_folder_of(path).map_err(|e| RecordError::system(path, "keep the file's name", e))
        });
        if let Err(error) = begun {
            // Made a moment ago and nothing was accepted into it: no answer is lost with it.
            let _ = fs::remove_file(path);
            return Err(error);
        }
        Ok(record)
    }

    /// Opens a job in a folder, under the first name of today that is free, [`file_name`], for its owner alone to read or
    /// for others too.
    ///
    /// # Errors
    ///
    /// What the system refuses.
    pub fn create_in(
        folder: &Path,
        opened: &Opened,
        clock: &Clock,
        readers: Readers,
    ) -> Result<Self, RecordError> {
        let mut number = 1;
        let ending = match opened.practice {
            Some(_) => PRACTICE_ENDING,
            None => ENDING,
        };
        loop {
            let path = folder.join(file_name(clock.today(), number, ending));
            match Self::create_for(readers, &path, opened.clone(), clock.clone()) {
                Err(RecordError::Exists(_)) if number < u32::MAX => number += 1,
                made_or_refused => return made_or_refused,
            }
        }
    }

    /// Opens the record of a job to go on with it. A torn last line is moved to a file beside it, and is on disk there
    /// before it leaves the record; what was torn is returned, for a warning.
    ///
    /// # Errors
    ///
    /// [`RecordError::Locked`] where another process has it open, [`RecordError::Damaged`] for damage
    /// before the last line, and the rest of [`RecordError`].
    pub fn open(path: &Path, clock: Clock) -> Result<(Self, Option<Torn>), RecordError> {
        let metadata = look(path)?;
        if metadata.permissions().readonly() {
            return Err(RecordError::read_only(path));
        }
        let file = OpenOptions::new()
            .read(true)
            .append(true)
            .open(path)
            .map_err(|error| RecordError::system(path, "open the file", error))?;
        lock(&file, path)?;
        let Loaded {
            view: View { history, mut torn },
            bytes,
            has_end,
        } = load(&file, path)?;
        let mut record = Self::on(path, file, bytes, history, clock);
        if let Some(torn) = &mut torn {
            let aside = set_aside(path, &torn.bytes, metadata.permissions())
                .map_err(|e| RecordError::system(path, "set the torn line aside", e))?;
            torn.moved_to = Some(aside);
            record
                .cut_back()
                .map_err(|e| RecordError::system(path, "take the torn line off", e))?;
        } else if !has_end {
            record.write(b"\n")?;
        }
        Ok((record, torn))
    }

    fn on(path: &Path, file: File, bytes: u64, history: History, clock: Clock) -> Self {
        Self {
            path: path.to_owned(),
            file,
            bytes,
            history,
            clock,
            broken: false,
        }
    }

    /// Reads a record without opening it: no lock is taken and nothing is changed.
    ///
    /// # Errors
    ///
    /// As [`Record::open`], but for the lock and the right to write.
    pub fn read(path: &Path) -> Result<View, RecordError> {
        look(path)?;
        let file =
            File::open(path).map_err(|error| RecordError::system(path, "open the file", error))?;
        Ok(load(&file, path)?.view)
    }

    /// Adds an event. When this returns, its line is on disk.
    ///
    /// # Errors
    ///
    /// [`RecordError::OutOfPlace`], [`RecordError::Unwritable`] and what the system refuses. The
    /// event is then not recorded, neither here nor in the file.
    pub fn append(&mut self, event: Event) -> Result<(), RecordError> {
        if self.broken {
            return Err(RecordError::unusable(
                &self.path,
                "an earlier answer could not be written, so no more are taken; see that there is space, and resume",
            ));
        }
        let entry = self
            .history
            .add(event, self.clock.now())
            .map_err(RecordError::OutOfPlace)?;
        let written = line_of(entry).and_then(|line| {
            self.check_underneath()?;
            self.write(&line)
        });
        if written.is_err() && self.history.unsay().is_err() {
            self.broken = true;
        }
        written
    }

    /// Removes a record that holds nothing but its opening; whether it did.
    pub fn discard(&self) -> io::Result<bool> {
        let empty = self.events().len() == 1;
        if empty {
            fs::remove_file(&self.path)?;
        }
        Ok(empty)
    }

    /// Where it lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The job without its file.
    pub const fn history(&self) -> &History {
        &self.history
    }

    /// All events, those taken back among them.
    pub fn events(&self) -> &[Entry] {
        self.history.entries()
    }

    /// What they amount to.
    pub const fn state(&self) -> &State {
        self.history.state()
    }

    /// The record must still be the file at its path and end where we left it.
    fn check_underneath(&mut self) -> Result<(), RecordError> {
        let metadata = self
            .file
            .metadata()
            .map_err(|error| RecordError::system(&self.path, "look at the file", error))?;
        if !leads_to(&self.path, &metadata) {
            self.broken = true;
            let why = match self.write_beside(&metadata) {
                Ok(beside) => format!(
                    "the file was deleted, moved or replaced while the job was open; the job as it is now was written to {}: go on with that",
                    beside.display()
                ),
                Err(error) => format!(
                    "the file was deleted, moved or replaced while the job was open; nothing was recorded, and the job could not be written beside it: {error}"
                ),
            };
            return Err(RecordError::unusable(&self.path, why));
        }
        if metadata.len() == self.bytes {
            Ok(())
        } else {
            Err(RecordError::unusable(
                &self.path,
                "another program changed the file while the job was open; nothing was recorded; look at the file and resume",
            ))
        }
    }

    /// Writes the whole job, the event that is being added with it, into a new file beside the one that is gone. A record
    /// that others may read stays one.
    fn write_beside(&self, was: &fs::Metadata) -> io::Result<PathBuf> {
        let mut text = Vec::new();
        for entry in self.events() {
            text.extend(entry.to_line().map_err(io::Error::other)?);
        }
        beside(&self.path, ".rescued", &text, was.permissions())
    }

    /// Writes at the end and waits for the disk. Where that fails, what was written is taken off.
    fn write(&mut self, line: &[u8]) -> Result<(), RecordError> {
        let length = u64::try_from(line.len()).unwrap_or(u64::MAX);
        if self.bytes.saturating_add(length) > MAX_RECORD {
            return Err(too_large(&self.path));
        }
        let written = self.file.write_all(line);
        written
            .and_then(|()| self.file.sync_all())
            .map_err(|error| {
                self.broken = self.cut_back().is_err();
                RecordError::system(&self.path, "write the answer", error)
            })?;
        self.bytes += length;
        Ok(())
    }

    /// Cuts off what follows the last whole line.
    fn cut_back(&self) -> io::Result<()> {
        self.file.set_len(self.bytes)?;
        self.file.sync_all()
    }
}

/// A record is at its limit, or no record.
fn too_large(path: &Path) -> RecordError {
    let why = format!("a record holds at most {MAX_RECORD} bytes; close this job and open another");
    RecordError::unusable(path, why)
}

/// A new file, to read and to add to.
fn new_file(path: &Path, readers: Readers) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.read(true).append(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        options.mode(readers.mode());
    }
    #[cfg(not(unix))]
    let _ = readers;
    options.open(path)
}

/// The line of an event, with its end.
fn line_of(entry: &Entry) -> Result<Vec<u8>, RecordError> {
    entry.to_line().map_err(|words| RecordError::Unwritable {
        event: entry.event.name(),
        words,
    })
}

/// The lock is the system's, on the file itself: it ends with the process, however that ends.
///
/// A process that is being started holds the files of the one that starts it for a moment, so a lock
/// that is held is asked for again a few times.
fn lock(file: &File, path: &Path) -> Result<(), RecordError> {
    let mut tries = 10;
    loop {
        match file.try_lock() {
            Ok(()) => return Ok(()),
            Err(TryLockError::WouldBlock) if tries > 0 => {
                tries -= 1;
                std::thread::sleep(std::time::Duration::from_millis(20));
            }
            Err(TryLockError::WouldBlock) => return Err(RecordError::Locked(path.to_owned())),
            Err(TryLockError::Error(source)) => {
                let why = format!(
                    "this file system cannot keep a second program out ({source}); move the record to a local disk"
                );
                return Err(RecordError::unusable(path, why));
            }
        }
    }
}

/// What lies at a path, before it is opened: opening a pipe would wait for ever.
fn look(path: &Path) -> Result<fs::Metadata, RecordError> {
    let metadata = fs::metadata(path).map_err(|error| match error.kind() {
        ErrorKind::NotFound => RecordError::Missing(path.to_owned()),
        _ => RecordError::system(path, "look at the file", error),
    })?;
    let what = if metadata.is_dir() {
        "a folder"
    } else {
        "a device or a pipe"
    };
    if !metadata.is_file() {
        let why = format!("this is {what}, not a job record");
        return Err(RecordError::unusable(path, why));
    }
    if metadata.len() > MAX_RECORD {
        return Err(too_large(path));
    }
    Ok(metadata)
}

/// A record as it was found.
struct Loaded {
    view: View,
    /// The bytes up to the end of the last event, its end of line included if there is one.
    bytes: u64,
    /// Whether the line of the last event has its end.
    has_end: bool,
}

/// Reads all events.
fn load(file: &File, path: &Path) -> Result<Loaded, RecordError> {
    let mut reader = BufReader::new(file);
    let mut entries: Vec<Entry> = Vec::new();
    let (mut bytes, mut ended, mut torn, mut line) = (0, true, None, Vec::new());
    let longest = u64::try_from(MAX_LINE)
        .unwrap_or(u64::MAX)
        .saturating_add(2);
    let system = |error| RecordError::system(path, "read the file", error);
    let unusable = |why: &str| Err(RecordError::unusable(path, why));
    for number in 1_u64.. {
        line.clear();
        let length = reader
            .by_ref()
            .take(longest)
            .read_until(b'\n', &mut line)
            .map_err(system)?;
        if length == 0 {
            break;
        }
        let text = line.strip_suffix(b"\n").unwrap_or(&line);
        if text.len() > MAX_LINE {
            return unusable(&format!(
                "line {number} is longer than {MAX_LINE} bytes: this is no job record, or it is damaged"
            ));
        }
        let has_end = text.len() < line.len();
        if let Some(found) = newer_format(text).filter(|_| number == 1) {
            return unusable(&format!(
                "the record is in format {found}, and this program knows formats up to {FORMAT}; use the halfsplit that made it, or a newer one"
            ));
        }
        match event_on(text, number, &entries) {
            Ok(entry) => {
                entries.push(entry);
                bytes += u64::try_from(length).unwrap_or(u64::MAX);
                ended = has_end;
            }
            Err(fault) => {
                let is_last = !has_end || reader.fill_buf().map_err(system)?.is_empty();
                // A write that was cut off has no end, or has NULs where the disk got nothing. A whole
                // last line that is wrong otherwise was accepted once, and so is damaged.
                let is_torn =
                    is_last && fault.is_torn() && (!has_end || matches!(fault, Fault::Nul(_)));
                if !is_torn {
                    return Err(RecordError::Damaged {
                        path: path.to_owned(),
                        line: number,
                        fault,
                    });
                }
                if entries.is_empty() {
                    return unusable(
                        "the file holds part of one line and no whole event: no job was opened in it; start a new one under another name",
                    );
                }
                torn = Some(Torn {
                    line: number,
                    bytes: line.clone(),
                    moved_to: None,
                });
                break;
            }
        }
    }
    if entries.is_empty() {
        return unusable(
            "the file is empty: no job was opened in it; delete it and start a new one",
        );
    }
    let history = History::of(entries).map_err(|error| RecordError::Damaged {
        path: path.to_owned(),
        line: error.line,
        fault: Fault::OutOfPlace(error.why),
    })?;
    Ok(Loaded {
        view: View { history, torn },
        bytes,
        has_end: ended,
    })
}

/// The event on a line of the record, which must be this job's and in its turn.
fn event_on(text: &[u8], number: u64, before: &[Entry]) -> Result<Entry, Fault> {
    let entry = Entry::from_line(text)?;
    match before.first() {
        Some(first) if first.job != entry.job => Err(Fault::OtherJob(entry.job)),
        _ if entry.line != number => Err(Fault::OutOfTurn(entry.line)),
        _ if !sum_fits(text) => Err(Fault::Sum),
        _ => Ok(entry),
    }
}
