//! All rows of a recording, read once: the signals over time.
//!
//! Only the columns of signals are kept, and of a denser sampling than 100 a second the mean of each hundredth: memory
//! grows with how long the drive was and how many signals it has, not with rows or columns.

use std::io::Read;

use csv::ByteRecord;

use super::mapping::{Mapping, state, value};
use super::series::Series;
use super::table::{Refusal, Table, Unreadable, is_missing, text};
use crate::knowledge::{Family, Role, SignalId};
use crate::text::quoted;
use crate::units::Unit;

/// What is sampled closer together, in seconds, is averaged.
const FINEST: f64 = 0.01;
/// The longest recording, in seconds: a day.
const LONGEST: f64 = 86_400.0;
/// A clock that goes back by at least so much of a day has passed midnight.
const MIDNIGHT: f64 = 0.9;
/// A column of which more than this share of filled cells is no value is not that signal.
const MOST_UNREADABLE: f64 = 0.05;
/// So many filled cells are looked at before a column is refused for that.
const ENOUGH: u64 = 100;

/// A recording: its signals over time.
#[derive(Clone, Debug, Default)]
pub struct Drive {
    /// The rows of data.
    pub rows: u64,
    /// How long it is, in seconds.
    pub seconds: f64,
    /// Each signal of the family; a state as its place in the signal's list. None where no column has it, or no cell.
    pub signals: Vec<Option<Series>>,
    /// How many cells of each signal had no value that it can have.
    pub unreadable: Vec<u64>,
    /// What is to be known of it: jumps of the clock, values that were left out.
    pub remarks: Vec<String>,
    /// What each role is a place of.
    roles: Vec<(Role, usize)>,
    /// The states of each signal, by name.
    states: Vec<Vec<String>>,
}

impl Drive {
    /// A drive of signals that are known already.
    pub fn of(family: &Family, signals: Vec<Option<Series>>) -> Self {
        let roles = family.signals.iter().zip(0..);
        let times = signals
            .iter()
            .flatten()
            .filter_map(|series| series.times.last());
        Self {
            seconds: times.copied().fold(0.0, f64::max),
            roles: roles
                .filter_map(|(signal, place)| Some((signal.role?, place)))
                .collect(),
            states: family
                .signals
                .iter()
                .map(|signal| signal.states.iter().map(|(name, _)| name.clone()).collect())
                .collect(),
            unreadable: vec![0; signals.len()],
            signals,
            ..Self::default()
        }
    }

    /// Reads all rows of a table.
    pub fn read<R: Read>(
        family: &Family,
        table: &Table,
        mapping: &Mapping,
        source: R,
    ) -> Result<Self, Unreadable> {
        let mut tracks: Vec<Track> = mapping
            .0
            .iter()
            .filter_map(|(signal, column)| Track::of(table, *signal, *column))
            .collect();
        let mut clocks = vec![Running::default(); table.clocks.len()];
        let mut rows = table.rows(source);
        let mut record = ByteRecord::new();
        let mut drive = Self::of(family, vec![None; family.signals.len()]);
        loop {
            match rows.read_byte_record(&mut record) {
                Ok(true) => {}
                Ok(false) => break,
                Err(error) => return Err(unreadable(error)),
            }
            let row = record.position().map_or(0, csv::Position::line);
            if row < table.first {
                continue;
            }
            drive.rows += 1;
            wide(table, &record, row)?;
            for (clock, (column, kind)) in clocks.iter_mut().zip(&table.clocks) {
                let cell = record.get(*column).unwrap_or_default();
                clock.read(cell, kind.seconds, table, (row, *column))?;
            }
            for track in &mut tracks {
                if let Some(time) = clocks[track.clock].now {
                    let cell = record.get(track.column).unwrap_or_default();
                    track.read(family, table, cell, time, row)?;
                }
            }
        }
        let starts = clocks.iter().filter_map(|clock| clock.first);
        let start = starts.fold(f64::INFINITY, f64::min);
        for track in tracks {
            let (signal, unreadable) = (track.signal.index(), track.unreadable);
            drive.remarks.extend(track.remark(family));
            drive.unreadable[signal] = unreadable;
            let series = track.finish(start, family.signal(SignalId::at(signal)).unit);
            drive.seconds = drive
                .seconds
                .max(series.times.last().copied().unwrap_or(0.0));
            drive.signals[signal] = Some(series).filter(|series| !series.times.is_empty());
        }
        let back: u64 = clocks.iter().map(|clock| clock.back).sum();
        if back > 0 {
            drive.remarks.push(format!(
                "The clock goes back {back} times: what follows is taken to come right after what was before."
            ));
        }
        Ok(drive)
    }

    /// The signal of a role.
    pub fn role(&self, role: Role) -> Option<&Series> {
        let (_, place) = self.roles.iter().find(|(of, _)| *of == role)?;
        self.signals[*place].as_ref()
    }

    /// The state that a signal of a role was in at a time.
    pub fn state(&self, role: Role, time: f64) -> Option<&str> {
        let (_, place) = self.roles.iter().find(|(of, _)| *of == role)?;
        let held = self.signals[*place].as_ref()?.held(time)?;
        let mut states = self.states[*place].iter().zip(0_u8..);
        let (name, _) = states.find(|(_, state)| f64::from(*state).total_cmp(&held).is_eq())?;
        Some(name)
    }

    /// A signal.
    pub fn signal(&self, id: SignalId) -> Option<&Series> {
        self.signals[id.index()].as_ref()
    }
}

fn unreadable(error: csv::Error) -> Unreadable {
    let row = error.position().map_or(0, csv::Position::line);
    match error.into_kind() {
        csv::ErrorKind::Io(error) => Unreadable::Io(error),
        _ => Refusal::new(row, 0, "", "this row cannot be taken apart").into(),
    }
}

/// A row with more filled cells than there are columns shifts what is in them.
fn wide(table: &Table, record: &ByteRecord, row: u64) -> Result<(), Refusal> {
    let columns = table.columns.len();
    let more = (columns..record.len()).find(|at| !record[*at].trim_ascii().is_empty());
    match more {
        None => Ok(()),
        Some(at) => Err(Refusal::new(
            row,
            at,
            "",
            format!(
                "{} cells, and the header has {columns}: an unquoted decimal comma?",
                record.len()
            ),
        )),
    }
}

/// A clock while the rows are read: it always goes on.
#[derive(Clone, Debug, Default)]
struct Running {
    now: Option<f64>,
    first: Option<f64>,
    /// What is added to what the column says.
    shift: f64,
    step: f64,
    back: u64,
}

impl Running {
    /// The time of a row. A cell without a time leaves the row without one.
    fn read(
        &mut self,
        cell: &[u8],
        seconds: f64,
        table: &Table,
        (row, column): (u64, usize),
    ) -> Result<(), Refusal> {
        let before = self.now.take();
        let name = table.columns[column].name.as_str();
        let Some((stamp, of_day)) = super::series::stamp(cell, table.decimal_comma) else {
            let said = text(cell);
            self.now = before.filter(|_| is_missing(&said));
            if is_missing(&said) {
                return Ok(());
            }
            let words = format!("{} is no time", quoted(&said));
            return Err(Refusal::new(row, column, name, words));
        };
        let mut time = stamp * seconds + self.shift;
        if let Some(last) = before
            && time < last
        {
            if of_day && last - time > MIDNIGHT * LONGEST {
                self.shift += LONGEST;
            } else {
                self.back += 1;
                self.shift += last - time + self.step;
            }
            time = stamp * seconds + self.shift;
        } else if let Some(last) = before {
            self.step = time - last;
        }
        let first = *self.first.get_or_insert(time);
        if time - first > LONGEST {
            let words = format!(
                "{} is more than a day after the first time",
                quoted(&text(cell))
            );
            return Err(Refusal::new(row, column, name, words));
        }
        self.now = Some(time);
        Ok(())
    }
}

/// A signal while the rows are read.
struct Track {
    signal: SignalId,
    column: usize,
    clock: usize,
    unit: Option<Unit>,
    times: Vec<f64>,
    values: Vec<f64>,
    /// The samples that are averaged now: their hundredth, how many, and their sums.
    bin: Option<(f64, f64, f64, f64)>,
    filled: u64,
    unreadable: u64,
    first_unreadable: Option<(u64, String)>,
    digits: u8,
    last: Option<f64>,
    step: f64,
}

impl Track {
    fn of(table: &Table, signal: SignalId, column: usize) -> Option<Self> {
        Some(Self {
            signal,
            column,
            clock: table.clock_of(column)?,
            unit: table.columns.get(column)?.unit,
            times: Vec::new(),
            values: Vec::new(),
            bin: None,
            filled: 0,
            unreadable: 0,
            first_unreadable: None,
            digits: 0,
            last: None,
            step: f64::INFINITY,
        })
    }

    fn read(
        &mut self,
        family: &Family,
        table: &Table,
        cell: &[u8],
        time: f64,
        row: u64,
    ) -> Result<(), Refusal> {
        if cell.is_empty() {
            return Ok(());
        }
        let signal = family.signal(self.signal);
        let read = match signal.unit {
            Some(own) => value(signal, self.unit.unwrap_or(own), cell, table.decimal_comma),
            None => state(signal, &text(cell))
                .map(|place| (f64::from(u8::try_from(place).unwrap_or(u8::MAX)), 0)),
        };
        let Some((value, digits)) = read else {
            let said = text(cell);
            if is_missing(&said) {
                return Ok(());
            }
            self.filled += 1;
            self.unreadable += 1;
            let first = self.first_unreadable.get_or_insert((row, said));
            #[allow(clippy::cast_precision_loss, reason = "counts of cells")]
            let share = self.unreadable as f64 / self.filled as f64;
            if self.filled >= ENOUGH && share > MOST_UNREADABLE {
                let name = &table.columns[self.column].name;
                let words = format!(
                    "{} is no {}, nor is much else here",
                    quoted(&first.1),
                    signal.title.to_lowercase()
                );
                return Err(Refusal::new(first.0, self.column, name, words));
            }
            return Ok(());
        };
        self.filled += 1;
        self.digits = self.digits.max(digits);
        if let Some(last) = self.last {
            let step = (value - last).abs();
            if step > 0.0 {
                self.step = self.step.min(step);
            }
        }
        self.last = Some(value);
        // States are not averaged.
        if signal.unit.is_none() {
            self.times.push(time);
            self.values.push(value);
            return Ok(());
        }
        let hundredth = (time / FINEST).floor();
        self.bin = match self.bin.take() {
            Some((bin, count, at, sum)) if bin.total_cmp(&hundredth).is_eq() => {
                Some((bin, count + 1.0, at + time, sum + value))
            }
            other => {
                self.push(other);
                Some((hundredth, 1.0, time, value))
            }
        };
        Ok(())
    }

    fn push(&mut self, bin: Option<(f64, f64, f64, f64)>) {
        if let Some((_, count, time, sum)) = bin {
            self.times.push(time / count);
            self.values.push(sum / count);
        }
    }

    fn remark(&self, family: &Family) -> Option<String> {
        let (row, said) = self.first_unreadable.as_ref()?;
        let title = &family.signal(self.signal).title;
        Some(format!(
            "{title}: {} values are left out as impossible, the first in row {row}: {}.",
            self.unreadable,
            quoted(said)
        ))
    }

    /// The series, in seconds from `start`; `unit` is that of the signal.
    fn finish(mut self, start: f64, unit: Option<Unit>) -> Series {
        let bin = self.bin.take();
        self.push(bin);
        self.times.iter_mut().for_each(|time| *time -= start);
        let Some(unit) = unit else {
            return Series::new(self.times, self.values, 0.0);
        };
        // Of numbers that step by more than their last digit, the step is what can be told apart.
        let digit = 10.0_f64.powi(-i32::from(self.digits));
        let digit = self.unit.unwrap_or(unit).convert_difference(digit, unit);
        let step = if self.step.is_finite() {
            self.step
        } else {
            0.0
        };
        Series::new(self.times, self.values, step.max(digit.unwrap_or(0.0)))
    }
}
