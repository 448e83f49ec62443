//! A choice that is typed: by its name, by what stands beside it on the screen, or by what else is said for it.

use super::plain::{folded, yes_or_no};

/// The start of a text counts from so many letters on: `no` is no start of `normal`.
const LEAST_START: usize = 3;
/// A typing error is looked for from so many letters on, and two in a text of this length.
const LEAST_NEAR: usize = 4;
const TWO_ERRORS: usize = 6;

/// One of several choices.
#[derive(Clone, Copy, Debug)]
pub struct Choice<'c> {
    /// Its name.
    pub name: &'c str,
    /// What it means, as shown beside it; may be empty.
    pub gloss: &'c str,
    /// What else is typed for it.
    pub words: &'c [String],
}

/// Why a typed text is not taken for one of the choices.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoChoice {
    /// Perhaps the choice at this place is meant: the person is to be asked.
    Near(usize),
    /// It can mean several of them, or is a plain yes or no where that says nothing.
    Unclear,
    /// It is none of them.
    Unknown,
}

/// A choice, [`folded`].
struct Folded {
    /// Its name and its words.
    said: Vec<String>,
    /// Its gloss, whole and up to the first mark.
    gloss: [String; 2],
}

impl Folded {
    fn of(choice: &Choice<'_>) -> Self {
        let words = choice.words.iter().map(|word| folded(word));
        let head = choice.gloss.split([',', ';', ':', '(']).next();
        Self {
            said: std::iter::once(folded(choice.name)).chain(words).collect(),
            gloss: [folded(choice.gloss), folded(head.unwrap_or_default())],
        }
    }

    fn texts(&self) -> impl Iterator<Item = &String> {
        self.said.iter().chain(&self.gloss)
    }

    /// Whether its name or its gloss begins so; of its words the start says too little.
    fn starts(&self, typed: &str) -> bool {
        let name = self.said.iter().take(1);
        name.chain(&self.gloss).any(|text| text.starts_with(typed))
    }

    /// Whether each of the words stands somewhere in it.
    fn holds(&self, typed: &str) -> bool {
        let own = |word: &str| self.texts().any(|text| text.split(' ').any(|w| w == word));
        typed.split(' ').all(own)
    }

    /// The fewest typing errors by which one of its texts, or a word of them, becomes the typed text.
    fn errors(&self, typed: &str) -> usize {
        let texts = self.texts().map(String::as_str);
        let words = self.texts().flat_map(|text| text.split(' '));
        let texts = texts.chain(words).filter(|text| text.len() >= LEAST_NEAR);
        let errors = texts.map(|text| strsim::osa_distance(text, typed));
        errors.min().unwrap_or(usize::MAX)
    }
}

/// Which of some choices a text means, by its place; `unclear` are words that can mean several.
///
/// A text is taken for a choice where it is its name, one of its words, or its gloss, whole, up to the first mark, or a
/// start that no other has. A plain yes or no is taken only where a choice says so itself.
pub fn choose(text: &str, choices: &[Choice<'_>], unclear: &[String]) -> Result<usize, NoChoice> {
    let typed = folded(text);
    if typed.is_empty() {
        return Err(NoChoice::Unknown);
    }
    let choices: Vec<Folded> = choices.iter().map(Folded::of).collect();
    let only = |is: &dyn Fn(&Folded) -> bool| {
        let mut fitting = (0..choices.len()).filter(|place| is(&choices[*place]));
        match (fitting.next(), fitting.next()) {
            (Some(only), None) => Ok(only),
            (None, _) => Err(NoChoice::Unknown),
            (Some(_), Some(_)) => Err(NoChoice::Unclear),
        }
    };
    if let Some(place) = choices.iter().position(|c| c.said.contains(&typed)) {
        return Ok(place);
    }
    // Where a yes says too little, so does any other word for it.
    let plain = yes_or_no(text).map(|yes| if yes { "yes" } else { "no" });
    let is_unclear = |word: String| word == typed || plain == Some(word.as_str());
    if unclear.iter().any(|word| is_unclear(folded(word))) {
        return Err(NoChoice::Unclear);
    }
    if let Some(yes) = yes_or_no(text) {
        let word = if yes { "yes" } else { "no" };
        let says = |choice: &Folded| choice.texts().any(|text| text == word);
        return only(&says).map_err(|_| NoChoice::Unclear);
    }
    let shown = only(&|choice| choice.gloss.contains(&typed));
    if shown != Err(NoChoice::Unknown) {
        return shown;
    }
    let length = typed.chars().count();
    if length >= LEAST_START {
        let started = only(&|choice| choice.starts(&typed));
        if started != Err(NoChoice::Unknown) {
            return started;
        }
    }
    let denies = |word: &str| matches!(word, "no" | "not" | "never") || word.ends_with("n't");
    if length < LEAST_NEAR || typed.split(' ').any(denies) {
        return Err(NoChoice::Unknown);
    }
    let allowed = 1 + usize::from(length >= TWO_ERRORS);
    let fewest = choices.iter().map(|choice| choice.errors(&typed)).min();
    let near = match fewest.filter(|fewest| *fewest <= allowed) {
        Some(fewest) => only(&|choice| choice.errors(&typed) == fewest),
        None => only(&|choice| choice.holds(&typed)),
    };
    Err(near.map_or_else(|none| none, NoChoice::Near))
}
