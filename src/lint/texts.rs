//! Texts as the screen shows them: too long for it, or naming a danger without its caution.

use unicode_width::UnicodeWidthStr;

use super::desk::Desk;
use crate::knowledge::Measurement;
use crate::load::{Code, FileKind};

/// The most columns of a kind of text on a screen of 80, and what to do about a longer one.
type Fits = (usize, &'static str);

/// An id is in one column of a table beside figures and a title.
const ID: Fits = (40, "shorten it: a table breaks it in two");
/// A title is on a line of its own, behind a number or a mark.
const TITLE: Fits = (76, "say it in one line; what needs more words is a note");
/// A question or a step is read at a glance, with the hands on something else.
const STEP: Fits = (110, "make two steps of it, or move the reason to the note");
/// A caution, a note or a remark is a paragraph of five lines.
const PARAGRAPH: Fits = (
    400,
    "keep what has to be known before the work; nobody reads on",
);

pub(super) fn judge(desk: &Desk<'_>) {
    let family = desk.family;
    let causes = Texts(desk, FileKind::Causes);
    for cause in &family.causes {
        causes.id(&["causes", &cause.name], &cause.name);
        causes.title(&["causes", &cause.name, "title"], &cause.title);
    }
    for repair in &family.repairs {
        let way = |field| ["repairs", repair.name.as_str(), field];
        causes.id(&["repairs", &repair.name], &repair.name);
        causes.title(&way("title"), &repair.title);
        causes.fits(STEP, "`verify`", &way("verify"), &repair.verify);
    }
    for measurement in &family.measurements {
        texts_of(&Texts(desk, FileKind::Measurements), measurement);
        dangers(desk, measurement);
    }
    texts_of_family(&Texts(desk, FileKind::Family));
    let trees = Texts(desk, FileKind::Tree);
    for symptom in &family.symptoms {
        trees.title(&[&symptom.name, "title"], &symptom.title);
        trees.id(&[&symptom.name, "symptom"], &symptom.name);
    }
    for case in &family.cases {
        Texts(desk, FileKind::Case).title(&[&case.file, "case"], &case.title);
    }
}

fn texts_of(texts: &Texts<'_, '_>, measurement: &Measurement) {
    let name = measurement.name.as_str();
    let way = |field| ["measurements", name, field];
    texts.id(&["measurements", name], name);
    texts.title(&way("title"), &measurement.title);
    texts.fits(STEP, "question", &way("ask"), &measurement.ask);
    if let Some(note) = &measurement.note {
        texts.fits(PARAGRAPH, "note", &way("note"), note);
    }
    for (place, step) in measurement.steps.iter().enumerate() {
        let way = ["measurements", name, "steps", &place.to_string()];
        texts.fits(STEP, "step", &way, step);
    }
    for outcome in &measurement.outcomes {
        if let Some(gloss) = &outcome.gloss {
            let way = ["measurements", name, "reading", "choices", &outcome.name];
            texts.fits(TITLE, "choice", &way, gloss);
        }
    }
    for take in measurement.number().iter().flat_map(|number| &number.takes) {
        let way = ["measurements", name, "reading", "takes", &take.name, "ask"];
        texts.fits(STEP, "question", &way, &take.ask);
    }
}

fn texts_of_family(texts: &Texts<'_, '_>) {
    let family = texts.0.family;
    texts.title(&["title"], &family.title);
    for caution in &family.cautions {
        let way = ["cautions", &caution.name];
        texts.fits(PARAGRAPH, "caution", &way, &caution.text);
    }
    for care in &family.care {
        let way = ["care", &care.name];
        texts.fits(PARAGRAPH, "text on care", &way, &care.text);
    }
    for set_up in &family.set_ups {
        texts.title(&["set_ups", &set_up.name, "title"], &set_up.title);
    }
    for instrument in &family.instruments {
        let way = ["instruments", &instrument.name, "title"];
        texts.title(&way, &instrument.title);
    }
    for condition in &family.conditions {
        let way = ["conditions", &condition.name, "ask"];
        texts.fits(STEP, "question", &way, &condition.ask);
    }
    for (place, ambiguity) in family.ambiguities.iter().enumerate() {
        let way = ["ambiguities", &place.to_string(), "why"];
        texts.fits(PARAGRAPH, "reason", &way, &ambiguity.why);
    }
}

/// The texts of one kind of file.
struct Texts<'d, 'k>(&'d Desk<'k>, FileKind);

impl Texts<'_, '_> {
    fn id(&self, way: &[&str], id: &str) {
        if let Some(words) = too_long(ID.0, "id", id) {
            self.0.at_name(Code::LongText, (self.1, way), words, ID.1);
        }
    }

    fn title(&self, way: &[&str], text: &str) {
        self.fits(TITLE, "title", way, text);
    }

    fn fits(&self, (most, advice): Fits, what: &str, way: &[&str], text: &str) {
        if let Some(words) = too_long(most, what, text) {
            self.0
                .at_value(Code::LongText, (self.1, way), words, advice);
        }
    }
}

fn too_long(most: usize, what: &str, text: &str) -> Option<String> {
    let columns = text.width();
    (columns > most).then(|| format!("this {what} takes {columns} columns, {most} fit"))
}

/// The steps in which a pattern of `dangers` in family.yaml is found while the measurement lacks that caution: each
/// caution once, at the first such step.
fn dangers(desk: &Desk<'_>, measurement: &Measurement) {
    let lacking = |caution: &usize| !measurement.cautions.contains(caution);
    let dangers = desk.family.dangers.iter();
    for (caution, patterns) in dangers.filter(|(caution, _)| lacking(caution)) {
        let mention = measurement
            .steps
            .iter()
            .enumerate()
            .find_map(|(place, step)| {
                let found = patterns.iter().find_map(|pattern| pattern.find(step))?;
                Some((place.to_string(), found))
            });
        let Some((place, found)) = mention else {
            continue;
        };
        let (name, caution) = (&measurement.name, &desk.family.cautions[*caution].name);
        desk.at_value(
            Code::DangerUnwarned,
            (FileKind::Measurements, &["measurements", name, "steps", &place]),
            format!("this step says \"{found}\", and `{name}` is shown without the caution `{caution}`"),
            &format!("add `{caution}` to its `cautions`, or word the step so that nobody meets the danger"),
        );
    }
}
