//! What people say at any question: yes, no, and that they cannot answer it.

const YES: [&str; 8] = ["yes", "y", "yep", "yeah", "yup", "yea", "aye", "true"];
const NO: [&str; 5] = ["no", "n", "nope", "nah", "false"];
/// What may come after a yes or a no without changing it.
const AND: [&str; 12] = [
    "it", "they", "is", "are", "does", "do", "did", "has", "have", "was", "were", "sir",
];
/// The same after a no.
const AND_NOT: [&str; 8] = [
    "isn't", "aren't", "doesn't", "don't", "didn't", "hasn't", "wasn't", "not",
];

/// Said instead of an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aside {
    /// Nobody knows.
    NotKnown,
    /// It cannot be done here, or not now.
    NotHere,
    /// As it was the last time.
    Same,
    /// Something else, please.
    Next,
}

/// A text as it is compared: small letters, a blank for each hyphen and mark between words, without the word "the" and
/// what ends a sentence.
pub fn folded(text: &str) -> String {
    let mut folded = String::with_capacity(text.len());
    let between =
        |c: char| c.is_whitespace() || matches!(c, '-' | ',' | ';' | ':' | '(' | ')' | '"');
    for word in text.to_lowercase().split(between) {
        let word = word.trim_end_matches(['.', '!', '?']);
        if !word.is_empty() && word != "the" {
            let blank = if folded.is_empty() { "" } else { " " };
            folded.push_str(blank);
            let letters = word.chars();
            folded.extend(letters.map(|c| if c == '\u{2019}' { '\'' } else { c }));
        }
    }
    folded
}

/// Yes or no, in any of the ways people say it.
pub fn yes_or_no(text: &str) -> Option<bool> {
    let text = folded(text);
    let mut words = text.split(' ');
    let first = words.next()?;
    let yes = YES.contains(&first);
    let changes = |word: &str| !AND.contains(&word) && (yes || !AND_NOT.contains(&word));
    ((yes || NO.contains(&first)) && !words.any(changes)).then_some(yes)
}

/// What a text that is no answer says instead of one.
pub fn aside(text: &str) -> Option<Aside> {
    let text = folded(text).replace('\'', "");
    let begins = |starts: &[&str]| {
        let with_more = |start: &&str| text.starts_with(&format!("{start} "));
        starts.contains(&text.as_str()) || starts.iter().any(with_more)
    };
    if begins(&[
        "dont know",
        "do not know",
        "i dont know",
        "i do not know",
        "dunno",
        "not sure",
        "unsure",
        "im not sure",
        "no idea",
        "unknown",
        "not known",
        "not clear",
        "hard to say",
        "cant tell",
        "cant say",
        "cannot tell",
    ]) {
        Some(Aside::NotKnown)
    } else if begins(&[
        "same",
        "as before",
        "as last time",
        "unchanged",
        "no change",
    ]) {
        Some(Aside::Same)
    } else if begins(&["next", "continue", "go on", "pass", "another"]) {
        Some(Aside::Next)
    } else if begins(&[
        "cant",
        "can not",
        "couldnt",
        "could not",
        "impossible",
        "not possible",
        "not here",
        "not today",
        "not now",
        "not available",
        "not fitted",
        "not tried",
        "wasnt tried",
        "was not tried",
        "dont have",
        "do not have",
        "havent",
        "have no",
        "not got",
        "n/a",
    ]) || (text.starts_with("no ") && yes_or_no(&text).is_none())
    {
        Some(Aside::NotHere)
    } else {
        None
    }
}
