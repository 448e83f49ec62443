//! Units, how people write them, and how they convert.
//!
//! The factors follow from the defining constants (NIST SP 811, appendix B): the inch is 25.4 mm,
//! the pound 0.453 592 37 kg, standard gravity 9.806 65 m/s², the mile 1609.344 m, the US gallon
//! 231 cubic inches, and an inch of mercury "conventional" takes mercury at 13 595.1 kg/m³.

use std::f64::consts::PI;
use std::fmt;
use std::sync::LazyLock;

use serde::{Serialize, Serializer};

use super::dimension::{Dimension, System};
use super::interval::Interval;

/// Standard gravity, m/s².
const GRAVITY: f64 = 9.806_65;
/// The pound, kg.
const POUND: f64 = 0.453_592_37;
/// The inch, m.
const INCH: f64 = 0.0254;

/// What the table says of one unit. In the base unit of its dimension a value `x` is
/// `(x − zero) · up / down`; the factor is a fraction so that 5/9 and its like lose nothing.
struct Line {
    dimension: Dimension,
    symbol: &'static str,
    zero: f64,
    up: f64,
    down: f64,
    /// As people write it, besides the symbol; compared after [`folded`].
    spellings: &'static [&'static str],
}

/// Writes the enum, its list and its table from one place.
macro_rules! units {
    ($($name:ident $dimension:ident $symbol:literal, $zero:expr, $up:expr, $down:expr, [$($spelling:literal),*];)*) => {
        /// A unit of measurement.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Unit {
            $(#[doc = concat!("`", $symbol, "`")] $name,)*
        }

        impl Unit {
            /// Every unit.
            pub const ALL: &'static [Self] = &[$(Self::$name,)*];

            const fn line(self) -> Line {
                match self {
                    $(Self::$name => Line {
                        dimension: Dimension::$dimension,
                        symbol: $symbol,
                        zero: $zero,
                        up: $up,
                        down: $down,
                        spellings: &[$($spelling),*],
                    },)*
                }
            }
        }
    };
}

#[rustfmt::skip] // a table reads as a table
units! {
    // name                 dimension              symbol      zero    up                                        down  spellings
    Kilopascal              Pressure               "kPa",      0.0,    1.0,                                      1.0,  ["kilopascal", "kilopascals"];
    Megapascal              Pressure               "MPa",      0.0,    1000.0,                                   1.0,  ["megapascal", "megapascals"];
    Pascal                  Pressure               "Pa",       0.0,    1.0,                                   1000.0,  ["pascal", "pascals"];
    Bar                     Pressure               "bar",      0.0,    100.0,                                    1.0,  ["bars"];
    Millibar                Pressure               "mbar",     0.0,    1.0,                                     10.0,  ["millibar", "hPa"];
    Psi                     Pressure               "psi",      0.0,    POUND * GRAVITY / (INCH * INCH),       1000.0,  ["psig", "lbf/in2", "lb/in2", "lbs/in2", "pounds per square inch"];
    KgfPerSquareCentimetre  Pressure               "kgf/cm²",  0.0,    GRAVITY * 10.0,                           1.0,  ["kg/cm2", "kgcm2", "kgfcm2"];
    InchOfMercury           Pressure               "inHg",     0.0,    13_595.1 * GRAVITY * INCH,             1000.0,  ["inches of mercury", "\"Hg"];
    PerMinute               Speed                  "rpm",      0.0,    1.0,                                      1.0,  ["1/min", "r/min", "rev/min", "revs/min", "min-1", "revs", "turns/min"];
    PerSecond               Speed                  "1/s",      0.0,    60.0,                                     1.0,  ["rps", "r/s", "rev/s", "s-1"];
    RadianPerSecond         Speed                  "rad/s",    0.0,    30.0,                                     PI,   [];
    Celsius                 Temperature            "°C",       0.0,    1.0,                                      1.0,  ["C", "degC", "degrees C", "celsius", "centigrade"];
    Fahrenheit              Temperature            "°F",       32.0,   5.0,                                      9.0,  ["F", "degF", "degrees F", "fahrenheit"];
    Kelvin                  Temperature            "K",        273.15, 1.0,                                      1.0,  ["kelvin"];
    KelvinDifference        TemperatureDifference  "K",        0.0,    1.0,                                      1.0,  ["kelvin", "°C", "C", "degC", "degrees C", "celsius"];
    FahrenheitDifference    TemperatureDifference  "°F",       0.0,    5.0,                                      9.0,  ["F", "degF", "degrees F", "fahrenheit"];
    Second                  Time                   "s",        0.0,    1.0,                                      1.0,  ["sec", "secs", "second", "seconds"];
    Millisecond             Time                   "ms",       0.0,    1.0,                                   1000.0,  ["msec", "millisecond", "milliseconds"];
    Minute                  Time                   "min",      0.0,    60.0,                                     1.0,  ["mins", "minute", "minutes"];
    Volt                    Voltage                "V",        0.0,    1.0,                                      1.0,  ["volt", "volts", "VDC"];
    Millivolt               Voltage                "mV",       0.0,    1.0,                                   1000.0,  ["millivolt", "millivolts"];
    Ampere                  Current                "A",        0.0,    1.0,                                      1.0,  ["amp", "amps", "ampere", "amperes"];
    Milliampere             Current                "mA",       0.0,    1.0,                                   1000.0,  ["milliamp", "milliamps", "milliampere", "milliamperes"];
    Ohm                     Resistance             "Ω",        0.0,    1.0,                                      1.0,  ["ohm", "ohms"];
    Kiloohm                 Resistance             "kΩ",       0.0,    1000.0,                                   1.0,  ["kohm", "kohms", "kiloohm", "kilohm", "kilohms", "k"];
    Megaohm                 Resistance             "MΩ",       0.0,    1e6,                                      1.0,  ["Mohm", "Mohms", "megohm", "megohms"];
    Milliohm                Resistance             "mΩ",       0.0,    1.0,                                   1000.0,  ["mohm", "mohms", "milliohm", "milliohms"];
    Degree                  Angle                  "°",        0.0,    1.0,                                      1.0,  ["degree", "degrees", "deg"];
    Radian                  Angle                  "rad",      0.0,    180.0,                                    PI,   ["radian", "radians"];
    Millimetre              Length                 "mm",       0.0,    1.0,                                      1.0,  ["millimetre", "millimetres", "millimeter", "millimeters"];
    Metre                   Length                 "m",        0.0,    1000.0,                                   1.0,  ["metre", "metres", "meter", "meters"];
    Centimetre              Length                 "cm",       0.0,    10.0,                                     1.0,  ["centimetre", "centimetres", "centimeter", "centimeters"];
    Inch                    Length                 "in",       0.0,    INCH * 1000.0,                            1.0,  ["inch", "inches", "\"", "\u{2033}"];
    NewtonMetre             Torque                 "N·m",      0.0,    1.0,                                      1.0,  ["newton metre", "newton metres", "newton meter", "newton meters"];
    PoundForceFoot          Torque                 "lbf·ft",   0.0,    POUND * GRAVITY * INCH * 12.0,            1.0,  ["lb ft", "lbs ft", "ft lbf", "ft lb", "ft lbs", "pound foot", "pound feet", "foot pound", "foot pounds"];
    PoundForceInch          Torque                 "lbf·in",   0.0,    POUND * GRAVITY * INCH,                   1.0,  ["lb in", "lbs in", "in lbf", "in lb", "in lbs", "pound inch", "inch pound", "inch pounds"];
    KilogramForceMetre      Torque                 "kgf·m",    0.0,    GRAVITY,                                  1.0,  ["kg m", "m kg", "m kgf"];
    Percent                 Percent                "%",        0.0,    1.0,                                      1.0,  ["percent", "pct"];
    One                     Ratio                  "1",        0.0,    1.0,                                      1.0,  [":1", "to 1"];
    Millilitre              Volume                 "mL",       0.0,    1.0,                                      1.0,  ["cc", "ccm", "cm3", "millilitre", "millilitres", "milliliter", "milliliters"];
    Litre                   Volume                 "L",        0.0,    1000.0,                                   1.0,  ["litre", "litres", "liter", "liters", "ltr"];
    UsQuart                 Volume                 "US qt",    0.0,    231.0 * 2.54 * 2.54 * 2.54,               4.0,  ["qt", "qts", "quart", "quarts", "US quart", "US quarts", "US liquid quart"];
    KilometrePerHour        RoadSpeed              "km/h",     0.0,    1.0,                                      1.0,  ["kmh", "kph", "kmph", "km/hr"];
    MilePerHour             RoadSpeed              "mile/h",   0.0,    1.609_344,                                1.0,  ["mph", "mi/h", "miles/h", "miles per hour"];
    MetrePerSecond          RoadSpeed              "m/s",      0.0,    3.6,                                      1.0,  [];
}

impl Serialize for Unit {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.symbol())
    }
}

impl Unit {
    /// What it measures.
    pub const fn dimension(self) -> Dimension {
        self.line().dimension
    }

    /// As it is shown: `kPa`, `°C`, `lbf·ft`. The number 1 for a ratio.
    pub const fn symbol(self) -> &'static str {
        self.line().symbol
    }

    /// The units that a text can mean: those of the wanted dimension where it has any, else those
    /// of every other. Blanks, points, hyphens and raised figures do not matter. Letter case
    /// matters only where it parts two units: `MΩ` and `mΩ` are told apart, `mohm` typed in capitals
    /// may be either.
    pub fn read(text: &str, wanted: Option<Dimension>) -> Vec<Self> {
        let typed = folded(text);
        if typed.is_empty() {
            return Vec::new();
        }
        let lower = typed.to_lowercase();
        let mut found: Vec<Self> = SPELLINGS
            .iter()
            .filter(|spelling| spelling.lower == lower)
            .map(|spelling| spelling.unit)
            .collect();
        found.dedup();
        let as_typed = |unit: &Self| {
            SPELLINGS
                .iter()
                .any(|spelling| spelling.folded == typed && spelling.unit == *unit)
        };
        if let Some(wanted) = wanted
            && found.iter().any(|unit| unit.dimension() == wanted)
        {
            found.retain(|unit| unit.dimension() == wanted);
        }
        if found.iter().any(as_typed) {
            found.retain(as_typed);
        }
        found
    }

    /// The one unit of a dimension that a knowledge file names; `None` where none or several fit.
    pub fn named(text: &str, dimension: Dimension) -> Option<Self> {
        match Self::read(text, Some(dimension)).as_slice() {
            [only] if only.dimension() == dimension => Some(*only),
            _ => None,
        }
    }

    /// The units of a dimension, its base unit first.
    pub fn of(dimension: Dimension) -> impl Iterator<Item = Self> {
        Self::ALL
            .iter()
            .copied()
            .filter(move |unit| unit.dimension() == dimension)
    }

    /// The unit in which differences and uncertainties of values in this unit count: K for °C and K,
    /// the interval °F for °F, else itself.
    pub const fn of_differences(self) -> Self {
        match self {
            Self::Celsius | Self::Kelvin => Self::KelvinDifference,
            Self::Fahrenheit => Self::FahrenheitDifference,
            other => other,
        }
    }

    /// A value in this unit, in another of the same dimension: `(x − zero) · factor / factor′ + zero′`.
    /// `None` where the other unit measures something else.
    pub fn convert(self, value: f64, to: Self) -> Option<f64> {
        if self == to {
            return Some(value);
        }
        let difference = self.convert_difference(value - self.line().zero, to)?;
        Some(difference + to.line().zero)
    }

    /// A difference of two values in this unit, or an uncertainty, in another unit of the same
    /// dimension: the factor alone, no offset (NIST SP 811, B.8: 18 °F are 10 K).
    /// `None` where the other unit measures something else.
    pub fn convert_difference(self, difference: f64, to: Self) -> Option<f64> {
        let (line, other) = (self.line(), to.line());
        if line.dimension != other.dimension {
            return None;
        }
        if self == to {
            return Some(difference);
        }
        Some(difference * line.up / line.down * other.down / other.up)
    }

    /// An interval in this unit, in another of the same dimension; `None` where that measures something else.
    pub fn convert_interval(self, interval: Interval, to: Self) -> Option<Interval> {
        Interval::new(
            self.convert(interval.from(), to)?,
            self.convert(interval.to(), to)?,
        )
    }

    /// A value in this unit, in the base unit of its dimension.
    pub fn to_base(self, value: f64) -> f64 {
        let line = self.line();
        (value - line.zero) * line.up / line.down
    }

    /// The unit in which a value in this one is shown: the same in a metric shop; in a US shop that of its dimension,
    /// where US shops have another than metric ones.
    pub fn shown_in(self, system: System) -> Self {
        let of = self.dimension();
        match of.unit(system) {
            other if other == of.base() => self,
            other => other,
        }
    }

    /// Whether a shop reads it off an instrument every day, so that a number may be meant in it though nobody says so.
    pub const fn is_everyday(self) -> bool {
        !matches!(
            self,
            Self::Pascal
                | Self::Millibar
                | Self::KgfPerSquareCentimetre
                | Self::InchOfMercury
                | Self::PerSecond
                | Self::RadianPerSecond
                | Self::Kelvin
                | Self::Minute
                | Self::Megaohm
                | Self::Milliohm
                | Self::Radian
                | Self::KilogramForceMetre
                | Self::MetrePerSecond
        )
    }

    /// Its symbol and its other spellings.
    pub fn spelt(self) -> impl Iterator<Item = &'static str> {
        let line = self.line();
        std::iter::once(line.symbol).chain(line.spellings.iter().copied())
    }
}

/// A spelling of a unit, [`folded`].
struct Spelling {
    folded: String,
    /// The same in small letters.
    lower: String,
    unit: Unit,
}

/// Every spelling of every unit, in the order of the units.
static SPELLINGS: LazyLock<Vec<Spelling>> = LazyLock::new(|| {
    let spelt = Unit::ALL
        .iter()
        .flat_map(|unit| unit.spelt().map(|text| (*unit, folded(text))));
    spelt
        .map(|(unit, folded)| Spelling {
            lower: folded.to_lowercase(),
            folded,
            unit,
        })
        .collect()
});

impl Dimension {
    /// The unit that readings of this dimension are shown in.
    pub fn unit(self, system: System) -> Unit {
        match (system, self) {
            (System::Us, Self::Pressure) => Unit::Psi,
            (System::Us, Self::Temperature) => Unit::Fahrenheit,
            (System::Us, Self::TemperatureDifference) => Unit::FahrenheitDifference,
            (System::Us, Self::Length) => Unit::Inch,
            (System::Us, Self::Torque) => Unit::PoundForceFoot,
            (System::Us, Self::Volume) => Unit::UsQuart,
            (System::Us, Self::RoadSpeed) => Unit::MilePerHour,
            _ => self.base(),
        }
    }

    /// The unit that the others of this dimension are defined by, and the metric one shown.
    pub const fn base(self) -> Unit {
        match self {
            Self::Pressure => Unit::Kilopascal,
            Self::Speed => Unit::PerMinute,
            Self::Temperature => Unit::Celsius,
            Self::TemperatureDifference => Unit::KelvinDifference,
            Self::Time => Unit::Second,
            Self::Voltage => Unit::Volt,
            Self::Current => Unit::Ampere,
            Self::Resistance => Unit::Ohm,
            Self::Angle => Unit::Degree,
            Self::Length => Unit::Millimetre,
            Self::Torque => Unit::NewtonMetre,
            Self::Percent => Unit::Percent,
            Self::Ratio => Unit::One,
            Self::Volume => Unit::Millilitre,
            Self::RoadSpeed => Unit::KilometrePerHour,
        }
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

/// A unit's text without what people write in different ways: blanks, points, hyphens, multiplication
/// signs and carets go, raised figures come down, look-alike letters become one.
pub(crate) fn folded(text: &str) -> String {
    text.chars()
        .filter_map(|character| match character {
            ' '
            | '\t'
            | '\u{a0}'
            | '\u{202f}'
            | '.'
            | '-'
            | '\u{2010}'..='\u{2013}'
            | '\u{2212}'
            | '\u{207b}'
            | '*'
            | '·'
            | '\u{22c5}'
            | '\u{2219}'
            | '\u{2022}'
            | '\u{d7}'
            | '^' => None,
            '\u{b9}' => Some('1'),
            '²' => Some('2'),
            '³' => Some('3'),
            '\u{2126}' => Some('Ω'),
            '\u{ba}' | '\u{2da}' => Some('°'),
            other => Some(other),
        })
        .collect()
}
