//! Every difference between what two editions state.

use std::collections::BTreeSet;

use serde::{Serialize, Serializer};
use serde_json::json;

use super::edition::Entries;
use super::entry::{Entry, IN_WORDS, Value};
use super::field::{effect, of_lines};
use super::kind::{Effect, Kind, Thing};
use super::list::{ListDiffers, differs};
use super::renames::Renamed;

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
        states: Entry,
    },
    /// It is no more.
    Removed {
        /// What it stated.
        #[serde(serialize_with = "one_by_one")]
        states: Entry,
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
            What::Added { .. } | What::Removed { .. } => thing.kind.told().effect,
            What::Renamed { .. } => Effect::Words,
            What::Stated { field, at, .. } => effect(field, at),
            What::Listed { field, .. } => effect(field, &[]),
        };
        Self {
            bears_on,
            thing: thing.clone(),
            what,
        }
    }
}

/// What an entry states, one value at a time.
fn one_by_one<S: Serializer>(entry: &Entry, serializer: S) -> Result<S::Ok, S::Error> {
    let all = entry.iter().filter(|((field, _), _)| field != IN_WORDS);
    serializer.collect_seq(
        all.map(|((field, at), value)| json!({"field": field, "at": at, "value": value})),
    )
}

/// Every difference: what moves the belief first, then limits, costs and words; in each by kind of
/// entry and by name. `old` is in the names of the newer edition.
pub(super) fn changes(old: &Entries, new: &Entries, renamed: &[Renamed]) -> Vec<Change> {
    let mut changes = Vec::new();
    for (was, name) in renamed {
        let (from, name) = (was.name.clone(), name.clone());
        let thing = Thing {
            name,
            ..was.clone()
        };
        changes.push(Change::new(&thing, What::Renamed { from }));
    }
    for thing in old.keys().chain(new.keys()).collect::<BTreeSet<_>>() {
        // A family that came or went is told as a whole.
        let family = thing.family.as_deref();
        let family = family.map(|name| Thing::new(Kind::Family, None, name));
        if family.is_some_and(|family| old.contains_key(&family) != new.contains_key(&family)) {
            continue;
        }
        let found = match (old.get(thing), new.get(thing)) {
            (Some(was), Some(now)) => differences(was, now),
            (Some(was), None) => vec![What::Removed {
                states: was.clone(),
            }],
            (None, now) => {
                let states = now.cloned().unwrap_or_default();
                vec![What::Added { states }]
            }
        };
        changes.extend(found.into_iter().map(|what| Change::new(thing, what)));
    }
    changes.sort_by(|a, b| (a.bears_on, &a.thing).cmp(&(b.bears_on, &b.thing)));
    changes
}

/// The differences of one entry, value by value.
fn differences(was: &Entry, now: &Entry) -> Vec<What> {
    let mut found = Vec::new();
    let (went, came) = (lone_events(was, now), lone_events(now, was));
    // The same event under other words feeds the same gate and differs in nothing else.
    let alike = |before: &[String], after: &[String]| {
        let mut fields = ["event", "event_strength"].into_iter();
        let of = |at: &[String], field: &str| (field.to_owned(), at.to_vec());
        gate_of(before) == gate_of(after)
            && fields.all(|field| was.get(&of(before, field)) == now.get(&of(after, field)))
    };
    for place @ (field, at) in was.keys().chain(now.keys()).collect::<BTreeSet<_>>() {
        let gate = match field.as_str() {
            "cause" | "part" | "event" => gate_of(at),
            _ => at,
        };
        let mut lone = went.iter().chain(&came);
        if field == IN_WORDS || lone.any(|event| gate.starts_with(event)) {
            continue;
        }
        let stated = |field: &str, was, now| What::Stated {
            field: field.to_owned(),
            at: at.clone(),
            was,
            now,
        };
        let is_event = field == "event";
        match (was.get(place), now.get(place)) {
            (was, now) if was == now => {}
            // Told by what feeds it, or under its new words.
            (Some(_), Some(_)) if is_event => {}
            (Some(_), None) if is_event && came.iter().any(|after| alike(at, after)) => {}
            (None, Some(_))
                if is_event && let Some(before) = went.iter().find(|event| alike(event, at)) =>
            {
                let [before, after] =
                    [before.last(), at.last()].map(|words| words.map(Value::from));
                found.push(stated("event_words", before, after));
            }
            (Some(Value::List(was)), Some(Value::List(now))) => {
                let differs = differs(was, now, of_lines(field).is_some());
                // A set-up that comes or goes is told as an entry.
                if field != "set_up_order" || differs.reordered.is_some() {
                    let field = field.clone();
                    found.push(What::Listed { field, differs });
                }
            }
            (was, now) => found.push(stated(field, was.cloned(), now.cloned())),
        }
    }
    found
}

/// The events that only one of two trees has: the first on the way down is told whole.
fn lone_events<'e>(here: &'e Entry, there: &Entry) -> Vec<&'e [String]> {
    let events = here.keys().filter(|(field, _)| field == "event");
    let lone = events.filter(|place| !there.contains_key(*place));
    lone.map(|(_, at)| at.as_slice()).collect()
}

/// The events that lead to the gate that an input feeds.
fn gate_of(input: &[String]) -> &[String] {
    input.split_last().map_or(&[], |(_, gate)| gate)
}
