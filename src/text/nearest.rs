//! The nearest known name to a misspelt one.

/// The known name most like `name`, where one is like it enough to be meant.
///
/// Likeness is that of Damerau and Levenshtein, normalised to the longer name; at least 0.6, the
/// first of equals.
#[must_use]
pub(crate) fn nearest<'n>(name: &str, known: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    known
        .map(|known| (strsim::normalized_damerau_levenshtein(name, known), known))
        .filter(|(likeness, _)| *likeness >= 0.6)
        .fold(
            None,
            |best: Option<(f64, &str)>, (likeness, known)| match best {
                Some((most, _)) if most >= likeness => best,
                _ => Some((likeness, known)),
            },
        )
        .map(|(_, known)| known)
}
