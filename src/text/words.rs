//! Lists and counts inside a sentence, and how a sentence begins.

use std::fmt;

/// `a`, `a or b`, `a, b or c`.
pub(crate) fn either(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

/// Words as a sentence: the first letter is a capital.
pub(crate) fn sentence(words: &str) -> String {
    let mut chars = words.chars();
    let first = chars.next().into_iter().flat_map(char::to_uppercase);
    first.chain(chars).collect()
}

/// A title up to its first mark, or to the word "and" where three words stand before that.
pub(crate) fn few_words(title: &str) -> &str {
    let end = title.find(['(', ',', ';']).unwrap_or(title.len());
    let title = title[..end].trim_end();
    match title.split_once(" and ") {
        Some((first, _)) if first.split_whitespace().count() >= 3 => first,
        _ => title,
    }
}

/// The signal word of a text that warns, and the rest of it; one without a word is a caution.
pub(crate) fn signal(text: &str) -> (&'static str, &str) {
    let signal = ["WARNING", "CAUTION"].into_iter().find_map(|word| {
        let rest = text.strip_prefix(word)?.strip_prefix(':')?;
        Some((word, rest.trim_start()))
    });
    signal.unwrap_or(("CAUTION", text))
}

/// `1 cause`, `2 causes`.
pub(crate) fn counted<N: Copy + fmt::Display + PartialEq + From<u8>>(
    count: N,
    one: &str,
    more: &str,
) -> String {
    let word = if count == N::from(1) { one } else { more };
    format!("{count} {word}")
}
