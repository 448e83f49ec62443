//! One difference in words.

use super::change::{Change, What};
use super::entry::{Entry, IN_WORDS, Value, place, with_unit};
use super::field::{feeds_a_gate, in_words, is_text, of_lines, subject};
use super::kind::Kind;
use super::list::{Item, ListDiffers, Sides};
use crate::text::plain;

/// So many words are kept before and behind what differs.
const AROUND: usize = 2;
/// A stretch that differs is shown up to so many words.
const SHOWN: usize = 14;

/// The lines of a difference: one, but for a list whose items differ in several ways.
pub(super) fn lines(change: &Change, several: bool) -> Vec<String> {
    let thing = &change.thing;
    let mut label = of_family(&thing.name, thing.family.as_deref(), several);
    if thing.kind.told().before_id {
        label = format!("{} {label}", thing.kind.word());
    }
    let told = match &change.what {
        What::Added { states } => vec![format!(" comes in: {}", summary(thing.kind, states))],
        What::Removed { states } => vec![format!(" goes out: {}", summary(thing.kind, states))],
        What::Renamed { from } => vec![format!(" is a new id: it was called {from}")],
        What::Stated {
            field,
            at,
            was,
            now,
        } => vec![stated(field, at, [was.as_ref(), now.as_ref()])],
        What::Listed { field, differs } => listed(field, differs),
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

/// What an entry is that only one edition has.
fn summary(kind: Kind, states: &Entry) -> String {
    let told = kind.told();
    let mut parts = Vec::new();
    if !told.before_id {
        parts.push(told.word.to_owned());
    }
    let mut say = |before: &str, field: &str| {
        let value = states.get(&place(field, &[]));
        parts.extend(value.map(|value| format!("{before}{}", one(value, field == told.title))));
    };
    say("", told.title);
    for field in told.figures {
        say(&format!("{field} ").replace("minutes ", ""), field);
    }
    say("", IN_WORDS);
    parts.join(", ")
}

/// A statement: what follows the label.
fn stated(field: &str, at: &[String], sides: [Option<&Value>; 2]) -> String {
    let (places, subject) = subject(field, at);
    let places: Vec<String> = places.iter().map(|name| format!(", {name}")).collect();
    let text = is_text(field);
    let what = if feeds_a_gate(field, at) {
        "strength "
    } else {
        ""
    };
    let told = match sides {
        [Some(Value::Text(was)), Some(Value::Text(now))] if text => reworded(was, now),
        [Some(Value::Figure(was)), Some(Value::Figure(now))] if was.unit == now.unit => {
            let both = apart(was.number, now.number, plain, |number| number.to_string());
            format!("{what}{}", with_unit(&both, &now.unit))
        }
        [Some(was), Some(now)] => format!("{} -> {}", one(was, text), one(now, text)),
        [None, Some(now)] => format!("comes in, {what}{}", one(now, text)),
        [Some(was), None] => format!("goes out, was {what}{}", one(was, text)),
        [None, None] => String::new(),
    };
    // What always counts does so without saying.
    let told = told.strip_suffix(", strength 1").unwrap_or(&told);
    let told = format!(
        "{}: {}",
        places.concat(),
        format!("{subject} {told}").trim_start()
    );
    match sides[1].or(sides[0]) {
        Some(Value::Figure(figure)) if !figure.source.is_empty() => {
            format!("{told} ({})", figure.source)
        }
        _ => told,
    }
}

/// Two figures that differ, with as many digits as it takes to see it.
pub(super) fn apart(
    was: f64,
    now: f64,
    short: fn(f64) -> String,
    long: fn(f64) -> String,
) -> String {
    let write = if short(was) == short(now) {
        long
    } else {
        short
    };
    format!("{} -> {}", write(was), write(now))
}

/// One value.
pub(super) fn one(value: &Value, text: bool) -> String {
    match value {
        Value::Text(words) if text => quoted(words),
        Value::Text(words) => words.clone(),
        Value::List(items) if items.is_empty() => "none".to_owned(),
        Value::List(items) => items.join(", "),
        Value::Figure(figure) => with_unit(&plain(figure.number), &figure.unit),
    }
}

/// What differs in a list: of texts what came, went and was reworded on a line each, of ids on one line.
fn listed(field: &str, differs: &ListDiffers) -> Vec<String> {
    let words = in_words(field);
    let lines = of_lines(field);
    let ListDiffers { added, removed, .. } = differs;
    let mut told = Vec::new();
    if let Some((line, changed)) = lines {
        let mut say = |item: &Item, verb: &str, text: String| {
            let line = line.replace('#', &item.place.to_string());
            told.push(format!(": {line} {verb}: {text}"));
        };
        for Sides { was, now } in &differs.reworded {
            say(now, changed, reworded(&was.text, &now.text));
        }
        for item in added {
            say(item, "added", quoted(&item.text));
        }
        for item in removed {
            say(item, "removed", quoted(&item.text));
        }
    } else {
        let ways = [(added, "in"), (removed, "out")].into_iter();
        let ways = ways.filter(|(items, _)| !items.is_empty());
        let ways = ways.map(|(items, way)| {
            let names: Vec<&str> = items.iter().map(|item| item.text.as_str()).collect();
            format!("{} {way}", names.join(", "))
        });
        let ways: Vec<String> = ways.collect();
        told.extend((!ways.is_empty()).then(|| format!(": {words}: {}", ways.join(", "))));
    }
    if let Some(Sides { was, now }) = &differs.reordered {
        let place = |item| was.iter().position(|before| before == item);
        let places = now.iter().filter_map(place).map(|at| (at + 1).to_string());
        let order = match lines {
            Some(_) => format!(
                "those that stay were {}",
                places.collect::<Vec<_>>().join(", ")
            ),
            None => reworded(&was.join(" "), &now.join(" ")),
        };
        told.push(format!(": {words} in another order: {order}"));
    }
    told
}

/// The wordings in quotation marks, `…` for what they share beyond a few words.
fn reworded(was: &str, now: &str) -> String {
    let [was, now] = [was, now].map(|text| text.split_whitespace().collect::<Vec<_>>());
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
