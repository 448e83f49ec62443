//! A span of numbers: an instrument's range, what is plausible, what can exist.

use serde::Serialize;

/// All numbers from one end to the other, both counted in.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Interval {
    from: f64,
    to: f64,
}

impl Interval {
    /// An interval from its ends; `None` where they are not finite or the wrong way round.
    pub fn new(from: f64, to: f64) -> Option<Self> {
        (from.is_finite() && to.is_finite() && from <= to).then_some(Self { from, to })
    }

    /// For ends that are written in this program.
    pub(super) const fn of(from: f64, to: f64) -> Self {
        Self { from, to }
    }

    /// The lower end.
    pub const fn from(self) -> f64 {
        self.from
    }

    /// The upper end.
    pub const fn to(self) -> f64 {
        self.to
    }

    /// The upper end less the lower: the span of a gauge (EN 837-1), which is not its upper end.
    pub const fn span(self) -> f64 {
        self.to - self.from
    }

    /// Whether the number lies within, up to the rounding of a unit conversion (1e-9 of the ends).
    pub fn holds(self, number: f64) -> bool {
        let slack = 1e-9 * self.from.abs().max(self.to.abs());
        number >= self.from - slack && number <= self.to + slack
    }
}
