//! The same entry under another id: reported only where it is certain.
//!
//! The newer edition says so (`formerly`), or an entry that only the older edition has and one that only
//! the newer has state the same title and figures, and no other entry of either edition does.

use std::collections::BTreeMap;

use super::edition::{Entries, entries};
use super::entry::{Entry, Value, list, place};
use super::kind::{Kind, Thing};
use crate::knowledge::{Family, Knowledge, Reading};

/// An entry of the older edition, and what the newer one calls it.
pub(super) type Renamed = (Thing, String);

/// The fields whose texts say what an entry is.
const TELLING: [&str; 8] = [
    "title",
    "ask",
    "text",
    "outcomes",
    "event_words",
    "readings",
    "gate",
    "event",
];

/// The older edition in the names of the newer one, and what had other names.
///
/// An entry states the names of others: each round sees those already found by their newer names.
pub(super) fn in_newer_names(old: &Knowledge, now: &Entries) -> (Knowledge, Vec<Renamed>) {
    let (mut old, mut renamed) = (old.clone(), Vec::new());
    loop {
        let was = entries(&old);
        let said = Some(said(&was, now)).filter(|said| !said.is_empty());
        let found = said.unwrap_or_else(|| certain(&was, now));
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
        let mut former = list(entry, "formerly").iter().map(|name| Thing {
            name: name.clone(),
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
        for (thing, identity) in only(here, there) {
            let key = (thing.kind, thing.family, identity);
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
fn only(here: &Entries, there: &Entries) -> Vec<(Thing, String)> {
    let mut only = Vec::new();
    for (thing, entry) in here {
        let Some(other) = there.get(thing) else {
            // These are named by their own content.
            if !matches!(thing.kind, Kind::Ambiguity | Kind::TroubleCode) {
                only.push((thing.clone(), identity(entry, &[])));
            }
            continue;
        };
        let outcomes = list(entry, "outcomes").iter();
        for outcome in outcomes.filter(|outcome| !list(other, "outcomes").contains(outcome)) {
            let is_normal = entry.get(&place("normal", &[])) == Some(&outcome.into());
            let name = format!("{}/{outcome}", thing.name);
            let outcome = identity(entry, std::slice::from_ref(outcome));
            only.push((
                Thing::new(Kind::Outcome, thing.family.as_deref(), &name),
                format!("{} {is_normal} {outcome}", thing.name),
            ));
        }
    }
    only
}

/// The title and figures of an entry, or of one of its parts.
fn identity(entry: &Entry, part: &[String]) -> String {
    let all = entry.iter().filter_map(|((field, at), value)| {
        let at = at.strip_prefix(part)?;
        let says = TELLING.contains(&field.as_str()) || matches!(value, Value::Figure(_));
        says.then_some((field, at, value))
    });
    format!("{:?}", all.collect::<Vec<_>>())
}

/// Gives an entry another name, also where it is named by its name and not by an id.
fn rename(knowledge: &mut Knowledge, thing: &Thing, now: &str) {
    // An outcome is named `measurement/outcome`, and renamed in its measurement.
    let (measurement, was) = thing.name.split_once('/').unwrap_or(("", &thing.name));
    let (_, now) = now.split_once('/').unwrap_or(("", now));
    let of = |family: &&mut Family| thing.family.as_ref().is_none_or(|of| *of == family.name);
    let families = knowledge.families.iter_mut().filter(of);
    let vehicles = knowledge.vehicles.iter_mut();
    let mut names: Vec<&mut String> = Vec::new();
    match thing.kind {
        Kind::Family => {
            names.extend(families.map(|family| &mut family.name));
            names.extend(vehicles.map(|vehicle| &mut vehicle.family));
        }
        Kind::Vehicle => {
            names.extend(vehicles.map(|vehicle| &mut vehicle.name));
            for family in families {
                names.extend(family.cases.iter_mut().flat_map(|case| &mut case.vehicle));
                let exercises = family.exercises.iter_mut();
                names.extend(exercises.flat_map(|exercise| &mut exercise.vehicle));
            }
        }
        Kind::SharedPart => {
            let symptoms = families.flat_map(|family| &mut family.symptoms);
            names.extend(symptoms.flat_map(|symptom| symptom.tree.shared_names()));
        }
        Kind::Outcome => names.extend(families.flat_map(|family| outcomes(family, measurement))),
        kind => names.extend(families.flat_map(|family| kind.names(family))),
    }
    for name in names.into_iter().filter(|name| *name == was) {
        now.clone_into(name);
    }
}

/// The outcomes of a measurement by name, also where trouble codes and cases name them.
fn outcomes<'f>(family: &'f mut Family, measurement: &str) -> Vec<&'f mut String> {
    let Some(id) = family.measurement_named(measurement) else {
        return Vec::new();
    };
    let measurement = &mut family.measurements[id.index()];
    let is_of_codes = matches!(measurement.reading, Reading::Codes);
    let codes = family.codes.values_mut().filter(|_| is_of_codes);
    let readings = family.cases.iter_mut().flat_map(|case| &mut case.readings);
    let readings = readings.filter(|reading| reading.measurement == id);
    let outcomes = measurement.outcomes.iter_mut();
    outcomes
        .map(|outcome| &mut outcome.name)
        .chain(codes.map(|code| &mut code.kind))
        .chain(readings.map(|reading| &mut reading.value))
        .collect()
}
