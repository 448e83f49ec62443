//! A text too long for the screen.

use unicode_width::UnicodeWidthStr;

use super::Desk;
use crate::knowledge::NamedText;
use crate::load::{Code, FileKind};

/// What a text is, and the most columns it may take on a screen of 80.
#[derive(Clone, Copy)]
enum Sort {
    /// An id stands in one column of a table beside figures and a title.
    Id,
    /// A title stands on a line of its own, behind a number or a mark.
    Title,
    /// A question or a step is read at a glance, with the hands on something else.
    Step,
    /// A caution, a note or a remark is a paragraph of five lines.
    Paragraph,
}

impl Sort {
    const fn most(self) -> usize {
        match self {
            Self::Id => 40,
            Self::Title => 76,
            Self::Step => 110,
            Self::Paragraph => 400,
        }
    }

    const fn advice(self) -> &'static str {
        match self {
            Self::Id => "shorten it: a table breaks it in two",
            Self::Title => "say it in one line; what needs more words is a note",
            Self::Step => "make two steps of it, or move the reason to the note",
            Self::Paragraph => "keep what has to be known before the work; nobody reads on",
        }
    }
}

/// Every text that a screen shows, against what fits it.
pub(super) fn judge(desk: &Desk<'_>) {
    causes(desk);
    measurements(desk);
    family(desk);
    for symptom in &desk.family.symptoms {
        let way = [symptom.name.as_str(), "title"];
        check(
            desk,
            Sort::Title,
            "title",
            FileKind::Tree,
            &way,
            &symptom.title,
        );
        let way = [symptom.name.as_str(), "symptom"];
        check(desk, Sort::Id, "id", FileKind::Tree, &way, &symptom.name);
    }
    for case in &desk.family.cases {
        let way = [case.file.as_str(), "case"];
        check(
            desk,
            Sort::Title,
            "title",
            FileKind::Case,
            &way,
            &case.title,
        );
    }
}

fn causes(desk: &Desk<'_>) {
    let kind = FileKind::Causes;
    for cause in &desk.family.causes {
        let way = ["causes", cause.name.as_str(), "title"];
        check(desk, Sort::Id, "id", kind, &way[..2], &cause.name);
        check(desk, Sort::Title, "title", kind, &way, &cause.title);
    }
    for repair in &desk.family.repairs {
        let way = |field| ["repairs", repair.name.as_str(), field];
        check(desk, Sort::Id, "id", kind, &way("")[..2], &repair.name);
        check(
            desk,
            Sort::Title,
            "title",
            kind,
            &way("title"),
            &repair.title,
        );
        check(
            desk,
            Sort::Step,
            "`verify`",
            kind,
            &way("verify"),
            &repair.verify,
        );
    }
}

fn measurements(desk: &Desk<'_>) {
    let kind = FileKind::Measurements;
    for measurement in &desk.family.measurements {
        let way = |field| ["measurements", measurement.name.as_str(), field];
        check(desk, Sort::Id, "id", kind, &way("")[..2], &measurement.name);
        check(
            desk,
            Sort::Title,
            "title",
            kind,
            &way("title"),
            &measurement.title,
        );
        check(
            desk,
            Sort::Step,
            "question",
            kind,
            &way("ask"),
            &measurement.ask,
        );
        if let Some(note) = &measurement.note {
            check(desk, Sort::Paragraph, "note", kind, &way("note"), note);
        }
        for (place, step) in measurement.steps.iter().enumerate() {
            let place = place.to_string();
            let way = ["measurements", &measurement.name, "steps", &place];
            check(desk, Sort::Step, "step", kind, &way, step);
        }
        for outcome in &measurement.outcomes {
            if let Some(gloss) = &outcome.gloss {
                let way = [
                    "measurements",
                    &measurement.name,
                    "reading",
                    "choices",
                    &outcome.name,
                ];
                check(desk, Sort::Title, "choice", kind, &way, gloss);
            }
        }
        for take in measurement.number().iter().flat_map(|number| &number.takes) {
            let way = [
                "measurements",
                &measurement.name,
                "reading",
                "takes",
                &take.name,
                "ask",
            ];
            check(desk, Sort::Step, "question", kind, &way, &take.ask);
        }
    }
}

fn family(desk: &Desk<'_>) {
    let kind = FileKind::Family;
    let family = desk.family;
    check(desk, Sort::Title, "title", kind, &["title"], &family.title);
    for (what, field, texts) in [
        ("caution", "cautions", &family.cautions),
        ("text on care", "care", &family.care),
    ] {
        for NamedText { name, text } in texts {
            check(desk, Sort::Paragraph, what, kind, &[field, name], text);
        }
    }
    for set_up in &family.set_ups {
        let way = ["set_ups", &set_up.name, "title"];
        check(desk, Sort::Title, "title", kind, &way, &set_up.title);
    }
    for instrument in &family.instruments {
        let way = ["instruments", &instrument.name, "title"];
        check(desk, Sort::Title, "title", kind, &way, &instrument.title);
    }
    for condition in &family.conditions {
        let way = ["conditions", &condition.name, "ask"];
        check(desk, Sort::Step, "question", kind, &way, &condition.ask);
    }
    for (place, ambiguity) in family.ambiguities.iter().enumerate() {
        let way = ["ambiguities", &place.to_string(), "why"];
        check(desk, Sort::Paragraph, "reason", kind, &way, &ambiguity.why);
    }
}

fn check(desk: &Desk<'_>, sort: Sort, what: &str, kind: FileKind, way: &[&str], text: &str) {
    let columns = text.width();
    if columns > sort.most() {
        desk.say(
            Code::LongText,
            match sort {
                Sort::Id => desk.key(kind, way),
                Sort::Title | Sort::Step | Sort::Paragraph => desk.value(kind, way),
            },
            format!("this {what} takes {columns} columns, {} fit", sort.most()),
            sort.advice(),
        );
    }
}
