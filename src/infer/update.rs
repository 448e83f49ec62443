//! How readings move the belief.

use std::collections::BTreeSet;

use crate::knowledge::{Family, MeasurementId};

/// What one reading says: a weight for each outcome of its measurement. Only their ratios count.
#[derive(Clone, Debug, PartialEq)]
pub struct Evidence {
    /// What was measured.
    pub measurement: MeasurementId,
    /// The weight of each outcome, in the measurement's order; not all nil.
    pub weights: Vec<f64>,
}

impl Evidence {
    /// The outcome that weighs most, the first of equals.
    pub fn outcome(&self) -> usize {
        let most = self.weights.iter().copied().fold(0.0, f64::max);
        self.weights
            .iter()
            .position(|weight| *weight >= most)
            .unwrap_or(0)
    }

    /// `Σ_o w_o P(o|H)`: virtual (likelihood) evidence, Pearl 1988, 2.2.2.
    pub fn likelihood(&self, row: &[f64]) -> f64 {
        self.weights
            .iter()
            .zip(row)
            .map(|(weight, p)| weight * p)
            .sum()
    }
}

/// The readings that count, in order: a later reading of a measurement replaces the earlier one,
/// unless the measurement says that readings add up.
pub fn counting<'e>(family: &Family, evidence: &'e [Evidence]) -> Vec<&'e Evidence> {
    let mut later = BTreeSet::new();
    let mut counting: Vec<&Evidence> = evidence
        .iter()
        .rev()
        .filter(|reading| {
            family.measurement(reading.measurement).repeat || later.insert(reading.measurement)
        })
        .collect();
    counting.reverse();
    counting
}

/// How many hypotheses the unlisted cause is, beside the candidates: a fault that touches nothing that is measured, then
/// one that may touch anything. docs/method.md, section 4.
pub const UNLISTED_KINDS: usize = 2;

/// The belief in each candidate and in the unlisted cause; all together 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Belief {
    /// The posterior of each candidate, in the model's order.
    pub posterior: Vec<f64>,
    /// The posterior of the unlisted cause, both kinds together.
    pub unlisted: f64,
    /// The posterior of each kind.
    kinds: [f64; UNLISTED_KINDS],
}

impl Belief {
    /// A belief from weights in the candidates' order, the two kinds of the unlisted cause last.
    ///
    /// Where nothing is left of any weight, no listed cause is believed: the unlisted one is all.
    pub fn normalised(mut weights: Vec<f64>) -> Self {
        let sum: f64 = weights.iter().sum();
        let listed = weights.len().saturating_sub(UNLISTED_KINDS);
        let mut kinds = [0.0, 1.0];
        if sum > 0.0 {
            for weight in &mut weights {
                *weight /= sum;
            }
            for (kind, weight) in kinds.iter_mut().zip(&weights[listed..]) {
                *kind = *weight;
            }
        } else {
            weights.fill(0.0);
        }
        weights.truncate(listed);
        Self {
            posterior: weights,
            unlisted: kinds.iter().sum(),
            kinds,
        }
    }

    /// The weights a decision starts from: the candidates in order, the two kinds of the unlisted cause last.
    pub fn weights(&self) -> Vec<f64> {
        let mut weights = self.posterior.clone();
        weights.extend(self.kinds);
        weights
    }

    /// The belief in all listed causes together.
    pub fn listed(&self) -> f64 {
        self.posterior.iter().sum()
    }

    /// The largest belief in a candidate.
    pub fn largest(&self) -> f64 {
        self.posterior.iter().copied().fold(0.0, f64::max)
    }

    /// The entropy of the listed candidates, in bits, the unlisted cause left out. docs/method.md, section 7.
    pub fn entropy(&self) -> f64 {
        let listed = self.listed();
        self.posterior
            .iter()
            .map(|p| p / listed)
            .filter(|p| *p > 0.0)
            .map(|p| -p * p.log2())
            .sum()
    }

    /// `2^H`: how many equally likely candidates the belief amounts to. docs/method.md, section 7.
    pub fn in_play(&self) -> f64 {
        self.entropy().exp2()
    }

    /// Whether a candidate is live, for display: at least 1 % of the largest. docs/method.md, section 7.
    pub fn is_live(&self, candidate: usize) -> bool {
        let p = self.posterior[candidate];
        p > 0.0 && p >= crate::knowledge::defaults::LIVE * self.largest()
    }

    /// Whether no listed candidate is believed as much as the unlisted cause.
    pub fn nothing_fits(&self) -> bool {
        self.unlisted > self.largest()
    }
}
