//! What one entry states, laid flat: a value a place.

use std::collections::BTreeMap;

use serde_json::{Value, json};

/// What one entry states: by field, and by the place in the field where it has several values.
///
/// A value is a text, a list of texts, or an object of `number`, `unit` and, for a limit, `source`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Facts(pub(super) BTreeMap<(String, Vec<String>), Value>);

impl Facts {
    pub(super) fn set(&mut self, field: &str, at: &[&str], value: impl Into<Value>) {
        let at = at.iter().map(|&name| name.to_owned()).collect();
        self.0.insert((field.to_owned(), at), value.into());
    }

    /// The value of a field that has but one.
    pub(super) fn get(&self, field: &str) -> Option<&Value> {
        self.0.get(&(field.to_owned(), Vec::new()))
    }
}

/// A number with its unit.
pub(super) fn number(number: f64, unit: &str) -> Value {
    // Adding zero turns -0.0 into 0.0: they state the same.
    json!({"number": number + 0.0, "unit": unit})
}

/// A name, with its number from the second of that name on.
pub(super) fn numbered(name: &str, earlier: usize) -> String {
    match earlier {
        0 => name.to_owned(),
        earlier => format!("{name} ({})", earlier + 1),
    }
}
