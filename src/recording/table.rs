//! How a table is written: its delimiter, its decimal sign, where its header stands, its columns and their units.
//!
//! Tools export by RFC 4180 and its relatives: commas, semicolons or tabs; decimal commas; lines above the header; units
//! in the header, in a row of their own, or at the end of a column's name. All of that is inferred from the first rows.

use std::fs::File;
use std::io::{self, Cursor, Read};
use std::path::Path;
use std::sync::LazyLock;

use csv::{ByteRecord, ReaderBuilder};
use encoding_rs_io::DecodeReaderBytesBuilder;
use regex::Regex;
use serde::Serialize;

use super::cell::{Clock, number, stamp};
use crate::files::fingerprint;
use crate::text::quoted;
use crate::units::Unit;

/// So much of a file is looked at to find out how it is written, in bytes.
const SAMPLE: u64 = 1 << 16;
/// The header and the first data stand within so many rows.
const MOST_ROWS_ABOVE: usize = 200;
/// The most columns of a table.
const MOST_COLUMNS: usize = 2_000;
/// The share of the sampled rows that have as many cells as the delimiter must give.
const ALIKE: f64 = 0.6;
/// What a cell without a value says.
const MISSING: [&str; 12] = [
    "", "-", "--", "---", "n/a", "na", "nan", "null", "none", "?", "#n/a", "inf",
];

/// A name of a column that tells the time.
static TIME: LazyLock<Option<Regex>> = LazyLock::new(|| {
    Regex::new(r"(?i)^(rel(ative)?|abs(olute)?|elapsed|sample|log(ger)?|record(ing)?)? ?(date ?)?(time|timestamp|time ?stamp|clock|elapsed|seconds|sec|t|ms)\b")
        .ok()
});

/// Why a table cannot be read: the row, the column, and what is wrong there.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("row {row}, column {column}: {why}")]
pub struct Refusal {
    /// The line of the file, from 1.
    pub row: u64,
    /// The column, from 1, with its name where it has one.
    pub column: String,
    /// What is wrong, and what would fit.
    pub why: String,
}

impl Refusal {
    pub(super) fn new(row: u64, column: usize, name: &str, why: impl Into<String>) -> Self {
        let place = column + 1;
        let column = if name.is_empty() {
            place.to_string()
        } else {
            format!("{place} ({})", quoted(name))
        };
        Self {
            row,
            column,
            why: why.into(),
        }
    }
}

/// Why a recording cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum Unreadable {
    /// The file cannot be opened or read.
    #[error(transparent)]
    Io(#[from] io::Error),
    /// It is no table that tells signals over time.
    #[error(transparent)]
    Refused(#[from] Refusal),
}

/// A column of a table.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Column {
    /// Its name, without its unit.
    pub name: String,
    /// The unit it states.
    pub unit: Option<Unit>,
}

impl Column {
    /// Its name as words: what joins words in a name is a blank, and what begins a new one in mixed case stands apart.
    pub fn words(&self) -> String {
        let mut words = String::new();
        let mut before = ' ';
        for c in self.name.chars() {
            if matches!(c, '_' | '.' | '-' | '/') {
                words.push(' ');
            } else {
                if c.is_uppercase() && before.is_lowercase() {
                    words.push(' ');
                }
                words.push(c);
            }
            before = c;
        }
        words.split_whitespace().collect::<Vec<_>>().join(" ")
    }
}

/// A table whose way of writing is known.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Table {
    /// What parts its cells: `,`, `;` or a tab.
    pub delimiter: char,
    /// Whether its numbers have a decimal comma.
    pub decimal_comma: bool,
    /// The line of the header, from 1.
    pub header: u64,
    /// The line of the first data.
    pub first: u64,
    /// Its columns.
    pub columns: Vec<Column>,
    /// The columns that tell the time, each with how; a column goes by the nearest one to its left, else by the first.
    pub clocks: Vec<(usize, Clock)>,
    /// The first rows of data, to look at what the numbers are.
    #[serde(skip)]
    pub sample: Vec<Vec<String>>,
}

impl Table {
    /// Finds out how a file is written, and gives its bytes from the start.
    pub fn open(path: &Path) -> Result<(Self, impl Read + use<>), Unreadable> {
        Self::of(File::open(path)?)
    }

    /// Finds out how a table is written, and gives its bytes from the start; UTF-16 with a byte order mark as UTF-8.
    pub fn of<R: Read>(source: R) -> Result<(Self, impl Read + use<R>), Unreadable> {
        let mut source = DecodeReaderBytesBuilder::new()
            .utf8_passthru(true)
            .build(source);
        let mut head = Vec::new();
        source.by_ref().take(SAMPLE).read_to_end(&mut head)?;
        let whole = (head.len() as u64) < SAMPLE;
        let table = Self::sniff(&head, whole)?;
        Ok((table, Cursor::new(head).chain(source)))
    }

    /// What tells this way of writing from others: a fingerprint of the columns and their units.
    pub fn layout(&self) -> String {
        let columns = self.columns.iter();
        let columns: Vec<String> = columns
            .map(|column| format!("{}\t{}", column.name, column.unit.map_or("", Unit::symbol)))
            .collect();
        fingerprint(columns.join("\n").as_bytes())
    }

    /// The clock that a column goes by.
    pub fn clock_of(&self, column: usize) -> Option<usize> {
        let mut clocks = 0..self.clocks.len();
        let left = clocks.clone().rfind(|clock| self.clocks[*clock].0 < column);
        left.or_else(|| clocks.next())
    }

    /// Reads its rows; those before the data are among them.
    pub(super) fn rows<R: Read>(&self, source: R) -> csv::Reader<R> {
        reader(source, self.delimiter_byte())
    }

    /// What parts its cells, as a byte.
    pub(super) fn delimiter_byte(&self) -> u8 {
        u8::try_from(self.delimiter).unwrap_or(b',')
    }

    fn sniff(head: &[u8], whole: bool) -> Result<Self, Refusal> {
        if let Some(at) = head.iter().position(|byte| *byte == 0) {
            let lines = head[..at].split(|byte| *byte == b'\n');
            let row = lines.map(|_| 1).sum();
            return Err(Refusal::new(
                row,
                0,
                "",
                "this is no text: export the recording as CSV",
            ));
        }
        // The last line may be cut off.
        let end = head.iter().rposition(|byte| *byte == b'\n');
        let head = if whole {
            head
        } else {
            &head[..end.map_or(head.len(), |end| end + 1)]
        };
        let (delimiter, rows) = delimited(head)?;
        let width = usual_width(&rows);
        let decimal_comma = decimal_comma(&rows);
        let first = rows.iter().take(MOST_ROWS_ABOVE).position(|(_, cells)| {
            // A row may end in empty cells, or lack some.
            cells.len().abs_diff(width) <= 1 && is_data(cells, decimal_comma)
        });
        let Some(first) = first else {
            return Err(Refusal::new(
                1,
                0,
                "",
                "no row of numbers follows a header here",
            ));
        };
        let units_apart = first >= 2 && is_units(&rows[first - 1].1) && rows[first - 2].1.len() > 1;
        let Some(header) = first.checked_sub(1 + usize::from(units_apart)) else {
            let (row, cells) = &rows[0];
            let found = cells.first().map_or("", String::as_str);
            return Err(Refusal::new(
                *row,
                0,
                found,
                "the first row has numbers: a row of names belongs above it",
            ));
        };
        if rows[header].1.len() > MOST_COLUMNS {
            let words = format!("more than {MOST_COLUMNS} columns");
            return Err(Refusal::new(rows[header].0, MOST_COLUMNS, "", words));
        }
        let units = units_apart.then(|| &rows[first - 1].1);
        let columns = columns(&rows[header].1, units);
        let sample: Vec<Vec<String>> = rows[first..]
            .iter()
            .map(|(_, cells)| cells.clone())
            .collect();
        let clocks = clocks(&columns, &sample, decimal_comma);
        if clocks.is_empty() {
            return Err(Refusal::new(
                rows[header].0,
                0,
                columns.first().map_or("", |column| &column.name),
                "no column tells the time: one must be called time, or the like, and go up",
            ));
        }
        Ok(Self {
            delimiter,
            decimal_comma,
            header: rows[header].0,
            first: rows[first].0,
            columns,
            clocks,
            sample,
        })
    }
}

type Rows = Vec<(u64, Vec<String>)>;

fn reader<R: Read>(source: R, delimiter: u8) -> csv::Reader<R> {
    ReaderBuilder::new()
        .delimiter(delimiter)
        .has_headers(false)
        .flexible(true)
        .buffer_capacity(1 << 16)
        .from_reader(source)
}

/// The line of a row that was read from some bytes, from 1. The place of a row is where the one before it ended: its line
/// end and empty lines may be in between.
pub(super) fn line_of(bytes: &[u8], row: &ByteRecord) -> u64 {
    let Some(place) = row.position() else {
        return 0;
    };
    let start = usize::try_from(place.byte()).unwrap_or(usize::MAX);
    let between = bytes.iter().skip(start);
    let between = between.take_while(|byte| matches!(byte, b'\r' | b'\n'));
    place.line() + between.map(|byte| u64::from(*byte == b'\n')).sum::<u64>()
}

/// The cells of the first rows, by the delimiter that parts most of them into as many.
fn delimited(head: &[u8]) -> Result<(char, Rows), Refusal> {
    for delimiter in [b'\t', b';', b','] {
        let mut rows: Rows = Vec::new();
        let mut record = ByteRecord::new();
        let mut reader = reader(head, delimiter);
        while reader.read_byte_record(&mut record).unwrap_or(false) {
            rows.push((line_of(head, &record), record.iter().map(text).collect()));
        }
        let width = usual_width(&rows);
        let of_that = rows
            .iter()
            .filter(|(_, cells)| cells.len() == width)
            .count();
        if width > 1 && share(of_that, rows.len()) >= ALIKE {
            return Ok((char::from(delimiter), rows));
        }
    }
    Err(Refusal::new(
        1,
        0,
        "",
        "this is no table: rows of as many cells, parted by commas, semicolons or tabs, are needed",
    ))
}

/// The share of a count.
pub(super) fn share(part: usize, of: usize) -> f64 {
    #[allow(
        clippy::cast_precision_loss,
        reason = "counts of cells are far below 2^52"
    )]
    let share = part as f64 / of.max(1) as f64;
    share
}

/// A cell as text, without blanks around it: UTF-8, else Latin-1.
pub(super) fn text(cell: &[u8]) -> String {
    let text = std::str::from_utf8(cell).map_or_else(
        |_| cell.iter().map(|byte| char::from(*byte)).collect(),
        str::to_owned,
    );
    text.trim_start_matches('\u{feff}').trim().to_owned()
}

/// Whether a cell says that there is no value.
pub(super) fn is_missing(cell: &str) -> bool {
    MISSING.iter().any(|word| word.eq_ignore_ascii_case(cell))
}

/// How many cells most rows have.
fn usual_width(rows: &Rows) -> usize {
    let mut widths: Vec<usize> = rows.iter().map(|(_, cells)| cells.len()).collect();
    widths.sort_unstable();
    let longest = widths
        .chunk_by(|a, b| a == b)
        .max_by_key(|alike| alike.len());
    longest.map_or(0, |alike| alike[0])
}

/// Whether numbers have a decimal comma: some have one, and none has a decimal point.
fn decimal_comma(rows: &Rows) -> bool {
    let cells = || rows.iter().flat_map(|(_, cells)| cells);
    let with = |comma: bool| {
        move |cell: &&String| {
            let sign = if comma { ',' } else { '.' };
            cell.matches(sign).count() == 1 && number(cell.as_bytes(), comma).is_some()
        }
    };
    let commas = cells().filter(with(true)).count();
    commas > cells().filter(with(false)).count()
}

/// Whether most cells of a row are numbers or times.
fn is_data(cells: &[String], comma: bool) -> bool {
    let filled: Vec<&String> = cells.iter().filter(|cell| !is_missing(cell)).collect();
    let numbers = filled
        .iter()
        .filter(|cell| stamp(cell.as_bytes(), comma).is_some())
        .count();
    numbers > 0 && 2 * numbers >= filled.len()
}

/// Whether a row has units alone.
fn is_units(cells: &[String]) -> bool {
    let filled: Vec<&String> = cells.iter().filter(|cell| !is_missing(cell)).collect();
    let units = filled
        .iter()
        .filter(|cell| unit(unbracketed(cell)).is_some())
        .count();
    units > 0 && 2 * units > filled.len()
}

fn unbracketed(text: &str) -> &str {
    text.trim_matches(['(', ')', '[', ']', '{', '}']).trim()
}

/// A unit that a text names, by itself.
fn unit(text: &str) -> Option<Unit> {
    Unit::read(text, None).first().copied()
}

/// The columns of a header: a unit stands in brackets behind the name, in a row of its own, or as the name's last word.
fn columns(header: &[String], units: Option<&Vec<String>>) -> Vec<Column> {
    let mut seen: Vec<String> = Vec::new();
    let columns = header.iter().enumerate().map(|(place, cell)| {
        let apart = units.and_then(|units| units.get(place));
        let apart = apart.and_then(|text| unit(unbracketed(text)));
        let bracket = cell.rfind(['(', '[', '{']).filter(|at| *at > 0);
        let inside = bracket.and_then(|at| unit(unbracketed(&cell[at..])));
        let (name, stated) = match (bracket, inside) {
            (Some(at), Some(inside)) => (cell[..at].trim().to_owned(), Some(inside)),
            _ => last_word(cell),
        };
        let mut name = if name.is_empty() { cell.clone() } else { name };
        let before = seen.iter().filter(|other| **other == name).count();
        seen.push(name.clone());
        if before > 0 {
            name = format!("{name} #{}", before + 1);
        }
        Column {
            name,
            unit: apart.or(stated),
        }
    });
    columns.collect()
}

/// A name whose last word is a unit, and that unit.
fn last_word(cell: &str) -> (String, Option<Unit>) {
    let parted = cell.rsplit_once(['_', ' ', ',']);
    let Some((name, last)) = parted.filter(|(name, _)| !name.trim().is_empty()) else {
        return (cell.to_owned(), None);
    };
    // A single letter is as likely part of the name, but for the percent sign.
    match unit(unbracketed(last)).filter(|_| last.chars().count() > 1 || last == "%") {
        Some(unit) => (name.trim().to_owned(), Some(unit)),
        None => (cell.to_owned(), None),
    }
}

/// The columns that tell the time: called so, with times in nearly all filled cells that mostly go up.
fn clocks(columns: &[Column], sample: &[Vec<String>], comma: bool) -> Vec<(usize, Clock)> {
    let called = |column: &Column| {
        let is_time = column
            .unit
            .is_some_and(|unit| unit.dimension() == Unit::Second.dimension());
        let named = TIME
            .as_ref()
            .is_some_and(|time| time.is_match(&column.words()));
        named && (is_time || column.unit.is_none())
    };
    let named = columns
        .iter()
        .enumerate()
        .filter(|(_, column)| called(column));
    let clocks = named.filter_map(|(place, column)| {
        let cells = sample.iter().filter_map(|row| row.get(place));
        let filled: Vec<&String> = cells.filter(|cell| !is_missing(cell)).collect();
        let stamps = filled
            .iter()
            .filter_map(|cell| stamp(cell.as_bytes(), comma));
        let stamps: Vec<(f64, bool)> = stamps.collect();
        let up = stamps
            .windows(2)
            .filter(|pair| pair[1].0 >= pair[0].0)
            .count();
        let steps = stamps.len().saturating_sub(1);
        let goes_up = steps <= up + 1 || share(up, steps) >= 0.8;
        let fits = share(stamps.len(), filled.len()) >= 0.9 && goes_up;
        (fits && !stamps.is_empty()).then(|| (place, Clock::of(column.unit, &stamps)))
    });
    clocks.collect()
}
