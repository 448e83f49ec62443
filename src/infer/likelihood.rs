//! What a measurement gives under each candidate.

use super::candidate::Candidate;
use super::update::UNLISTED_KINDS;
use crate::knowledge::{CauseId, Family, Measurement, OutcomeId, Rest, ToldBy};
use crate::units::Probability;

/// `P(outcome | candidate)` of one measurement: a row for each candidate, in their order, and one for each kind of
/// unlisted cause; every row sums to 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    outcomes: usize,
    numbers: Vec<f64>,
}

impl Table {
    /// The table of a measurement where `left`, 0 to 1, is left of its stated figures: what a customer says may be
    /// mistold, and every outcome is raised to at least the family's floor. docs/method.md, section 5.
    pub fn of(
        family: &Family,
        measurement: &Measurement,
        candidates: &[Candidate],
        left: f64,
    ) -> Self {
        let floor = family.figures.floor.get();
        let mistold = mistold(family, measurement);
        let finished = |row| raised(mixed(row, mistold), floor);
        let rows = candidates.len() + UNLISTED_KINDS;
        let mut numbers = Vec::with_capacity(rows * measurement.outcomes.len());
        let chance = finished(row_of_chance(measurement));
        for candidate in candidates {
            match row_of_named(measurement, &candidate.causes, left) {
                Some(row) => numbers.extend(finished(row)),
                None => numbers.extend(&chance),
            }
        }
        numbers.extend(&chance);
        let may_touch_anything = row_of_unlisted(measurement, family.figures.reacts.get());
        numbers.extend(finished(may_touch_anything));
        Self {
            outcomes: measurement.outcomes.len(),
            numbers,
        }
    }

    /// How many outcomes a row has.
    pub const fn outcomes(&self) -> usize {
        self.outcomes
    }

    /// How many rows there are: the candidates and the kinds of unlisted cause.
    pub fn rows(&self) -> usize {
        self.numbers.len() / self.outcomes
    }

    /// The row of a candidate, or of a kind of unlisted cause after the last candidate.
    pub fn row(&self, candidate: usize) -> &[f64] {
        &self.numbers[candidate * self.outcomes..(candidate + 1) * self.outcomes]
    }

    /// All rows, one behind the other.
    pub fn numbers(&self) -> &[f64] {
        &self.numbers
    }

    /// The table as an instrument foresees it: `P(read r | H) = Σ_o P(o|H) · mixes[o][r]`.
    pub fn blurred(&self, mixes: &[Vec<f64>]) -> Self {
        let numbers = self
            .numbers
            .chunks_exact(self.outcomes)
            .flat_map(|row| {
                (0..self.outcomes).map(|read| {
                    row.iter()
                        .zip(mixes)
                        .map(|(truth, mix)| truth * mix[read])
                        .sum::<f64>()
                })
            })
            .collect();
        Self {
            outcomes: self.outcomes,
            numbers,
        }
    }
}

/// The row with a share of it uniform over the outcomes.
fn mixed(mut row: Vec<f64>, share: f64) -> Vec<f64> {
    let uniform = uniform(row.len());
    for number in &mut row {
        *number = share * uniform + (1.0 - share) * *number;
    }
    row
}

fn uniform(outcomes: usize) -> f64 {
    #[allow(
        clippy::cast_precision_loss,
        reason = "a measurement has a handful of outcomes"
    )]
    let outcomes = outcomes as f64;
    1.0 / outcomes
}

/// Every outcome at least `floor`, the row normalised.
fn raised(mut row: Vec<f64>, floor: f64) -> Vec<f64> {
    for number in &mut row {
        *number = number.max(floor);
    }
    let sum: f64 = row.iter().sum();
    for number in &mut row {
        *number /= sum;
    }
    row
}

/// The row with none of the named causes.
pub fn row_of_chance(measurement: &Measurement) -> Vec<f64> {
    measurement.chance.0.iter().map(|p| p.get()).collect()
}

/// The row of an unlisted cause that may touch anything: `reacts` uniform, the rest chance. docs/method.md, section 5.
pub fn row_of_unlisted(measurement: &Measurement, reacts: f64) -> Vec<f64> {
    mixed(row_of_chance(measurement), reacts)
}

/// The row of one cause, `None` where the measurement does not name it.
///
/// The stated outcomes have what is `left` of their figures; what they leave goes to normal, or, with `rest: chance`, the abnormal
/// outcomes that are not stated take their chance of it first. docs/method.md, section 5.
fn row_of_cause(measurement: &Measurement, cause: CauseId, left: f64) -> Option<Vec<f64>> {
    let stated = &measurement.shows.get(&cause)?.0;
    let rest = 1.0 - stated.values().map(|p| p.get() * left).sum::<f64>();
    let mut row = vec![0.0; measurement.outcomes.len()];
    for (outcome, p) in stated {
        row[outcome.index()] = p.get() * left;
    }
    if measurement.rest == Rest::Chance {
        for (place, (number, chance)) in row.iter_mut().zip(&measurement.chance.0).enumerate() {
            let stated = stated.keys().any(|outcome| outcome.index() == place);
            if !stated && place != measurement.normal.index() {
                *number = chance.get() * rest;
            }
        }
    }
    row[measurement.normal.index()] = (1.0 - row.iter().sum::<f64>()).max(0.0);
    Some(row)
}

/// The row under a candidate's causes, before the floor.
///
/// None of them named: chance. One: its row. Several: `n = Π P(normal|c)` stays normal, and `1 − n`
/// is shared among the abnormal outcomes in proportion to `u_o = 1 − Π(1 − P(o|c))`. docs/method.md, section 5.
pub fn row_under(measurement: &Measurement, causes: &[CauseId]) -> Vec<f64> {
    row_left(measurement, causes, 1.0)
}

/// The same where so much is left of the stated figures.
pub fn row_left(measurement: &Measurement, causes: &[CauseId], left: f64) -> Vec<f64> {
    row_of_named(measurement, causes, left).unwrap_or_else(|| row_of_chance(measurement))
}

/// The same; `None` where none of the causes is named.
fn row_of_named(measurement: &Measurement, causes: &[CauseId], left: f64) -> Option<Vec<f64>> {
    let mut rows: Vec<Vec<f64>> = causes
        .iter()
        .filter_map(|cause| row_of_cause(measurement, *cause, left))
        .collect();
    match rows.len() {
        0 | 1 => rows.pop(),
        _ => {
            let normal = measurement.normal.index();
            let stays: f64 = rows.iter().map(|row| row[normal]).product();
            let mut joint: Vec<f64> = (0..measurement.outcomes.len())
                .map(|outcome| 1.0 - rows.iter().map(|row| 1.0 - row[outcome]).product::<f64>())
                .collect();
            joint[normal] = 0.0;
            let sum: f64 = joint.iter().sum();
            if sum > 0.0 {
                for number in &mut joint {
                    *number *= (1.0 - stays) / sum;
                }
            }
            joint[normal] = stays;
            Some(joint)
        }
    }
}

/// The probability that an answer to a measurement is told wrongly: the family's, where a customer answers.
pub fn mistold(family: &Family, measurement: &Measurement) -> f64 {
    match measurement.told_by {
        Some(ToldBy::Customer) => family.figures.mistold.get(),
        None => 0.0,
    }
}

/// How much a reading of these weights leaves of the figures of measurements that show a fault only while it acts:
/// `Σ_o w_o f_o / Σ_o w_o` with the factors `f` of `fades`. docs/method.md, section 5.
pub fn left_by(factors: &[(OutcomeId, Probability)], weights: &[f64]) -> f64 {
    let sum: f64 = weights.iter().sum();
    let lost = factors
        .iter()
        .map(|(outcome, factor)| weights[outcome.index()] / sum * (1.0 - factor.get()));
    1.0 - lost.sum::<f64>()
}
