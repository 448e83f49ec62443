//! Vehicles drawn from the knowledge: what is wrong with them, and what they read.

use std::collections::BTreeMap;

use super::chance::{Chance, share};
use crate::infer::{
    Evidence, Model, UNLISTED_KINDS, Unexplained, bands_on, foreseen_uncertainty,
    standard_uncertainty,
};
use crate::knowledge::{
    Family, Measurement, MeasurementId, Number, OutcomeId, RepairId, SymptomId, Vehicle,
};
use crate::units::conformity::{Band, extent};

/// One drawn vehicle: its fault, and its number among the vehicles with that fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Drawn {
    /// Its fault: a candidate, or after the last of them a kind of unlisted cause.
    pub hypothesis: usize,
    /// Its number.
    pub number: u32,
}

/// What a drawn vehicle reads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Seen<'k> {
    /// An outcome, by its name.
    Word(&'k str),
    /// A number with the standard uncertainty of its instrument, in the measurement's unit.
    Number {
        /// What the instrument shows.
        value: f64,
        /// Its standard uncertainty.
        uncertainty: f64,
    },
}

/// The vehicles that come in with one complaint, as the knowledge has them.
///
/// A vehicle's outcome of a measurement is drawn from the row of what is wrong with it, once: the same
/// measurement gives the same outcome whenever it is taken. A number is drawn uniformly from the outcome's band
/// (an open band as wide as the narrowest bounded one, as in what is foreseen), and is read with the
/// instrument's own error, normal with its standard uncertainty.
#[derive(Clone, Debug)]
pub struct World<'k> {
    family: &'k Family,
    model: Model<'k>,
    bands: BTreeMap<MeasurementId, Vec<Vec<Band>>>,
    chance: Chance,
    wrong: f64,
    /// Outcomes that are not drawn.
    held: BTreeMap<MeasurementId, usize>,
}

impl<'k> World<'k> {
    /// The vehicles with a complaint, on a sheet. Of their readings, a share `wrong` is not what the vehicle would
    /// give but one of the other outcomes, each equally likely.
    pub fn new(
        family: &'k Family,
        sheet: Option<&'k Vehicle>,
        symptom: SymptomId,
        chance: Chance,
        wrong: f64,
    ) -> Result<Self, Unexplained> {
        let complaint = crate::infer::Complaint {
            present: vec![symptom],
            ..Default::default()
        };
        let model = Model::new(family, sheet, complaint)?;
        let bands = (0..family.measurements.len())
            .map(MeasurementId::at)
            .filter_map(|id| Some((id, bands_on(family.measurement(id), sheet).ok()?)))
            .collect();
        Ok(Self {
            family,
            model,
            bands,
            chance,
            wrong,
            held: BTreeMap::new(),
        })
    }

    /// The same, with every vehicle giving this outcome of a measurement.
    pub fn holding(mut self, measurement: MeasurementId, outcome: OutcomeId) -> Self {
        self.held.insert(measurement, outcome.index());
        self
    }

    /// The family the vehicles are drawn from.
    pub const fn family(&self) -> &'k Family {
        self.family
    }

    /// What the complaint implies.
    pub const fn model(&self) -> &Model<'k> {
        &self.model
    }

    /// How many things can be wrong: the candidates, and the two kinds of unlisted cause.
    pub fn hypotheses(&self) -> usize {
        self.listed() + UNLISTED_KINDS
    }

    /// How many of them are listed.
    pub fn listed(&self) -> usize {
        self.model.candidates.len()
    }

    /// How probable it is that this is wrong, given the complaint.
    pub fn probability(&self, hypothesis: usize) -> f64 {
        self.model.prior().weights()[hypothesis]
    }

    /// What cures it; `None` for the unlisted cause.
    pub fn cure(&self, hypothesis: usize) -> Option<Vec<RepairId>> {
        (hypothesis < self.listed()).then(|| self.model.repairs(hypothesis))
    }

    /// The names of the causes, joined; the same in every version of the knowledge that has them.
    pub fn name(&self, hypothesis: usize) -> String {
        self.model.candidates.get(hypothesis).map_or_else(
            || {
                let kinds = ["unlisted, touching nothing", "unlisted"];
                let kind = kinds.get(hypothesis - self.listed());
                kind.copied().unwrap_or_default().to_owned()
            },
            |candidate| {
                let names: Vec<&str> = candidate
                    .causes
                    .iter()
                    .map(|cause| self.family.cause(*cause).name.as_str())
                    .collect();
                names.join("+")
            },
        )
    }

    /// What a vehicle reads, the measurement taken for the `again`th time (0 the first); `None` where this
    /// world does not know the measurement, or the sheet cannot judge it.
    pub fn read(&self, drawn: Drawn, measurement: &str, again: u32) -> Option<Seen<'k>> {
        let id = self.family.measurement_named(measurement)?;
        self.model.foreseen(id).ok()?;
        let wrong = self.name(drawn.hypothesis);
        let (number, again) = (drawn.number.to_string(), again.to_string());
        let chance = self.chance;
        let once = |what| chance.uniform(&[what, &wrong, &number, measurement]);
        let each_time = |what| [what, wrong.as_str(), &number, measurement, &again];
        let known = self.family.measurement(id);
        let table = self.model.table_at(id, self.left(drawn));
        let row = table.row(drawn.hypothesis);
        let mut outcome = self.outcome(drawn, id, row);
        // A second reading may be right where the first was not.
        if self.wrong > 0.0 && chance.uniform(&each_time("misread")) < self.wrong {
            let other = share(chance.uniform(&each_time("misread as")), row.len() - 1);
            outcome = if other < outcome { other } else { other + 1 };
        }
        let name = known.outcomes[outcome].name.as_str();
        let (Some(number), Some(bands)) = (known.number(), self.bands.get(&id)) else {
            return Some(Seen::Word(name));
        };
        if bands[outcome].is_empty() {
            return Some(Seen::Word(name));
        }
        let truth = Self::true_value(number, bands, outcome, once("band"), once("value"));
        let uncertainty = self.uncertainty(number, bands, truth);
        let error = chance.normal(&each_time("error"));
        Some(Seen::Number {
            value: truth + uncertainty * error,
            uncertainty,
        })
    }

    /// What is left, on a vehicle, of the figures of measurements that show a fault only while it acts.
    fn left(&self, drawn: Drawn) -> f64 {
        let present = &self.model.complaint.present;
        let fades = self.family.fades.iter().map(|(id, _)| *id);
        let told = fades.filter(|id| self.family.measurement(*id).is_for(present));
        let told: Vec<Evidence> = told
            .map(|id| {
                let row = self.model.table(id).row(drawn.hypothesis);
                let mut weights = vec![0.0; row.len()];
                weights[self.outcome(drawn, id, row)] = 1.0;
                Evidence {
                    measurement: id,
                    weights,
                }
            })
            .collect();
        self.model.fading(&told)
    }

    /// What a vehicle gives on a measurement, with this row.
    fn outcome(&self, drawn: Drawn, id: MeasurementId, row: &[f64]) -> usize {
        if let Some(held) = self.held.get(&id) {
            return *held;
        }
        let (wrong, number) = (self.name(drawn.hypothesis), drawn.number.to_string());
        let measurement = &self.family.measurement(id).name;
        let words = ["outcome", &wrong, &number, measurement];
        at(row, self.chance.uniform(&words))
    }

    /// A true value in one of the outcome's bands.
    fn true_value(
        number: &Number,
        bands: &[Vec<Band>],
        outcome: usize,
        which: f64,
        where_in_it: f64,
    ) -> f64 {
        let of_outcome = &bands[outcome];
        let band = of_outcome[share(which, of_outcome.len())];
        let (from, to) = extent(band, bands, number.open);
        from + (to - from) * where_in_it
    }

    fn uncertainty(&self, number: &Number, bands: &[Vec<Band>], value: f64) -> f64 {
        match number.instrument {
            Some(id) => standard_uncertainty(self.family.instrument(id), value, number.unit),
            None => foreseen_uncertainty(self.family, number, bands),
        }
    }

    /// The measurements that can be taken on the vehicles of this complaint.
    pub fn measurements(&self) -> impl Iterator<Item = &'k Measurement> + '_ {
        let family = self.family;
        (0..family.measurements.len())
            .map(MeasurementId::at)
            .filter(move |id| {
                family
                    .measurement(*id)
                    .is_for(&self.model.complaint.present)
                    && self.model.foreseen(*id).is_ok()
            })
            .map(move |id| family.measurement(id))
    }
}

/// The outcome that a number between 0 and 1 falls on.
fn at(row: &[f64], number: f64) -> usize {
    let mut left = number;
    for (outcome, p) in row.iter().enumerate() {
        left -= p;
        if left < 0.0 {
            return outcome;
        }
    }
    row.len() - 1
}
