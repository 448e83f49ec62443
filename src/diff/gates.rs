//! Fault trees by their structure: which causes, shared parts and events feed which gate.

use std::collections::BTreeMap;

use super::change::{Change, What};
use super::fact::{Aspect, Effect, Value};
use super::names::Named;
use super::thing::{Kind, Thing};
use crate::fault_tree::{FaultTree, Gate, Node, NodeId};
use crate::knowledge::{CauseId, Symptom};

/// A gate, and what feeds it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Event {
    /// What it brings about, in words; empty where the knowledge gives none of its own.
    words: String,
    /// `any`, `all`, `at least 2`.
    rule: String,
    inputs: Vec<Input>,
}

/// What feeds a gate, and how often it counts there.
#[derive(Clone, Debug, PartialEq)]
struct Input {
    strength: f64,
    what: Feed,
}

#[derive(Clone, Debug, PartialEq)]
enum Feed {
    Cause(String),
    Part(String),
    Event(Event),
}

impl Event {
    /// The top of a symptom's tree.
    pub(super) fn top(named: Named<'_>, symptom: &Symptom) -> Self {
        let mut top = event(named, &symptom.tree, symptom.tree.top());
        // A top without words of its own has those of the title.
        if top.words == symptom.title {
            top.words.clear();
        }
        top
    }

    /// The shared parts of a family, by name.
    pub(super) fn parts(named: Named<'_>) -> BTreeMap<String, Self> {
        let mut parts = BTreeMap::new();
        for symptom in &named.family.symptoms {
            for place in symptom.tree.places() {
                if let Node::Gate {
                    shared: Some(name), ..
                } = symptom.tree.node(place)
                {
                    parts
                        .entry(named.name(Kind::SharedPart, name))
                        .or_insert_with(|| event(named, &symptom.tree, place));
                }
            }
        }
        parts
    }

    /// What it brings about.
    pub(super) fn words(&self) -> &str {
        &self.words
    }

    /// What feeds it, in words: `any of fluid-low, pump-worn (0.8), Two of three (at least 2 of …)`.
    /// Sorted, so that equal structures read alike.
    pub(super) fn structure(&self) -> String {
        let mut inputs: Vec<String> = self.inputs.iter().map(Input::words).collect();
        inputs.sort_unstable();
        format!("{} of {}", self.rule, inputs.join(", "))
    }

    /// Every cause and part below it, parts not opened.
    fn names(&self) -> Vec<&str> {
        self.inputs
            .iter()
            .flat_map(|input| match &input.what {
                Feed::Cause(name) | Feed::Part(name) => vec![name.as_str()],
                Feed::Event(event) => event.names(),
            })
            .collect()
    }
}

impl Input {
    fn words(&self) -> String {
        let strength = if self.strength.total_cmp(&1.0).is_eq() {
            String::new()
        } else {
            format!(" at {}", self.strength)
        };
        match &self.what {
            Feed::Cause(name) => format!("{name}{strength}"),
            Feed::Part(name) => format!("part {name}{strength}"),
            Feed::Event(event) => {
                format!("{} ({}){strength}", event.words, event.structure())
            }
        }
    }
}

fn event(named: Named<'_>, tree: &FaultTree<CauseId>, place: NodeId) -> Event {
    let inputs = tree
        .inputs(place)
        .into_iter()
        .map(|input| feed(named, tree, input))
        .collect();
    match tree.node(place) {
        Node::Gate { gate, event, .. } => Event {
            words: event.clone(),
            rule: match gate {
                Gate::Any => "any".to_owned(),
                Gate::All => "all".to_owned(),
                Gate::AtLeast(least) => format!("at least {least}"),
            },
            inputs,
        },
        // No top is a leaf or a switch: a family's tree starts with a gate.
        Node::Leaf { .. } | Node::Sometimes { .. } => Event {
            words: String::new(),
            rule: "any".to_owned(),
            inputs: vec![feed(named, tree, place)],
        },
    }
}

fn feed(named: Named<'_>, tree: &FaultTree<CauseId>, place: NodeId) -> Input {
    match tree.node(place) {
        Node::Leaf { cause, strength } => Input {
            strength: strength.get(),
            what: Feed::Cause(named.cause(*cause)),
        },
        Node::Gate {
            shared: Some(name), ..
        } => Input {
            strength: 1.0,
            what: Feed::Part(named.name(Kind::SharedPart, name)),
        },
        Node::Gate { shared: None, .. } => Input {
            strength: 1.0,
            what: Feed::Event(event(named, tree, place)),
        },
        Node::Sometimes { strength } => {
            let below = tree.inputs(place).into_iter().next();
            let mut input = below.map_or_else(
                || Input {
                    strength: 1.0,
                    what: Feed::Event(event(named, tree, place)),
                },
                |below| feed(named, tree, below),
            );
            input.strength *= strength.get();
            input
        }
    }
}

/// What differs between two trees of one thing, gate by gate.
pub(super) fn differs(thing: &Thing, old: &Event, new: &Event, changes: &mut Vec<Change>) {
    Walk { thing, changes }.gate(&[], old, new);
}

struct Walk<'w> {
    thing: &'w Thing,
    changes: &'w mut Vec<Change>,
}

impl Walk<'_> {
    fn say(
        &mut self,
        effect: Effect,
        field: &'static str,
        at: Vec<String>,
        was: Option<Value>,
        now: Option<Value>,
    ) {
        if was != now {
            self.changes.push(Change {
                thing: self.thing.clone(),
                what: What::Stated {
                    aspect: Aspect { effect, field, at },
                    was,
                    now,
                },
            });
        }
    }

    fn gate(&mut self, path: &[String], old: &Event, new: &Event) {
        let text =
            |event: &Event| (!event.words.is_empty()).then(|| Value::Text(event.words.clone()));
        let rule = |event: &Event| Some(Value::Word(event.rule.clone()));
        self.say(
            Effect::Words,
            "event_words",
            path.to_vec(),
            text(old),
            text(new),
        );
        self.say(Effect::Belief, "gate", path.to_vec(), rule(old), rule(new));
        for (field, named) in [
            ("cause", cause as fn(&Input) -> Option<&str>),
            ("part", part),
        ] {
            let (mut was, mut now) = (strengths(old, named), strengths(new, named));
            let names: Vec<String> = was.keys().chain(now.keys()).cloned().collect();
            for name in names {
                let mut at = path.to_vec();
                at.push(name.clone());
                self.say(
                    Effect::Belief,
                    field,
                    at,
                    was.remove(&name).map(strength),
                    now.remove(&name).map(strength),
                );
            }
        }
        self.events(path, old, new);
    }

    /// The gates that feed a gate: paired by their words; else by what feeds them; else, where one
    /// is left on each side and they share a cause or part, with each other.
    fn events(&mut self, path: &[String], old: &Event, new: &Event) {
        let (mut old, mut new) = (events(old), events(new));
        let mut pairs = take_pairs(&mut old, &mut new, |(_, event)| event.words.clone());
        pairs.extend(take_pairs(&mut old, &mut new, |(_, event)| {
            event.structure()
        }));
        if let ([(_, was)], [(_, now)]) = (old.as_slice(), new.as_slice())
            && was.names().iter().any(|name| now.names().contains(name))
        {
            pairs.extend(old.pop().zip(new.pop()));
        }
        for ((was_strength, was), (now_strength, now)) in pairs {
            let mut at = path.to_vec();
            at.push(now.words.clone());
            self.say(
                Effect::Belief,
                "event_strength",
                at.clone(),
                Some(strength(was_strength)),
                Some(strength(now_strength)),
            );
            self.gate(&at, was, now);
        }
        let whole = |(strength, event): &(f64, &Event)| {
            let input = Input {
                strength: *strength,
                what: Feed::Event((*event).clone()),
            };
            Some(Value::Word(input.words()))
        };
        for went in &old {
            let mut at = path.to_vec();
            at.push(went.1.words.clone());
            self.say(Effect::Belief, "event", at, whole(went), None);
        }
        for came in &new {
            let mut at = path.to_vec();
            at.push(came.1.words.clone());
            self.say(Effect::Belief, "event", at, None, whole(came));
        }
    }
}

fn strength(number: f64) -> Value {
    Value::Number {
        number,
        unit: String::new(),
        source: None,
    }
}

fn cause(input: &Input) -> Option<&str> {
    match &input.what {
        Feed::Cause(name) => Some(name),
        Feed::Part(_) | Feed::Event(_) => None,
    }
}

fn part(input: &Input) -> Option<&str> {
    match &input.what {
        Feed::Part(name) => Some(name),
        Feed::Cause(_) | Feed::Event(_) => None,
    }
}

/// The strengths by name; a name that feeds the gate more than once is counted: `pump-worn (2)`.
fn strengths(event: &Event, named: impl Fn(&Input) -> Option<&str>) -> BTreeMap<String, f64> {
    let mut by_name: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for input in &event.inputs {
        if let Some(name) = named(input) {
            by_name.entry(name).or_default().push(input.strength);
        }
    }
    let mut strengths = BTreeMap::new();
    for (name, mut several) in by_name {
        several.sort_by(f64::total_cmp);
        for (place, strength) in several.into_iter().enumerate() {
            let key = match place {
                0 => name.to_owned(),
                _ => format!("{name} ({})", place + 1),
            };
            strengths.insert(key, strength);
        }
    }
    strengths
}

/// The gates that feed a gate, in an order of their own.
fn events(event: &Event) -> Vec<(f64, &Event)> {
    let mut events: Vec<(f64, &Event)> = event
        .inputs
        .iter()
        .filter_map(|input| match &input.what {
            Feed::Event(event) => Some((input.strength, event)),
            Feed::Cause(_) | Feed::Part(_) => None,
        })
        .collect();
    events.sort_by_cached_key(|(_, event)| (event.words.clone(), event.structure()));
    events
}

/// Takes out the items of both lists that have one key, the first of each with the first.
fn take_pairs<T: Copy, K: PartialEq>(
    old: &mut Vec<T>,
    new: &mut Vec<T>,
    key: impl Fn(&T) -> K,
) -> Vec<(T, T)> {
    let mut pairs = Vec::new();
    old.retain(|was| {
        let Some(place) = new.iter().position(|now| key(now) == key(was)) else {
            return true;
        };
        pairs.push((*was, new.remove(place)));
        false
    });
    pairs
}
