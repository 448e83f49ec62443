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
            EACH => each(was, now, &mut found),
            _ => values(field, &[], was, now, &mut found),
        }
    }
    found
}

/// What differs in the named parts of an entry.
fn each(was: &Value, now: &Value, found: &mut Vec<What>) {
    for part in keys(was, now) {
        let (was, now) = (&was[part], &now[part]);
        for field in keys(was, now) {
            values(field, &[part], &was[field], &now[field], found);
        }
    }
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
                let at = [at, &[key]].concat();
                values(field, &at, &was[key], &now[key], found);
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
    let (mut went, mut came) = (Vec::new(), Vec::new());
    for name in keys(was, now) {
        let (was, now, at) = (&was[name], &now[name], [at, &[name]].concat());
        match (was, now) {
            (Value::Null, now) => came.push((at, now)),
            (was, Value::Null) => went.push((at, was)),
            (was, now) => {
                let (before, after) = (&was["strength"], &now["strength"]);
                values("event_strength", &at, before, after, found);
                gates(&at, was, now, found);
            }
        }
    }
    for (at, event) in came {
        let alike = |(_, other): &(Vec<&String>, &Value)| {
            other["words"] == event["words"] && other["strength"] == event["strength"]
        };
        let other = went.iter().position(alike);
        found.push(match other.map(|place| went.remove(place)) {
            Some((before, _)) => {
                let words = [&before, &at].map(|at| json!(at.last()));
                stated("event_words", &at, &words[0], &words[1])
            }
            None => stated("event", &at, &Value::Null, &event["words"]),
        });
    }
    for (at, event) in went {
        found.push(stated("event", &at, &event["words"], &Value::Null));
    }
}
