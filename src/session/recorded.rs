//! The case that a job record holds, in today's knowledge.

use crate::decide::Circumstances;
use crate::infer::{Complaint, Evidence};
use crate::knowledge::{Family, Knowledge, SymptomId, Vehicle};
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
    /// Names in the record that the knowledge no longer has, each said with its kind.
    pub lost: Vec<String>,
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

/// The case of a record's state.
#[must_use]
pub fn recorded_case(family: &Family, state: &State) -> RecordedCase {
    let mut case = RecordedCase::default();
    let mut lost = Vec::new();
    let mut symptoms = |names: &[String]| -> Vec<SymptomId> {
        let mut ids: Vec<SymptomId> = names
            .iter()
            .filter_map(|name| {
                let id = family.symptom_named(name);
                if id.is_none() {
                    lost.push(format!("symptom {name}"));
                }
                id
            })
            .collect();
        ids.sort_unstable();
        ids
    };
    case.complaint.present = symptoms(&state.present);
    case.complaint.absent = symptoms(&state.absent);

    // A repair under verification may still prove to be the one.
    let vain = state.repairs.len() - usize::from(state.verifying);
    for name in state.repairs[..vain]
        .iter()
        .flat_map(|done| &done.repair.repairs)
    {
        match family.repair_named(name) {
            Some(id) if !case.complaint.repaired.contains(&id) => case.complaint.repaired.push(id),
            Some(_) => {}
            None => lost.push(format!("repair {name}")),
        }
    }
    for taken in state.counting() {
        match evidence(family, &taken.reading) {
            Some(evidence) => {
                case.circumstances.left_out.push(evidence.measurement);
                case.evidence.push(evidence);
            }
            None => lost.push(format!(
                "measurement {} with outcome {}",
                taken.reading.measurement, taken.reading.outcome
            )),
        }
    }
    for name in state.set_aside.keys() {
        case.circumstances
            .left_out
            .extend(family.measurement_named(name));
    }
    if state.in_place.is_empty() {
        case.circumstances.in_place.clone_from(&family.in_place);
    } else {
        for name in &state.in_place {
            match family.set_up_named(name) {
                Some(id) => case.circumstances.in_place.push(id),
                None => lost.push(format!("set-up {name}")),
            }
        }
        case.circumstances.in_place.sort_unstable();
    }
    case.lost = lost;
    case
}

/// A recorded reading as evidence; `None` where the knowledge lacks its measurement or an outcome.
fn evidence(family: &Family, reading: &Reading) -> Option<Evidence> {
    let measurement = family.measurement_named(&reading.measurement)?;
    let outcomes = &family.measurement(measurement).outcomes;
    let known = |name: &String| outcomes.iter().any(|outcome| outcome.name == *name);
    if !reading.weights.keys().all(known) {
        return None;
    }
    let weights = outcomes
        .iter()
        .map(|outcome| reading.weights.get(&outcome.name).copied().unwrap_or(0.0))
        .collect();
    Some(Evidence {
        measurement,
        weights,
    })
}
