//! Whether a reading was taken wrongly, by what the others say.

use super::model::Model;
use super::update::{Belief, Evidence, counting};
use crate::knowledge::{MeasurementId, ToldBy};

/// A reading that may have been taken wrongly.
#[derive(Clone, Debug, PartialEq)]
pub struct Misread {
    /// What was measured.
    pub measurement: MeasurementId,
    /// How probable it is that it was.
    pub probability: f64,
    /// The belief where it was.
    pub belief: Belief,
}

/// Of each reading that can be taken a second time, how probable it is that it was taken wrongly where the family's share
/// `misread` of all readings is, each of the other outcomes alike. What a customer said is not among them, nor what is
/// read several times anyway. docs/method.md, section 9.
pub fn misread(model: &Model<'_>, evidence: &[Evidence]) -> Vec<Misread> {
    let family = model.family;
    let share = family.figures.misread.get();
    let readings = counting(family, evidence);
    let left = model.fading(readings.iter().copied());
    let second = readings.iter().filter(|reading| {
        let of = family.measurement(reading.measurement);
        share > 0.0 && of.told_by != Some(ToldBy::Customer) && !of.repeat
    });
    let all = second.map(|reading| {
        let others = readings.iter().copied();
        let others = others.filter(|of| of.measurement != reading.measurement);
        let mut weights = model.after(others).weights();
        let table = model.table_at(reading.measurement, left);
        let sum: f64 = reading.weights.iter().sum();
        let mut rightly = 0.0;
        for (hypothesis, weight) in weights.iter_mut().enumerate() {
            let likelihood = reading.likelihood(table.row(hypothesis)) / sum;
            rightly += *weight * likelihood;
            *weight *= (1.0 - likelihood).max(0.0);
        }
        let other = (reading.weights.len() - 1).max(1);
        #[allow(clippy::cast_precision_loss, reason = "a handful of outcomes")]
        let wrongly = weights.iter().sum::<f64>() / other as f64;
        let both = share * wrongly + (1.0 - share) * rightly;
        Misread {
            measurement: reading.measurement,
            probability: if both > 0.0 {
                share * wrongly / both
            } else {
                0.0
            },
            belief: Belief::normalised(weights),
        }
    });
    all.collect()
}
