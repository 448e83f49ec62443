//! The same entry under another id: reported only where it is certain.
//!
//! The newer edition says so (`formerly`), or an entry that only the older edition has and one that only
//! the newer has state the same title and figures, and no other entry of either edition does.

use std::collections::BTreeMap;

use serde_json::Value;

use super::names::Renames;
use super::stated::{Facts, things};
use super::thing::{Kind, Thing};
use crate::knowledge::Knowledge;

/// What is called otherwise in the newer edition.
///
/// An entry states the ids of others: each round sees those already found by their newer names.
pub(super) fn between(old: &Knowledge, new: &Knowledge) -> Renames {
    let now = things(new, &Renames::default());
    let mut renames = Renames::default();
    loop {
        let was = things(old, &renames);
        let mut found = said(&was, &now);
        if found.is_empty() {
            found = certain(&was, &now);
        }
        if found.is_empty() {
            return renames;
        }
        renames.0.extend(found);
    }
}

type Things = BTreeMap<Thing, Facts>;

/// What the newer edition itself says an entry was called.
fn said(was: &Things, now: &Things) -> BTreeMap<Thing, String> {
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
fn certain(was: &Things, now: &Things) -> BTreeMap<Thing, String> {
    let mut alike: BTreeMap<_, [Vec<&Thing>; 2]> = BTreeMap::new();
    for (side, here, there) in [(0, was, now), (1, now, was)] {
        for (thing, facts) in here.iter().filter(|(thing, _)| !there.contains_key(*thing)) {
            if let Some(identity) = identity(thing.kind, facts) {
                let key = (thing.kind, &thing.family, identity);
                alike.entry(key).or_default()[side].push(thing);
            }
        }
    }
    let pairs = alike
        .values()
        .filter_map(|[was, now]| match (was.as_slice(), now.as_slice()) {
            ([was], [now]) => Some(((*was).clone(), now.name.clone())),
            _ => None,
        });
    pairs.collect()
}

/// The title and figures of an entry, written out; `None` for what its own content names.
fn identity(kind: Kind, facts: &Facts) -> Option<String> {
    let fields: &[&str] = match kind {
        Kind::Ambiguity | Kind::Code => return None,
        Kind::Family => &["title", "notice", "worth", "labour_rate", "escalation"],
        Kind::SetUp => &["title", "minutes", "group", "equipment"],
        Kind::Condition => &["ask", "answer", "unit", "holds", "source"],
        Kind::Repair => &["title", "minutes", "parts", "verify"],
        Kind::Measurement => &["title", "ask", "minutes", "outcomes", "outcome", "source"],
        Kind::Symptom => &["title", "gate", "cause", "part", "event"],
        _ => &[],
    };
    let mut facts = facts.clone();
    facts.retain(|field, _| {
        field != "formerly" && (fields.is_empty() || fields.contains(&field.as_str()))
    });
    Some(Value::from(facts).to_string())
}
