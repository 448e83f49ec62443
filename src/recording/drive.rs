//! All rows of a recording, read once: the signals over time.
//!
//! Blocks of rows are taken apart side by side, and then joined in their order. Only the columns of signals are kept, in
//! a few bytes a sample, and of a denser sampling than 100 a second the mean of each hundredth: memory grows with how
//! long the drive was and how many signals it has, not with rows or columns.

use std::io::Read;

use rayon::prelude::*;

use super::blocks::{Block, Blocks, Cells, Source, UNREADABLE};
use super::mapping::Mapping;
use super::packed::{MOST_DIGITS, Packed, TENS, rounded};
use super::series::{Cursor, Series};
use super::table::{Refusal, Table, Unreadable};
use crate::knowledge::{Family, Role, SignalId};
use crate::text::quoted;

/// So many blocks of rows are taken apart side by side.
const SIDE_BY_SIDE: usize = 8;
/// Times are kept to the microsecond: so many digits behind the second's decimal sign.
const TIME_DIGITS: u8 = 6;
/// Values that are averaged or converted are kept to this share of the column's last digit.
const OF_LAST_DIGIT: f64 = 1e-3;
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
            .filter_map(|series| Some(series.time(series.len().checked_sub(1)?)));
        Self {
            seconds: times.fold(0.0, f64::max),
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
        bytes: R,
    ) -> Result<Self, Unreadable> {
        let sources = Source::all(family, table, mapping);
        let tracks = sources.iter().map(|source| Track::of(source, table));
        let mut tracks: Vec<Track> = tracks.collect();
        let mut clocks = vec![Running::new(); table.clocks.len()];
        let mut blocks = Blocks::new(bytes, table);
        let mut drive = Self::of(family, vec![None; family.signals.len()]);
        loop {
            let (side_by_side, ended) = several(&mut blocks);
            let cells = side_by_side.into_par_iter();
            let cells: Vec<Cells> = cells.map(|block| block.cells(table, &sources)).collect();
            let (times, refusal) = times(&mut clocks, table, &cells);
            drive.rows += times.first().map_or(0, Vec::len) as u64;
            let tracks = tracks.par_iter_mut().enumerate();
            let refusals = tracks.filter_map(|(place, track)| {
                let times = &times[track.clock];
                track.take(table, &cells, place, times).err()
            });
            let first = refusals.min_by_key(|(row, _)| *row);
            if let Some(refusal) = first.map(|(_, refusal)| refusal).or(refusal) {
                return Err(refusal.into());
            }
            if ended? {
                break;
            }
        }
        let starts = clocks.iter().filter_map(|clock| clock.first);
        let start = starts.fold(f64::INFINITY, f64::min);
        for track in &tracks {
            drive.remarks.extend(track.remark());
            drive.unreadable[track.source.id.index()] = track.unreadable;
        }
        let finished = tracks.into_par_iter().map(|track| track.finish(start));
        for (signal, series) in finished.collect::<Vec<_>>() {
            if let Some(last) = series.len().checked_sub(1) {
                drive.seconds = drive.seconds.max(series.time(last));
                drive.signals[signal.index()] = Some(series);
            }
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

    /// Whether the signal of a role is in a state, for times that go up; never where no column has it.
    pub(super) fn in_state(&self, role: Role, name: &str) -> impl FnMut(f64) -> bool + use<'_> {
        let place = self.roles.iter().find(|(of, _)| *of == role);
        let state = place.and_then(|(_, place)| {
            let mut states = self.states[*place].iter().zip(0_u8..);
            let (_, state) = states.find(|(state, _)| *state == name)?;
            Some(f64::from(state))
        });
        let mut signal = self.role(role).map(Cursor::new);
        move |time| {
            let held = signal.as_mut().and_then(|signal| signal.held(time));
            held.zip(state)
                .is_some_and(|(held, state)| held.total_cmp(&state).is_eq())
        }
    }

    /// A signal.
    pub fn signal(&self, id: SignalId) -> Option<&Series> {
        self.signals[id.index()].as_ref()
    }
}

/// The next blocks, and whether these were the last, or why what follows them cannot be read.
fn several<R: Read>(blocks: &mut Blocks<R>) -> (Vec<Block>, Result<bool, Unreadable>) {
    let mut several = Vec::new();
    while several.len() < SIDE_BY_SIDE {
        match blocks.next() {
            Ok(Some(block)) => several.push(block),
            Ok(None) => return (several, Ok(true)),
            Err(error) => return (several, Err(error)),
        }
    }
    (several, Ok(false))
}

/// The times of all rows, by clock; up to a row that is refused.
fn times(
    clocks: &mut [Running],
    table: &Table,
    cells: &[Cells],
) -> (Vec<Vec<f64>>, Option<Refusal>) {
    let mut times = vec![Vec::new(); clocks.len()];
    for cells in cells {
        for row in 0..cells.rows() {
            for (place, clock) in clocks.iter_mut().enumerate() {
                let (column, kind) = table.clocks[place];
                let (stamp, of_day) = cells.stamps[place][row];
                if clock.read(stamp * kind.seconds, of_day) {
                    times[place].push(clock.now);
                } else {
                    let (line, said) = cells.cell(table, row, column);
                    let why = format!("{} is more than a day after the first time", quoted(&said));
                    let name = &table.columns[column].name;
                    return (times, Some(Refusal::new(line, column, name, why)));
                }
            }
        }
        if cells.refusal.is_some() {
            return (times, cells.refusal.clone());
        }
    }
    (times, None)
}

/// A clock while the rows are read: it always goes on.
#[derive(Clone, Debug)]
struct Running {
    /// The time of the last row that has one; no number before that.
    now: f64,
    first: Option<f64>,
    /// What is added to what the column says.
    shift: f64,
    step: f64,
    back: u64,
}

impl Running {
    const fn new() -> Self {
        Self {
            now: f64::NAN,
            first: None,
            shift: 0.0,
            step: 0.0,
            back: 0,
        }
    }

    /// Takes the seconds that a row says; none where they are no number. Whether it is within a day of the first row.
    fn read(&mut self, seconds: f64, of_day: bool) -> bool {
        if seconds.is_nan() {
            return true;
        }
        let before = self.now;
        let mut time = rounded(seconds + self.shift, TIME_DIGITS);
        if time < before {
            if of_day && before - time > MIDNIGHT * LONGEST {
                self.shift += LONGEST;
            } else {
                self.back += 1;
                self.shift += before - time + self.step;
            }
            time = rounded(seconds + self.shift, TIME_DIGITS);
        } else if time >= before {
            self.step = time - before;
        }
        self.now = time;
        time - *self.first.get_or_insert(time) <= LONGEST
    }
}

/// Samples that are averaged.
#[derive(Clone, Copy, Debug)]
struct Bin {
    /// When the first was taken; the others in the same hundredth of a second.
    first: f64,
    count: f64,
    time: f64,
    value: f64,
}

impl Bin {
    fn holds(&self, time: f64) -> bool {
        let [here, there] = [self.first, time].map(|time| (time / FINEST).floor());
        time - self.first < FINEST && here.total_cmp(&there).is_eq()
    }
}

/// A signal while the rows are read.
struct Track<'s> {
    source: &'s Source<'s>,
    clock: usize,
    times: Packed,
    values: Packed,
    /// The samples that are averaged now, by their sums.
    bin: Option<Bin>,
    filled: u64,
    unreadable: u64,
    first_unreadable: Option<(u64, String)>,
    /// The most digits behind a decimal sign.
    digits: u8,
    last: f64,
    step: f64,
}

impl<'s> Track<'s> {
    fn of(source: &'s Source<'s>, table: &Table) -> Self {
        Self {
            source,
            clock: table.clock_of(source.column).unwrap_or(0),
            times: Packed::default(),
            values: Packed::default(),
            bin: None,
            filled: 0,
            unreadable: 0,
            first_unreadable: None,
            digits: 0,
            last: f64::NAN,
            step: f64::INFINITY,
        }
    }

    /// Takes what blocks say in the column of a place, as far as there are times; else the row where it is seen that the
    /// column is not this signal, counted from the first.
    fn take(
        &mut self,
        table: &Table,
        blocks: &[Cells],
        place: usize,
        times: &[f64],
    ) -> Result<(), (usize, Refusal)> {
        let mut times = times.iter().copied().enumerate();
        for cells in blocks {
            let column = &cells.columns[place];
            self.digits = self.digits.max(column.digits);
            for (row, (value, (at, time))) in column.values.iter().zip(&mut times).enumerate() {
                if value.is_nan() || time.is_nan() {
                    continue;
                }
                self.filled += 1;
                if *value < UNREADABLE {
                    self.sample(time, *value);
                    continue;
                }
                let said = || cells.cell(table, row, self.source.column);
                self.first_unreadable.get_or_insert_with(said);
                self.unreadable += 1;
                self.doubt(table).map_err(|refusal| (at, refusal))?;
            }
        }
        Ok(())
    }

    /// Refuses a column of which too much is no value of the signal.
    fn doubt(&self, table: &Table) -> Result<(), Refusal> {
        #[allow(clippy::cast_precision_loss, reason = "counts of cells")]
        let share = self.unreadable as f64 / self.filled as f64;
        match &self.first_unreadable {
            Some((line, said)) if self.filled >= ENOUGH && share > MOST_UNREADABLE => {
                let column = self.source.column;
                let name = &table.columns[column].name;
                let title = self.source.signal.title.to_lowercase();
                let why = format!("{} is no {title}, nor is much else here", quoted(said));
                Err(Refusal::new(*line, column, name, why))
            }
            _ => Ok(()),
        }
    }

    fn sample(&mut self, time: f64, value: f64) {
        let step = (value - self.last).abs();
        if step > 0.0 {
            self.step = self.step.min(step);
        }
        self.last = value;
        // States are not averaged.
        if self.source.unit.is_none() {
            self.times.push(time);
            self.values.push(value);
            return;
        }
        match &mut self.bin {
            Some(bin) if bin.holds(time) => {
                bin.count += 1.0;
                bin.time += time;
                bin.value += value;
            }
            _ => {
                self.close();
                self.bin = Some(Bin {
                    first: time,
                    count: 1.0,
                    time,
                    value,
                });
            }
        }
    }

    /// Keeps the mean of what is averaged.
    fn close(&mut self) {
        let Some(Bin {
            count, time, value, ..
        }) = self.bin.take()
        else {
            return;
        };
        let own = self.source.signal.unit;
        let (mut time, mut value) = (time / count, value / count);
        if count > 1.0 || self.source.unit != own {
            time = rounded(time, TIME_DIGITS);
            value = rounded(value, self.kept_digits());
        }
        self.times.push(time);
        self.values.push(value);
    }

    fn remark(&self) -> Option<String> {
        let (row, said) = self.first_unreadable.as_ref()?;
        Some(format!(
            "{}: {} values are left out as impossible, the first in row {row}: {}.",
            self.source.signal.title,
            self.unreadable,
            quoted(said)
        ))
    }

    /// The series of the signal, in a recording that begins at `start`.
    fn finish(mut self, start: f64) -> (SignalId, Series) {
        self.close();
        let resolution = self.resolution();
        let series = Series::new(self.times, self.values, start, resolution);
        (self.source.id, series)
    }

    /// What can be told apart: of numbers that step by more than their last digit, the step.
    fn resolution(&self) -> f64 {
        let Some(digit) = self.last_digit() else {
            return 0.0;
        };
        if self.step.is_finite() {
            self.step.max(digit)
        } else {
            digit
        }
    }

    /// What one of the column's last digit is in the unit of the signal; `None` for states.
    fn last_digit(&self) -> Option<f64> {
        let digit = 10.0_f64.powi(-i32::from(self.digits));
        let (unit, own) = (self.source.unit?, self.source.signal.unit?);
        unit.convert_difference(digit, own)
    }

    /// To so many digits behind the decimal sign values are kept that the column does not have as they are.
    fn kept_digits(&self) -> u8 {
        let kept = self.last_digit().unwrap_or(1.0) * OF_LAST_DIGIT;
        let digits = (0..=MOST_DIGITS).find(|digits| kept * TENS[usize::from(*digits)] > 0.999);
        digits.unwrap_or(MOST_DIGITS)
    }
}
