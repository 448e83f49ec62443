//! Whether the readings fit anything: the reading in the way of the listed causes, and how well the likeliest one fits.

use super::model::Model;
use super::update::{Belief, Evidence, counting};
use crate::knowledge::MeasurementId;
use crate::knowledge::defaults::{LEAST_EXCESS, POOR_FIT};

/// Of the readings that fit worst, so many are named, and taken again before a unit is opened or a job handed on.
pub const MOST_AGAIN: usize = 3;

/// A reading to take again before anything is dismantled.
#[derive(Clone, Debug, PartialEq)]
pub struct Misfit {
    /// What was measured.
    pub measurement: MeasurementId,
    /// The belief in all listed causes as it stands.
    pub listed: f64,
    /// What it would be without this reading.
    pub without: f64,
    /// Whether a listed cause leads all the same, which the readings fit badly.
    pub leads: bool,
}

/// The readings whose removal would raise the listed causes' total most, where the unlisted cause is above every candidate,
/// the most first; none where a listed cause leads, or no removal raises it. docs/method.md, section 9.
pub fn misfits(model: &Model<'_>, evidence: &[Evidence]) -> Vec<Misfit> {
    let belief = model.update(evidence);
    if !belief.nothing_fits() {
        return Vec::new();
    }
    let readings = counting(model.family, evidence).into_iter();
    let all = readings.map(|reading| without(model, &belief, evidence, reading.measurement));
    let mut all: Vec<Misfit> = all.filter(|odd| odd.without > odd.listed).collect();
    // The first of equals: the earliest reading.
    all.sort_by(|one, other| other.without.total_cmp(&one.without));
    all.truncate(MOST_AGAIN);
    all
}

/// What leaving out the readings of a measurement does to the listed causes' total.
fn without(
    model: &Model<'_>,
    belief: &Belief,
    evidence: &[Evidence],
    measurement: MeasurementId,
) -> Misfit {
    let readings = counting(model.family, evidence).into_iter();
    let others = readings.filter(|reading| reading.measurement != measurement);
    Misfit {
        measurement,
        listed: belief.listed(),
        without: model.after(others).listed(),
        leads: !belief.nothing_fits(),
    }
}

/// How surprising readings are under a candidate, against what is expected of them. Those of independent readings add
/// up.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Surprise {
    /// `−log2 P(readings | H)` less its expectation, in bits.
    pub excess: f64,
    /// Its variance, in bits².
    pub variance: f64,
}

impl Surprise {
    /// What is expected of a measurement with a row, before it is read: its entropy counts against the surprise to come.
    pub fn expected(row: impl Iterator<Item = f64> + Clone) -> Self {
        let bits = |p: f64| if p > 0.0 { -p.log2() } else { 0.0 };
        let mean: f64 = row.clone().map(|p| p * bits(p)).sum();
        let square: f64 = row.map(|p| p * bits(p).powi(2)).sum();
        Self {
            excess: -mean,
            variance: (square - mean * mean).max(0.0),
        }
    }

    /// That of one reading under the row of a candidate.
    fn of(reading: &Evidence, row: &[f64]) -> Self {
        let expected = Self::expected(row.iter().copied());
        let most = reading.weights.iter().copied().fold(1.0, f64::max);
        let p = (reading.likelihood(row) / most).clamp(f64::MIN_POSITIVE, 1.0);
        Self {
            excess: expected.excess - p.log2(),
            ..expected
        }
    }

    /// That of both.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            excess: self.excess + other.excess,
            variance: self.variance + other.variance,
        }
    }

    /// In standard deviations; 0 where nothing can surprise.
    pub fn deviations(self) -> f64 {
        if self.variance > 0.0 {
            self.excess / self.variance.sqrt()
        } else {
            0.0
        }
    }

    /// Whether that is more than chance makes it: docs/method.md, section 9.
    pub fn is_poor(self) -> bool {
        self.excess >= LEAST_EXCESS && self.deviations() > POOR_FIT
    }
}

/// The surprise of the readings under each candidate. docs/method.md, section 9.
pub fn surprises(model: &Model<'_>, evidence: &[Evidence]) -> Vec<Surprise> {
    let readings = counting(model.family, evidence);
    let left = model.fading(readings.iter().copied());
    let mut all = vec![Surprise::default(); model.candidates.len()];
    for reading in readings {
        let table = model.table_at(reading.measurement, left);
        for (candidate, sum) in all.iter_mut().enumerate() {
            *sum = sum.and(Surprise::of(reading, table.row(candidate)));
        }
    }
    all
}

/// How well the readings fit the candidate that leads.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fit {
    /// Their surprise under it.
    pub surprise: Surprise,
    /// The readings that are more surprising than expected, the worst first, with their excess in bits.
    pub worst: Vec<(MeasurementId, f64)>,
}

impl Fit {
    /// Of the readings with the likeliest candidate; of nothing where there is none.
    pub fn of(model: &Model<'_>, belief: &Belief, evidence: &[Evidence]) -> Self {
        let largest = belief.largest();
        let leads = belief.posterior.iter().position(|p| *p >= largest);
        let Some(leads) = leads.filter(|_| largest > 0.0) else {
            return Self::default();
        };
        let readings = counting(model.family, evidence);
        let left = model.fading(readings.iter().copied());
        let mut fit = Self::default();
        for reading in readings {
            let table = model.table_at(reading.measurement, left);
            let surprise = Surprise::of(reading, table.row(leads));
            fit.surprise = fit.surprise.and(surprise);
            fit.worst.push((reading.measurement, surprise.excess));
        }
        fit.worst.retain(|(_, excess)| *excess > 1.0);
        // The first of equals: the earliest reading.
        fit.worst.sort_by(|one, other| other.1.total_cmp(&one.1));
        fit
    }

    /// Whether the readings fit nothing well.
    pub fn is_poor(&self) -> bool {
        self.surprise.is_poor()
    }

    /// The readings that fit worst, to be taken again, the worst first.
    pub fn again(&self, model: &Model<'_>, belief: &Belief, evidence: &[Evidence]) -> Vec<Misfit> {
        let poor = self.worst.iter().filter(|_| self.is_poor());
        poor.take(MOST_AGAIN)
            .map(|(measurement, _)| without(model, belief, evidence, *measurement))
            .collect()
    }
}
