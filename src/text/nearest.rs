//! The nearest known name to a misspelt one.

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
