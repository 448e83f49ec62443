//! Traces that follow from two signals at the same moment, each point with its uncertainty.

use super::drive::Drive;
use super::series::Series;
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
    /// Its standard uncertainty.
    pub u: f64,
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

    /// The trace of a drive: at each sample of the signal that has fewer, where the other one is known too. Empty where
    /// a signal is missing.
    pub fn of(&self, drive: &Drive) -> Vec<Point> {
        let [Some(first), Some(second)] = self.of.map(|role| drive.role(role)) else {
            return Vec::new();
        };
        let coarse = if first.times.len() < second.times.len() {
            first
        } else {
            second
        };
        let times = coarse.times.iter();
        times
            .filter_map(|time| self.at(first, second, *time))
            .collect()
    }

    /// The point at a time, its uncertainty carried through to first order (JCGM 100, 5.1.2).
    fn at(&self, first: &Series, second: &Series, time: f64) -> Option<Point> {
        let (a, b) = (first.at(time)?, second.at(time)?);
        let (u_a, u_b) = (first.uncertainty(time), second.uncertainty(time));
        let (value, u) = match self.how {
            How::Difference => (a - b, u_a.hypot(u_b)),
            How::Quotient if b < LEAST_TURNING => return None,
            How::Quotient => (a / b, (u_a / b).hypot(a * u_b / (b * b))),
        };
        Some(Point { time, value, u })
    }
}
