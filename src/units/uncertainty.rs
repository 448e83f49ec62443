//! What an instrument's data sheet makes of a reading: a standard uncertainty (JCGM 100:2008).

use super::interval::Interval;

/// How accurate an instrument is said to be. All numbers are in the instrument's unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Accuracy {
    /// The standard uncertainty itself.
    Standard(f64),
    /// An accuracy class after EN 837-1: the largest error in percent of the span, which is the upper
    /// end of the range less the lower.
    Class {
        /// Percent of the span: 0.1, 0.25, 0.6, 1, 1.6, 2.5 or 4.
        class: f64,
        /// The span, not the upper end.
        span: f64,
    },
    /// "± (percent of reading + digits)", as on a multimeter.
    PercentDigits {
        /// Percent of the reading.
        percent: f64,
        /// How many of the last digits.
        digits: f64,
        /// What one of the last digits is worth.
        digit: f64,
    },
    /// The step between two values that can be told apart.
    Resolution(f64),
}

/// The accuracy classes of EN 837-1, in percent of the span.
pub const EN_837_CLASSES: [f64; 7] = [0.1, 0.25, 0.6, 1.0, 1.6, 2.5, 4.0];

impl Accuracy {
    /// Whether its numbers can be used: finite, not negative, and not all nothing.
    #[must_use]
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
    /// resolution, [`resolution`]. Sources: EN 837-1 (classes); JCGM 100, 4.3.7 (even spread) and
    /// F.2.2.1 (resolution).
    #[must_use]
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

    /// Whether the error stays the same when the reading is repeated on the same instrument. The
    /// error of a class or of a percentage does: no number of repeats makes it smaller. The scatter
    /// of a stopwatch in the hand, given as a standard uncertainty, and the rounding of a display
    /// that moves do not.
    #[must_use]
    pub const fn is_systematic(self) -> bool {
        match self {
            Self::Class { .. } | Self::PercentDigits { .. } => true,
            Self::Standard(_) | Self::Resolution(_) => false,
        }
    }
}

/// The standard uncertainty of a value known to lie within ± `half_width`, anywhere alike:
/// `a/√3`. JCGM 100, 4.3.7.
#[must_use]
pub fn uniform(half_width: f64) -> f64 {
    half_width / 3.0_f64.sqrt()
}

/// The standard uncertainty where values near the middle are likelier, falling off evenly to the
/// ends of ± `half_width`: `a/√6`. JCGM 100, 4.3.9.
#[must_use]
pub fn triangular(half_width: f64) -> f64 {
    half_width / 6.0_f64.sqrt()
}

/// The standard uncertainty of reading to the nearest step: `d/√12`. JCGM 100, F.2.2.1.
#[must_use]
pub fn resolution(step: f64) -> f64 {
    step / 12.0_f64.sqrt()
}

/// Independent uncertainties together: `√Σu²`. JCGM 100, 5.1.2 with every sensitivity 1.
#[must_use]
pub fn combined(parts: impl IntoIterator<Item = f64>) -> f64 {
    parts.into_iter().fold(0.0, f64::hypot)
}

/// Whether an instrument can give this value at all: a value outside its range is no value.
/// An instrument of unknown range can give any.
#[must_use]
pub fn within_range(value: f64, range: Option<Interval>) -> bool {
    value.is_finite() && range.is_none_or(|range| range.holds(value))
}
