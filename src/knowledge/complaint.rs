//! A customer's words, made ready for the patterns of a family.

use std::cmp::Reverse;
use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::LazyLock;

use regex::{Captures, Regex};

use super::family::Family;
use super::ids::{MeasurementId, OutcomeId, SymptomId};
use super::pattern::{OPEN, Pattern};

static WORD: LazyLock<Option<Regex>> =
    LazyLock::new(|| Regex::new(r"\p{Alphabetic}[\p{Alphabetic}'’]*").ok());

/// What denies the word behind it, with what may stand between: "no", "not really", "no slipping or".
static DENIED: LazyLock<Option<Regex>> = LazyLock::new(|| {
    let denies = r"\b(?:(?:no|not|without|never|nor|(?:is|are|was|were|do|does|did|has|have|had|can|wo)n['’]?t)(?:\s+(?:any|an?|the|longer|more|real|really|noticeable|sign of|feel|make|have|get))*|(?:fine|ok|okay|normal|good)(?:\s+(?:when|while|if|once|in|on|at))+)(?:\s+\w+\s+n?or)?\s*$";
    Regex::new(&format!("(?i){denies}")).ok()
});

/// What says of the word before it that it is in order. "Fine today", and "fine when cold" behind a comma, only say when
/// the complaint does not show.
static IN_ORDER: LazyLock<Option<Regex>> = LazyLock::new(|| {
    let is = r"^(?<apart>,)?\s+(?:(?:is|are|was|works|drives)\s+)?";
    let fine = r"(?:ok|okay|fine|normal|good|all ?right)\b";
    let now = "(?<now>today|now|again|otherwise|elsewhere|this)";
    let when = "(?<when>when|while|if|once|until|in|on|at|with)";
    Regex::new(&format!(r"(?i){is}{fine}(?:\s+(?:{now}|{when})\b)?")).ok()
});

/// A word of fewer letters is too short to be a misspelt one, or the beginning of a longer one.
const SHORTEST: usize = 4;

/// Reads customers' words: which symptoms of a family they mean.
///
/// Misspelt words and unknown endings are put right where a word of the patterns is near; what the customer says is
/// *not* so is left out. A symptom is meant the more, the more of its patterns are found.
#[derive(Debug)]
pub struct Listener<'f> {
    family: &'f Family,
    /// The words that the patterns ask for, in lower case.
    asked_for: BTreeSet<String>,
    /// The beginnings of words that the patterns ask for.
    begun: Vec<String>,
    /// All words of the family: they need no correction.
    known: BTreeSet<String>,
}

impl<'f> Listener<'f> {
    /// A reader of complaints about transmissions of a family.
    pub fn new(family: &'f Family) -> Self {
        let (open, mut asked_for): (BTreeSet<String>, BTreeSet<String>) = patterns(family)
            .flat_map(Pattern::words)
            .partition(|word| word.ends_with(OPEN));
        let begun: Vec<String> = open
            .iter()
            .map(|word| word.trim_end_matches(OPEN).to_owned())
            .collect();
        let measurements = family.measurements.iter();
        let texts = measurements.flat_map(|it| it.steps.iter().chain([&it.title, &it.ask]));
        let texts = texts.chain(family.causes.iter().map(|cause| &cause.title));
        let texts = texts.chain(family.repairs.iter().map(|repair| &repair.title));
        let symptoms = family.symptoms.iter();
        let texts = texts.chain(symptoms.flat_map(|it| it.examples.iter().chain([&it.title])));
        let mut known: BTreeSet<String> = texts.flat_map(|text| words(text)).collect();
        let goes_on = |word: &&String| begun.iter().any(|begun| word.starts_with(begun));
        asked_for.extend(known.iter().filter(goes_on).cloned());
        known.extend(asked_for.iter().cloned());
        Self {
            family,
            asked_for,
            begun,
            known,
        }
    }

    /// The words as the patterns are to read them.
    pub fn read(&self, said: &str) -> String {
        let text = self.without_others(self.spelt(said));
        self.without_denied(&text)
    }

    /// The symptoms meant, each with how many of its patterns are found: the likeliest first, then what is said first;
    /// those not meant last.
    pub fn meant(&self, said: &str) -> Vec<(SymptomId, usize)> {
        let text = self.read(said);
        let symptoms = (0..).map(SymptomId::at).zip(&self.family.symptoms);
        let mut meant: Vec<_> = symptoms
            .map(|(id, symptom)| {
                let places = symptom
                    .complaints
                    .iter()
                    .filter_map(|pattern| pattern.places(&text).next());
                let starts: Vec<usize> = places.map(|place| place.start).collect();
                (Reverse(starts.len()), starts.into_iter().min(), id)
            })
            .collect();
        meant.sort();
        meant
            .into_iter()
            .map(|(found, _, id)| (id, found.0))
            .collect()
    }

    /// What the words answer of the measurements that the customer is asked for these symptoms: each with the outcome
    /// and the words that say so. Words that tell two outcomes of one measurement answer nothing.
    pub fn told(
        &self,
        said: &str,
        symptoms: &[SymptomId],
    ) -> Vec<(MeasurementId, OutcomeId, String)> {
        let text = self.read(said);
        let measurements = (0..).map(MeasurementId::at).zip(&self.family.measurements);
        let asked = measurements.filter(|(_, measurement)| measurement.is_for(symptoms));
        let told = asked.filter_map(|(id, measurement)| {
            let outcomes = (0..).map(OutcomeId::at).zip(&measurement.outcomes);
            let mut told = outcomes.filter_map(|(outcome, it)| {
                let words = it.heard.iter().find_map(|pattern| pattern.find(&text))?;
                Some((id, outcome, words.trim().to_owned()))
            });
            told.next().filter(|_| told.next().is_none())
        });
        told.collect()
    }

    /// The text with its misspelt words put right.
    fn spelt(&self, said: &str) -> String {
        let Some(word) = WORD.as_ref() else {
            return said.to_owned();
        };
        let put_right = |found: &Captures<'_>| {
            let typed = plain(&found[0]);
            let is_known = self.known.contains(&typed)
                || self
                    .begun
                    .iter()
                    .any(|begun| begun.len() > SHORTEST && typed.starts_with(begun));
            let right = if is_known { None } else { self.nearest(&typed) };
            right.map_or_else(|| found[0].to_owned(), str::to_owned)
        };
        word.replace_all(said, put_right).into_owned()
    }

    /// The word of the patterns that an unknown word is a form or a misspelling of.
    fn nearest(&self, typed: &str) -> Option<&str> {
        let letters = typed.chars().count();
        let allowed = match letters {
            0..SHORTEST => return None,
            SHORTEST..9 => 1,
            _ => 2,
        };
        // Hardly anybody mistypes the first letter.
        let mut alike = self
            .asked_for
            .range(first(typed).to_owned()..)
            .take_while(|it| it.starts_with(first(typed)));
        let stem = without_ending(typed);
        if let Some(form) = alike.clone().find(|known| without_ending(known) == stem) {
            return Some(form);
        }
        let far = |known: &str| strsim::damerau_levenshtein(typed, known);
        let near = alike.by_ref().map(|known| {
            (
                far(known),
                known.chars().count().abs_diff(letters),
                known.as_str(),
            )
        });
        // So short a word is one letter away from too many others: only its letters may be in another order.
        near.filter(|(_, longer, known)| {
            letters > SHORTEST || (*longer == 0 && sorted(known) == sorted(typed))
        })
        .filter(|(far, ..)| *far <= allowed)
        .min()
        .map(|(.., known)| known)
    }

    /// The text without the words that are about something else: "the wipers judder".
    fn without_others(&self, mut text: String) -> String {
        for pattern in &self.family.not_meant {
            let places: Vec<Range<usize>> = pattern.places(&text).collect();
            for place in places {
                blank(&mut text, place);
            }
        }
        text
    }

    /// The text without the words that it denies, save where a pattern asks for the denial: "no drive".
    fn without_denied(&self, text: &str) -> String {
        let (Some(denied), Some(in_order)) = (DENIED.as_ref(), IN_ORDER.as_ref()) else {
            return text.to_owned();
        };
        let found: Vec<Range<usize>> = patterns(self.family)
            .flat_map(|pattern| pattern.places(text))
            .collect();
        let mut left = text.to_owned();
        for place in &found {
            let matched = &text[place.clone()];
            let denial = denied.find(&text[..place.start]).map(|it| it.start());
            let asked_for = |at: usize| found.iter().any(|other| other.contains(&at));
            if denial.is_some_and(|at| !asked_for(at)) {
                let end = matched
                    .find(char::is_whitespace)
                    .map_or(place.end, |at| place.start + at);
                blank(&mut left, place.start..end);
            } else if let Some(said) = in_order.captures(&text[place.end..])
                && said.name("now").is_none()
                && (said.name("apart").is_none() || said.name("when").is_none())
            {
                let start = matched
                    .rfind(char::is_whitespace)
                    .map_or(place.start, |at| place.start + at + 1);
                blank(&mut left, start..place.end);
            }
        }
        left
    }
}

fn patterns(family: &Family) -> impl Iterator<Item = &Pattern> {
    let complaints = family
        .symptoms
        .iter()
        .flat_map(|symptom| &symptom.complaints);
    let outcomes = family
        .measurements
        .iter()
        .flat_map(|measurement| &measurement.outcomes);
    let heard = outcomes.flat_map(|outcome| &outcome.heard);
    complaints.chain(heard).chain(&family.not_meant)
}

fn blank(text: &mut String, place: Range<usize>) {
    let spaces = " ".repeat(place.len());
    text.replace_range(place, &spaces);
}

/// The words of a text, as [`plain`] makes them.
fn words(text: &str) -> impl Iterator<Item = String> {
    let found = WORD.iter().flat_map(move |word| word.find_iter(text));
    found.map(|found| plain(found.as_str()))
}

/// A word in lower case, without apostrophes.
fn plain(word: &str) -> String {
    word.to_lowercase().replace(['\'', '’'], "")
}

fn sorted(word: &str) -> Vec<char> {
    let mut letters: Vec<char> = word.chars().collect();
    letters.sort_unstable();
    letters
}

fn first(word: &str) -> &str {
    word.chars()
        .next()
        .map_or("", |letter| &word[..letter.len_utf8()])
}

/// A word without its ending.
fn without_ending(word: &str) -> &str {
    const ENDINGS: [&str; 9] = ["ing", "ed", "er", "es", "ly", "en", "s", "y", "e"];
    let short = ENDINGS
        .iter()
        .filter_map(|ending| word.strip_suffix(ending))
        .find(|short| short.chars().count() >= 3);
    let short = short.unwrap_or(word);
    let mut last = short.char_indices().rev();
    match (last.next(), last.next()) {
        (Some((at, one)), Some((_, other))) if one == other => &short[..at],
        _ => short,
    }
}
