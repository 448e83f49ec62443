//! Values over uneven time: how a cell is read as a number or a time, and what is between two samples.

use serde::Serialize;

use crate::units::Unit;

/// Powers of ten that a number of up to 15 digits can be divided by without a rounding error before the last.
const TENS: [f64; 16] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
];
/// No tool samples more seldom than this, in seconds: whole numbers that step by more are milliseconds. Judged.
const SLOWEST: f64 = 10.0;
/// Samples further apart than so many usual intervals are not joined,
const GAP: f64 = 4.0;
/// nor than this where they are denser, in seconds.
const LEAST_GAP: f64 = 0.5;
/// The longest interval that a signal is taken to be refreshed in, in seconds. Judged.
const LONGEST_REFRESH: f64 = 2.0;
/// At most so many samples of a stretch are compared pair by pair for its slope.
const MOST_PAIRED: usize = 60;

/// How a column tells the time.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Clock {
    /// How many seconds one of its units is.
    pub seconds: f64,
}

impl Clock {
    /// A clock by its unit, and by how its first times step where it has none.
    pub(super) fn of(unit: Option<Unit>, stamps: &[(f64, bool)]) -> Self {
        let stated = unit.and_then(|unit| unit.convert(1.0, Unit::Second));
        let mut steps: Vec<f64> = stamps
            .windows(2)
            .map(|pair| pair[1].0 - pair[0].0)
            .filter(|step| *step > 0.0)
            .collect();
        let step = median(&mut steps).unwrap_or(0.0);
        let of_day = stamps.iter().any(|(_, of_day)| *of_day);
        let seconds = match stated {
            _ if of_day => 1.0,
            Some(seconds) => seconds,
            None if step >= SLOWEST => 1e-3,
            None => 1.0,
        };
        Self { seconds }
    }
}

/// A count as a number.
pub(super) fn float(count: usize) -> f64 {
    #[allow(
        clippy::cast_precision_loss,
        reason = "counts of samples are far below 2^52"
    )]
    let number = count as f64;
    number
}

/// The number in a cell, with how many digits stand behind its decimal sign. `None` for anything else.
pub fn number(cell: &[u8], comma: bool) -> Option<(f64, u8)> {
    let cell = cell.trim_ascii();
    let sign = if comma { b',' } else { b'.' };
    let (negative, digits) = match cell {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] | rest => (false, rest),
    };
    let (mut whole, mut count, mut behind) = (0_u64, 0_u8, None);
    for byte in digits {
        match byte {
            b'0'..=b'9' if count < 15 => {
                whole = 10 * whole + u64::from(byte - b'0');
                count += 1;
                behind = behind.map(|behind: u8| behind + 1);
            }
            _ if *byte == sign && behind.is_none() => behind = Some(0),
            _ => return unusual(cell, comma),
        }
    }
    if count == 0 {
        return None;
    }
    let behind = behind.unwrap_or(0);
    #[allow(clippy::cast_precision_loss, reason = "of at most 15 digits")]
    let value = whole as f64 / TENS[usize::from(behind)];
    Some((if negative { -value } else { value }, behind))
}

/// A number with an exponent, or of more digits than count.
fn unusual(cell: &[u8], comma: bool) -> Option<(f64, u8)> {
    if !cell
        .iter()
        .all(|byte| matches!(byte, b'0'..=b'9' | b'.' | b',' | b'-' | b'+' | b'e' | b'E'))
    {
        return None;
    }
    let text = std::str::from_utf8(cell).ok()?;
    let text = if comma {
        text.replace(',', ".")
    } else {
        text.to_owned()
    };
    let value: f64 = text.parse().ok()?;
    value.is_finite().then_some((value, 6))
}

/// The time in a cell, in the units of its column or in seconds, and whether it is a time of day: a number, or
/// `[date ]hours:minutes[:seconds]`. Of a date only the time behind it counts: a clock that goes back a day has passed
/// midnight.
pub fn stamp(cell: &[u8], comma: bool) -> Option<(f64, bool)> {
    let cell = cell.trim_ascii();
    if !cell.contains(&b':') {
        return number(cell, comma).map(|(value, _)| (value, false));
    }
    let from = cell.iter().rposition(|byte| matches!(byte, b'T' | b' '));
    let time = cell[from.map_or(0, |from| from + 1)..].trim_ascii();
    let time = time.strip_suffix(b"Z").unwrap_or(time);
    let mut seconds = 0.0;
    let mut parts = 0;
    for part in time.split(|byte| *byte == b':') {
        let decimal = part.contains(&b',');
        seconds = 60.0 * seconds + number(part, decimal).filter(|(part, _)| *part >= 0.0)?.0;
        parts += 1;
    }
    match parts {
        // Minutes and seconds where the seconds have decimals, else hours and minutes.
        2 if time.contains(&b'.') || time.contains(&b',') => Some((seconds, true)),
        2 => Some((60.0 * seconds, true)),
        3 => Some((seconds, true)),
        _ => None,
    }
}

/// The middle of some numbers, which are sorted for it.
pub fn median(numbers: &mut [f64]) -> Option<f64> {
    numbers.sort_by(f64::total_cmp);
    let middle = numbers.len().checked_sub(1)? / 2;
    Some(f64::midpoint(numbers[middle], numbers[numbers.len() / 2]))
}

/// A signal over time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Series {
    /// When, in seconds from the start of the recording, going up.
    pub times: Vec<f64>,
    /// The values there, in the signal's unit.
    pub values: Vec<f64>,
    /// The smallest step between two values, in the unit.
    pub resolution: f64,
    /// How often it is refreshed, in seconds: the usual time between samples, or between changes where values are held.
    pub interval: f64,
    /// Samples further apart than this, in seconds, are not joined.
    pub gap: f64,
}

impl Series {
    /// A series of samples whose values step by `resolution`.
    pub fn new(times: Vec<f64>, values: Vec<f64>, resolution: f64) -> Self {
        let mut steps: Vec<f64> = times.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let usual = median(&mut steps).unwrap_or(f64::INFINITY);
        let changes = times.iter().zip(values.windows(2));
        let changes = changes.filter(|(_, pair)| (pair[1] - pair[0]).abs() > 0.0);
        let changes: Vec<f64> = changes.map(|(time, _)| *time).collect();
        let mut steps: Vec<f64> = changes.windows(2).map(|pair| pair[1] - pair[0]).collect();
        // A signal that seldom changes is not seldom refreshed.
        let often = 20 * changes.len() > times.len();
        let refreshed = median(&mut steps)
            .filter(|_| often)
            .unwrap_or(usual)
            .min(LONGEST_REFRESH);
        Self {
            gap: (GAP * usual).max(LEAST_GAP),
            interval: usual.max(refreshed),
            times,
            values,
            resolution,
        }
    }

    /// The place of the last sample that is not after a time.
    fn before(&self, time: f64) -> Option<usize> {
        self.times.partition_point(|at| *at <= time).checked_sub(1)
    }

    /// The value at a time, on the line between the samples around it; none outside them and in a gap.
    pub fn at(&self, time: f64) -> Option<f64> {
        let place = self.before(time)?;
        let (from, value) = (self.times[place], self.values[place]);
        if time <= from {
            return Some(value);
        }
        let (to, next) = (*self.times.get(place + 1)?, self.values[place + 1]);
        let share = (time - from) / (to - from);
        (to - from <= self.gap).then_some(value + share * (next - value))
    }

    /// The value that held at a time: that of the last sample, unless that is longer ago than a gap.
    pub fn held(&self, time: f64) -> Option<f64> {
        let place = self.before(time)?;
        (time - self.times[place] <= self.gap).then_some(self.values[place])
    }

    /// The samples from one time to another, both included.
    pub fn within(&self, from: f64, to: f64) -> (&[f64], &[f64]) {
        let first = self.times.partition_point(|at| *at < from);
        let end = self.times.partition_point(|at| *at <= to).max(first);
        (&self.times[first..end], &self.values[first..end])
    }

    /// How fast it changes around a time, a second: between the samples next to the interval before and after it.
    pub fn rate(&self, time: f64) -> f64 {
        let around = self.interval.max(0.1);
        match (self.at(time - around), self.at(time + around)) {
            (Some(before), Some(after)) => (after - before) / (2.0 * around),
            _ => 0.0,
        }
    }

    /// Its standard uncertainty at a time: of its resolution, and of when within its interval it was taken, each
    /// anywhere alike. `u² = d²/12 + (ẋ·Δ)²/12` (JCGM 100, 4.3.7 and F.2.2.1).
    pub fn uncertainty(&self, time: f64) -> f64 {
        let skew = self.rate(time) * self.interval.min(LONGEST_REFRESH);
        self.resolution.hypot(skew) / 12.0_f64.sqrt()
    }
}

/// The slope of samples, a second: the middle of the slopes of all pairs (Theil 1950, Sen 1968), which a third of wild
/// samples does not move. 0 for fewer than two.
pub fn slope(times: &[f64], values: &[f64]) -> f64 {
    let every = times.len() / MOST_PAIRED + 1;
    let points: Vec<(f64, f64)> = times
        .iter()
        .copied()
        .zip(values.iter().copied())
        .step_by(every)
        .collect();
    let mut slopes = Vec::new();
    for (place, (from, first)) in points.iter().enumerate() {
        for (to, last) in &points[place + 1..] {
            if to > from {
                slopes.push((last - first) / (to - from));
            }
        }
    }
    median(&mut slopes).unwrap_or(0.0)
}
