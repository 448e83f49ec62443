//! What an instrument's data sheet makes of a reading: a standard uncertainty (JCGM 100:2008).

use serde::Serialize;

/// How accurate an instrument is said to be. All numbers are in the instrument's unit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Accuracy {
    /// The standard uncertainty itself.
    Standard(f64),
    /// The step between two values that can be told apart.
    Resolution(f64),
    /// An accuracy class after EN 837-1: the largest error in percent of the span, which is the upper
    /// end of the range less the lower.
    #[serde(untagged)]
    Class {
        /// Percent of the span: 0.1, 0.25, 0.6, 1, 1.6, 2.5 or 4.
        class: f64,
        /// The span, not the upper end.
        #[serde(skip)]
        span: f64,
    },
    /// "± (percent of reading + digits)", as on a multimeter.
    #[serde(untagged)]
    PercentDigits {
        /// Percent of the reading.
        percent: f64,
        /// How many of the last digits.
        digits: f64,
        /// What one of the last digits is worth.
        digit: f64,
    },
}

impl Accuracy {
    /// Whether its numbers can be used: finite, not negative, and not all nothing.
    pub fn is_sound(self) -> bool {
        let good = |number: f64| number.is_finite() && number >= 0.0;
        match self {
            Self::Standard(u) => good(u),
            Self::Class { class, span } => good(class) && class > 0.0 && good(span) && span > 0.0,
            Self::PercentDigits {
                percent,
                digits,
                digit,
            } => good(percent) && good(digits) && good(digit) && percent + digits * digit > 0.0,
            Self::Resolution(step) => good(step) && step > 0.0,
        }
    }

    /// The standard uncertainty at a reading: of a class, `class · span / 100` spread evenly; of
    /// percent and digits, `percent · |reading| / 100 + digits · digit` spread evenly; of a
    /// resolution, `d/√12`. Sources: EN 837-1 (classes); JCGM 100, 4.3.7 (even spread) and
    /// F.2.2.1 (resolution).
    pub fn standard_uncertainty(self, reading: f64) -> f64 {
        match self {
            Self::Standard(u) => u,
            Self::Class { class, span } => uniform(class * span / 100.0),
            Self::PercentDigits {
                percent,
                digits,
                digit,
            } => uniform(percent * reading.abs() / 100.0 + digits * digit),
            Self::Resolution(step) => resolution(step),
        }
    }
}

/// The standard uncertainty of a value known to lie within ± `half_width`, anywhere alike:
/// `a/√3`. JCGM 100, 4.3.7.
pub fn uniform(half_width: f64) -> f64 {
    half_width / 3.0_f64.sqrt()
}

/// The standard uncertainty of reading to the nearest step: `d/√12`. JCGM 100, F.2.2.1.
fn resolution(step: f64) -> f64 {
    step / 12.0_f64.sqrt()
}
