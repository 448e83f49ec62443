//! An exercise on the page: read from its record, or a move on its way into it.

use std::path::Path;

use super::desk::{Taken, Trouble};
use super::form::Form;
use super::site::{Site, held};
use crate::knowledge::{Exercise, Family, Knowledge};
use crate::practice::{Asked, Course, Hidden, Move, Practice, Reply, exercise_called, opening};
use crate::record::{History, Mark, Record};

/// An exercise as it stands.
pub(super) struct Trainee<'k> {
    pub(super) practice: Practice<'k>,
    pub(super) history: History,
    pub(super) asked: Asked,
    pub(super) course: Course,
    /// What would happen, where a rule was broken.
    pub(super) warned: Option<String>,
    /// What was said to the last move.
    pub(super) said: Vec<String>,
}

impl<'k> Trainee<'k> {
    /// An exercise by its record.
    pub(super) fn read(
        site: &Site,
        knowledge: &'k Knowledge,
        id: &str,
        file: &Path,
    ) -> Result<Self, Trouble> {
        let history = Record::read(file)?.history;
        let practice = Practice::of_record(knowledge, history.state(), None)?;
        let open = site.open(id);
        let mut open = held(&open);
        // The course is kept, so that each move is counted once.
        open.course.follow(&practice, &history);
        let stands = open.lines == history.entries().len();
        let (warned, said) = if stands {
            (open.caution.clone(), open.said.clone())
        } else {
            (None, Vec::new())
        };
        Ok(Self {
            asked: practice.asked(&history),
            course: open.course.clone(),
            practice,
            history,
            warned,
            said,
        })
    }

    /// Takes a move: what comes of it is on disk when this returns.
    pub(super) fn take(
        site: &Site,
        knowledge: &Knowledge,
        id: &str,
        file: &Path,
        form: &Form,
    ) -> Result<Taken, Trouble> {
        let open = site.open(id);
        let mut open = held(&open);
        let (mut record, _) = Record::open(file, site.clock.clone())?;
        let practice = Practice::of_record(knowledge, record.state(), None)?;
        if form.field("at") != at(record.history()) {
            return Ok(Taken::Stale);
        }
        let asked = practice.asked(record.history());
        let reply = match (form.field("do"), &asked) {
            (_, Asked::Over) => Reply::default(),
            ("read", Asked::Reading(prompt)) => practice.reads(record.history(), prompt),
            (word, _) => match moved(word, form) {
                Ok(done) => practice.does(record.history(), done),
                Err(missing) => Reply {
                    said: vec![missing.to_owned()],
                    ..Reply::default()
                },
            },
        };
        for event in reply.events {
            record.append(event)?;
        }
        open.lines = record.events().len();
        open.caution = (!reply.warned.is_empty()).then(|| reply.warned.join("\n"));
        open.said = reply.said;
        Ok(Taken::Done)
    }

    /// Begins an exercise; gives the name of its file. The error says what is missing.
    pub(super) fn begin(
        site: &Site,
        knowledge: &Knowledge,
        form: &Form,
    ) -> Result<Result<String, &'static str>, Trouble> {
        let Some((family, exercise)) = chosen(site, knowledge, form)? else {
            return Ok(Err("Choose an exercise first."));
        };
        let name = form.field("name");
        if name.chars().count() > LONGEST_NAME {
            return Ok(Err("A name has at most 100 characters."));
        }
        // What cannot be played is told before anybody begins.
        let vehicle = exercise.vehicle.as_deref();
        let vehicle = vehicle.and_then(|name| knowledge.vehicle(name));
        Hidden::of(family, vehicle, &exercise)?;
        let trainee = Some(name.to_owned()).filter(|name| !name.is_empty());
        let no_help = form.field("no-help") == "yes";
        let (opened, events) = opening(knowledge, family, &exercise, trainee, no_help);
        let mut record = Record::create_in(site.path(), &opened, &site.clock, site.readers())?;
        for event in events {
            record.append(event)?;
        }
        let file = record.path().file_name().unwrap_or_default();
        Ok(Ok(file.to_string_lossy().into_owned()))
    }
}

/// The exercise that a form chooses: one of the knowledge, or one drawn for a complaint.
fn chosen<'k>(
    site: &Site,
    knowledge: &'k Knowledge,
    form: &Form,
) -> Result<Option<(&'k Family, Exercise)>, Trouble> {
    let mut words = form.field("exercise").split(' ');
    let (kind, family, name) = (words.next(), words.next(), words.next());
    let Some(family) = family.and_then(|family| knowledge.family(family)) else {
        return Ok(None);
    };
    if kind == Some("named") {
        let found = name.and_then(|name| exercise_called(family, name));
        return Ok(found.map(|exercise| (family, exercise.clone())));
    }
    let symptom = name.and_then(|name| family.symptom_known_as(name));
    let now = site.clock.now().as_millisecond().unsigned_abs();
    let seed = form.field("seed").parse().unwrap_or(now % 100_000);
    let vehicle = knowledge
        .vehicles
        .iter()
        .find(|of| of.family == family.name);
    let drawn = symptom.map(|symptom| Hidden::drawn(family, vehicle, Some(symptom), seed));
    Ok(drawn.transpose()?.map(|exercise| (family, exercise)))
}

/// The longest name of a trainee, in characters.
const LONGEST_NAME: usize = 100;

/// Which lines of the record a form was made for.
pub(super) fn at(history: &History) -> String {
    history.entries().len().to_string()
}

/// The move that a form means. The error says what is missing.
fn moved(word: &str, form: &Form) -> Result<Move, &'static str> {
    let named = |missing| match form.field(word) {
        "" => Err(missing),
        text => Ok(text.to_owned()),
    };
    match word {
        "take" => named("Choose a measurement first.").map(Move::Take),
        "prepare" => named("Choose what to prepare first.").map(Move::Prepare),
        "repair" => named("Choose a repair first.").map(Move::Repair),
        "note" => named("Write the remark first.").map(Move::Note),
        "skip" => Ok(Move::Skip),
        "hint" => Ok(Move::Ask(Mark::Hint)),
        "advice" => Ok(Move::Ask(Mark::Advice)),
        "suspects" => Ok(Move::Ask(Mark::Suspects)),
        "hand-on" => Ok(Move::HandOn),
        "" | "say" if !form.say().is_empty() => Ok(Move::Answered(form.say().to_owned())),
        _ => Err("This page does not know that."),
    }
}
