//! How a trace moves: its slow part, points at steps from others, and stretches in which something is so.

use super::series::median;
use super::trace::Point;

/// The slow part of a trace is the middle of the middles of so long pieces, in seconds,
const PIECE: f64 = 0.5;
/// of so many pieces on either side.
const PIECES: usize = 8;

/// Neighbouring samples at which something holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stretch {
    /// The time of the first of them.
    pub(super) from: f64,
    /// The time of the last.
    pub(super) to: f64,
}

/// Stretches of samples at which something holds, told by their times; a stretch ends at a gap.
pub(super) fn stretches(samples: impl Iterator<Item = (f64, bool)>, gap: f64) -> Vec<Stretch> {
    let mut found: Vec<Stretch> = Vec::new();
    let mut goes_on = false;
    for (time, holds) in samples {
        if holds {
            match found.last_mut() {
                Some(last) if goes_on && time - last.to <= gap => last.to = time,
                _ => found.push(Stretch {
                    from: time,
                    to: time,
                }),
            }
        }
        goes_on = holds;
    }
    found
}

/// The points of a trace in turn, each with others: the first ones from `N` times on, which go up with its own. Only the
/// points from the first of these to the last are kept.
pub(super) struct WithOthers<I, F, const N: usize> {
    ahead: I,
    times: F,
    kept: Vec<Point>,
    now: usize,
    others: [usize; N],
}

/// So many points that are no longer needed are dropped together.
const DROPPED: usize = 4096;

impl<I: Iterator<Item = Point>, F: Fn(f64) -> [f64; N], const N: usize> WithOthers<I, F, N> {
    pub(super) const fn new(points: I, times: F) -> Self {
        Self {
            ahead: points,
            times,
            kept: Vec::new(),
            now: 0,
            others: [0; N],
        }
    }

    /// The first point from a time on, at a place or after it: as many points are taken in as it needs.
    fn first_from(&mut self, time: f64, mut place: usize) -> usize {
        loop {
            match self.kept.get(place) {
                Some(point) if point.time < time => place += 1,
                Some(_) => return place,
                None => match self.ahead.next() {
                    Some(point) => self.kept.push(point),
                    None => return place,
                },
            }
        }
    }
}

impl<I: Iterator<Item = Point>, F: Fn(f64) -> [f64; N], const N: usize> Iterator
    for WithOthers<I, F, N>
{
    /// A point, and the others; none beyond the last point.
    type Item = (Point, [Option<Point>; N]);

    fn next(&mut self) -> Option<Self::Item> {
        let place = self.first_from(f64::NEG_INFINITY, self.now);
        let now = *self.kept.get(place)?;
        for (other, time) in (self.times)(now.time).into_iter().enumerate() {
            self.others[other] = self.first_from(time, self.others[other]);
        }
        let found = self.others.map(|other| self.kept.get(other).copied());
        self.now += 1;
        let needless = self.others.into_iter().fold(self.now, usize::min);
        if needless >= DROPPED {
            self.kept.drain(..needless);
            self.now -= needless;
            self.others.iter_mut().for_each(|other| *other -= needless);
        }
        Some((now, found))
    }
}

/// The slow part of a trace: a running median, which a short excursion does not move (Tukey 1977, chapter 7).
#[derive(Clone, Debug)]
pub(super) struct Slow {
    /// The pieces that have points, each with the middle of those around it.
    pieces: Vec<(f64, f64)>,
    /// The piece of the time that was asked last.
    at: usize,
}

impl Slow {
    pub(super) fn of(points: impl Iterator<Item = Point>) -> Self {
        let mut middles: Vec<(f64, f64)> = Vec::new();
        let mut piece: (f64, Vec<f64>) = (0.0, Vec::new());
        for point in points {
            let number = (point.time / PIECE).floor();
            if number > piece.0 {
                middles.extend(median(&mut piece.1).map(|middle| (piece.0, middle)));
                piece.1.clear();
                piece.0 = number;
            }
            piece.1.push(point.value);
        }
        middles.extend(median(&mut piece.1).map(|middle| (piece.0, middle)));
        let around = |at: usize| {
            let near = &middles[at.saturating_sub(PIECES)..middles.len().min(at + PIECES + 1)];
            let mut values: Vec<f64> = near.iter().map(|(_, value)| *value).collect();
            (middles[at].0, median(&mut values).unwrap_or(0.0))
        };
        Self {
            pieces: (0..middles.len()).map(around).collect(),
            at: 0,
        }
    }

    /// The slow part at the time of a point; the times that it is asked for go up.
    pub(super) fn at(&mut self, time: f64) -> f64 {
        let number = (time / PIECE).floor();
        while self.at + 1 < self.pieces.len() && self.pieces[self.at].0 < number {
            self.at += 1;
        }
        self.pieces.get(self.at).map_or(0.0, |(_, slow)| *slow)
    }
}
