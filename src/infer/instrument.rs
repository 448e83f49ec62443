//! What an instrument's accuracy means for a reading.

use crate::knowledge::{Family, Instrument, Number};
use crate::units::conformity::Band;
use crate::units::formula::Measured;
use crate::units::{Interval, Unit};

/// The standard uncertainty of a value read on an instrument, in `unit`, which measures the same as the instrument:
/// loading has checked that. JCGM 100, 4.3; EN 837-1.
pub fn standard_uncertainty(instrument: &Instrument, value: f64, unit: Unit) -> f64 {
    debug_assert_eq!(
        instrument.unit.dimension(),
        unit.dimension(),
        "{}",
        instrument.name
    );
    unit.convert(value, instrument.unit)
        .map(|value| instrument.accuracy.standard_uncertainty(value))
        .and_then(|u| instrument.unit.convert_difference(u, unit))
        .unwrap_or(0.0)
}

/// The standard uncertainty to foresee for a number, before it is read: that of its instrument at the mean of its
/// limits, or that of its formula at the values usually read. A raw reading without a typical value is taken in the
/// middle of what is plausible. docs/method.md, section 6.
pub fn foreseen_uncertainty(family: &Family, number: &Number, bands: &[Vec<Band>]) -> f64 {
    if let Some(instrument) = number.instrument {
        let limits: Vec<f64> = bands
            .iter()
            .flatten()
            .flat_map(|band| [band.from, band.to])
            .flatten()
            .map(|end| end.at)
            .collect();
        #[allow(
            clippy::cast_precision_loss,
            reason = "a measurement has a handful of limits"
        )]
        let middle = if limits.is_empty() {
            0.0
        } else {
            limits.iter().sum::<f64>() / limits.len() as f64
        };
        return standard_uncertainty(family.instrument(instrument), middle, number.unit);
    }
    let Some(formula) = &number.formula else {
        return 0.0;
    };
    let taken = number
        .takes
        .iter()
        .map(|take| {
            let value = (take.typical).unwrap_or_else(|| take.plausible.map_or(0.0, middle));
            let u = take.instrument.map_or(0.0, |instrument| {
                standard_uncertainty(family.instrument(instrument), value, take.unit)
            });
            (take.name.clone(), Measured { value, u })
        })
        .collect();
    // A formula that has no value there foresees no uncertainty.
    formula.evaluate(&taken).map_or(0.0, |measured| measured.u)
}

/// The middle of an interval.
fn middle(interval: Interval) -> f64 {
    f64::midpoint(interval.from(), interval.to())
}
