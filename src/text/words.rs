//! Lists inside a sentence.

/// `a`, `a or b`, `a, b or c`.
pub(crate) fn either(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}
