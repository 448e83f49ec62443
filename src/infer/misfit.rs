//! When nothing fits: the reading to take again.

use super::model::Model;
use super::update::{Evidence, counting};
use crate::knowledge::MeasurementId;

/// The reading that stands most in the way of the listed causes.
#[derive(Clone, Debug, PartialEq)]
pub struct Misfit {
    /// What was measured.
    pub measurement: MeasurementId,
    /// The belief in all listed causes as it stands.
    pub listed: f64,
    /// What it would be without this reading.
    pub without: f64,
}

/// The reading whose removal would raise the listed causes' total most, where the unlisted cause is
/// above every candidate; `None` where a listed cause leads, or no removal raises it. docs/method.md, section 6.
pub fn misfit(model: &Model<'_>, evidence: &[Evidence]) -> Option<Misfit> {
    let belief = model.update(evidence);
    if !belief.nothing_fits() {
        return None;
    }
    let readings = counting(model.family, evidence);
    let listed = belief.listed();
    readings
        .iter()
        .enumerate()
        .map(|(left_out, reading)| {
            let others = readings
                .iter()
                .enumerate()
                .filter(|(place, _)| *place != left_out)
                .map(|(_, other)| *other);
            (reading.measurement, model.after(others).listed())
        })
        // The first of equals: the earliest reading.
        .min_by(|one, other| other.1.total_cmp(&one.1))
        .filter(|(_, without)| *without > listed)
        .map(|(measurement, without)| Misfit {
            measurement,
            listed,
            without,
        })
}
