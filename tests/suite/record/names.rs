//! A record whose names the knowledge has changed since: what is lost is named with its line, and a former id finds
//! its entry.

use halfsplit::knowledge::Knowledge;
use halfsplit::load::{Source, load};
use halfsplit::record::{Closed, Event, Repair, State};
use halfsplit::session::recorded_case;

use super::{complaint, reading, record_of, symptom};
use crate::family_text::{Test, Textbook};

/// Two causes, told apart by a test; every text that stands on the left written as on the right.
fn knowledge(edits: &[(&str, &str)]) -> Knowledge {
    let book = Textbook::hypotheses(&[("leak", 0.5), ("worn", 0.5)])
        .test(Test::new("pressure", &["normal", "low"]).row("leak", &[0.1, 0.9]));
    let edited = book.files().into_iter().map(|(path, mut text)| {
        for (from, to) in edits {
            text = text.replace(from, to);
        }
        (path, text)
    });
    let edited: Vec<(String, String)> = edited.collect();
    load(&Source::texts(edited)).unwrap().knowledge
}

/// A complaint, a reading, and a repair that did not cure it: on lines 2 to 6.
fn state() -> State {
    let done = Repair {
        repairs: vec!["repair-worn".to_owned()],
        causes: vec!["worn".to_owned()],
        probability: 0.5,
    };
    let not_fixed = Closed {
        fixed: false,
        causes: vec!["worn".to_owned()],
        repairs: vec!["repair-worn".to_owned()],
        found: None,
        among: Vec::new(),
        words: None,
    };
    let (_folder, record) = record_of([
        complaint("it slips"),
        symptom("complaint", true),
        reading("pressure", "low"),
        Event::Repair(done),
        Event::Closed(not_fixed),
    ]);
    record.state().clone()
}

fn lost(knowledge: &Knowledge) -> Vec<String> {
    let case = recorded_case(&knowledge.families[0], &state());
    case.lost.iter().map(ToString::to_string).collect()
}

#[test]
fn knowledge_that_has_every_name_loses_nothing() {
    let knowledge = knowledge(&[]);
    let case = recorded_case(&knowledge.families[0], &state());
    assert!(case.lost.is_empty());
    assert_eq!(case.evidence.len(), 1);
    assert_eq!(case.complaint.repaired.len(), 1);
}

#[test]
fn each_name_that_is_gone_is_told_with_its_line() {
    let knowledge = knowledge(&[
        ("symptom: complaint", "symptom: grievance"),
        ("  pressure:", "  line-pressure:"),
        ("repair-worn", "renew-worn"),
    ]);
    assert_eq!(
        lost(&knowledge),
        [
            "line 3: symptom `complaint`",
            "line 4: measurement `pressure`",
            "line 5: repair `repair-worn`"
        ]
    );
}

#[test]
fn a_former_id_finds_the_entry_under_its_present_one() {
    let knowledge = knowledge(&[
        (
            "symptom: complaint",
            "symptom: grievance\nformerly: [complaint]",
        ),
        ("  pressure:", "  line-pressure:\n    formerly: [pressure]"),
        ("repair-worn", "renew-worn"),
        ("renew-worn: {", "renew-worn: {formerly: [repair-worn], "),
    ]);
    let family = &knowledge.families[0];
    let case = recorded_case(family, &state());
    assert_eq!(lost(&knowledge), Vec::<String>::new());
    assert_eq!(case.evidence.len(), 1);
    // Done under its old name and no cure, so it is not proposed again under the new one.
    assert_eq!(family.repair_names(&case.complaint.repaired), "renew-worn");
}
