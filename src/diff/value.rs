//! The values of what an edition states.

use std::collections::BTreeSet;

use serde_json::{Value, json};

/// A number with its unit.
pub(super) fn number(number: f64, unit: &str) -> Value {
    // Adding zero turns -0.0 into 0.0: they state the same.
    json!({"number": number + 0.0, "unit": unit})
}

/// Whether a value has others under keys, and is no number with its unit.
pub(super) fn is_branch(value: &Value) -> bool {
    value.is_object() && !value["number"].is_number()
}

/// The same text, list or number; the source shown beside a number is no part of it.
pub(super) fn same(was: &Value, now: &Value) -> bool {
    let is_number = |value: &Value| value.is_object() && !is_branch(value);
    if is_number(was) && is_number(now) {
        was["number"] == now["number"] && was["unit"] == now["unit"]
    } else {
        was == now
    }
}

/// What stands under each key.
pub(super) fn fields(object: &Value) -> impl Iterator<Item = (&String, &Value)> {
    object.as_object().into_iter().flatten()
}

/// The keys of two values, in order.
pub(super) fn keys<'v>(was: &'v Value, now: &'v Value) -> BTreeSet<&'v String> {
    fields(was).chain(fields(now)).map(|(key, _)| key).collect()
}

/// The items of a list.
pub(super) fn items(list: &Value) -> &[Value] {
    list.as_array().map_or(&[], Vec::as_slice)
}

/// A text.
pub(super) fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

/// A name, with its number from the second of that name on.
pub(super) fn numbered(name: &str, earlier: usize) -> String {
    match earlier {
        0 => name.to_owned(),
        earlier => format!("{name} ({})", earlier + 1),
    }
}
