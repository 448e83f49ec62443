//! The case that a job record holds, in today's knowledge.

use crate::decide::Circumstances;
use crate::infer::{Complaint, Evidence};
use crate::knowledge::{Family, Knowledge, MeasurementId, SymptomId, Vehicle};
use crate::record::{Reading, State};

/// The case of a record: what was reported and read, what stands, and what today's knowledge lacks.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RecordedCase {
    /// What was reported, and repaired in vain.
    pub complaint: Complaint,
    /// The readings that count, in order.
    pub evidence: Vec<Evidence>,
    /// What stands, and what is not on offer.
    pub circumstances: Circumstances,
    /// What the record names and the knowledge no longer has, by line.
    pub lost: Vec<Lost>,
}

/// A name in a record that the knowledge has no longer, neither as an id nor as a former one.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, thiserror::Error)]
#[error("line {line}: {kind} `{name}`")]
pub struct Lost {
    /// The line of the record, from 1; 0 where the record does not say.
    pub line: u64,
    /// What kind of thing it names.
    pub kind: &'static str,
    /// The name.
    pub name: String,
}

/// The knowledge lacks what a record was opened with.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the record names the {kind} `{name}`, which the knowledge does not have")]
pub struct NotKnown {
    /// Family or vehicle.
    pub kind: &'static str,
    /// Its name.
    pub name: String,
}

/// The family and the vehicle a record was opened with, in today's knowledge.
///
/// # Errors
///
/// [`NotKnown`] where the knowledge has no family or vehicle of that name.
pub fn opened_on<'k>(
    knowledge: &'k Knowledge,
    state: &State,
) -> Result<(&'k Family, Option<&'k Vehicle>), NotKnown> {
    let lacks = |kind, name: &str| NotKnown {
        kind,
        name: name.to_owned(),
    };
    let opened = &state.opened;
    let family = knowledge
        .family(&opened.family)
        .ok_or_else(|| lacks("family", &opened.family))?;
    let vehicle = opened
        .vehicle
        .as_ref()
        .map(|name| {
            knowledge
                .vehicle(name)
                .ok_or_else(|| lacks("vehicle", name))
        })
        .transpose()?;
    Ok((family, vehicle))
}

/// The case of a record's state: every name is looked up as an id, then as a former one.
pub fn recorded_case(family: &Family, state: &State) -> RecordedCase {
    let mut case = RecordedCase::default();
    let mut lost = Vec::new();
    let mut lose = |line: u64, kind, name: &str| {
        lost.push(Lost {
            line,
            kind,
            name: name.to_owned(),
        });
    };
    let mut symptoms = |names: &[String]| -> Vec<SymptomId> {
        let mut ids = Vec::new();
        for name in names {
            match family.symptom_known_as(name) {
                Some(id) => ids.push(id),
                None => lose(
                    state.symptom_lines.get(name).copied().unwrap_or(0),
                    "symptom",
                    name,
                ),
            }
        }
        ids.sort_unstable();
        ids
    };
    case.complaint.present = symptoms(&state.present);
    case.complaint.absent = symptoms(&state.absent);

    // A repair under verification may still prove to be the one.
    let vain = state.repairs.len() - usize::from(state.verifying);
    for done in &state.repairs[..vain] {
        for name in &done.repair.repairs {
            match family.repair_known_as(name) {
                Some(id) if case.complaint.repaired.contains(&id) => {}
                Some(id) => case.complaint.repaired.push(id),
                None => lose(done.line, "repair", name),
            }
        }
    }
    for taken in state.counting() {
        let Some(measurement) = family.measurement_known_as(&taken.reading.measurement) else {
            lose(taken.line, "measurement", &taken.reading.measurement);
            continue;
        };
        match evidence(family, measurement, &taken.reading) {
            Ok(evidence) => {
                case.circumstances.left_out.push(measurement);
                case.evidence.push(evidence);
            }
            Err(outcome) => lose(taken.line, "outcome", &outcome),
        }
    }
    // One that was set aside and is gone is not offered anyway.
    for name in state.set_aside.keys() {
        let id = family.measurement_known_as(name);
        case.circumstances.left_out.extend(id);
    }
    if state.in_place.is_empty() {
        case.circumstances.in_place.clone_from(&family.in_place);
    } else {
        for name in &state.in_place {
            match family.set_up_known_as(name) {
                Some(id) => case.circumstances.in_place.push(id),
                None => lose(state.in_place_line.unwrap_or(0), "set-up", name),
            }
        }
        case.circumstances.in_place.sort_unstable();
    }
    lost.sort();
    case.lost = lost;
    case
}

/// A recorded reading as evidence.
///
/// # Errors
///
/// The first outcome that the measurement no longer has.
fn evidence(
    family: &Family,
    measurement: MeasurementId,
    reading: &Reading,
) -> Result<Evidence, String> {
    let outcomes = &family.measurement(measurement).outcomes;
    let known = |name: &str| outcomes.iter().any(|outcome| outcome.name == name);
    if let Some(name) = reading.weights.keys().find(|name| !known(name)) {
        return Err(format!("{name}` of `{}", reading.measurement));
    }
    let weights = outcomes
        .iter()
        .map(|outcome| reading.weights.get(&outcome.name).copied().unwrap_or(0.0))
        .collect();
    Ok(Evidence {
        measurement,
        weights,
    })
}
