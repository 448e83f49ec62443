//! A recording at a terminal: which column is which signal is settled once for a layout, then all of it is read.

use std::io::{self, BufRead};
use std::path::{Path, PathBuf};

use super::streams::Streams;
use crate::entry::yes_or_no;
use crate::knowledge::{Family, SignalId, Vehicle};
use crate::recording::table::Unreadable;
use crate::recording::{Drive, Mapping, Report, Table, settle, settled_or_proposed};
use crate::text::{Page, Tone, table};

/// What is said of the columns, and where that is kept.
#[derive(Clone, Debug, Default)]
pub struct Columns {
    /// Columns that were named, `SIGNAL=COLUMN`.
    pub named: Vec<String>,
    /// Whether what is proposed is taken without asking.
    pub yes: bool,
    /// Where it is kept.
    pub file: Option<PathBuf>,
}

/// Why a recording was not read.
#[derive(Debug, thiserror::Error)]
pub enum RecordingError {
    /// The file cannot be used.
    #[error("{path}: {why}")]
    Unreadable {
        /// The file.
        path: String,
        /// Why.
        why: Unreadable,
    },
    /// The file of what columns are cannot be used.
    #[error("{path}: what the columns of recordings are: {why}")]
    Mappings {
        /// The file.
        path: String,
        /// Why.
        why: io::Error,
    },
    /// What was said of a column does not fit.
    #[error("{0}")]
    Column(String),
    /// Nobody has said yet that the columns are right.
    #[error(
        "nobody has looked yet at what the columns of this layout are: `halfsplit recording FILE` asks that once on a terminal; `--yes` there takes them as proposed, `--map SIGNAL=COLUMN` names one"
    )]
    Unsettled,
    /// Reading or writing at the terminal failed.
    #[error(transparent)]
    Io(#[from] io::Error),
}

/// Reads a recording. Where the columns of its layout were not settled before, a person at the terminal is asked; `None`
/// where they do not agree.
pub fn recording(
    family: &Family,
    vehicle: Option<&Vehicle>,
    path: &Path,
    columns: &Columns,
    talk: &mut Streams<'_>,
) -> Result<Option<(Report, Drive)>, RecordingError> {
    let unreadable = |why: Unreadable| RecordingError::Unreadable {
        path: path.display().to_string(),
        why,
    };
    let (table, bytes) = Table::open(path).map_err(unreadable)?;
    let Some(mapping) = settled(family, &table, columns, Some(talk))? else {
        return Ok(None);
    };
    let drive = Drive::read(family, &table, &mapping, bytes).map_err(unreadable)?;
    let name = path
        .file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let report = Report::of(family, vehicle, &name, (table, &mapping), &drive);
    Ok(Some((report, drive)))
}

/// Reads a recording from the input, where nobody can be asked what its columns are.
pub fn piped_recording(
    family: &Family,
    vehicle: Option<&Vehicle>,
    columns: &Columns,
    input: &mut dyn BufRead,
) -> Result<Option<(Report, Drive)>, RecordingError> {
    const NAME: &str = "the input";
    let unreadable = |why: Unreadable| RecordingError::Unreadable {
        path: NAME.to_owned(),
        why,
    };
    let (table, bytes) = Table::of(input).map_err(unreadable)?;
    let Some(mapping) = settled(family, &table, columns, None)? else {
        return Ok(None);
    };
    let drive = Drive::read(family, &table, &mapping, bytes).map_err(unreadable)?;
    let report = Report::of(family, vehicle, NAME, (table, &mapping), &drive);
    Ok(Some((report, drive)))
}

/// What the columns are: as it was settled before, else as it is proposed and somebody agrees.
fn settled(
    family: &Family,
    table: &Table,
    columns: &Columns,
    talk: Option<&mut Streams<'_>>,
) -> Result<Option<Mapping>, RecordingError> {
    let file = columns.file.as_deref();
    let failed = |why| RecordingError::Mappings {
        path: file.map_or_else(String::new, |file| file.display().to_string()),
        why,
    };
    let (mut mapping, known) = settled_or_proposed(file, family, table).map_err(failed)?;
    for text in &columns.named {
        mapping
            .set(family, table, text)
            .map_err(RecordingError::Column)?;
    }
    if known && columns.named.is_empty() {
        return Ok(Some(mapping));
    }
    if !known && !columns.yes {
        let talk = talk.filter(|talk| talk.interactive);
        let talk = talk.ok_or(RecordingError::Unsettled)?;
        if !agreed(family, table, &mut mapping, talk)? {
            return Ok(None);
        }
    }
    settle(file, family, table, &mapping).map_err(failed)?;
    Ok(Some(mapping))
}

/// Asks until somebody agrees to what the columns are, or leaves.
fn agreed(
    family: &Family,
    table: &Table,
    mapping: &mut Mapping,
    talk: &mut Streams<'_>,
) -> io::Result<bool> {
    let mut show = true;
    loop {
        if show {
            proposal(&mut talk.page(), family, table, mapping)?;
        }
        let Some(line) = talk.hear("columns >")? else {
            return Ok(false);
        };
        match yes_or_no(line.trim()) {
            Some(agreed) => return Ok(agreed),
            None => match mapping.set(family, table, &line) {
                Ok(()) => show = true,
                Err(words) => {
                    show = false;
                    talk.page().say(&words)?;
                }
            },
        }
    }
}

/// What the columns are taken for.
fn proposal(page: &mut Page<'_>, family: &Family, of: &Table, mapping: &Mapping) -> io::Result<()> {
    page.heading("Columns of this layout, new here")?;
    let rows = (0..family.signals.len()).map(|place| {
        let signal = family.signal(SignalId::at(place));
        let column = mapping.0.get(&SignalId::at(place));
        let name = column.map_or("none", |column| of.columns[*column].name.as_str());
        let first = column.and_then(|column| of.sample.first()?.get(*column));
        vec![
            signal.name.clone(),
            name.to_owned(),
            first.cloned().unwrap_or_default(),
        ]
    });
    let rows: Vec<Vec<String>> = rows.collect();
    page.lines(
        2,
        &table(
            &["signal", "column", "first"],
            &rows,
            &[],
            page.width().saturating_sub(4),
        ),
    )?;
    page.text(
        Tone::Plain,
        0,
        "`yes` where that is right; `SIGNAL=COLUMN` puts one right, `SIGNAL=none` takes one out; `no` leaves.",
    )
}
