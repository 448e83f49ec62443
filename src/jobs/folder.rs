//! The records of a folder.

use std::cmp::Reverse;
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use rayon::prelude::*;
use serde::Serialize;

use super::priced::Priced;
use super::row::Row;
use crate::record::{ENDING, History, Record};
use crate::sheet::Stage;

/// For so many jobs, those touched last, it is worked out what leads and what comes next: that takes far longer than
/// reading a record.
const WORKED_OUT: usize = 50;

/// A record that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Unreadable {
    /// The name of its file.
    pub file: String,
    /// Why not.
    pub why: String,
}

/// The records of a folder, each read once and again where its file has changed.
#[derive(Debug)]
pub struct Folder {
    path: PathBuf,
    known: BTreeMap<PathBuf, Known>,
}

/// A record as it was read.
#[derive(Debug)]
struct Known {
    stamp: Stamp,
    read: Result<Row, String>,
    worked_out: bool,
}

/// When a file was changed last, and its length.
type Stamp = (Option<SystemTime>, u64);

impl Folder {
    /// A folder, not looked at yet.
    pub fn new(path: &Path) -> Self {
        Self {
            path: path.to_owned(),
            known: BTreeMap::new(),
        }
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The files of records in a folder, by how their names end; not those of folders below it.
    pub fn files(path: &Path, ending: &str) -> io::Result<Vec<PathBuf>> {
        let mut files = Vec::new();
        for entry in fs::read_dir(path)? {
            let entry = entry?;
            if entry.file_name().to_string_lossy().ends_with(ending) {
                files.push(entry.path());
            }
        }
        Ok(files)
    }

    /// Looks at the folder: every record that is new or has changed is read, on all cores.
    pub fn look(&mut self, knowledge: &Priced) -> io::Result<()> {
        let files = Self::files(&self.path, ENDING)?;
        let mut before = std::mem::take(&mut self.known);
        let known = files.into_iter().map(|file| {
            let known = before.remove(&file);
            (file, known)
        });
        let known: Vec<(PathBuf, Option<Known>)> = known.collect();
        let looked = known.into_par_iter().filter_map(|(file, known)| {
            let metadata = fs::metadata(&file).ok()?;
            let stamp = (metadata.modified().ok(), metadata.len());
            let same = known.filter(|known| known.stamp == stamp);
            let known = same.unwrap_or_else(|| Known {
                stamp,
                read: Row::read(&file, knowledge.own())
                    .map(|(row, _)| row)
                    .map_err(|error| error.to_string()),
                worked_out: false,
            });
            Some((file, known))
        });
        self.known = looked.collect::<Vec<_>>().into_iter().collect();
        self.work_out(knowledge);
        Ok(())
    }

    /// Works out what comes next on the jobs not closed that were touched last.
    fn work_out(&mut self, knowledge: &Priced) {
        let mut open: Vec<(&PathBuf, &mut Known)> = self.known.iter_mut().collect();
        let last = |known: &Known| {
            let row = known.read.as_ref().ok()?;
            (row.stage != Stage::Closed).then_some(row.last)
        };
        open.retain(|(_, known)| last(known).is_some());
        open.sort_by_key(|(path, known)| (Reverse(last(known)), *path));
        open.truncate(WORKED_OUT);
        open.into_par_iter()
            .filter(|(_, known)| !known.worked_out)
            .for_each(|(path, known)| {
                known.worked_out = true;
                let Ok(row) = &mut known.read else { return };
                let history: Option<History> = Record::read(path).ok().map(|view| view.history);
                if let Some(history) = history {
                    row.work_out(&history, &knowledge.of(&history.state().opened));
                }
            });
    }

    /// The jobs by their stage, of each the one touched last first.
    pub fn rows(&self) -> Vec<&Row> {
        let mut rows: Vec<&Row> = self
            .known
            .values()
            .filter_map(|known| known.read.as_ref().ok())
            .collect();
        rows.sort_by_key(|row| (row.stage, Reverse(row.last), &row.file));
        rows
    }

    /// The records that cannot be read.
    pub fn unreadable(&self) -> Vec<Unreadable> {
        let unreadable = self.known.iter().filter_map(|(path, known)| {
            let why = known.read.as_ref().err()?;
            let file = path.file_name().unwrap_or_default();
            Some(Unreadable {
                file: file.to_string_lossy().into_owned(),
                why: why.clone(),
            })
        });
        unreadable.collect()
    }
}
