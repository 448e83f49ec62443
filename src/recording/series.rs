//! Values over uneven time, and what is between two samples.

pub(super) use super::packed::float;
use super::packed::{Packed, Reader};

/// Samples further apart than so many usual intervals are not joined,
const GAP: f64 = 4.0;
/// nor than this where they are denser, in seconds.
const LEAST_GAP: f64 = 0.5;
/// The longest interval that a signal is taken to be refreshed in, in seconds. Judged.
const LONGEST_REFRESH: f64 = 2.0;
/// At most so many samples of a stretch are compared pair by pair for its slope.
const MOST_PAIRED: usize = 60;
/// A cursor looks so many samples ahead before it searches.
const NEAR: usize = 64;
/// What is usual in a recording is the middle of so many of its samples, evenly spread: memory does not grow with it.
const ENOUGH: usize = 1 << 17;

/// Every how many of so many samples are enough to know what is usual.
pub(super) const fn spread(count: usize) -> usize {
    count / ENOUGH + 1
}

/// The usual time from one to the next of times that come in turn.
pub(super) struct Steps {
    every: usize,
    count: usize,
    last: f64,
    found: Vec<f64>,
}

impl Steps {
    /// Of so many times, or some fewer.
    pub(super) const fn of_about(count: usize) -> Self {
        Self {
            every: spread(count),
            count: 0,
            last: 0.0,
            found: Vec::new(),
        }
    }

    pub(super) fn take(&mut self, time: f64) {
        if self.count > 0 && self.count.is_multiple_of(self.every) {
            self.found.push(time - self.last);
        }
        self.count += 1;
        self.last = time;
    }

    pub(super) fn usual(mut self) -> Option<f64> {
        median(&mut self.found)
    }
}

/// The middle of some numbers, which are put in another order for it.
pub fn median(numbers: &mut [f64]) -> Option<f64> {
    let (count, middle) = (numbers.len(), numbers.len() / 2);
    if count == 0 {
        return None;
    }
    let (below, upper, _) = numbers.select_nth_unstable_by(middle, f64::total_cmp);
    let lower = below.iter().copied().max_by(f64::total_cmp);
    let lower = lower.filter(|_| count % 2 == 0).unwrap_or(*upper);
    Some(f64::midpoint(lower, *upper))
}

/// A signal over time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Series {
    /// When, going up, by the clock of the recording.
    times: Packed,
    /// The values there, in the signal's unit.
    values: Packed,
    /// When the recording begins by that clock.
    start: f64,
    /// The smallest step between two values, in the unit.
    pub resolution: f64,
    /// How often it is refreshed, in seconds: the usual time between samples, or between changes where values are held.
    pub interval: f64,
    /// Samples further apart than this, in seconds, are not joined.
    pub gap: f64,
}

impl Series {
    /// A series of samples whose values step by `resolution`, of a recording that begins at `start`.
    pub(super) fn new(times: Packed, values: Packed, start: f64, resolution: f64) -> Self {
        let mut series = Self {
            times,
            values,
            start,
            resolution,
            ..Self::default()
        };
        let mut usual = Steps::of_about(series.len());
        let mut changing = Steps::of_about(series.len());
        let (mut changes, mut before) = (0, None);
        for (time, value) in series.samples() {
            usual.take(time);
            if let Some((at, was)) = before
                && f64::abs(value - was) > 0.0
            {
                changing.take(at);
                changes += 1;
            }
            before = Some((time, value));
        }
        let usual = usual.usual().unwrap_or(f64::INFINITY);
        // A signal that seldom changes is not seldom refreshed.
        let often = 20 * changes > series.len();
        let refreshed = changing.usual().filter(|_| often).unwrap_or(usual);
        series.gap = (GAP * usual).max(LEAST_GAP);
        series.interval = usual.max(refreshed.min(LONGEST_REFRESH));
        series
    }

    /// How many samples it has.
    pub const fn len(&self) -> usize {
        self.times.len()
    }

    /// Whether it has none.
    pub const fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// When a sample was taken, in seconds from the start of the recording.
    pub fn time(&self, place: usize) -> f64 {
        self.times.get(place) - self.start
    }

    /// All values, in the signal's unit.
    pub fn values(&self) -> impl Iterator<Item = f64> {
        let mut values = self.values.reader();
        (0..self.len()).map(move |place| values.get(place))
    }

    /// All samples: when, and the value.
    pub fn samples(&self) -> impl Iterator<Item = (f64, f64)> {
        self.samples_from(0)
    }

    fn samples_from(&self, place: usize) -> impl Iterator<Item = (f64, f64)> {
        let mut samples = self.reader();
        (place..self.len()).map(move |place| samples.get(place))
    }

    /// What reads it sample by sample.
    pub(super) const fn reader(&self) -> Samples<'_> {
        Samples {
            times: self.times.reader(),
            values: self.values.reader(),
            start: self.start,
        }
    }

    /// How many samples come before the first whose time is not as asked.
    pub(super) fn count_while(&self, is: impl Fn(f64) -> bool) -> usize {
        let (mut low, mut high) = (0, self.len());
        while low < high {
            let middle = usize::midpoint(low, high);
            if is(self.time(middle)) {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        low
    }

    /// The place of the last sample that is not after a time.
    fn before(&self, time: f64) -> Option<usize> {
        self.count_while(|at| at <= time).checked_sub(1)
    }

    /// The value at a time, on the line between the samples around it; none outside them and in a gap.
    pub fn at(&self, time: f64) -> Option<f64> {
        let place = self.before(time)?;
        let sample = |place| (self.time(place), self.values.get(place));
        let after = Some(place + 1).filter(|place| *place < self.len());
        self.on_line(sample(place), after.map(sample), time)
    }

    /// The value at a time from that of a sample until the next one.
    fn on_line(
        &self,
        (from, value): (f64, f64),
        after: Option<(f64, f64)>,
        time: f64,
    ) -> Option<f64> {
        if time <= from {
            return Some(value);
        }
        let (to, next) = after?;
        let share = (time - from) / (to - from);
        (to - from <= self.gap).then_some(value + share * (next - value))
    }

    /// The value that held at a time: that of the last sample, unless that is longer ago than a gap.
    pub fn held(&self, time: f64) -> Option<f64> {
        let place = self.before(time)?;
        (time - self.time(place) <= self.gap).then(|| self.values.get(place))
    }

    /// The samples from one time to another, both included.
    pub fn between(&self, from: f64, to: f64) -> impl Iterator<Item = (f64, f64)> {
        let samples = self.samples_from(self.count_while(|at| at < from));
        samples.take_while(move |(time, _)| *time <= to)
    }

    /// The times and the values of the samples from one time to another, both included.
    pub fn within(&self, from: f64, to: f64) -> (Vec<f64>, Vec<f64>) {
        self.between(from, to).unzip()
    }

    /// Its standard uncertainty at a time: of its resolution, and of when within its interval it was taken, each
    /// anywhere alike. `u² = d²/12 + (ẋ·Δ)²/12` (JCGM 100, 4.3.7 and F.2.2.1).
    pub fn uncertainty(&self, time: f64) -> f64 {
        Walk::new(self).uncertainty(time)
    }
}

/// Reads samples that are near each other.
#[derive(Clone, Debug)]
pub(super) struct Samples<'s> {
    times: Reader<'s>,
    values: Reader<'s>,
    start: f64,
}

impl Samples<'_> {
    /// When the sample at a place below the length was taken.
    pub(super) fn time(&mut self, place: usize) -> f64 {
        self.times.get(place) - self.start
    }

    fn get(&mut self, place: usize) -> (f64, f64) {
        (self.time(place), self.values.get(place))
    }
}

/// A place in a series for times that go up: it walks from sample to sample. For other times it searches.
#[derive(Clone, Debug)]
pub struct Cursor<'s> {
    series: &'s Series,
    samples: Samples<'s>,
    /// The samples around the time that was asked last.
    before: Option<(f64, f64)>,
    after: Option<(f64, f64)>,
    /// The place of the one after it.
    next: usize,
}

impl<'s> Cursor<'s> {
    /// A cursor before the first sample.
    pub fn new(series: &'s Series) -> Self {
        let mut cursor = Self {
            series,
            samples: series.reader(),
            before: None,
            after: None,
            next: 0,
        };
        cursor.after = cursor.sample(0);
        cursor
    }

    fn sample(&mut self, place: usize) -> Option<(f64, f64)> {
        (place < self.series.len()).then(|| self.samples.get(place))
    }

    /// Goes to the last sample that is not after a time.
    #[inline]
    fn go(&mut self, time: f64) {
        let back = self.before.is_some_and(|(before, _)| time < before);
        if back || self.after.is_some_and(|(after, _)| after <= time) {
            self.walk(time, back);
        }
    }

    fn walk(&mut self, time: f64, back: bool) {
        let mut far = back;
        for _ in 0..NEAR {
            if far || self.after.is_none_or(|(after, _)| after > time) {
                break;
            }
            self.next += 1;
            self.before = self.after;
            self.after = self.sample(self.next);
        }
        far |= self.after.is_some_and(|(after, _)| after <= time);
        if far {
            self.next = self.series.count_while(|at| at <= time);
            let last = self.next.checked_sub(1);
            self.before = last.and_then(|last| self.sample(last));
            self.after = self.sample(self.next);
        }
    }

    /// The value at a time, as [`Series::at`].
    pub fn at(&mut self, time: f64) -> Option<f64> {
        self.go(time);
        self.series.on_line(self.before?, self.after, time)
    }

    /// The value that held at a time, as [`Series::held`].
    pub fn held(&mut self, time: f64) -> Option<f64> {
        self.go(time);
        let (from, value) = self.before?;
        (time - from <= self.series.gap).then_some(value)
    }
}

/// A walk along a series that tells how it changes, for times that go up.
#[derive(Clone, Debug)]
pub(super) struct Walk<'s> {
    series: &'s Series,
    before: Cursor<'s>,
    after: Cursor<'s>,
}

impl<'s> Walk<'s> {
    pub(super) fn new(series: &'s Series) -> Self {
        Self {
            series,
            before: Cursor::new(series),
            after: Cursor::new(series),
        }
    }

    /// How fast the series changes around a time, a second: between the samples next to the interval before and after
    /// it.
    pub(super) fn rate(&mut self, time: f64) -> f64 {
        let around = self.series.interval.max(0.1);
        match (self.before.at(time - around), self.after.at(time + around)) {
            (Some(before), Some(after)) => (after - before) / (2.0 * around),
            _ => 0.0,
        }
    }

    /// Its standard uncertainty at a time, as [`Series::uncertainty`].
    pub(super) fn uncertainty(&mut self, time: f64) -> f64 {
        let skew = self.rate(time) * self.series.interval.min(LONGEST_REFRESH);
        self.series.resolution.hypot(skew) / 12.0_f64.sqrt()
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
