//! The same entry under another id: reported only where it is certain.
//!
//! The newer edition says so (`formerly`), or an entry that only the older edition has and one that only
//! the newer has state the same title and figures, and no other entry of either edition does.

use std::collections::BTreeMap;

use serde_json::Value;

use super::entries::{Entries, case_name, entries};
use super::facts::Facts;
use super::thing::{Kind, Thing};
use crate::knowledge::{Family, Knowledge, Reading};

/// An entry of the older edition, and what the newer one calls it.
pub(super) type Renamed = (Thing, String);

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
    came.filter_map(|(thing, facts)| {
        let names = facts.get("formerly")?.as_array()?.iter();
        let mut former = names.filter_map(Value::as_str).map(|name| Thing {
            name: name.to_owned(),
            ..thing.clone()
        });
        let former = former.find(|former| was.contains_key(former) && !now.contains_key(former))?;
        Some((former, thing.name.clone()))
    })
    .collect()
}

/// What states the same, and nothing else does.
fn certain(was: &Entries, now: &Entries) -> Vec<Renamed> {
    let mut same: BTreeMap<_, [Vec<&Thing>; 2]> = BTreeMap::new();
    for (side, here, there) in [(0, was, now), (1, now, was)] {
        for (thing, facts) in here.iter().filter(|(thing, _)| !there.contains_key(*thing)) {
            if let Some(identity) = identity(thing.kind, facts) {
                let key = (thing.kind, &thing.family, identity);
                same.entry(key).or_default()[side].push(thing);
            }
        }
    }
    let pairs = same
        .values()
        .filter_map(|[was, now]| match (was.as_slice(), now.as_slice()) {
            ([was], [now]) => Some(((*was).clone(), now.name.clone())),
            _ => None,
        });
    pairs.collect()
}

/// The title and figures of an entry, written out; `None` for what its own content names.
fn identity(kind: Kind, facts: &Facts) -> Option<String> {
    let says_what_it_is = |field: &str| {
        matches!(
            field,
            "title" | "ask" | "text" | "outcomes" | "of" | "event" | "event_words" | "readings"
        )
    };
    let mut facts = facts.clone();
    facts
        .0
        .retain(|(field, _), value| value.is_object() || says_what_it_is(field));
    (!matches!(kind, Kind::Ambiguity | Kind::Code)).then(|| format!("{facts:?}"))
}

/// Gives an entry another name, also where it is named by its name and not by an id.
fn rename(knowledge: &mut Knowledge, thing: &Thing, now: &str) {
    let (families, vehicles) = (&mut knowledge.families, &mut knowledge.vehicles);
    let (mut was, mut now) = (thing.name.as_str(), now);
    let names: Vec<&mut String> = match thing.kind {
        Kind::Family => {
            let of = vehicles.iter_mut().map(|vehicle| &mut vehicle.family);
            families
                .iter_mut()
                .map(|family| &mut family.name)
                .chain(of)
                .collect()
        }
        Kind::Vehicle => {
            let cases = families.iter_mut().flat_map(|family| &mut family.cases);
            let on = cases.filter_map(|case| case.vehicle.as_mut());
            vehicles
                .iter_mut()
                .map(|vehicle| &mut vehicle.name)
                .chain(on)
                .collect()
        }
        kind => {
            let mut families = families.iter_mut();
            let Some(family) = families.find(|family| thing.family.as_ref() == Some(&family.name))
            else {
                return;
            };
            if let (Kind::Outcome, Some(old), Some(new)) =
                (kind, was.split_once('/'), now.split_once('/'))
            {
                (was, now) = (old.1, new.1);
                outcome_names(family, old.0)
            } else {
                names(family, kind, was, now)
            }
        }
    };
    for name in names.into_iter().filter(|name| *name == was) {
        now.clone_into(name);
    }
}

/// The names of the entries of a kind; what is named in another way is renamed at once.
fn names<'f>(family: &'f mut Family, kind: Kind, was: &str, now: &str) -> Vec<&'f mut String> {
    macro_rules! names {
        ($list:ident) => {
            family.$list.iter_mut().map(|item| &mut item.name).collect()
        };
    }
    match kind {
        Kind::Cause => names!(causes),
        Kind::Symptom => names!(symptoms),
        Kind::Measurement => names!(measurements),
        Kind::Instrument => names!(instruments),
        Kind::Condition => names!(conditions),
        Kind::Signal => names!(signals),
        Kind::Repair => names!(repairs),
        Kind::SetUp => names!(set_ups),
        Kind::Caution => names!(cautions),
        Kind::Care => names!(care),
        Kind::SharedPart => {
            for symptom in &mut family.symptoms {
                symptom.tree.rename_shared(was, now);
            }
            Vec::new()
        }
        Kind::Case => {
            let mut cases = family.cases.iter_mut();
            if let Some(case) = cases.find(|case| case_name(case) == was) {
                now.clone_into(&mut case.file);
            }
            Vec::new()
        }
        _ => Vec::new(),
    }
}

/// Where the outcomes of a measurement are named.
fn outcome_names<'f>(family: &'f mut Family, measurement: &str) -> Vec<&'f mut String> {
    let Some(id) = family.measurement_named(measurement) else {
        return Vec::new();
    };
    let measurement = &mut family.measurements[id.index()];
    let are_codes = matches!(measurement.reading, Reading::Codes);
    let codes = family.codes.values_mut().filter(|_| are_codes);
    let readings = family.cases.iter_mut().flat_map(|case| &mut case.readings);
    let readings = readings.filter(|reading| reading.measurement == id);
    let outcomes = measurement.outcomes.iter_mut();
    outcomes
        .map(|outcome| &mut outcome.name)
        .chain(codes.map(|code| &mut code.kind))
        .chain(readings.map(|reading| &mut reading.value))
        .collect()
}
