//! What a complaint implies before any reading: candidates, priors and tables.

use std::borrow::Cow;
use std::collections::BTreeMap;

use super::candidate::{Candidate, Unexplained, candidates, foreseeable};
use super::instrument::foreseen_uncertainty;
use super::likelihood::{Table, left_by};
use super::update::{Belief, Evidence, UNLISTED_KINDS, counting};
use crate::knowledge::{
    CauseId, Family, LimitMissing, Measurement, MeasurementId, RepairId, SymptomId, Vehicle,
};
use crate::units::conformity::{Band, blur};

/// What was reported, and what has been ruled out by repairing it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Complaint {
    /// The symptoms reported.
    pub present: Vec<SymptomId>,
    /// The symptoms confirmed absent.
    pub absent: Vec<SymptomId>,
    /// The repairs done without curing it.
    pub repaired: Vec<RepairId>,
}

/// Why a measurement cannot be used on a vehicle.
pub type Unusable = LimitMissing;

/// What a complaint implies on a vehicle before any reading.
#[derive(Clone, Debug)]
pub struct Model<'k> {
    /// The family's knowledge.
    pub family: &'k Family,
    /// The vehicle, where one is named.
    pub vehicle: Option<&'k Vehicle>,
    /// What was reported.
    pub complaint: Complaint,
    /// The hypotheses, in the order of their causes.
    pub candidates: Vec<Candidate>,
    prior: Belief,
    tables: Vec<Table>,
    foreseen: Vec<Result<Table, Unusable>>,
}

impl<'k> Model<'k> {
    /// The model of a complaint.
    ///
    /// # Errors
    ///
    /// [`Unexplained`] where no set of causes fits the symptoms, or too many do.
    pub fn new(
        family: &'k Family,
        vehicle: Option<&'k Vehicle>,
        complaint: Complaint,
    ) -> Result<Self, Unexplained> {
        let mut candidates = candidates(family, &complaint.present, &complaint.absent)?;
        foreseeable(family, &candidates)?;
        let mut prior = prior(family, &candidates);
        rule_out_repaired(family, &complaint.repaired, &mut candidates, &mut prior);
        let tables: Vec<Table> = family
            .measurements
            .iter()
            .map(|measurement| Table::of(family, measurement, &candidates, 1.0))
            .collect();
        let foreseen = family
            .measurements
            .iter()
            .zip(&tables)
            .map(|(measurement, table)| foresee(family, vehicle, measurement, table))
            .collect();
        Ok(Self {
            family,
            vehicle,
            complaint,
            candidates,
            prior,
            tables,
            foreseen,
        })
    }

    /// The belief before any reading.
    pub const fn prior(&self) -> &Belief {
        &self.prior
    }

    /// What a measurement gives under each candidate.
    pub fn table(&self, measurement: MeasurementId) -> &Table {
        &self.tables[measurement.index()]
    }

    /// What a measurement is foreseen to read under each candidate: its table, blurred by the
    /// uncertainty of its instrument. docs/method.md, section 7.
    ///
    /// # Errors
    ///
    /// [`Unusable`] where the vehicle's sheet lacks a limit of it.
    pub fn foreseen(&self, measurement: MeasurementId) -> Result<&Table, &Unusable> {
        self.foreseen[measurement.index()].as_ref()
    }

    /// How much is left of the figures of measurements that show a fault only while it acts, by the readings that count.
    pub fn fading<'e>(&self, evidence: impl IntoIterator<Item = &'e Evidence>) -> f64 {
        let mut left = 1.0;
        for reading in evidence {
            let fades = self.family.fades.iter();
            for (_, factors) in fades.filter(|(id, _)| *id == reading.measurement) {
                left *= left_by(factors, &reading.weights);
            }
        }
        left
    }

    /// What a measurement gives under each candidate where so much is left of the figures of those that fade.
    pub fn table_at(&self, measurement: MeasurementId, left: f64) -> Cow<'_, Table> {
        let of = self.family.measurement(measurement);
        if left < 1.0 && of.only_then {
            Cow::Owned(Table::of(self.family, of, &self.candidates, left))
        } else {
            Cow::Borrowed(self.table(measurement))
        }
    }

    /// The same as it is foreseen.
    ///
    /// # Errors
    ///
    /// [`Unusable`] where the vehicle's sheet lacks a limit of it.
    pub fn foreseen_at(
        &self,
        measurement: MeasurementId,
        left: f64,
    ) -> Result<Cow<'_, Table>, Unusable> {
        match self.table_at(measurement, left) {
            Cow::Borrowed(_) => self
                .foreseen(measurement)
                .map(Cow::Borrowed)
                .map_err(Clone::clone),
            Cow::Owned(table) => {
                let of = self.family.measurement(measurement);
                foresee(self.family, self.vehicle, of, &table).map(Cow::Owned)
            }
        }
    }

    /// The belief after readings, later ones replacing earlier ones of the same measurement.
    ///
    /// Readings of different measurements are taken as independent given the candidate. docs/method.md, section 6.
    pub fn update(&self, evidence: &[Evidence]) -> Belief {
        self.after(counting(self.family, evidence))
    }

    /// The belief after readings that all count.
    pub fn after<'e>(&self, evidence: impl IntoIterator<Item = &'e Evidence>) -> Belief {
        let evidence: Vec<&Evidence> = evidence.into_iter().collect();
        let left = self.fading(evidence.iter().copied());
        let mut belief = self.prior.clone();
        for reading in evidence {
            let table = self.table_at(reading.measurement, left);
            let mut weights = belief.weights();
            for (candidate, weight) in weights.iter_mut().enumerate() {
                *weight *= reading.likelihood(table.row(candidate));
            }
            belief = Belief::normalised(weights);
        }
        belief
    }

    /// The belief in each cause: `Σ P(H)` over the candidates that hold it, for those in any candidate.
    pub fn marginals(&self, belief: &Belief) -> Vec<(CauseId, f64)> {
        let mut causes: Vec<CauseId> = self
            .candidates
            .iter()
            .flat_map(|candidate| candidate.causes.clone())
            .collect();
        causes.sort_unstable();
        causes.dedup();
        causes
            .into_iter()
            .map(|cause| {
                let sum = self
                    .candidates
                    .iter()
                    .zip(&belief.posterior)
                    .filter(|(candidate, _)| candidate.causes.contains(&cause))
                    .map(|(_, p)| p)
                    .sum();
                (cause, sum)
            })
            .collect()
    }

    /// The belief in each set of repairs that would cure the vehicle, repairs already done and the unlisted cause left
    /// out: the most probable first, then in the family's order.
    pub fn by_repairs(&self, belief: &Belief) -> Vec<(Vec<RepairId>, f64)> {
        let mut sums: BTreeMap<Vec<RepairId>, f64> = BTreeMap::new();
        for (candidate, p) in belief.posterior.iter().enumerate() {
            let mut left = self.repairs(candidate);
            left.retain(|repair| !self.complaint.repaired.contains(repair));
            *sums.entry(left).or_default() += p;
        }
        let mut groups: Vec<(Vec<RepairId>, f64)> = sums.into_iter().collect();
        // The map is in the family's order, and the sort keeps it between equals.
        groups.sort_by(|a, b| b.1.total_cmp(&a.1));
        groups
    }

    /// The repairs a candidate needs, each once, in the family's order.
    pub fn repairs(&self, candidate: usize) -> Vec<RepairId> {
        let mut repairs: Vec<RepairId> = self.candidates[candidate]
            .causes
            .iter()
            .map(|cause| self.family.cause(*cause).repair)
            .collect();
        repairs.sort_unstable();
        repairs.dedup();
        repairs
    }
}

/// The candidates share what the unlisted cause leaves, in proportion to their weights; its two kinds have half of its
/// share each. docs/method.md, section 4.
fn prior(family: &Family, candidates: &[Candidate]) -> Belief {
    let unlisted = family.figures.unlisted.get();
    let sum: f64 = candidates.iter().map(|candidate| candidate.weight).sum();
    let mut weights: Vec<f64> = candidates
        .iter()
        .map(|candidate| {
            if sum > 0.0 {
                candidate.weight / sum * (1.0 - unlisted)
            } else {
                0.0
            }
        })
        .collect();
    weights.extend([unlisted / 2.0; UNLISTED_KINDS]);
    Belief::normalised(weights)
}

/// Takes out the candidates that the repairs done would have cured. Their belief goes to all the others
/// in proportion, the unlisted cause among them: a repair in vain speaks for it too.
fn rule_out_repaired(
    family: &Family,
    repaired: &[RepairId],
    candidates: &mut Vec<Candidate>,
    prior: &mut Belief,
) {
    if repaired.is_empty() {
        return;
    }
    let cured = |candidate: &Candidate| {
        candidate
            .causes
            .iter()
            .all(|cause| repaired.contains(&family.cause(*cause).repair))
    };
    let left: Vec<bool> = candidates.iter().map(|of| !cured(of)).collect();
    let unlisted = [true; UNLISTED_KINDS];
    let weights = prior.weights().into_iter();
    let weights = weights
        .zip(left.into_iter().chain(unlisted))
        .filter_map(|(weight, left)| left.then_some(weight))
        .collect();
    candidates.retain(|candidate| !cured(candidate));
    *prior = Belief::normalised(weights);
}

/// A measurement's table as its instrument foresees it on the vehicle.
fn foresee(
    family: &Family,
    vehicle: Option<&Vehicle>,
    measurement: &Measurement,
    table: &Table,
) -> Result<Table, Unusable> {
    let Some(number) = measurement.number() else {
        return Ok(table.clone());
    };
    match bands_on(measurement, vehicle) {
        Ok(bands) => {
            let uncertainty = foreseen_uncertainty(family, number, &bands);
            Ok(table.blurred(&mixes(&bands, uncertainty, number.open)))
        }
        // Without a sheet somebody else judges the number, and the outcome is asked in words.
        Err(_) if vehicle.is_none() => Ok(table.clone()),
        Err(missing) => Err(missing),
    }
}

/// How outcomes are mixed up by an instrument; one that is answered in words is never.
fn mixes(bands: &[Vec<Band>], uncertainty: f64, open: Option<f64>) -> Vec<Vec<f64>> {
    let banded: Vec<usize> = (0..bands.len())
        .filter(|outcome| !bands[*outcome].is_empty())
        .collect();
    let of_banded: Vec<Vec<Band>> = banded
        .iter()
        .map(|outcome| bands[*outcome].clone())
        .collect();
    let blurred = blur(&of_banded, uncertainty, open);
    let mut mixes = vec![vec![0.0; bands.len()]; bands.len()];
    for (outcome, mix) in mixes.iter_mut().enumerate() {
        match banded.binary_search(&outcome) {
            Ok(place) => {
                for (read, share) in banded.iter().zip(&blurred[place]) {
                    mix[*read] = *share;
                }
            }
            Err(_) => mix[outcome] = 1.0,
        }
    }
    mixes
}

/// The bands of a measurement's outcomes, in their order, with the limits of the vehicle's sheet.
///
/// # Errors
///
/// [`LimitMissing`] where the sheet lacks one, or one is named and no vehicle is.
pub fn bands_on(
    measurement: &Measurement,
    vehicle: Option<&Vehicle>,
) -> Result<Vec<Vec<Band>>, LimitMissing> {
    let Some(number) = measurement.number() else {
        return Ok(Vec::new());
    };
    measurement
        .outcomes
        .iter()
        .map(|outcome| {
            outcome
                .bands
                .iter()
                .map(|band| band.on(vehicle, number.unit))
                .collect()
        })
        .collect()
}
