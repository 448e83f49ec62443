//! Complaint patterns held against the words that customers use.

use super::Desk;
use crate::knowledge::{Symptom, SymptomId};
use crate::manual::{Code, FileKind, Spot};

/// What a customer said, and the symptoms it may find.
struct Words<'k> {
    said: &'k str,
    meant: Vec<SymptomId>,
    spot: Spot,
    whose: String,
}

/// The symptom with the most patterns in the words is meant. So each example must find its own symptom before any
/// other, and each case one of its symptoms; where the patterns of another find as much, those are too greedy.
pub(super) fn judge(desk: &Desk<'_>) {
    for words in examples(desk).chain(complaints(desk)) {
        let family = desk.family;
        let own = words
            .meant
            .iter()
            .map(|symptom| family.symptom(*symptom).matches(words.said))
            .max()
            .unwrap_or(0);
        let spoken_for = words
            .meant
            .iter()
            .any(|symptom| !family.symptom(*symptom).complaints.is_empty());
        if own == 0 && spoken_for {
            desk.say(
                Code::UnmatchedWords,
                words.spot,
                format!(
                    "no pattern of {} is found in these words",
                    desk.symptom_names(&words.meant)
                ),
                "add a pattern for what the customer says, or correct the words",
            );
        }
        for other in &family.symptoms {
            let found = other.matches(words.said);
            if found > 0 && found >= own && !words.meant.iter().any(|symptom| family.symptom(*symptom).name == other.name) {
                greedy(desk, other, &words, found, own);
            }
        }
    }
}

/// Reports the patterns of another symptom at the first that is found in the words.
fn greedy(desk: &Desk<'_>, other: &Symptom, words: &Words<'_>, found: usize, own: usize) {
    let Some(place) = other
        .complaints
        .iter()
        .position(|pattern| pattern.0.is_match(words.said))
    else {
        return;
    };
    desk.say(
        Code::GreedyPattern,
        desk.value(
            FileKind::Tree,
            &[&other.name, "complaints", &place.to_string()],
        ),
        format!(
            "`{}` finds {found} of its patterns in {} of {}, which finds {own}: \"{}\"",
            other.name,
            words.whose,
            desk.symptom_names(&words.meant),
            words.said
        ),
        "narrow the pattern, or give the other symptom one for what is said there",
    );
}

fn examples<'d>(desk: &'d Desk<'_>) -> impl Iterator<Item = Words<'d>> {
    desk.symptoms().flat_map(move |id| {
        let symptom = desk.family.symptom(id);
        symptom.examples.iter().enumerate().map(move |(place, said)| Words {
            said,
            meant: vec![id],
            spot: desk.value(
                FileKind::Tree,
                &[&symptom.name, "examples", &place.to_string()],
            ),
            whose: "an example".to_owned(),
        })
    })
}

fn complaints<'d>(desk: &'d Desk<'_>) -> impl Iterator<Item = Words<'d>> {
    desk.family.cases.iter().filter_map(move |case| {
        Some(Words {
            said: case.complaint.as_deref()?,
            meant: case.symptoms.clone(),
            spot: desk.value(FileKind::Case, &[&case.file, "complaint"]),
            whose: format!("the case `{}`", case.title),
        })
    })
}
