//! A measurement that can never set anything apart.

use super::Desk;
use crate::infer::row_under;
use crate::knowledge::{Measurement, SymptomId};
use crate::load::{Code, FileKind};

/// Where no outcome is so much more frequent under one candidate than under another, nothing is set apart.
const SEPARATES: f64 = 0.05;

/// The measurements whose outcomes are as frequent under every candidate as under every other, whatever symptom
/// they are offered for: no belief can make their reading worth anything.
pub(super) fn judge(desk: &Desk<'_>) {
    for id in desk.measurements() {
        let measurement = desk.family.measurement(id);
        let offered: Vec<SymptomId> = desk
            .symptoms()
            .filter(|symptom| measurement.is_for(&[*symptom]))
            .collect();
        if offered
            .iter()
            .all(|symptom| spread(desk, measurement, *symptom) < SEPARATES)
        {
            let whom = match &measurement.offered_for {
                Some(_) => format!("for {}", desk.symptom_names(&offered)),
                None => "for any symptom".to_owned(),
            };
            desk.say(
                Code::IdleMeasurement,
                desk.key(FileKind::Measurements, &["measurements", &measurement.name]),
                format!("`{}` sets no candidates apart {whom}", measurement.name),
                "name under `shows` what it finds, offer it for the symptoms of those causes, or delete it",
            );
        }
    }
}

/// The widest difference that an outcome's probability has between two candidates of a symptom.
fn spread(desk: &Desk<'_>, measurement: &Measurement, symptom: SymptomId) -> f64 {
    let mut least = vec![f64::INFINITY; measurement.outcomes.len()];
    let mut most = vec![f64::NEG_INFINITY; measurement.outcomes.len()];
    for candidate in &desk.candidates[symptom.index()] {
        for (outcome, p) in row_under(measurement, &candidate.causes)
            .into_iter()
            .enumerate()
        {
            least[outcome] = least[outcome].min(p);
            most[outcome] = most[outcome].max(p);
        }
    }
    least
        .iter()
        .zip(&most)
        .map(|(least, most)| most - least)
        .fold(0.0, f64::max)
}
