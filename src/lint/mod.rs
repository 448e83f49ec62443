//! What a maintainer would want to know of knowledge that loads: nothing in it is broken, and something
//! is probably not meant. One idea a file; each idea has a code of its own, explained in docs/findings.md.

mod alike;
mod check;
mod dangers;
mod figures;
mod idle;
mod length;
mod outcomes;
mod rates;
mod repairs;
mod report;
mod shown;
mod sources;
mod wording;

pub use check::{Checked, check};
pub use report::{failing_case, findings, summary};

use rayon::prelude::*;

use crate::infer::{Candidate, candidates};
use crate::knowledge::{CauseId, Family, Knowledge, MeasurementId, SymptomId};
use crate::load::{Code, FileKind, Findings, Places, Report, Source, Spot};

/// Judges knowledge that the source loads into; the places are looked up in the source.
#[must_use]
pub fn judge(source: &Source, knowledge: &Knowledge) -> Findings {
    let places = Places::of(source);
    for family in &knowledge.families {
        let desk = Desk::new(family, &places);
        shown::judge(&desk);
        alike::judge(&desk);
        idle::judge(&desk);
        repairs::judge(&desk);
        outcomes::judge(&desk);
        rates::judge(&desk);
        figures::judge(&desk);
        sources::judge(&desk);
        wording::judge(&desk);
        length::judge(&desk);
        dangers::judge(&desk);
    }
    sources::judge_sheets(knowledge, &places);
    places.finish()
}

/// One family under judgement.
struct Desk<'k> {
    family: &'k Family,
    places: &'k Places<'k>,
    /// The candidates of each symptom alone; none where nothing explains it.
    candidates: Vec<Vec<Candidate>>,
}

impl<'k> Desk<'k> {
    fn new(family: &'k Family, places: &'k Places<'k>) -> Self {
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

    fn symptoms(&self) -> impl Iterator<Item = SymptomId> {
        (0..self.family.symptoms.len()).map(SymptomId::at)
    }

    fn measurements(&self) -> impl Iterator<Item = MeasurementId> {
        (0..self.family.measurements.len()).map(MeasurementId::at)
    }

    /// The causes that stand in a candidate of a symptom, each once, in order.
    fn causes_of(&self, symptom: SymptomId) -> Vec<CauseId> {
        let mut causes: Vec<CauseId> = self.candidates[symptom.index()]
            .iter()
            .flat_map(|candidate| candidate.causes.iter().copied())
            .collect();
        causes.sort_unstable();
        causes.dedup();
        causes
    }

    fn symptom_names(&self, symptoms: &[SymptomId]) -> String {
        let names: Vec<String> = symptoms
            .iter()
            .map(|symptom| format!("`{}`", self.family.symptom(*symptom).name))
            .collect();
        names.join(", ")
    }

    /// Where the name of an entry stands.
    fn key(&self, kind: FileKind, way: &[&str]) -> Spot {
        self.places.key(&self.family.name, kind, way)
    }

    /// Where the value of an entry stands.
    fn value(&self, kind: FileKind, way: &[&str]) -> Spot {
        self.places.value(&self.family.name, kind, way)
    }

    fn say(&self, code: Code, spot: Spot, words: String, advice: impl Into<String>) {
        self.places
            .add(Report::new(code, spot, words).advice(advice));
    }
}

/// The middle of some numbers; `None` of none.
fn median(mut numbers: Vec<f64>) -> Option<f64> {
    numbers.sort_by(f64::total_cmp);
    let middle = numbers.len() / 2;
    if numbers.len() % 2 == 1 {
        numbers.get(middle).copied()
    } else {
        Some(f64::midpoint(
            *numbers.get(middle.checked_sub(1)?)?,
            *numbers.get(middle)?,
        ))
    }
}
