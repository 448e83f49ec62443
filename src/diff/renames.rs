//! The same entry under another id: reported only where it is certain.
//!
//! The newer edition says so (`formerly`), or an entry that only the older edition has and one that only
//! the newer has state the same title and figures, and no other entry of either edition does.

use std::collections::BTreeMap;

use serde_json::Value;

use super::entries::{Entries, case_name, entries};
use super::facts::Facts;
use super::thing::{Kind, Thing};
use crate::knowledge::{Knowledge, Reading};

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
    let was = thing.name.as_str();
    let set = |name: &mut String| {
        if name == was {
            now.clone_into(name);
        }
    };
    match thing.kind {
        Kind::Family => {
            knowledge
                .families
                .iter_mut()
                .for_each(|family| set(&mut family.name));
            knowledge
                .vehicles
                .iter_mut()
                .for_each(|vehicle| set(&mut vehicle.family));
        }
        Kind::Vehicle => {
            knowledge
                .vehicles
                .iter_mut()
                .for_each(|vehicle| set(&mut vehicle.name));
            let cases = knowledge
                .families
                .iter_mut()
                .flat_map(|family| &mut family.cases);
            cases.filter_map(|case| case.vehicle.as_mut()).for_each(set);
        }
        _ => {}
    }
    let mut families = knowledge.families.iter_mut();
    let Some(family) = families.find(|family| thing.family.as_ref() == Some(&family.name)) else {
        return;
    };
    macro_rules! set {
        ($list:ident) => {
            family.$list.iter_mut().for_each(|item| set(&mut item.name))
        };
    }
    match thing.kind {
        Kind::Cause => set!(causes),
        Kind::Symptom => set!(symptoms),
        Kind::Measurement => set!(measurements),
        Kind::Instrument => set!(instruments),
        Kind::Condition => set!(conditions),
        Kind::Repair => set!(repairs),
        Kind::SetUp => set!(set_ups),
        Kind::Caution => set!(cautions),
        Kind::Care => set!(care),
        Kind::SharedPart => {
            for symptom in &mut family.symptoms {
                symptom.tree.rename_shared(was, now);
            }
        }
        Kind::Case => {
            for case in family
                .cases
                .iter_mut()
                .filter(|case| case_name(case) == was)
            {
                now.clone_into(&mut case.file);
            }
        }
        Kind::Outcome => {
            let (Some((of, was)), Some((_, now))) = (was.split_once('/'), now.split_once('/'))
            else {
                return;
            };
            let set = |name: &mut String| {
                if name == was {
                    now.clone_into(name);
                }
            };
            let Some(id) = family.measurement_named(of) else {
                return;
            };
            let measurement = &mut family.measurements[id.index()];
            measurement
                .outcomes
                .iter_mut()
                .for_each(|item| set(&mut item.name));
            if matches!(measurement.reading, Reading::Codes) {
                family
                    .codes
                    .values_mut()
                    .for_each(|code| set(&mut code.kind));
            }
            let readings = family.cases.iter_mut().flat_map(|case| &mut case.readings);
            let readings = readings.filter(|reading| reading.measurement == id);
            readings.for_each(|reading| set(&mut reading.value));
        }
        Kind::Family | Kind::Vehicle | Kind::Ambiguity | Kind::Code => {}
    }
}
