//! What kind of thing a number measures, and which units show it.

use std::fmt;

use serde::Serialize;

use super::interval::Interval;

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

/// Writes the enum, its list and what is known of each dimension from one place.
macro_rules! dimensions {
    ($($(#[doc = $doc:literal])+ $name:ident $id:literal, $words:literal, $from:expr, $to:expr;)*) => {
        /// What a quantity measures.
        ///
        /// A temperature and a difference of temperatures are two dimensions: 18 °F is −7.8 °C, but a difference of
        /// 18 °F is one of 10 K (NIST SP 811, B.8).
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Dimension {
            $($(#[doc = $doc])+ $name,)*
        }

        impl Dimension {
            /// Every dimension.
            pub const ALL: [Self; [$($id),*].len()] = [$(Self::$name),*];

            /// Its name in the knowledge files, for example `temperature-difference`.
            pub const fn id(self) -> &'static str {
                match self {
                    $(Self::$name => $id,)*
                }
            }

            /// Its name with an article, for a sentence: `a pressure`.
            pub const fn with_article(self) -> &'static str {
                match self {
                    $(Self::$name => $words,)*
                }
            }

            /// The values that can exist at all, in the base unit: from absolute zero of temperature (−273.15 °C), from
            /// the vacuum (−101.325 kPa to the gauge, at the standard atmosphere), from nothing at all for a time, a
            /// resistance, a length, a volume and a road speed; and up to what no workshop has ever seen.
            pub const fn possible(self) -> Interval {
                match self {
                    $(Self::$name => Interval::of($from, $to),)*
                }
            }
        }
    };
}

#[rustfmt::skip] // a table reads as a table
dimensions! {
    /// Gauge pressure: zero is the pressure of the air around.
    Pressure "pressure", "a pressure", -101.325, 1e6;
    /// Rotational speed, in turns.
    Speed "speed", "a rotational speed", -1e6, 1e6;
    /// Temperature on a scale with a zero of its own.
    Temperature "temperature", "a temperature", -273.15, 5e3;
    /// Difference of two temperatures.
    TemperatureDifference "temperature-difference", "a temperature difference", -5e3, 5e3;
    /// Duration.
    Time "time", "a time", 0.0, 1e6;
    /// Voltage.
    Voltage "voltage", "a voltage", -1e5, 1e5;
    /// Current.
    Current "current", "a current", -1e5, 1e5;
    /// Electrical resistance.
    Resistance "resistance", "a resistance", 0.0, 1e9;
    /// Plane angle.
    Angle "angle", "an angle", -1e5, 1e5;
    /// Length.
    Length "length", "a length", 0.0, 1e6;
    /// Torque.
    Torque "torque", "a torque", -1e5, 1e5;
    /// Parts of a hundred.
    Percent "percent", "a percentage", -1e5, 1e5;
    /// A plain number: one quantity over another of its kind.
    Ratio "ratio", "a ratio", -1e5, 1e5;
    /// Volume.
    Volume "volume", "a volume", 0.0, 1e6;
    /// Speed over the road.
    RoadSpeed "road-speed", "a road speed", 0.0, 1e3;
}

impl Dimension {
    /// The dimension of that name in the knowledge files.
    pub fn named(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|dimension| dimension.id() == id)
    }
}

impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.id())
    }
}
