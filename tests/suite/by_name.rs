use std::sync::OnceLock;

use halfsplit::decide::{Circumstances, Standing};
use halfsplit::decide::{OrderBy, Ranked};
use halfsplit::infer::{Belief, Complaint, Evidence, Model};
use halfsplit::knowledge::{CauseId, Family, Knowledge, MeasurementId, SymptomId};
use halfsplit::load::{Source, load};

/// The knowledge that is shipped, read once.
pub(crate) fn shipped() -> &'static Knowledge {
    static SHIPPED: OnceLock<Knowledge> = OnceLock::new();
    SHIPPED.get_or_init(|| load(&Source::embedded()).unwrap().knowledge)
}

/// The family that is shipped.
pub(crate) fn chain_cvt() -> &'static Family {
    shipped().family("chain-cvt").unwrap()
}

/// A complaint and its readings so far, by the names of the files.
#[derive(Clone)]
pub(crate) struct Job<'k> {
    pub(crate) model: Model<'k>,
    pub(crate) readings: Vec<Evidence>,
}

impl<'k> Job<'k> {
    pub(crate) fn new(knowledge: &'k Knowledge, present: &[&str]) -> Self {
        Self::with_absent(knowledge, present, &[])
    }

    pub(crate) fn with_absent(knowledge: &'k Knowledge, present: &[&str], absent: &[&str]) -> Self {
        Self::of(
            knowledge,
            complaint(&knowledge.families[0], present, absent),
        )
    }

    pub(crate) fn of(knowledge: &'k Knowledge, complaint: Complaint) -> Self {
        let family = &knowledge.families[0];
        Self {
            model: Model::new(family, knowledge.vehicles.first(), complaint).unwrap(),
            readings: Vec::new(),
        }
    }

    /// The job after one more reading.
    pub(crate) fn after(&self, measurement: &str, outcome: &str) -> Self {
        let mut next = self.clone();
        next.readings
            .push(evidence(self.model.family, measurement, &[(outcome, 1.0)]));
        next
    }

    /// The job after a reading that is not sure of its outcome.
    pub(crate) fn after_weights(&self, measurement: &str, weights: &[(&str, f64)]) -> Self {
        let mut next = self.clone();
        next.readings
            .push(evidence(self.model.family, measurement, weights));
        next
    }

    pub(crate) fn belief(&self) -> Belief {
        self.model.update(&self.readings)
    }

    pub(crate) fn place(&self, causes: &[&str]) -> Option<usize> {
        let ids = causes_named(self.model.family, causes);
        self.model
            .candidates
            .iter()
            .position(|candidate| candidate.causes == ids)
    }

    /// The belief in one candidate; 0 where these causes are none.
    pub(crate) fn of_candidate(&self, causes: &[&str]) -> f64 {
        self.place(causes)
            .map_or(0.0, |place| self.belief().posterior[place])
    }

    /// The belief in a cause, alone or with others.
    pub(crate) fn of_cause(&self, cause: &str) -> f64 {
        let id = self.model.family.cause_named(cause).unwrap();
        let belief = self.belief();
        self.model
            .candidates
            .iter()
            .zip(&belief.posterior)
            .filter(|(candidate, _)| candidate.causes.contains(&id))
            .map(|(_, p)| p)
            .sum()
    }

    /// The causes of the candidate most believed in.
    pub(crate) fn leader(&self) -> Vec<&'k str> {
        let belief = self.belief();
        let best = (0..self.model.candidates.len())
            .max_by(|a, b| belief.posterior[*a].total_cmp(&belief.posterior[*b]))
            .unwrap();
        self.model.candidates[best]
            .causes
            .iter()
            .map(|cause| self.model.family.cause(*cause).name.as_str())
            .collect()
    }

    /// Every candidate as its causes joined by `+`.
    pub(crate) fn candidates(&self) -> Vec<String> {
        self.model
            .candidates
            .iter()
            .map(|candidate| {
                let names: Vec<&str> = candidate
                    .causes
                    .iter()
                    .map(|cause| self.model.family.cause(*cause).name.as_str())
                    .collect();
                names.join("+")
            })
            .collect()
    }

    /// Where the job stands as the vehicle came in, what was read left out.
    pub(crate) fn standing(&self, by: OrderBy) -> Standing<'_, 'k> {
        let mut circumstances = Circumstances::on_arrival(self.model.family);
        circumstances.left_out = self
            .readings
            .iter()
            .map(|reading| reading.measurement)
            .collect();
        Standing::new(&self.model, self.readings.clone(), &circumstances, by).unwrap()
    }

    /// The row of the ranking for a measurement, nothing left out but what was read.
    pub(crate) fn ranked(&self, measurement: &str) -> Option<Ranked> {
        let id = self.model.family.measurement_named(measurement).unwrap();
        self.standing(OrderBy::default()).rank_of(id).cloned()
    }

    /// The measurements on offer, by name, in their order.
    pub(crate) fn order(&self, by: OrderBy) -> Vec<&'k str> {
        let standing = self.standing(by);
        standing
            .ranking
            .iter()
            .map(|ranked| {
                let id = standing.ranked(ranked);
                self.model.family.measurement(id).name.as_str()
            })
            .collect()
    }
}

pub(crate) fn complaint(family: &Family, present: &[&str], absent: &[&str]) -> Complaint {
    let ids = |names: &[&str]| -> Vec<SymptomId> {
        names
            .iter()
            .map(|name| family.symptom_named(name).expect(name))
            .collect()
    };
    Complaint {
        present: ids(present),
        absent: ids(absent),
        repaired: Vec::new(),
    }
}

pub(crate) fn causes_named(family: &Family, names: &[&str]) -> Vec<CauseId> {
    let mut ids: Vec<CauseId> = names
        .iter()
        .map(|name| family.cause_named(name).expect(name))
        .collect();
    ids.sort_unstable();
    ids
}

pub(crate) fn measurement(family: &Family, name: &str) -> MeasurementId {
    family.measurement_named(name).expect(name)
}

/// A reading of these weights.
pub(crate) fn evidence(family: &Family, name: &str, weights: &[(&str, f64)]) -> Evidence {
    let id = measurement(family, name);
    let measurement = family.measurement(id);
    let mut evidence = Evidence {
        measurement: id,
        weights: vec![0.0; measurement.outcomes.len()],
    };
    for (outcome, weight) in weights {
        let place = measurement
            .outcome(outcome)
            .unwrap_or_else(|| panic!("{name} has no outcome {outcome}"));
        evidence.weights[place.index()] = *weight;
    }
    evidence
}

#[track_caller]
pub(crate) fn close(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} is not {expected}"
    );
}
