//! How likely a candidate is before any reading.

use crate::fault_tree::TooEntangled;
use crate::knowledge::{CauseId, Family, SymptomId};

/// The prior weight of the causes `set`, not normalised:
/// `Π_{c∈H} r_c/(1−r_c) × Π_{present} P(s|H) × Π_{absent} max(floor, 1 − P(s|H))`. docs/method.md, section 4.
/// The steps it takes are taken off `steps`.
///
/// # Errors
///
/// [`TooEntangled`] where a symptom's tree takes too long to work out.
pub fn weight(
    family: &Family,
    set: &[CauseId],
    present: &[SymptomId],
    absent: &[SymptomId],
    steps: &mut usize,
) -> Result<f64, TooEntangled> {
    let odds: f64 = set
        .iter()
        .map(|cause| family.cause(*cause).rate.odds())
        .product();
    let mut shows = |symptom: &SymptomId| {
        let tree = &family.symptom(*symptom).tree;
        tree.probability_of(set, steps)
    };
    let mut given = 1.0;
    for symptom in present {
        given *= shows(symptom)?.get();
    }
    let mut hidden = 1.0;
    for symptom in absent {
        hidden *= shows(symptom)?
            .complement()
            .get()
            .max(family.figures.floor.get());
    }
    Ok(odds * given * hidden)
}
