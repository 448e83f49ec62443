//! A cause that no measurement shows.

use super::Desk;
use crate::knowledge::{CauseId, SymptomId};
use crate::load::{Code, FileKind};

/// For each cause the symptoms it can bring about for which nothing that is offered shows it.
pub(super) fn judge(desk: &Desk<'_>) {
    for (place, cause) in desk.family.causes.iter().enumerate() {
        let id = CauseId::at(place);
        let brings: Vec<SymptomId> = desk
            .symptoms()
            .filter(|symptom| desk.family.symptom(*symptom).tree.causes().contains(&id))
            .collect();
        let unseen: Vec<SymptomId> = brings
            .iter()
            .copied()
            .filter(|symptom| !is_shown(desk, id, *symptom))
            .collect();
        if unseen.is_empty() {
            continue;
        }
        let words = if unseen == brings {
            format!("no measurement shows the cause `{}`", cause.name)
        } else {
            format!(
                "no measurement offered for {} shows the cause `{}`",
                desk.symptom_names(&unseen),
                cause.name
            )
        };
        desk.say(
            Code::UnshownCause,
            desk.key(FileKind::Causes, &["causes", &cause.name]),
            words,
            "name it under `shows` of a measurement that it changes, or describe a measurement that finds it",
        );
    }
}

/// Whether something that is offered for the symptom reads otherwise with the cause.
pub(super) fn is_shown(desk: &Desk<'_>, cause: CauseId, symptom: SymptomId) -> bool {
    desk.family.measurements.iter().any(|measurement| {
        measurement.is_for(&[symptom])
            && measurement
                .shows
                .get(&cause)
                .is_some_and(|row| row.0.values().any(|figure| figure.get() > 0.0))
    })
}
