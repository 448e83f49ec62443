//! The case that a job record holds, in today's knowledge.

use crate::decide::{Circumstances, Way, way_to};
use crate::infer::{Complaint, Evidence};
use crate::knowledge::{Family, Knowledge, MeasurementId, RepairId, Vehicle, Workshop};
use crate::record::State;

/// The case of a record: what was reported and read, what is in place, and what today's knowledge lacks.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RecordedCase {
    /// What was reported, and the repairs that did not cure it.
    pub complaint: Complaint,
    /// The readings that count, in order.
    pub evidence: Vec<Evidence>,
    /// What is in place, and what is not on offer.
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

/// The family and the vehicle of a record, in today's knowledge.
pub fn opened_on<'k>(
    knowledge: &'k Knowledge,
    state: &State,
) -> Result<(&'k Family, Option<&'k Vehicle>), NotKnown> {
    let lacks = |kind, name: &str| NotKnown {
        kind,
        name: name.to_owned(),
    };
    let name = &state.opened.family;
    let family = knowledge.family(name);
    let family = family.ok_or_else(|| lacks("family", name))?;
    let vehicle = |name: &String| {
        let vehicle = knowledge.vehicle(name);
        vehicle.ok_or_else(|| lacks("vehicle", name))
    };
    Ok((family, state.vehicle.as_ref().map(vehicle).transpose()?))
}

/// The case of a record's state: every name is looked up as an id, then as a former one.
pub fn recorded_case(family: &Family, state: &State) -> RecordedCase {
    let RecordedCase {
        mut complaint,
        mut evidence,
        mut circumstances,
        mut lost,
    } = RecordedCase::default();
    for (names, ids) in [
        (&state.present, &mut complaint.present),
        (&state.absent, &mut complaint.absent),
    ] {
        for name in names {
            let line = state.symptom_lines.get(name).copied();
            let id = family.symptom_known_as(name);
            ids.extend(known(&mut lost, id, line, "symptom", name));
        }
        ids.sort_unstable();
    }
    // A repair under verification may still prove to be the one.
    let vain = state.repairs.len() - usize::from(state.verifying);
    for done in &state.repairs[..vain] {
        for name in &done.repair.repairs {
            let id = family.repair_known_as(name);
            let id = known(&mut lost, id, Some(done.line), "repair", name);
            let repaired = &mut complaint.repaired;
            repaired.extend(id.filter(|id| !repaired.contains(id)));
        }
    }
    for taken in state.counting() {
        let (reading, line) = (&taken.reading, Some(taken.line));
        let name = &reading.measurement;
        let id = family.measurement_known_as(name);
        let Some(measurement) = known(&mut lost, id, line, "measurement", name) else {
            continue;
        };
        let outcomes = &family.measurement(measurement).outcomes;
        let mut given = reading.weights.keys();
        let gone = given.find(|given| !outcomes.iter().any(|outcome| outcome.name == **given));
        if let Some(gone) = gone {
            let name = format!("{gone}` of `{name}");
            known::<()>(&mut lost, None, line, "outcome", &name);
            continue;
        }
        let weight = |name| reading.weights.get(name).copied().unwrap_or(0.0);
        circumstances.left_out.push(measurement);
        evidence.push(Evidence {
            measurement,
            weights: outcomes.iter().map(|o| weight(&o.name)).collect(),
        });
    }
    // One that was set aside and is gone is not offered anyway.
    let set_aside = state.set_aside.keys();
    let set_aside = set_aside.filter_map(|name| family.measurement_known_as(name));
    circumstances.left_out.extend(set_aside);
    circumstances.left_out.extend(lacking(family, state));
    if let Some(shop) = &state.opened.shop {
        circumstances.work_in(shop, family);
    }
    // A vehicle that is only played drives nowhere.
    circumstances.by_hand |= state.opened.practice.is_some();
    if state.in_place.is_empty() {
        circumstances.in_place.clone_from(&family.in_place);
    }
    for name in &state.in_place {
        let id = family.set_up_known_as(name);
        let id = known(&mut lost, id, state.in_place_line, "set-up", name);
        circumstances.in_place.extend(id);
    }
    circumstances.in_place.sort_unstable();
    let entered = state.entered.iter();
    let entered = entered.filter_map(|name| family.set_up_known_as(name));
    let entered = entered.filter(|id| !family.in_place.contains(id));
    let spoiled = entered.flat_map(|id| &family.set_up(id).spoils);
    circumstances.spoiled.extend(spoiled);
    let last = state.last_read.as_ref();
    circumstances.last = last.and_then(|name| family.measurement_known_as(name));
    lost.sort();
    RecordedCase {
        complaint,
        evidence,
        circumstances,
        lost,
    }
}

/// The equipment that the technician said is not here.
pub(super) fn said_lacking(state: &State) -> Workshop {
    let set_aside = state.set_aside.values();
    Workshop {
        lacks: set_aside.filter_map(|of| of.what.lacks.clone()).collect(),
        ..Workshop::default()
    }
}

/// The measurements that need such equipment.
pub(super) fn lacking(family: &Family, state: &State) -> Vec<MeasurementId> {
    let workshop = said_lacking(state);
    if workshop.lacks.is_empty() {
        return Vec::new();
    }
    workshop.left_out(family)
}

impl RecordedCase {
    /// The titles of what must be read before a repair and was not; those of which one is enough stand together.
    pub fn unread_before(&self, family: &Family, repair: RepairId) -> Vec<String> {
        let requires = &family.repair(repair).requires;
        let unread = |id: &&MeasurementId| {
            let mut evidence = self.evidence.iter();
            family.measurement(**id).is_for(&self.complaint.present)
                && !evidence.any(|reading| reading.measurement == **id)
        };
        let none = requires.any.iter().all(|id| unread(&id));
        let title = |id: &MeasurementId| family.measurement(*id).title.clone();
        let mut titles: Vec<String> = requires.all.iter().filter(unread).map(title).collect();
        match requires.any.as_slice() {
            [] => {}
            [only] if none => titles.push(title(only)),
            any if none => {
                let any: Vec<String> = any.iter().map(title).collect();
                titles.push(format!("one of {}", any.join(", ")));
            }
            _ => {}
        }
        titles
    }

    /// The set-ups to enter for a general look, or for a measurement that verifies `repairs`; none where what was read
    /// forbids it.
    pub fn way_to(
        &self,
        family: &Family,
        measurement: MeasurementId,
        repairs: &[RepairId],
    ) -> Option<Way> {
        let present = &self.complaint.present;
        let (evidence, now) = (&self.evidence, &self.circumstances);
        way_to(family, present, evidence, now, measurement, repairs)
    }
}

/// What was found by a name of the record; where nothing was, the name is lost.
fn known<I>(
    lost: &mut Vec<Lost>,
    found: Option<I>,
    line: Option<u64>,
    kind: &'static str,
    name: &str,
) -> Option<I> {
    if found.is_none() {
        lost.push(Lost {
            line: line.unwrap_or(0),
            kind,
            name: name.to_owned(),
        });
    }
    found
}
