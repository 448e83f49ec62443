//! What an entry states: a value at each place.

use std::collections::BTreeMap;

use serde::Serialize;

/// A field, and where in it: outcome and cause of a `shows` figure, the events that lead to a gate.
pub(super) type Place = (String, Vec<String>);

/// What an entry states.
pub(super) type Entry = BTreeMap<Place, Value>;

/// Where an entry says in words what it holds; the differences in that are told one by one.
pub(super) const IN_WORDS: &str = "in words";

/// A value that an entry states.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Value {
    /// A text, or the name of an entry.
    Text(String),
    /// Some of them.
    List(Vec<String>),
    /// A figure.
    Figure(Figure),
}

/// A number with its unit.
#[derive(Clone, Debug, Serialize)]
pub struct Figure {
    /// The number.
    pub number: f64,
    /// Its unit; empty where it has none.
    pub unit: String,
    /// Where it came from, for a limit; empty for others.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub source: String,
}

/// The source is told by itself.
impl PartialEq for Figure {
    fn eq(&self, other: &Self) -> bool {
        self.number == other.number && self.unit == other.unit
    }
}

impl<T: Into<String>> From<T> for Value {
    fn from(text: T) -> Self {
        Self::Text(text.into())
    }
}

impl Value {
    /// A number with its unit.
    pub(super) fn figure(number: f64, unit: &str) -> Self {
        Self::Figure(Figure {
            number,
            unit: unit.to_owned(),
            source: String::new(),
        })
    }
}

/// A place in a field; the field as a whole where `at` is empty.
pub(super) fn place(field: &str, at: &[&str]) -> Place {
    let at = at.iter().map(|name| (*name).to_owned());
    (field.to_owned(), at.collect())
}

/// States a value at a place.
pub(super) fn state(entry: &mut Entry, field: &str, at: &[&str], value: impl Into<Value>) {
    entry.insert(place(field, at), value.into());
}

/// The list that a field is; empty where it is none.
pub(super) fn list<'e>(entry: &'e Entry, field: &str) -> &'e [String] {
    match entry.get(&place(field, &[])) {
        Some(Value::List(items)) => items,
        _ => &[],
    }
}

/// A name that is still free: with a number, from the second of that name on.
pub(super) fn numbered(name: &str, is_taken: impl Fn(&str) -> bool) -> String {
    let numbers = (2..).map(|number| format!("{name} ({number})"));
    let mut names = std::iter::once(name.to_owned()).chain(numbers);
    names.find(|name| !is_taken(name)).unwrap_or_default()
}

/// A figure, and its unit where it has one; a ratio has the number 1.
pub(super) fn with_unit(figure: &str, unit: &str) -> String {
    match unit {
        "" | "1" => figure.to_owned(),
        unit => format!("{figure} {unit}"),
    }
}
