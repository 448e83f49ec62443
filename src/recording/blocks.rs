//! The bytes of a table in blocks of whole rows, each of which can be taken apart by itself: side by side, on all cores.

use std::io::Read;

use csv::ByteRecord;

use super::cell::stamp;
use super::mapping::{Mapping, state, value};
use super::table::{Refusal, Table, Unreadable, is_missing, line_of, text};
use crate::knowledge::{Family, Signal, SignalId};
use crate::text::quoted;
use crate::units::Unit;

/// A block has about so many bytes,
const SIZE: usize = 1 << 18;
/// and a row at most so many.
const LONGEST_ROW: usize = 1 << 20;
/// A cell without a value.
pub(super) const MISSING: f64 = f64::NAN;
/// A cell with something that the signal cannot have.
pub(super) const UNREADABLE: f64 = f64::INFINITY;

/// Blocks of a source, in their order.
pub(super) struct Blocks<R> {
    source: R,
    delimiter: u8,
    /// What was read behind the last whole row.
    rest: Vec<u8>,
    /// The line where that begins, from 1.
    line: u64,
}

/// Whole rows.
pub(super) struct Block {
    bytes: Vec<u8>,
    /// The line of the first of them.
    line: u64,
}

impl<R: Read> Blocks<R> {
    pub(super) fn new(source: R, table: &Table) -> Self {
        Self {
            source,
            delimiter: table.delimiter_byte(),
            rest: Vec::new(),
            line: 1,
        }
    }

    /// The next rows; `None` at the end.
    pub(super) fn next(&mut self) -> Result<Option<Block>, Unreadable> {
        loop {
            let mut some = self.source.by_ref().take(SIZE as u64);
            let ended = some.read_to_end(&mut self.rest)? < SIZE;
            let (end, open) = whole_rows(&self.rest, self.delimiter);
            // The last row may end with the file.
            let whole = ended && open.is_none();
            let end = if whole { self.rest.len() } else { end };
            if end > 0 {
                let rest = self.rest.split_off(end);
                let bytes = std::mem::replace(&mut self.rest, rest);
                let line = self.line;
                self.line += lines(&bytes);
                return Ok(Some(Block { bytes, line }));
            }
            let long = self.rest.len() > LONGEST_ROW;
            match open {
                Some((at, column)) if ended || long => {
                    let row = self.line + lines(&self.rest[..at]);
                    let why = "a quotation mark opens here, and none closes it";
                    return Err(Refusal::new(row, column, "", why).into());
                }
                None if long => {
                    let why = "this row has more than a million bytes";
                    return Err(Refusal::new(self.line, 0, "", why).into());
                }
                None if ended => return Ok(None),
                _ => {}
            }
        }
    }
}

/// How many lines end in some bytes.
fn lines(bytes: &[u8]) -> u64 {
    bytes.iter().map(|byte| u64::from(*byte == b'\n')).sum()
}

/// Where the last whole row ends, and the place and the column of a quotation mark that is open behind it.
fn whole_rows(bytes: &[u8], delimiter: u8) -> (usize, Option<(usize, usize)>) {
    enum At {
        Start,
        Bare,
        Quoted,
        Closed,
    }
    if !bytes.contains(&b'"') {
        let last = |end| bytes.iter().rposition(|byte| *byte == end);
        let end = last(b'\n').or_else(|| last(b'\r'));
        return (end.map_or(0, |end| end + 1), None);
    }
    let (mut at, mut column, mut opened, mut end) = (At::Start, 0, 0, 0);
    for (place, byte) in bytes.iter().enumerate() {
        at = match (at, byte) {
            // A byte order mark is in front of the first cell.
            (At::Start, 0xef | 0xbb | 0xbf) if place < 3 => At::Start,
            (At::Start, b'"') => {
                opened = place;
                At::Quoted
            }
            (At::Quoted, b'"') => At::Closed,
            // Two quotation marks within quoted text are one of it.
            (At::Quoted, _) | (At::Closed, b'"') => At::Quoted,
            (_, b'\n' | b'\r') => {
                (column, end) = (0, place + 1);
                At::Start
            }
            (_, byte) if *byte == delimiter => {
                column += 1;
                At::Start
            }
            _ => At::Bare,
        };
    }
    (end, matches!(at, At::Quoted).then_some((opened, column)))
}

/// A column that a signal is read from.
pub(super) struct Source<'f> {
    pub(super) id: SignalId,
    pub(super) signal: &'f Signal,
    pub(super) column: usize,
    /// The unit of its cells; `None` for states.
    pub(super) unit: Option<Unit>,
}

impl<'f> Source<'f> {
    /// The columns of a mapping.
    pub(super) fn all(family: &'f Family, table: &Table, mapping: &Mapping) -> Vec<Self> {
        let columns = mapping.0.iter();
        let sources = columns.map(|(id, column)| {
            let signal = family.signal(*id);
            let stated = table.columns.get(*column).and_then(|column| column.unit);
            Self {
                id: *id,
                signal,
                column: *column,
                unit: signal.unit.map(|own| stated.unwrap_or(own)),
            }
        });
        sources.collect()
    }

    /// The value of a cell in the unit of the signal, or as a state's place, and its digits.
    fn value(&self, cell: &[u8], comma: bool) -> (f64, u8) {
        if cell.is_empty() {
            return (MISSING, 0);
        }
        let found = match self.unit {
            Some(unit) => value(self.signal, unit, cell, comma),
            None => state(self.signal, &text(cell))
                .and_then(|place| Some((f64::from(u8::try_from(place).ok()?), 0))),
        };
        found.unwrap_or_else(|| {
            let none = is_missing(&text(cell));
            (if none { MISSING } else { UNREADABLE }, 0)
        })
    }
}

/// What the rows of a block say, column by column.
pub(super) struct Cells {
    block: Block,
    /// The line of each row.
    lines: Vec<u64>,
    /// By clock: the time in each row, or [`MISSING`], and whether it is a time of day.
    pub(super) stamps: Vec<Vec<(f64, bool)>>,
    /// By source.
    pub(super) columns: Vec<Values>,
    /// Why the row behind the last one is refused.
    pub(super) refusal: Option<Refusal>,
}

/// The cells of a column.
#[derive(Default)]
pub(super) struct Values {
    /// The value in each row, [`MISSING`] or [`UNREADABLE`].
    pub(super) values: Vec<f64>,
    /// The most digits behind a decimal sign.
    pub(super) digits: u8,
}

impl Block {
    /// Takes its rows apart, up to one that is refused.
    pub(super) fn cells(self, table: &Table, sources: &[Source<'_>]) -> Cells {
        let mut lines = Vec::new();
        let mut stamps = vec![Vec::new(); table.clocks.len()];
        let mut columns: Vec<Values> = sources.iter().map(|_| Values::default()).collect();
        // A column that repeats its cell repeats its value.
        let mut last: Vec<(Vec<u8>, f64)> = vec![(Vec::new(), MISSING); sources.len()];
        let mut refusal = None;
        self.each(table, |line, record| {
            let read = row(table, line, record, &mut stamps);
            if let Err(refused) = read {
                refusal = Some(refused);
                return false;
            }
            for ((source, column), last) in sources.iter().zip(&mut columns).zip(&mut last) {
                let cell = record.get(source.column).unwrap_or_default();
                if cell != last.0.as_slice() {
                    let (value, digits) = source.value(cell, table.decimal_comma);
                    last.0.clear();
                    last.0.extend_from_slice(cell);
                    last.1 = value;
                    column.digits = column.digits.max(digits);
                }
                column.values.push(last.1);
            }
            lines.push(line);
            true
        });
        Cells {
            block: self,
            lines,
            stamps,
            columns,
            refusal,
        }
    }

    /// Each row of data with its line, until one is taken as the last.
    fn each(&self, table: &Table, mut take: impl FnMut(u64, &ByteRecord) -> bool) {
        let mut rows = table.rows(self.bytes.as_slice());
        let mut record = ByteRecord::new();
        // Bytes in memory are read without an error.
        while rows.read_byte_record(&mut record).unwrap_or(false) {
            let line = self.line - 1 + line_of(&self.bytes, &record);
            if line >= table.first && !take(line, &record) {
                break;
            }
        }
    }
}

/// Reads the times of a row, which has no more filled cells than there are columns: others would be shifted.
fn row(
    table: &Table,
    line: u64,
    record: &ByteRecord,
    stamps: &mut [Vec<(f64, bool)>],
) -> Result<(), Refusal> {
    let columns = table.columns.len();
    let more = (columns..record.len()).find(|at| !record[*at].trim_ascii().is_empty());
    if let Some(at) = more {
        let cells = record.len();
        let why =
            format!("{cells} cells, and the header has {columns}: an unquoted decimal comma?");
        return Err(Refusal::new(line, at, "", why));
    }
    for (stamps, (column, _)) in stamps.iter_mut().zip(&table.clocks) {
        let cell = record.get(*column).unwrap_or_default();
        let found = stamp(cell, table.decimal_comma);
        let said = || text(cell);
        if found.is_none() && !is_missing(&said()) {
            let why = format!("{} is no time", quoted(&said()));
            let name = &table.columns[*column].name;
            return Err(Refusal::new(line, *column, name, why));
        }
        stamps.push(found.unwrap_or((MISSING, false)));
    }
    Ok(())
}

impl Cells {
    /// How many rows it has.
    pub(super) const fn rows(&self) -> usize {
        self.lines.len()
    }

    /// The line of a row, and what a cell of it says.
    pub(super) fn cell(&self, table: &Table, row: usize, column: usize) -> (u64, String) {
        let line = self.lines[row];
        let mut said = String::new();
        self.block.each(table, |at, record| {
            if at == line {
                said = text(record.get(column).unwrap_or_default());
            }
            at < line
        });
        (line, said)
    }
}
