//! Limits: numbers, or names that the vehicle's spec sheet gives a number.

use std::fmt;

use serde::{Serialize, Serializer};

use super::vehicle::Vehicle;
use crate::units::Unit;
use crate::units::conformity::{Band, End};

/// A number, or a name in the vehicle's sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum Limit {
    /// In the unit of the measurement.
    Number(f64),
    /// `sheet.key`, split at the last dot.
    Named {
        /// The limit in the sheet.
        sheet: String,
        /// Which of its numbers: `min`, `max` or `far`.
        key: String,
    },
}

impl fmt::Display for Limit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(number) => number.fmt(f),
            Self::Named { sheet, key } => write!(f, "{sheet}.{key}"),
        }
    }
}

/// One end of a band.
#[derive(Clone, Debug, PartialEq)]
pub struct Bound {
    /// Where it lies.
    pub limit: Limit,
    /// Whether a value on the limit is inside the band.
    pub inside: bool,
}

/// A band of values between limits, open where an end is missing.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitBand {
    /// Its lower end.
    pub lower: Option<Bound>,
    /// Its upper end.
    pub upper: Option<Bound>,
}

/// `from stall.min below 3000`.
impl fmt::Display for LimitBand {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let end = |bound: &Option<Bound>, closed: &str, open: &str| {
            let bound = bound.as_ref()?;
            let word = if bound.inside { closed } else { open };
            Some(format!("{word} {}", bound.limit))
        };
        let lower = end(&self.lower, "from", "above");
        let upper = end(&self.upper, "to", "below");
        match (lower, upper) {
            (Some(lower), Some(upper)) => write!(f, "{lower} {upper}"),
            (Some(end), None) | (None, Some(end)) => f.write_str(&end),
            (None, None) => f.write_str("every value"),
        }
    }
}

impl Serialize for LimitBand {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// A limit that no sheet at hand gives, so that the measurement cannot be judged.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{} gives no {limit}", vehicle.as_ref().map_or_else(|| "no sheet, as no vehicle is named,".to_owned(), |name| format!("the sheet of {name}")))]
pub struct LimitMissing {
    /// The vehicle's name, where one is named.
    pub vehicle: Option<String>,
    /// The limit that is missing, as the measurement names it.
    pub limit: String,
}

impl Limit {
    /// The number of the limit, in `unit`: the knowledge's own, or that of the vehicle's sheet.
    ///
    /// # Errors
    ///
    /// [`LimitMissing`] where the sheet does not give it, gives it in another dimension, or no vehicle is named.
    pub fn on(&self, vehicle: Option<&Vehicle>, unit: Unit) -> Result<f64, LimitMissing> {
        match self {
            Self::Number(number) => Ok(*number),
            Self::Named { sheet, key } => vehicle
                .and_then(|vehicle| vehicle.limit(sheet, key, unit))
                .ok_or_else(|| LimitMissing {
                    vehicle: vehicle.map(|vehicle| vehicle.name.clone()),
                    limit: self.to_string(),
                }),
        }
    }
}

impl LimitBand {
    /// The band in `unit`, with the limits of the vehicle's sheet.
    ///
    /// # Errors
    ///
    /// [`LimitMissing`] as [`Limit::on`].
    pub fn on(&self, vehicle: Option<&Vehicle>, unit: Unit) -> Result<Band, LimitMissing> {
        let end = |bound: &Option<Bound>| {
            bound
                .as_ref()
                .map(|bound| {
                    bound.limit.on(vehicle, unit).map(|at| End {
                        at,
                        closed: bound.inside,
                    })
                })
                .transpose()
        };
        Ok(Band {
            from: end(&self.lower)?,
            to: end(&self.upper)?,
        })
    }

    /// The limits it names, lower first.
    pub fn limits(&self) -> impl Iterator<Item = &Limit> {
        self.lower
            .iter()
            .chain(&self.upper)
            .map(|bound| &bound.limit)
    }
}
