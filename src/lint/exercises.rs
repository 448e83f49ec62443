//! Exercises that cannot be played.

use super::desk::Desk;
use crate::load::{Code, FileKind};

pub(super) fn judge(desk: &Desk<'_>) {
    let family = desk.family;
    for exercise in &family.exercises {
        let mut fault = exercise.fault.clone();
        fault.sort_unstable();
        let mut candidates = desk.candidates[exercise.symptom.index()].iter();
        if fault.is_empty() || candidates.any(|candidate| candidate.causes == fault) {
            continue;
        }
        let path = format!("{}/exercises/{}.yaml", family.name, exercise.name);
        let together = family.names_of(&fault).join(" and ");
        desk.at_value(
            Code::ExerciseFault,
            (FileKind::Exercise, &[&path, "fault"]),
            format!("nobody would suspect {together} together: one of them explains it by itself"),
            "name one cause, or causes that explain the complaint only together",
        );
    }
}
