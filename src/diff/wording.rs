//! One difference in words.

use serde_json::Value;

use super::change::{Change, What};
use super::field::{feeds_a_gate, in_words, is_text, line_word};
use super::list::{Item, ListDiffers, Sides};
use super::thing::Kind;
use crate::text::plain;

/// So many words are kept before and behind what differs.
const AROUND: usize = 2;
/// A stretch that differs is shown up to so many words.
const SHOWN: usize = 14;

/// The lines of a difference: one, but for a list whose items differ in several ways.
pub(super) fn lines(change: &Change, several: bool) -> Vec<String> {
    let thing = &change.thing;
    let name = if says_kind(thing.kind) {
        format!("{} {}", thing.kind.word(), thing.name)
    } else {
        thing.name.clone()
    };
    let label = of_family(&name, thing.family.as_deref(), several);
    let told = match &change.what {
        What::Added { states } => vec![format!(" comes in: {}", summary(thing.kind, states))],
        What::Removed { states } => vec![format!(" goes out: {}", summary(thing.kind, states))],
        What::Renamed { from } => vec![format!(" is a new id: it was called {from}")],
        What::Stated {
            field,
            at,
            was,
            now,
        } => vec![stated(thing.kind, field, at, [was, now])],
        What::Listed { field, differs } => match line_word(field) {
            Some(word) => listed_lines(field, word, differs),
            None => listed_ids(field, differs),
        },
    };
    let lines = told.into_iter().map(|told| label.clone() + &told);
    lines.collect()
}

/// A name with its family behind it, where that must be said.
pub(super) fn of_family(name: &str, family: Option<&str>, several: bool) -> String {
    match family {
        Some(family) if several => format!("{name} [{family}]"),
        _ => name.to_owned(),
    }
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
    )
}

/// What an entry is that only one edition has.
fn summary(kind: Kind, states: &Value) -> String {
    let (called, figures) = kind.summary();
    let mut parts = Vec::new();
    if !says_kind(kind) {
        parts.push(kind.word().to_owned());
    }
    let mut say = |before: String, value: &Value, text| {
        if !value.is_null() {
            parts.push(before + &one(value, text));
        }
    };
    say(String::new(), &states[called], true);
    for field in figures {
        let before = format!("{field} ").replace("minutes ", "");
        say(before, &states[*field], false);
    }
    say(String::new(), &states["tree"]["words"], false);
    say(String::new(), &states["entries"], false);
    parts.join(", ")
}

/// A statement: what follows the label.
fn stated(kind: Kind, field: &str, at: &[String], sides: [&Option<Value>; 2]) -> String {
    let feeds_a_gate = feeds_a_gate(kind, field);
    // How many of the names are told where in the entry, after a comma; and how many of the others the field stands
    // before.
    let (places, behind) = match field {
        _ if feeds_a_gate => (at.len().saturating_sub(1), 1),
        "shows" => (1, 0),
        "chance" | "band" | "gloss" | "words" | "finds" | "sets" | "event" | "event_strength"
        | "event_words" | "gate" => (at.len(), 0),
        "requires" | "from" | "unless" | "fades" | "not_before" | "recording" => (0, at.len()),
        // Which figure of several it is.
        "escalation" | "timed" | "range" | "accuracy" | "plausible" => (0, 1),
        _ => (0, 0),
    };
    let (places, names) = at.split_at(places.min(at.len()));
    let (of, names) = names.split_at(names.len().saturating_sub(behind));
    let subject = [of, &[in_words(field)], names].concat();
    let subject = subject.join(" ").trim().to_owned();
    let told = match sides {
        [None, Some(now)] if feeds_a_gate => format!("{subject} comes in{}", counts(now)),
        [Some(was), None] if feeds_a_gate => format!("{subject} goes out{}", counts(was)),
        _ if feeds_a_gate => moved(&format!("{subject} strength"), sides, false),
        _ => moved(&subject, sides, is_text(kind, field)),
    };
    let places: Vec<String> = places.iter().map(|name| format!(", {name}")).collect();
    format!("{}: {told}", places.concat())
}

/// The strength of what feeds a gate: 1 goes without saying.
fn counts(strength: &Value) -> String {
    match strength["number"].as_f64() {
        Some(strength) if strength < 1.0 => format!(", strength {}", plain(strength)),
        _ => String::new(),
    }
}

/// What was stated and what is: `rate 14 -> 9 of 1,000 jobs`.
fn moved(subject: &str, sides: [&Option<Value>; 2], text: bool) -> String {
    let source = |value: &Value| match value["source"].as_str() {
        Some(source) => format!(" ({source})"),
        None => String::new(),
    };
    let values = match sides {
        [None, None] => String::new(),
        [None, Some(now)] => format!("comes in, {}{}", one(now, text), source(now)),
        [Some(was), None] => format!("goes out, was {}{}", one(was, text), source(was)),
        [Some(Value::String(was)), Some(Value::String(now))] if text => reworded(was, now),
        [Some(was), Some(now)] => {
            let told = match (was["number"].as_f64(), now["number"].as_f64()) {
                (Some(before), Some(after)) if was["unit"] == now["unit"] => {
                    let (before, after) = apart(before, after, plain, |number| number.to_string());
                    with_unit(&format!("{before} -> {after}"), now)
                }
                _ => format!("{} -> {}", one(was, text), one(now, text)),
            };
            told + &source(now)
        }
    };
    format!("{subject} {values}").trim().to_owned()
}

/// Two figures that differ, with as many digits as it takes to see it.
pub(super) fn apart(
    was: f64,
    now: f64,
    short: fn(f64) -> String,
    long: fn(f64) -> String,
) -> (String, String) {
    let write = if short(was) == short(now) {
        long
    } else {
        short
    };
    (write(was), write(now))
}

fn with_unit(figure: &str, of: &Value) -> String {
    let unit = of["unit"].as_str().unwrap_or_default();
    format!("{figure} {unit}").trim_end().to_owned()
}

/// One value.
fn one(value: &Value, text: bool) -> String {
    match value {
        Value::String(words) if text => quoted(words),
        Value::String(words) => words.clone(),
        Value::Array(items) if items.is_empty() => "none".to_owned(),
        Value::Array(items) => items
            .iter()
            .filter_map(Value::as_str)
            .collect::<Vec<_>>()
            .join(", "),
        value => with_unit(
            &value["number"].as_f64().map_or(String::new(), plain),
            value,
        ),
    }
}

/// A list of ids: what came and went on one line.
fn listed_ids(field: &str, differs: &ListDiffers) -> Vec<String> {
    let words = in_words(field);
    let mut parts = Vec::new();
    for (items, way) in [(&differs.added, "in"), (&differs.removed, "out")] {
        let names: Vec<&str> = items.iter().map(|item| item.text.as_str()).collect();
        if !names.is_empty() {
            parts.push(format!("{} {way}", names.join(", ")));
        }
    }
    let mut lines = Vec::new();
    if !parts.is_empty() {
        lines.push(format!(": {words}: {}", parts.join(", ")));
    }
    if let Some(Sides { was, now }) = &differs.reordered {
        let order = reworded(&was.join(" "), &now.join(" "));
        lines.push(format!(": {words} in another order: {order}"));
    }
    lines
}

/// A list of texts: what came, went and was reworded on a line each.
fn listed_lines(field: &str, word: &str, differs: &ListDiffers) -> Vec<String> {
    let mut lines = Vec::new();
    let mut say = |item: &Item, verb: &str, text: String| {
        let place = match field {
            "steps" | "readings" => format!(" {}", item.place),
            _ => String::new(),
        };
        lines.push(format!(": {word}{place} {verb}: {text}"));
    };
    for Sides { was, now } in &differs.reworded {
        let verb = if field == "readings" {
            "changed"
        } else {
            "reworded"
        };
        say(now, verb, reworded(&was.text, &now.text));
    }
    for item in &differs.added {
        say(item, "added", quoted(&item.text));
    }
    for item in &differs.removed {
        say(item, "removed", quoted(&item.text));
    }
    if let Some(Sides { was, now }) = &differs.reordered {
        let place = |item| was.iter().position(|before| before == item);
        let places = now.iter().filter_map(place).map(|at| (at + 1).to_string());
        let places = places.collect::<Vec<_>>().join(", ");
        lines.push(format!(
            ": {field} in another order: those that stay were {places}"
        ));
    }
    lines
}

/// The wordings in quotation marks, `…` for what they share beyond a few words.
fn reworded(was: &str, now: &str) -> String {
    let (was, now): (Vec<&str>, Vec<&str>) = (
        was.split_whitespace().collect(),
        now.split_whitespace().collect(),
    );
    if was == now {
        return "with other blanks".to_owned();
    }
    let same = |(was, now): &(&&str, &&str)| was == now;
    let front = was.iter().zip(&now).take_while(same).count();
    let from_behind = was.iter().rev().zip(now.iter().rev());
    let most = was.len().min(now.len()) - front;
    let back = from_behind.take_while(same).count().min(most);
    let (was, now) = (stretch(&was, front, back), stretch(&now, front, back));
    format!("{was} -> {now}")
}

/// The words between those shared in front and behind, and a few of these.
fn stretch(words: &[&str], front: usize, back: usize) -> String {
    let from = front.saturating_sub(AROUND);
    let to = (words.len() - back + AROUND).min(words.len());
    let end = to.min(from + SHOWN + AROUND);
    let before = if from > 0 { "… " } else { "" };
    let after = if end < words.len() { " …" } else { "" };
    format!("\"{before}{}{after}\"", words[from..end].join(" "))
}

/// A text in quotation marks, its beginning where it is long.
fn quoted(text: &str) -> String {
    stretch(&text.split_whitespace().collect::<Vec<_>>(), 0, 0)
}
