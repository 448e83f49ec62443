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

/// How many letters of a title stand in a line with others.
const FEW: usize = 32;
/// Words with which a part of a title does not end.
const JOINING: [&str; 14] = [
    "a", "an", "and", "at", "be", "for", "from", "in", "of", "on", "or", "the", "to", "with",
];

/// A title up to its first bracket; of a longer one as many whole words as fit, and an ellipsis, so that nobody takes
/// the part for the whole.
pub(crate) fn few_words(title: &str) -> String {
    let title = title.split(" (").next().unwrap_or(title).trim_end();
    let letters = |text: &str| text.chars().count();
    if letters(title) <= FEW {
        return title.to_owned();
    }
    let mut few: Vec<&str> = Vec::new();
    for word in title.split(' ') {
        if !few.is_empty() && letters(&few.join(" ")) + letters(word) >= FEW {
            break;
        }
        few.push(word);
    }
    while few.len() > 1 && few.last().is_some_and(|word| JOINING.contains(word)) {
        few.pop();
    }
    format!("{}…", few.join(" ").trim_end_matches([',', ';', ':']))
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
