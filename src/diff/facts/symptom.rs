//! What is stated of a complaint, its tree apart.

use crate::diff::fact::Facts;
use crate::knowledge::{Complaint, Symptom};

/// What is stated of a complaint; its tree is compared gate by gate.
pub(in crate::diff) fn symptom(symptom: &Symptom) -> Facts {
    let Symptom {
        name: _,
        formerly: _,
        title,
        complaints,
        examples,
        tree: _,
    } = symptom;
    let patterns = complaints
        .iter()
        .map(|Complaint(pattern)| pattern.as_str().to_owned())
        .collect();
    let mut facts = Facts::default();
    facts
        .text("title", &[], title)
        .lines("complaints", patterns, false)
        .lines("examples", examples.clone(), false);
    facts
}
