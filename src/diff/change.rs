//! Every difference between what two editions state.

use std::collections::BTreeSet;

use serde::{Serialize, Serializer};
use serde_json::{Value, json};

use super::edition::{EACH, Entries};
use super::field::{effect, line_word};
use super::list::{ListDiffers, differs};
use super::renames::Renamed;
use super::thing::{Effect, Kind, Thing};
use super::value::{is_branch, keys, same};

/// One difference.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Change {
    /// What it bears on.
    pub bears_on: Effect,
    /// What differs.
    #[serde(flatten)]
    pub thing: Thing,
    /// How.
    #[serde(flatten)]
    pub what: What,
}

/// How an entry differs.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "change", rename_all = "lowercase")]
pub enum What {
    /// It is new.
    Added {
        /// What it states.
        #[serde(serialize_with = "one_by_one")]
        states: Value,
    },
    /// It is no more.
    Removed {
        /// What it stated.
        #[serde(serialize_with = "one_by_one")]
        states: Value,
    },
    /// It has another id.
    Renamed {
        /// The id it had.
        from: String,
    },
    /// It states something else; `None` where it states nothing.
    Stated {
        /// The field.
        field: String,
        /// Where in the field: outcome and cause of a `shows` figure, the events that lead to a gate.
        at: Vec<String>,
        /// What was stated.
        was: Option<Value>,
        /// What is stated now.
        now: Option<Value>,
    },
    /// A list of it differs.
    Listed {
        /// The field.
        field: String,
        /// What differs in it.
        #[serde(flatten)]
        differs: ListDiffers,
    },
}

impl Change {
    fn new(thing: &Thing, what: What) -> Self {
        let bears_on = match &what {
            What::Added { .. } | What::Removed { .. } => thing.kind.effect(),
            What::Renamed { .. } => Effect::Words,
            What::Stated { field, .. } | What::Listed { field, .. } => effect(thing.kind, field),
        };
        Self {
            bears_on,
            thing: thing.clone(),
            what,
        }
    }

    /// Its place among the others.
    fn place(&self) -> impl Ord {
        let within: (usize, &str, &[String]) = match &self.what {
            What::Added { .. } | What::Removed { .. } => (0, "", &[]),
            What::Renamed { .. } => (1, "", &[]),
            What::Stated { field, at, .. } => (2, field, at),
            What::Listed { field, .. } => (2, field, &[]),
        };
        (self.bears_on, &self.thing, within)
    }
}

/// What an entry states, one value at a time.
fn one_by_one<S: Serializer>(entry: &Value, serializer: S) -> Result<S::Ok, S::Error> {
    let all = differences(&Value::Null, entry).into_iter();
    serializer.collect_seq(all.filter_map(|what| match what {
        What::Stated { field, at, now, .. } => {
            Some(json!({"field": field, "at": at, "value": now}))
        }
        _ => None,
    }))
}

/// Every difference: what moves the belief first, then limits, costs and words; in each by kind of
/// entry and by name. `old` is in the names of the newer edition.
pub(super) fn changes(old: &Entries, new: &Entries, renamed: &[Renamed]) -> Vec<Change> {
    let mut changes = Vec::new();
    for (was, now) in renamed {
        let from = was.name.clone();
        let thing = Thing::new(was.kind, was.family.as_deref(), now);
        changes.push(Change::new(&thing, What::Renamed { from }));
    }
    for thing in old.keys().chain(new.keys()).collect::<BTreeSet<_>>() {
        // A family that came or went is told as a whole.
        let family = thing.family.as_deref();
        let family = family.map(|name| Thing::new(Kind::Family, None, name));
        let alone = |family| !old.contains_key(family) || !new.contains_key(family);
        if family.as_ref().is_some_and(alone) {
            continue;
        }
        let found = match (old.get(thing).cloned(), new.get(thing).cloned()) {
            (Some(was), Some(now)) => differences(&was, &now),
            (Some(states), None) => vec![What::Removed { states }],
            (None, Some(states)) => vec![What::Added { states }],
            (None, None) => Vec::new(),
        };
        changes.extend(found.into_iter().map(|what| Change::new(thing, what)));
    }
    changes.sort_by(|a, b| a.place().cmp(&b.place()));
    changes
}

/// The differences of one entry, value by value.
fn differences(was: &Value, now: &Value) -> Vec<What> {
    let mut found = Vec::new();
    for field in keys(was, now) {
        let (was, now) = (&was[field], &now[field]);
        match field.as_str() {
            // The entries of a family are told one by one.
            "entries" => {}
            "tree" => gates(&[], was, now, &mut found),
            EACH => {
                for part in keys(was, now) {
                    for field in keys(&was[part], &now[part]) {
                        let (was, now) = (&was[part][field], &now[part][field]);
                        values(field, &[part], was, now, &mut found);
                    }
                }
            }
            _ => values(field, &[], was, now, &mut found),
        }
    }
    found
}

/// What differs in a field, from a place in it on.
fn values(field: &str, at: &[&String], was: &Value, now: &Value, found: &mut Vec<What>) {
    match (was, now) {
        _ if same(was, now) => {}
        (Value::Array(was), Value::Array(now)) => {
            let differs = differs(was, now, line_word(field).is_some());
            // A set-up that comes or goes is told as an entry.
            if field != "set_up_order" || differs.reordered.is_some() {
                let field = field.to_owned();
                found.push(What::Listed { field, differs });
            }
        }
        _ if is_branch(was) || is_branch(now) => {
            for key in keys(was, now) {
                values(field, &[at, &[key]].concat(), &was[key], &now[key], found);
            }
        }
        _ => found.push(stated(field, at, was, now)),
    }
}

fn stated(field: &str, at: &[&String], was: &Value, now: &Value) -> What {
    let side = |value: &Value| Some(value).filter(|value| !value.is_null()).cloned();
    What::Stated {
        field: field.to_owned(),
        at: at.iter().map(|name| (*name).clone()).collect(),
        was: side(was),
        now: side(now),
    }
}

/// What differs from a gate of a tree on, reached by these events.
///
/// An event that only one edition has is told whole; of these, one of each edition are the same under other words
/// where they feed the same gate and differ in nothing else.
fn gates(at: &[&String], was: &Value, now: &Value, found: &mut Vec<What>) {
    for field in ["gate", "cause", "part"] {
        values(field, at, &was[field], &now[field], found);
    }
    let (was, now) = (&was["event"], &now["event"]);
    let all = keys(was, now).into_iter();
    let (mut went, mut came) = (Vec::new(), Vec::new());
    for name in all {
        let (was, now, at) = (&was[name], &now[name], [at, &[name]].concat());
        if now.is_null() {
            went.push((name, was));
        } else if was.is_null() {
            came.push((name, now));
        } else {
            values(
                "event_strength",
                &at,
                &was["strength"],
                &now["strength"],
                found,
            );
            gates(&at, was, now, found);
        }
    }
    for (name, event) in came {
        let at = [at, &[name]].concat();
        let alike = |(_, other): &(&String, &Value)| {
            other["words"] == event["words"] && other["strength"] == event["strength"]
        };
        found.push(
            match went.iter().position(alike).map(|place| went.remove(place)) {
                Some((before, _)) => stated("event_words", &at, &json!(before), &json!(name)),
                None => stated("event", &at, &Value::Null, &event["words"]),
            },
        );
    }
    for (name, event) in went {
        found.push(stated(
            "event",
            &[at, &[name]].concat(),
            &event["words"],
            &Value::Null,
        ));
    }
}
