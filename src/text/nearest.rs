//! The nearest known name to a misspelt one, and what is said of a name that is not known.

/// The known name most like `name`, where one is like it enough to be meant.
///
/// Likeness is that of Damerau and Levenshtein, normalised to the longer name; at least 0.6, the
/// first of equals.
pub(crate) fn nearest<'n>(name: &str, known: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    known
        .map(|known| (strsim::normalized_damerau_levenshtein(name, known), known))
        .filter(|(likeness, _)| *likeness >= 0.6)
        // The least of the reversed order is the first of equals; `max_by` would give the last.
        .min_by(|one, other| other.0.total_cmp(&one.0))
        .map(|(_, known)| known)
}

/// That nothing has a name, with the nearest known name or the first few that there are.
pub(crate) fn unknown<'n>(
    kind: &str,
    name: &str,
    known: impl Iterator<Item = &'n str> + Clone,
) -> String {
    if let Some(near) = nearest(name, known.clone()) {
        return format!("there is no {kind} `{name}`: did you mean `{near}`?");
    }
    let known: Vec<&str> = known.take(12).collect();
    let known = known.join(", ");
    format!("there is no {kind} `{name}`; there are: {known}")
}
