//! A choice that is typed: by its name, by what else is said for it, or by the start of its name.

/// The start of a name counts from so many letters on: `no` is no start of `normal`.
const LEAST_START: usize = 3;
/// Words that answer another question than which of several it is, unless a choice lists them.
const PLAIN: [&str; 4] = ["yes", "y", "no", "n"];

/// One of several choices.
#[derive(Clone, Copy, Debug)]
pub struct Choice<'c> {
    /// Its name.
    pub name: &'c str,
    /// What else is typed for it.
    pub words: &'c [String],
}

/// Why a typed text is none of the choices.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoChoice {
    /// It can mean several of them, or is a plain yes or no where that says nothing.
    Unclear,
    /// It is the name of none.
    Unknown,
}

/// Which of some choices a text means, by its place; `unclear` are words that can mean several. Capitals, hyphens and
/// the word "the" do not matter.
pub fn choose(text: &str, choices: &[Choice<'_>], unclear: &[String]) -> Result<usize, NoChoice> {
    let typed = folded(text);
    let is_typed = |word: &String| folded(word) == typed;
    let named = |choice: &Choice<'_>| folded(choice.name) == typed;
    let said = |choice: &Choice<'_>| choice.words.iter().any(is_typed);
    if let Some(place) = choices.iter().position(named) {
        return Ok(place);
    }
    if let Some(place) = choices.iter().position(said) {
        return Ok(place);
    }
    if unclear.iter().any(is_typed) || PLAIN.contains(&typed.as_str()) {
        return Err(NoChoice::Unclear);
    }
    let starts = |choice: &Choice<'_>| folded(choice.name).starts_with(&typed);
    let mut starting = (0..choices.len()).filter(|place| starts(&choices[*place]));
    match (starting.next(), starting.next()) {
        (Some(only), None) if typed.chars().count() >= LEAST_START => Ok(only),
        _ => Err(NoChoice::Unknown),
    }
}

/// A text as it is compared: small letters, a blank for each hyphen, without the word "the" and what ends a sentence.
pub fn folded(text: &str) -> String {
    let text = text.to_lowercase().replace('-', " ");
    let words = text.split_whitespace();
    let words: Vec<&str> = words.filter(|word| *word != "the").collect();
    words.join(" ").trim_end_matches(['.', '!']).to_owned()
}
