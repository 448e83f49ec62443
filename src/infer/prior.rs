//! How likely a candidate is before any reading.

use crate::knowledge::{CauseId, Family, SymptomId};

/// The prior weight of the causes `set`, not normalised:
/// `Π_{c∈H} r_c/(1−r_c) × Π_{present} P(s|H) × Π_{absent} max(floor, 1 − P(s|H))`. Method §4.
#[must_use]
pub fn weight(
    family: &Family,
    set: &[CauseId],
    present: &[SymptomId],
    absent: &[SymptomId],
) -> f64 {
    let in_set = |cause: CauseId| set.contains(&cause);
    let odds: f64 = set
        .iter()
        .map(|cause| family.cause(*cause).rate.odds())
        .product();
    let given: f64 = present
        .iter()
        .map(|symptom| family.symptom(*symptom).tree.probability(in_set).get())
        .product();
    let hidden: f64 = absent
        .iter()
        .map(|symptom| {
            let shows = family.symptom(*symptom).tree.probability(in_set);
            shows.complement().get().max(family.figures.floor.get())
        })
        .product();
    odds * given * hidden
}
