//! One family under judgement: what every lint looks at, and where its findings go.

use rayon::prelude::*;

use crate::infer::{Candidate, candidates};
use crate::knowledge::{CauseId, Family, SymptomId};
use crate::load::{Code, FileKind, Places, Report, Spot};

pub(super) struct Desk<'k> {
    pub(super) family: &'k Family,
    pub(super) places: &'k Places<'k>,
    /// The candidates of each symptom alone; none where nothing explains it.
    pub(super) candidates: Vec<Vec<Candidate>>,
}

impl<'k> Desk<'k> {
    pub(super) fn new(family: &'k Family, places: &'k Places<'k>) -> Self {
        let candidates = (0..family.symptoms.len())
            .into_par_iter()
            .map(|symptom| candidates(family, &[SymptomId::at(symptom)], &[]).unwrap_or_default())
            .collect();
        Self {
            family,
            places,
            candidates,
        }
    }

    pub(super) fn symptoms(&self) -> impl Iterator<Item = SymptomId> {
        (0..self.family.symptoms.len()).map(SymptomId::at)
    }

    /// The causes in the candidates of a symptom, each once, in order.
    pub(super) fn causes_of(&self, symptom: SymptomId) -> Vec<CauseId> {
        let mut causes: Vec<CauseId> = self.candidates[symptom.index()]
            .iter()
            .flat_map(|candidate| candidate.causes.iter().copied())
            .collect();
        causes.sort_unstable();
        causes.dedup();
        causes
    }

    pub(super) fn symptom_names(&self, symptoms: &[SymptomId]) -> String {
        let names: Vec<String> = symptoms
            .iter()
            .map(|symptom| format!("`{}`", self.family.symptom(*symptom).name))
            .collect();
        names.join(", ")
    }

    /// A finding at the name of an entry.
    pub(super) fn at_name(
        &self,
        code: Code,
        (kind, way): (FileKind, &[&str]),
        words: String,
        advice: &str,
    ) {
        let spot = self.places.key(&self.family.name, kind, way);
        self.at(code, spot, words, advice);
    }

    /// A finding at the value of an entry.
    pub(super) fn at_value(
        &self,
        code: Code,
        (kind, way): (FileKind, &[&str]),
        words: String,
        advice: &str,
    ) {
        let spot = self.places.value(&self.family.name, kind, way);
        self.at(code, spot, words, advice);
    }

    pub(super) fn at(&self, code: Code, spot: Spot, words: String, advice: &str) {
        self.places
            .log
            .add(Report::new(code, spot, words).advice(advice));
    }
}
