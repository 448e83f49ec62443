//! The same entry under another id: reported only where it is certain.
//!
//! The newer edition says so (`formerly`), or an entry that only the older edition has and one that only
//! the newer has state the same title and figures, and no other entry of either edition does.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::edition::{EACH, Entries, case_name, entries};
use super::thing::{Kind, Thing};
use super::value::{fields, is_branch, items, text};
use crate::knowledge::{Family, Knowledge, Reading};

/// An entry of the older edition, and what the newer one calls it.
pub(super) type Renamed = (Thing, String);

/// Whether a field's texts say what an entry is.
fn says_what_it_is(field: &str) -> bool {
    matches!(
        field,
        "title" | "ask" | "text" | "outcomes" | "event_words" | "readings" | "tree"
    )
}

/// The older edition in the names of the newer one, and what had other names.
///
/// An entry states the names of others: each round sees those already found by their newer names.
pub(super) fn in_newer_names(old: &Knowledge, now: &Entries) -> (Knowledge, Vec<Renamed>) {
    let (mut old, mut renamed) = (old.clone(), Vec::new());
    loop {
        let was = entries(&old);
        let mut found = said(&was, now);
        if found.is_empty() {
            found = certain(&was, now);
        }
        if found.is_empty() {
            return (old, renamed);
        }
        for (thing, name) in &found {
            rename(&mut old, thing, name);
        }
        renamed.extend(found);
    }
}

/// What the newer edition itself says an entry was called.
fn said(was: &Entries, now: &Entries) -> Vec<Renamed> {
    let came = now.iter().filter(|(thing, _)| !was.contains_key(*thing));
    came.filter_map(|(thing, entry)| {
        let mut former = items(&entry["formerly"]).iter().map(|name| Thing {
            name: text(name).to_owned(),
            ..thing.clone()
        });
        let former = former.find(|former| was.contains_key(former) && !now.contains_key(former))?;
        Some((former, thing.name.clone()))
    })
    .collect()
}

/// What states the same, and nothing else does.
fn certain(was: &Entries, now: &Entries) -> Vec<Renamed> {
    let mut same: BTreeMap<_, [Vec<String>; 2]> = BTreeMap::new();
    for (side, here, there) in [(0, was, now), (1, now, was)] {
        for (thing, mut identity) in only(here, there) {
            identity.sort_all_objects();
            let key = (thing.kind, thing.family, identity.to_string());
            same.entry(key).or_default()[side].push(thing.name);
        }
    }
    let pairs = same.into_iter().filter_map(|((kind, family, _), names)| {
        match names.map(<[String; 1]>::try_from) {
            [Ok([name]), Ok([now])] => Some((Thing { kind, family, name }, now)),
            _ => None,
        }
    });
    pairs.collect()
}

/// The entries, and the outcomes of measurements, that the other edition has not; each with what tells it from others.
fn only(here: &Entries, there: &Entries) -> Vec<(Thing, Value)> {
    let mut only = Vec::new();
    for (thing, entry) in here {
        let Some(other) = there.get(thing) else {
            // These are named by their own content.
            if !matches!(thing.kind, Kind::Ambiguity | Kind::Code) {
                only.push((thing.clone(), identity(entry)));
            }
            continue;
        };
        let outcomes = items(&entry["outcomes"]).iter();
        for outcome in outcomes.filter(|outcome| !items(&other["outcomes"]).contains(outcome)) {
            let name = format!("{}/{}", thing.name, text(outcome));
            let each = identity(&entry[EACH][text(outcome)]);
            let is_normal = entry["normal"] == *outcome;
            only.push((
                Thing::new(Kind::Outcome, thing.family.as_deref(), &name),
                json!([thing.name, is_normal, each]),
            ));
        }
    }
    only
}

/// The title and figures of an entry.
fn identity(entry: &Value) -> Value {
    let kept = fields(entry).filter_map(|(field, value)| {
        let says = says_what_it_is(field);
        let kept = match value {
            value if is_branch(value) && !says => identity(value),
            value if says || value.is_object() => value.clone(),
            _ => return None,
        };
        Some((field.clone(), kept))
    });
    kept.collect()
}

/// Gives an entry another name, also where it is named by its name and not by an id.
fn rename(knowledge: &mut Knowledge, thing: &Thing, now: &str) {
    // An outcome is named `measurement/outcome`, and renamed in its measurement.
    let parts = (thing.kind, thing.name.split_once('/'), now.split_once('/'));
    let (measurement, was, now) = match parts {
        (Kind::Outcome, Some((measurement, was)), Some((_, now))) => (measurement, was, now),
        _ => ("", thing.name.as_str(), now),
    };
    let call = |name: &mut String| {
        if name == was {
            now.clone_into(name);
        }
    };
    for vehicle in &mut knowledge.vehicles {
        match thing.kind {
            Kind::Family => call(&mut vehicle.family),
            Kind::Vehicle => call(&mut vehicle.name),
            _ => {}
        }
    }
    let of = |family: &&mut Family| thing.family.as_ref().is_none_or(|of| *of == family.name);
    for family in knowledge.families.iter_mut().filter(of) {
        match thing.kind {
            Kind::Family => call(&mut family.name),
            Kind::Vehicle => {
                let cases = family.cases.iter_mut().map(|case| &mut case.vehicle);
                cases.flatten().for_each(call);
                let exercises = family.exercises.iter_mut();
                let vehicles = exercises.map(|exercise| &mut exercise.vehicle);
                vehicles.flatten().for_each(call);
            }
            Kind::Outcome => rename_outcome(family, measurement, call),
            Kind::SharedPart => {
                for symptom in &mut family.symptoms {
                    symptom.tree.rename_shared(was, now);
                }
            }
            Kind::Case => {
                let mut cases = family.cases.iter_mut();
                if let Some(case) = cases.find(|case| case_name(case) == was) {
                    now.clone_into(&mut case.file);
                }
            }
            kind => kind.names(family).into_iter().for_each(call),
        }
    }
}

/// Renames an outcome of a measurement, also where trouble codes and cases name it.
fn rename_outcome(family: &mut Family, measurement: &str, call: impl Fn(&mut String)) {
    let Some(id) = family.measurement_named(measurement) else {
        return;
    };
    let measurement = &mut family.measurements[id.index()];
    for outcome in &mut measurement.outcomes {
        call(&mut outcome.name);
    }
    if matches!(measurement.reading, Reading::Codes) {
        family
            .codes
            .values_mut()
            .for_each(|code| call(&mut code.kind));
    }
    let readings = family.cases.iter_mut().flat_map(|case| &mut case.readings);
    for reading in readings.filter(|reading| reading.measurement == id) {
        call(&mut reading.value);
    }
}
