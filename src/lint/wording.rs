//! Complaint patterns against the words that customers use.

use rayon::prelude::*;

use super::desk::Desk;
use crate::knowledge::{Listener, SymptomId};
use crate::load::{Code, FileKind, Spot};

/// The most examples and complaints that are held against the patterns.
const MOST_WORDS: usize = 3_000;
/// The most bytes of words that patterns are looked for in: each pattern looks through all words.
const MOST_SEARCHED: usize = 20_000_000;

/// What a customer said, and the symptoms that are meant.
struct Words<'k> {
    said: &'k str,
    /// The words as patterns read them.
    read: String,
    meant: Vec<SymptomId>,
    spot: Spot,
    whose: String,
}

/// The symptom with the most patterns in the words is meant. So each example of a tree and the complaint of each
/// case must be found by a pattern of their own symptoms, and by none of another.
pub(super) fn judge(desk: &Desk<'_>) {
    let listener = Listener::new(desk.family);
    let mut all: Vec<Words<'_>> = examples(desk).chain(complaints(desk)).collect();
    if let Some(beyond) = all.get(MOST_WORDS) {
        desk.at(
            Code::TooMuch,
            beyond.spot,
            format!("there are more than {MOST_WORDS} examples and complaints of cases: from here on they are not looked at"),
            "keep the examples that differ",
        );
    }
    all.truncate(MOST_WORDS);
    all.par_iter_mut()
        .for_each(|words| words.read = listener.read(words.said));
    for words in &all {
        unmatched(desk, words);
    }
    let bytes: usize = all.iter().map(|words| words.read.len()).sum();
    let mut searched = 0_usize;
    for symptom in desk.symptoms() {
        let of = desk.family.symptom(symptom);
        searched = searched.saturating_add(bytes.saturating_mul(of.complaints.len()));
        if searched > MOST_SEARCHED {
            desk.at_value(
                Code::TooMuch,
                (FileKind::Tree, &[&of.name, "complaints"]),
                "there are too many patterns and examples to hold each pattern against each example: from here on it is not done".to_owned(),
                "keep the examples that differ, and the patterns that customers' words need",
            );
            break;
        }
        greedy(desk, symptom, &all);
    }
}

/// Reports words that no pattern of the symptoms meant is found in, where they have any.
fn unmatched(desk: &Desk<'_>, words: &Words<'_>) {
    let own = |id: &SymptomId| desk.family.symptom(*id);
    if words.meant.iter().any(|id| !own(id).complaints.is_empty())
        && words
            .meant
            .iter()
            .all(|id| own(id).matches(words.said) == 0)
    {
        desk.at(
            Code::UnmatchedWords,
            words.spot,
            format!(
                "no pattern of {} is found in these words",
                desk.symptom_names(&words.meant)
            ),
            "add a pattern for what the customer says, or correct the words",
        );
    }
}

/// Reports each pattern of a symptom that is found in words that mean others.
fn greedy(desk: &Desk<'_>, symptom: SymptomId, all: &[Words<'_>]) {
    let name = &desk.family.symptom(symptom).name;
    for (place, pattern) in desk.family.symptom(symptom).complaints.iter().enumerate() {
        let mut taken = all
            .iter()
            .filter(|words| !words.meant.contains(&symptom))
            .filter_map(|words| Some((words, pattern.find(&words.read)?)));
        let Some((words, found)) = taken.next() else {
            continue;
        };
        let more = match taken.count() {
            0 => String::new(),
            more => format!(", and is found in {more} more"),
        };
        desk.at_value(
            Code::GreedyPattern,
            (FileKind::Tree, &[name, "complaints", &place.to_string()]),
            format!(
                "this pattern of `{name}` finds \"{}\" in {} of {}, \"{}\"{more}",
                found,
                words.whose,
                desk.symptom_names(&words.meant),
                words.said
            ),
            "narrow the pattern until it leaves the words of other complaints alone",
        );
    }
}

fn examples<'d>(desk: &'d Desk<'_>) -> impl Iterator<Item = Words<'d>> {
    desk.symptoms().flat_map(move |id| {
        let symptom = desk.family.symptom(id);
        let said = move |(place, said): (usize, &'d String)| {
            let place = place.to_string();
            Words {
                said,
                read: String::new(),
                meant: vec![id],
                spot: desk.places.value(
                    &desk.family.name,
                    FileKind::Tree,
                    &[&symptom.name, "examples", &place],
                ),
                whose: "an example".to_owned(),
            }
        };
        symptom.examples.iter().enumerate().map(said)
    })
}

fn complaints<'d>(desk: &'d Desk<'_>) -> impl Iterator<Item = Words<'d>> {
    desk.family.cases.iter().filter_map(move |case| {
        Some(Words {
            said: case.complaint.as_deref()?,
            read: String::new(),
            meant: case.symptoms.clone(),
            spot: desk.places.value(
                &desk.family.name,
                FileKind::Case,
                &[&case.file, "complaint"],
            ),
            whose: format!("the case `{}`", case.title),
        })
    })
}
