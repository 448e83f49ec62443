//! Every difference between what two editions state: one comparison of trees of values.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Serialize, Serializer};
use serde_json::{Value, json};

use super::field::{Effect, effect, effect_of_whole, line_word};
use super::list::{ListDiffers, differs};
use super::names::Renames;
use super::stated::Facts;
use super::thing::{Kind, Thing};

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

/// How an entry differs. A value is a text, a list of texts, or an object of `number`, `unit` and,
/// for a limit, `source`.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "change", rename_all = "lowercase")]
pub enum What {
    /// It is new.
    Added {
        /// What it states, by field.
        #[serde(serialize_with = "one_by_one")]
        states: Facts,
    },
    /// It is no more.
    Removed {
        /// What it stated, by field.
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
}

/// What an entry states, one value at a time.
fn one_by_one<S: Serializer>(facts: &Facts, serializer: S) -> Result<S::Ok, S::Error> {
    let nothing = Thing::new(Kind::Family, None, "");
    let mut walk = Walk {
        thing: &nothing,
        changes: Vec::new(),
    };
    walk.facts(&[], &Facts::new(), facts);
    serializer.collect_seq(walk.changes.into_iter().map(|change| match change.what {
        What::Stated { field, at, now, .. } => json!({"field": field, "at": at, "value": now}),
        _ => Value::Null,
    }))
}

/// Every difference: what moves the belief first, then limits, costs and words; in each by kind of
/// entry and by name.
pub(super) fn changes(
    old: &BTreeMap<Thing, Facts>,
    new: &BTreeMap<Thing, Facts>,
    renames: &Renames,
) -> Vec<Change> {
    let renamed = renames.0.iter().map(|(was, now)| Change {
        bears_on: Effect::Words,
        thing: Thing::new(was.kind, was.family.as_deref(), now),
        what: What::Renamed {
            from: was.name.clone(),
        },
    });
    let mut changes: Vec<Change> = renamed.collect();
    for thing in old.keys().chain(new.keys()).collect::<BTreeSet<_>>() {
        // An outcome is reported with its measurement, a family that came or went as a whole.
        let family = thing
            .family
            .as_ref()
            .map(|name| Thing::new(Kind::Family, None, name));
        let alone = |family| !old.contains_key(family) || !new.contains_key(family);
        if thing.kind == Kind::Outcome || family.as_ref().is_some_and(alone) {
            continue;
        }
        let mut walk = Walk { thing, changes };
        let whole = effect_of_whole(thing.kind);
        match (old.get(thing).cloned(), new.get(thing).cloned()) {
            (Some(was), Some(now)) => walk.facts(&[], &was, &now),
            (Some(states), None) => walk.say(whole, What::Removed { states }),
            (None, Some(states)) => walk.say(whole, What::Added { states }),
            (None, None) => {}
        }
        changes = walk.changes;
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

/// The differences of one entry.
struct Walk<'w> {
    thing: &'w Thing,
    changes: Vec<Change>,
}

impl Walk<'_> {
    fn say(&mut self, bears_on: Effect, what: What) {
        let thing = self.thing.clone();
        self.changes.push(Change {
            bears_on,
            thing,
            what,
        });
    }

    fn say_stated(&mut self, field: &str, at: Vec<String>, was: Option<Value>, now: Option<Value>) {
        let field = field.to_owned();
        self.say(
            effect(self.thing.kind, &field),
            What::Stated {
                field,
                at,
                was,
                now,
            },
        );
    }

    /// All fields of an entry, of a gate, or of a raw reading.
    fn facts(&mut self, at: &[String], was: &Facts, now: &Facts) {
        for field in was.keys().chain(now.keys()).collect::<BTreeSet<_>>() {
            let (was, now) = (stated(was, field), stated(now, field));
            match field.as_str() {
                // Reported where the family comes in or goes out whole; otherwise entry by entry.
                "entries" => {}
                "event" => self.events(at, &object(was), object(now)),
                "outcome" | "take" | "check" => {
                    let (was, now) = (object(was), object(now));
                    for name in was.keys().chain(now.keys()).collect::<BTreeSet<_>>() {
                        let (was, now) = (object(was.get(name)), object(now.get(name)));
                        self.facts(&below(at, name), &was, &now);
                    }
                }
                _ => self.value(field, at, was, now),
            }
        }
    }

    fn value(&mut self, field: &str, at: &[String], was: Option<&Value>, now: Option<&Value>) {
        let parts = |value: Option<&Value>| {
            value.is_none_or(|value| value.is_object() && value.get("number").is_none())
        };
        match (was, now) {
            _ if number(was) == number(now) && (number(was).is_some() || was == now) => {}
            (Some(Value::Array(was)), Some(Value::Array(now))) => {
                let differs = differs(was, now, line_word(field).is_some());
                let bears_on = effect(self.thing.kind, field);
                self.say(
                    bears_on,
                    What::Listed {
                        field: field.to_owned(),
                        differs,
                    },
                );
            }
            _ if parts(was) && parts(now) => {
                let (was, now) = (object(was), object(now));
                for key in was.keys().chain(now.keys()).collect::<BTreeSet<_>>() {
                    self.value(field, &below(at, key), stated(&was, key), stated(&now, key));
                }
            }
            _ => self.say_stated(field, at.to_vec(), was.cloned(), now.cloned()),
        }
    }

    /// The gates that feed a gate: paired by their words, else where they differ in nothing but these.
    fn events(&mut self, at: &[String], was: &Facts, now: Facts) {
        let mut only_was: Facts = was.clone();
        only_was.retain(|words, _| !now.contains_key(words));
        for (words, event) in now {
            let at = below(at, &words);
            let other = only_was.iter().find(|(_, before)| **before == event);
            if let Some(before) = was.get(&words) {
                self.facts(&at, &object(Some(before)), &object(Some(&event)));
            } else if let Some(before) = other.map(|(words, _)| words.clone()) {
                only_was.remove(&before);
                self.say_stated("event_words", at, Some(before.into()), Some(words.into()));
            } else {
                self.say_stated(
                    "event",
                    at,
                    None,
                    Some(structure(&object(Some(&event))).into()),
                );
            }
        }
        for (words, event) in only_was {
            let full = structure(&object(Some(&event))).into();
            self.say_stated("event", below(at, &words), Some(full), None);
        }
    }
}

/// What a field states; null is nothing.
fn stated<'f>(facts: &'f Facts, field: &str) -> Option<&'f Value> {
    facts.get(field).filter(|value| !value.is_null())
}

fn below(at: &[String], name: &str) -> Vec<String> {
    at.iter().cloned().chain([name.to_owned()]).collect()
}

fn object(value: Option<&Value>) -> Facts {
    value
        .and_then(Value::as_object)
        .cloned()
        .unwrap_or_default()
}

/// A number and its unit: the source shown beside it is no part of it.
fn number(value: Option<&Value>) -> Option<(&Value, &Value)> {
    let value = value?;
    Some((value.get("number")?, value.get("unit")?))
}

/// What feeds a gate, in words: `any of fluid-low, pump-worn at 0.8, Two of three (at least 2 of …)`.
/// Sorted, so that equal structures read the same.
pub(super) fn structure(gate: &Facts) -> String {
    let at = |strength: &Value| match strength["number"].as_f64() {
        Some(strength) if strength < 1.0 => format!(" at {strength}"),
        _ => String::new(),
    };
    let mut inputs: Vec<String> = Vec::new();
    for (field, word) in [("cause", ""), ("part", "part ")] {
        let named = object(gate.get(field));
        inputs.extend(
            named
                .iter()
                .map(|(name, counts)| format!("{word}{name}{}", at(counts))),
        );
    }
    let events = object(gate.get("event"));
    inputs.extend(events.iter().map(|(words, event)| {
        format!("{}{}", in_full(words, event), at(&event["event_strength"]))
    }));
    inputs.sort_unstable();
    let rule = gate.get("gate").and_then(Value::as_str).unwrap_or_default();
    format!("{rule} of {}", inputs.join(", "))
}

/// A gate with what feeds it.
fn in_full(words: &str, event: &Value) -> String {
    format!("{words} ({})", structure(&object(Some(event))))
}
