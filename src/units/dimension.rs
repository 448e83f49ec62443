//! What kind of thing a number measures, and which units show it.

use std::fmt;

use serde::Serialize;

use super::interval::Interval;

/// What a quantity measures.
///
/// A temperature and a difference of temperatures are two dimensions: 18 °F is −7.8 °C, but a
/// difference of 18 °F is one of 10 K (NIST SP 811, B.8).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Dimension {
    /// Gauge pressure: zero is the pressure of the air around.
    Pressure,
    /// Rotational speed, in turns.
    Speed,
    /// Temperature on a scale with a zero of its own.
    Temperature,
    /// Difference of two temperatures.
    TemperatureDifference,
    /// Duration.
    Time,
    /// Voltage.
    Voltage,
    /// Current.
    Current,
    /// Electrical resistance.
    Resistance,
    /// Plane angle.
    Angle,
    /// Length.
    Length,
    /// Torque.
    Torque,
    /// Parts of a hundred.
    Percent,
    /// A plain number: one quantity over another of its kind.
    Ratio,
    /// Volume.
    Volume,
    /// Speed over the road.
    RoadSpeed,
}

/// Which family of units readings are shown in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum System {
    /// kPa, °C, N·m, km/h.
    #[default]
    Metric,
    /// psi, °F, lbf·ft, mile/h.
    Us,
}

impl System {
    /// The system by its word in a vehicle sheet or a flag: `metric` or `us`.
    pub fn named(word: &str) -> Option<Self> {
        match word {
            "metric" => Some(Self::Metric),
            "us" => Some(Self::Us),
            _ => None,
        }
    }
}

impl Dimension {
    /// Every dimension.
    pub const ALL: [Self; 15] = [
        Self::Pressure,
        Self::Speed,
        Self::Temperature,
        Self::TemperatureDifference,
        Self::Time,
        Self::Voltage,
        Self::Current,
        Self::Resistance,
        Self::Angle,
        Self::Length,
        Self::Torque,
        Self::Percent,
        Self::Ratio,
        Self::Volume,
        Self::RoadSpeed,
    ];

    /// Its name in the knowledge files, for example `temperature-difference`.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Pressure => "pressure",
            Self::Speed => "speed",
            Self::Temperature => "temperature",
            Self::TemperatureDifference => "temperature-difference",
            Self::Time => "time",
            Self::Voltage => "voltage",
            Self::Current => "current",
            Self::Resistance => "resistance",
            Self::Angle => "angle",
            Self::Length => "length",
            Self::Torque => "torque",
            Self::Percent => "percent",
            Self::Ratio => "ratio",
            Self::Volume => "volume",
            Self::RoadSpeed => "road-speed",
        }
    }

    /// The dimension of that name in the knowledge files.
    pub fn named(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|dimension| dimension.id() == id)
    }

    /// Its name with an article, for a sentence: `a pressure`.
    pub const fn with_article(self) -> &'static str {
        match self {
            Self::Pressure => "a pressure",
            Self::Speed => "a rotational speed",
            Self::Temperature => "a temperature",
            Self::TemperatureDifference => "a temperature difference",
            Self::Time => "a time",
            Self::Voltage => "a voltage",
            Self::Current => "a current",
            Self::Resistance => "a resistance",
            Self::Angle => "an angle",
            Self::Length => "a length",
            Self::Torque => "a torque",
            Self::Percent => "a percentage",
            Self::Ratio => "a ratio",
            Self::Volume => "a volume",
            Self::RoadSpeed => "a road speed",
        }
    }

    /// The values that can exist at all, in the base unit: from absolute zero of temperature
    /// (−273.15 °C), from the vacuum (−101.325 kPa to the gauge, at the standard atmosphere), from
    /// nothing at all for a time, a resistance, a length, a volume and a road speed; and up to what
    /// no workshop has ever seen.
    pub const fn possible(self) -> Interval {
        let (from, to) = match self {
            Self::Pressure => (-101.325, 1e6),
            Self::Speed => (-1e6, 1e6),
            Self::Temperature => (-273.15, 5e3),
            Self::TemperatureDifference => (-5e3, 5e3),
            Self::Voltage
            | Self::Current
            | Self::Angle
            | Self::Torque
            | Self::Percent
            | Self::Ratio => (-1e5, 1e5),
            Self::Time | Self::Length | Self::Volume => (0.0, 1e6),
            Self::Resistance => (0.0, 1e9),
            Self::RoadSpeed => (0.0, 1e3),
        };
        Interval::of(from, to)
    }
}

impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.id())
    }
}
