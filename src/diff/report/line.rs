//! One difference on one line.

use super::of_family;
use super::texts::{quoted, reworded};
use crate::diff::{Aspect, Change, Facts, Item, Kind, List, ListDiffers, Thing, Value, What};
use crate::text::plain;

/// The lines of a difference: one, but for a list whose items differ in several ways.
pub(super) fn lines(change: &Change, several: bool) -> Vec<String> {
    let label = label(&change.thing, several);
    match &change.what {
        What::Added(facts) => vec![format!(
            "{label} comes in: {}",
            summary(change.thing.kind, facts)
        )],
        What::Removed(facts) => vec![format!(
            "{label} goes out: {}",
            summary(change.thing.kind, facts)
        )],
        What::Renamed { from } => vec![format!("{label} is a new id: it was called {from}")],
        What::Stated { aspect, was, now } => {
            vec![format!(
                "{label}{}",
                stated(aspect, was.as_ref(), now.as_ref())
            )]
        }
        What::Listed { aspect, differs } => listed(aspect, differs)
            .into_iter()
            .map(|line| format!("{label}: {line}"))
            .collect(),
    }
}

/// What a line starts with: the id, its kind before it where the id alone may be of any.
fn label(thing: &Thing, several: bool) -> String {
    let name = if says_kind(thing.kind) {
        format!("{} {}", thing.kind.word(), thing.name)
    } else {
        thing.name.clone()
    };
    of_family(&name, thing.family.as_deref(), several)
}

/// Whether the kind is said before the id; what is most talked about goes without.
const fn says_kind(kind: Kind) -> bool {
    !matches!(
        kind,
        Kind::Cause
            | Kind::Measurement
            | Kind::Symptom
            | Kind::Vehicle
            | Kind::Repair
            | Kind::Family
            | Kind::Outcome
    )
}

/// What a thing is that only one edition has.
fn summary(kind: Kind, facts: &Facts) -> String {
    let mut parts = Vec::new();
    if !says_kind(kind) {
        parts.push(kind.word().to_owned());
    }
    for (aspect, value) in &facts.0 {
        // What it is called; where it has no title, what it says.
        let called = match kind {
            Kind::Caution | Kind::Care => "text",
            Kind::Code => "means",
            Kind::Ambiguity => "why",
            Kind::Condition => "ask",
            Kind::SharedPart => "event_words",
            _ => "title",
        };
        if aspect.field == called && aspect.at.is_empty() {
            parts.push(one(value));
        }
    }
    let figures: &[&str] = match kind {
        Kind::Cause => &["rate", "repair"],
        Kind::Repair => &["minutes", "parts"],
        Kind::Measurement | Kind::SetUp => &["minutes"],
        Kind::Symptom | Kind::SharedPart => &["tree"],
        Kind::Family => &["holds"],
        Kind::Case => &["expect"],
        _ => &[],
    };
    for (aspect, value) in &facts.0 {
        if figures.contains(&aspect.field) {
            parts.push(match aspect.field {
                "tree" | "minutes" | "holds" => one(value),
                field => format!("{} {}", words(field), one(value)),
            });
        }
    }
    parts.join(", ")
}

/// A statement: what stands behind the label.
fn stated(aspect: &Aspect, was: Option<&Value>, now: Option<&Value>) -> String {
    let at: Vec<&str> = aspect.at.iter().map(String::as_str).collect();
    // The events down to a gate stand behind the name of the tree.
    let path = |events: &[&str]| [&[""], events].concat().join(", ");
    match (aspect.field, at.as_slice()) {
        ("shows", [outcome, cause]) => format!(", {outcome}: {}", moved(cause, was, now)),
        ("chance", [outcome]) => format!(", {outcome}: {}", moved("by chance", was, now)),
        ("band", [outcome]) => format!(", {outcome}: {}", moved("", was, now)),
        ("gloss", [outcome]) => format!(", {outcome}: {}", moved("words", was, now)),
        ("outcome_name", [_]) => {
            let name = |value: Option<&Value>| value.map(one).unwrap_or_default();
            format!(": outcome {} is now called {}", name(was), name(now))
        }
        ("limit", [sheet, key]) => {
            format!(": {}", moved(&format!("{sheet} {key}"), was, now))
        }
        (field @ ("cause" | "part"), [events @ .., name]) => format!(
            "{}: {}",
            path(events),
            fed(&format!("{field} {name}"), was, now)
        ),
        ("event", [events @ .., _]) => match (was, now) {
            (None, Some(now)) => format!("{}: {} comes in", path(events), one(now)),
            (Some(was), _) => format!("{}: {} goes out", path(events), one(was)),
            (None, None) => path(events),
        },
        ("event_strength", events) => format!("{}: {}", path(events), moved("strength", was, now)),
        ("event_words", events) => format!("{}: {}", path(events), moved("event", was, now)),
        ("gate", events) => format!("{}: {}", path(events), moved("gate", was, now)),
        ("for", []) => {
            let offered = |value: Option<&Value>| value.map_or("every symptom".to_owned(), one);
            format!(": offered for {} -> {}", offered(was), offered(now))
        }
        // Which figure of several it is.
        ("escalation" | "timed" | "range" | "accuracy" | "plausible", [of @ .., figure]) => {
            let subject = [of, &[words(aspect.field).as_str(), figure]]
                .concat()
                .join(" ");
            format!(": {}", moved(&subject, was, now))
        }
        (field, at) => {
            let subject = [at, &[words(field).as_str()]].concat().join(" ");
            format!(": {}", moved(&subject, was, now))
        }
    }
}

/// A cause or part that feeds a gate: strength 1 goes without saying.
fn fed(subject: &str, was: Option<&Value>, now: Option<&Value>) -> String {
    let strength = |value: &Value| match value {
        Value::Number { number, .. } if number.total_cmp(&1.0).is_eq() => String::new(),
        other => format!(", strength {}", one(other)),
    };
    match (was, now) {
        (None, Some(now)) => format!("{subject} comes in{}", strength(now)),
        (Some(was), None) => format!("{subject} goes out{}", strength(was)),
        _ => moved(&format!("{subject} strength"), was, now),
    }
}

/// What was stated and what is: `rate 14 -> 9 of 1,000 jobs`.
fn moved(subject: &str, was: Option<&Value>, now: Option<&Value>) -> String {
    let values = match (was, now) {
        (None, None) => String::new(),
        (None, Some(now)) => format!("comes in, {}{}", one(now), source(now)),
        (Some(was), None) => format!("goes out, was {}{}", one(was), source(was)),
        (
            Some(Value::Number {
                number: was, unit, ..
            }),
            Some(
                value @ Value::Number {
                    number: now,
                    unit: same,
                    ..
                },
            ),
        ) if unit == same => {
            let (was, now) = apart(*was, *now);
            with_unit(&format!("{was} -> {now}"), unit) + &source(value)
        }
        (Some(Value::Text(was)), Some(Value::Text(now))) => reworded(was, now),
        (Some(was), Some(now)) => format!("{} -> {}{}", one(was), one(now), source(now)),
    };
    format!("{subject} {values}").trim().to_owned()
}

/// Two numbers that differ, with as many digits as it takes to see it.
fn apart(was: f64, now: f64) -> (String, String) {
    let short = (plain(was), plain(now));
    if short.0 == short.1 {
        (was.to_string(), now.to_string())
    } else {
        short
    }
}

fn with_unit(number: &str, unit: &str) -> String {
    format!("{number} {unit}").trim_end().to_owned()
}

/// Who says so, behind a number that has that beside it.
fn source(value: &Value) -> String {
    match value {
        Value::Number {
            source: Some(source),
            ..
        } => format!(" ({source})"),
        _ => String::new(),
    }
}

/// One value.
fn one(value: &Value) -> String {
    match value {
        Value::Number { number, unit, .. } => with_unit(&plain(*number), unit),
        Value::Word(word) => word.clone(),
        Value::Text(text) => quoted(text),
        Value::List(List { items, .. }) if items.is_empty() => "none".to_owned(),
        Value::List(List { items, .. }) => items.join(", "),
    }
}

/// A field in words.
fn words(field: &str) -> String {
    match field {
        "set_ups" => "set-ups".to_owned(),
        "max_order" => "most causes in a candidate".to_owned(),
        "unlisted" => "share of the unlisted cause".to_owned(),
        "floor" => "least probability of an outcome".to_owned(),
        "reacts" => "uniform share of the unlisted cause's row".to_owned(),
        "rest" => "what figures leave over goes to".to_owned(),
        field => field.replace('_', " "),
    }
}

/// A list: what came and went on one line where it holds ids, on a line each where it holds text.
fn listed(aspect: &Aspect, differs: &ListDiffers) -> Vec<String> {
    let ListDiffers {
        added,
        removed,
        reworded: changed,
        reordered,
    } = differs;
    let words = words(aspect.field);
    let one = |item: &Item| match aspect.field {
        "steps" => format!("step {}", item.place),
        "complaints" => "complaint pattern".to_owned(),
        "readings" => format!("reading {}", item.place),
        "examples" => "example".to_owned(),
        _ => String::new(),
    };
    let mut lines = Vec::new();
    if one(&Item {
        place: 1,
        text: String::new(),
    })
    .is_empty()
    {
        let names = |items: &[Item]| {
            let names: Vec<&str> = items.iter().map(|item| item.text.as_str()).collect();
            names.join(", ")
        };
        let mut parts = Vec::new();
        if !added.is_empty() {
            parts.push(format!("{} in", names(added)));
        }
        if !removed.is_empty() {
            parts.push(format!("{} out", names(removed)));
        }
        if !parts.is_empty() {
            lines.push(format!("{words}: {}", parts.join(", ")));
        }
        if let Some([was, now]) = reordered {
            let (was, now) = (was.join(" "), now.join(" "));
            lines.push(format!(
                "{words} in another order: {}",
                reworded(&was, &now)
            ));
        }
        return lines;
    }
    for (was, now) in changed {
        let verb = match aspect.field {
            "readings" => "changed",
            _ => "reworded",
        };
        let text = reworded(&was.text, &now.text);
        lines.push(format!("{} {verb}: {text}", one(now)));
    }
    for item in added {
        lines.push(format!("{} added: {}", one(item), quoted(&item.text)));
    }
    for item in removed {
        lines.push(format!("{} removed: {}", one(item), quoted(&item.text)));
    }
    if let Some([was, now]) = reordered {
        let places: Vec<String> = now
            .iter()
            .filter_map(|item| was.iter().position(|before| before == item))
            .map(|place| (place + 1).to_string())
            .collect();
        let places = places.join(", ");
        lines.push(format!(
            "{words} in another order: those that stay stood as {places}"
        ));
    }
    lines
}
