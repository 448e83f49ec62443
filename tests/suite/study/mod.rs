//! Drawn vehicles: whether they are what the knowledge says, and whether they are diagnosed as a
//! person at the prompt would be told.

mod drawing;
mod figures;
mod mechanic;
mod papers;

use halfsplit::knowledge::{Knowledge, SymptomId};
use halfsplit::simulate::{Settings, Stress, Study, study};

/// A study of the only symptom of a small family.
fn of(knowledge: &Knowledge, vehicles: u32, stresses: &[Stress]) -> Study {
    let family = &knowledge.families[0];
    let sheet = knowledge.vehicles.first();
    let settings = Settings { vehicles, seed: 7 };
    study(family, sheet, SymptomId::at(0), &settings, stresses, &|| {}).unwrap()
}

#[track_caller]
fn near(found: f64, expected: f64, within: f64) {
    assert!(
        (found - expected).abs() <= within,
        "{found} is not within {within} of {expected}"
    );
}
