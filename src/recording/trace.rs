//! Traces that follow from two signals at the same moment. Their points are computed as they are asked for and not kept.

use std::ops::Range;

use super::drive::Drive;
use super::series::{Cursor, Samples, Series, Walk};
use crate::knowledge::Role;
use crate::units::Unit;

/// Below this speed of the secondary pulley, a minute, the pulley ratio says nothing. Judged.
const LEAST_TURNING: f64 = 100.0;

/// A value at a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// In seconds from the start of the recording.
    pub time: f64,
    /// The value, in the unit of its trace.
    pub value: f64,
}

/// How two signals make a trace.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum How {
    /// The first less the second.
    Difference,
    /// The first divided by the second.
    Quotient,
}

/// A trace that is computed from two signals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Derived {
    /// What it is called in data.
    pub name: &'static str,
    /// What it is.
    pub title: &'static str,
    /// Its unit.
    pub unit: Unit,
    how: How,
    of: [Role; 2],
}

impl Derived {
    const fn new(
        name: &'static str,
        title: &'static str,
        unit: Unit,
        how: How,
        of: [Role; 2],
    ) -> Self {
        Self {
            name,
            title,
            unit,
            how,
            of,
        }
    }
}

/// The pulley ratio: primary by secondary speed.
pub const RATIO: Derived = Derived::new(
    "pulley-ratio",
    "Pulley ratio",
    Unit::One,
    How::Quotient,
    [Role::Primary, Role::Secondary],
);
/// The slip of the forward clutch, which locks the planetary set in D: turbine less primary speed.
pub const CLUTCH_SLIP: Derived = Derived::new(
    "clutch-slip",
    "Slip of the forward clutch in D",
    Unit::PerMinute,
    How::Difference,
    [Role::Turbine, Role::Primary],
);
/// The slip of the converter: engine less turbine speed.
pub const CONVERTER_SLIP: Derived = Derived::new(
    "converter-slip",
    "Slip of the converter",
    Unit::PerMinute,
    How::Difference,
    [Role::Engine, Role::Turbine],
);

/// All of them.
pub const DERIVED: [Derived; 5] = [
    RATIO,
    CLUTCH_SLIP,
    CONVERTER_SLIP,
    Derived::new(
        "pressure-error",
        "Clamp pressure, actual less desired",
        Unit::Kilopascal,
        How::Difference,
        [Role::Pressure, Role::PressureCommand],
    ),
    Derived::new(
        "axle-difference",
        "Front less rear axle speed",
        Unit::KilometrePerHour,
        How::Difference,
        [Role::FrontAxle, Role::RearAxle],
    ),
];

impl Derived {
    /// The difference of two speeds.
    pub(super) const fn between(title: &'static str, of: [Role; 2]) -> Self {
        Self::new("slip", title, Unit::PerMinute, How::Difference, of)
    }

    /// The trace of a drive; `None` where a signal is missing.
    pub fn of<'d>(&self, drive: &'d Drive) -> Option<Trace<'d>> {
        let [Some(first), Some(second)] = self.of.map(|role| drive.role(role)) else {
            return None;
        };
        let coarse = if first.len() < second.len() {
            first
        } else {
            second
        };
        Some(Trace {
            how: self.how,
            of: [first, second],
            cursors: [first, second].map(Cursor::new),
            coarse,
            samples: coarse.reader(),
            places: 0..coarse.len(),
        })
    }
}

/// The points of a trace: at each sample of the signal that has fewer, where the other one is known too.
#[derive(Clone, Debug)]
pub struct Trace<'d> {
    how: How,
    of: [&'d Series; 2],
    cursors: [Cursor<'d>; 2],
    /// The one of them that has fewer samples,
    coarse: &'d Series,
    samples: Samples<'d>,
    /// and those of them that are left.
    places: Range<usize>,
}

impl<'d> Trace<'d> {
    /// How many points it has at most.
    pub(super) const fn most(&self) -> usize {
        self.coarse.len()
    }

    /// Its points from one time to another, both included.
    pub(super) fn between(&self, from: f64, to: f64) -> impl Iterator<Item = Point> {
        let first = self.coarse.count_while(|at| at < from);
        let trace = Self {
            places: first..self.coarse.len(),
            ..self.clone()
        };
        trace.take_while(move |point| point.time <= to)
    }

    fn at(&mut self, time: f64) -> Option<f64> {
        let [first, second] = &mut self.cursors;
        let (a, b) = (first.at(time)?, second.at(time)?);
        match self.how {
            How::Difference => Some(a - b),
            How::Quotient if b < LEAST_TURNING => None,
            How::Quotient => Some(a / b),
        }
    }

    /// Its standard uncertainty at the time of a point.
    pub fn uncertainty(&self, time: f64) -> f64 {
        self.uncertainties()(time)
    }

    /// Its standard uncertainties at times of points, which go up: those of both signals carried through to first order
    /// (JCGM 100, 5.1.2).
    pub(super) fn uncertainties(&self) -> impl FnMut(f64) -> f64 + use<'d> {
        let how = self.how;
        let [mut first, mut second] = self.of.map(Cursor::new);
        let [mut u_first, mut u_second] = self.of.map(Walk::new);
        move |time| {
            let (u_a, u_b) = (u_first.uncertainty(time), u_second.uncertainty(time));
            match (how, first.at(time), second.at(time)) {
                (How::Quotient, Some(a), Some(b)) => (u_a / b).hypot(a * u_b / (b * b)),
                _ => u_a.hypot(u_b),
            }
        }
    }
}

impl Iterator for Trace<'_> {
    type Item = Point;

    fn next(&mut self) -> Option<Point> {
        loop {
            let time = self.samples.time(self.places.next()?);
            if let Some(value) = self.at(time) {
                return Some(Point { time, value });
            }
        }
    }
}
