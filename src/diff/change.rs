//! Every difference between what two editions state.

use std::collections::BTreeSet;

use serde::{Serialize, Serializer};
use serde_json::{Value, json};

use super::entries::Entries;
use super::facts::Facts;
use super::field::{effect, line_word};
use super::list::{ListDiffers, differs};
use super::renames::Renamed;
use super::thing::{Effect, Kind, Thing};

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
        states: Facts,
    },
    /// It is no more.
    Removed {
        /// What it stated.
        #[serde(serialize_with = "one_by_one")]
        states: Facts,
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

impl What {
    /// Its place among the differences of one entry.
    fn order(&self) -> (usize, &str, &[String]) {
        match self {
            Self::Added { .. } | Self::Removed { .. } => (0, "", &[]),
            Self::Renamed { .. } => (1, "", &[]),
            Self::Stated { field, at, .. } => (2, field, at),
            Self::Listed { field, .. } => (2, field, &[]),
        }
    }

    /// What it bears on in an entry of a kind.
    fn bears_on(&self, kind: Kind) -> Effect {
        match self {
            Self::Added { .. } | Self::Removed { .. } => kind.effect(),
            Self::Renamed { .. } => Effect::Words,
            Self::Stated { field, .. } | Self::Listed { field, .. } => effect(kind, field),
        }
    }
}

/// What an entry states, one value at a time.
fn one_by_one<S: Serializer>(facts: &Facts, serializer: S) -> Result<S::Ok, S::Error> {
    let all = differences(&Facts::default(), facts).into_iter();
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
    let mut say = |thing: Thing, what: What| {
        let bears_on = what.bears_on(thing.kind);
        changes.push(Change {
            bears_on,
            thing,
            what,
        });
    };
    for (was, now) in renamed {
        let thing = Thing::new(was.kind, was.family.as_deref(), now);
        let from = was.name.clone();
        say(thing, What::Renamed { from });
    }
    for thing in old.keys().chain(new.keys()).collect::<BTreeSet<_>>() {
        // An outcome is reported with its measurement, a family that came or went as a whole.
        let family = thing.family.as_deref();
        let family = family.map(|name| Thing::new(Kind::Family, None, name));
        let alone = |family| !old.contains_key(family) || !new.contains_key(family);
        if thing.kind == Kind::Outcome || family.as_ref().is_some_and(alone) {
            continue;
        }
        match (old.get(thing), new.get(thing).cloned()) {
            (Some(was), Some(now)) => {
                for what in differences(was, &now) {
                    say(thing.clone(), what);
                }
            }
            (Some(was), None) => {
                let states = was.clone();
                say(thing.clone(), What::Removed { states });
            }
            (None, Some(states)) => say(thing.clone(), What::Added { states }),
            (None, None) => {}
        }
    }
    changes.sort_by(|a, b| {
        let (one, other) = (
            (a.bears_on, &a.thing, a.what.order()),
            (b.bears_on, &b.thing, b.what.order()),
        );
        one.cmp(&other)
    });
    changes
}

/// The differences of one entry, value by value.
fn differences(was: &Facts, now: &Facts) -> Vec<What> {
    let (mut found, told) = events(was, now);
    for key in was.0.keys().chain(now.0.keys()).collect::<BTreeSet<_>>() {
        let (field, at) = key;
        // An event is told gate by gate, or whole where only one edition has it; the entries of a family one by one.
        let of_event = |event: &Vec<String>| {
            at.starts_with(event)
                && (at.len() > event.len() || !matches!(field.as_str(), "cause" | "part"))
        };
        if matches!(field.as_str(), "event" | "entries") || told.iter().any(of_event) {
            continue;
        }
        let field = field.clone();
        match (was.0.get(key), now.0.get(key)) {
            (Some(was), Some(now)) if same(was, now) => {}
            (Some(Value::Array(was)), Some(Value::Array(now))) => {
                let differs = differs(was, now, line_word(&field).is_some());
                // A set-up that comes or goes is told as an entry.
                if field != "set_up_order" || differs.reordered.is_some() {
                    found.push(What::Listed { field, differs });
                }
            }
            (was, now) => found.push(What::Stated {
                field,
                at: at.clone(),
                was: was.cloned(),
                now: now.cloned(),
            }),
        }
    }
    found
}

/// The same text, list or number; the source shown beside a number is no part of it.
fn same(was: &Value, now: &Value) -> bool {
    match (was.get("number"), now.get("number")) {
        (Some(before), Some(after)) => before == after && was["unit"] == now["unit"],
        _ => was == now,
    }
}

/// The events of a tree that only one edition has, each whole; of these, one of each edition are the same under other
/// words where they stand in the same place and differ in nothing else. And where they all stand.
fn events(was: &Facts, now: &Facts) -> (Vec<What>, Vec<Vec<String>>) {
    let only = |here: &Facts, there: &Facts| -> Vec<(Vec<String>, Value)> {
        let mut only: Vec<(Vec<String>, Value)> = Vec::new();
        for (key, structure) in &here.0 {
            let (field, at) = key;
            let told = || only.iter().any(|(above, _)| at.starts_with(above));
            if field == "event" && !at.is_empty() && !there.0.contains_key(key) && !told() {
                only.push((at.clone(), structure.clone()));
            }
        }
        only
    };
    let strength = |facts: &Facts, at: &[String]| {
        let key = ("event_strength".to_owned(), at.to_vec());
        facts.0.get(&key).cloned()
    };
    let (mut went, came) = (only(was, now), only(now, was));
    let told = went.iter().chain(&came).map(|(at, _)| at.clone()).collect();
    let mut found = Vec::new();
    let mut say = |field: &str, at, was, now| {
        found.push(What::Stated {
            field: field.to_owned(),
            at,
            was,
            now,
        });
    };
    for (at, structure) in came {
        let above = at.len() - 1;
        let other = went.iter().position(|(before, other)| {
            before.len() == at.len()
                && before[..above] == at[..above]
                && *other == structure
                && strength(was, before) == strength(now, &at)
        });
        match other.map(|place| went.remove(place)) {
            Some((before, _)) => {
                let words = |at: &[String]| at.last().map(|words| words.as_str().into());
                let (was, now) = (words(&before), words(&at));
                say("event_words", at, was, now);
            }
            None => say("event", at, None, Some(structure)),
        }
    }
    for (at, structure) in went {
        say("event", at, Some(structure), None);
    }
    (found, told)
}
