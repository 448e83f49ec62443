//! An exercise at a terminal.

use std::io;

use super::basis::INVENTED;
use super::pages::warnings;
use super::screens::{self, Shown};
use super::streams::Streams;
use super::visit::VisitError;
use crate::knowledge::{Exercise, Family, SetUp};
use crate::practice::{Asked, Course, Move, Practice, Reply};
use crate::record::{Mark, Record};
use crate::session::{Ask, Prompt};
use crate::text::figures::{minutes, money};
use crate::text::{Page, Tone, few_words};

/// The words of practice, as `help` shows them.
const WORDS: [(&str, &str); 15] = [
    (
        "take WORDS",
        "take the measurement with these words in its title",
    ),
    (
        "repair WORDS",
        "do the repair with these words in its title",
    ),
    ("hand on", "no listed cause is left: hand the job on"),
    ("list", "the measurements, by title"),
    ("list repairs", "the repairs, by title"),
    ("list set-ups", "the set-ups, by title"),
    ("prepare WORDS", "enter that set-up by itself"),
    ("readings", "what was read so far"),
    ("skip", "leave the measurement that was begun"),
    ("hint", "which question divides the suspects; counted"),
    ("advice", "what to do next; counted"),
    ("suspects", "what is likely so far; counted"),
    ("note TEXT", "keep a remark in the record"),
    ("stop", "save and leave; the exercise goes on later"),
    ("help", "these words"),
];

/// A trainee at a terminal, with the record of the exercise.
pub struct Trainee<'k, 'v, 's> {
    practice: Practice<'k>,
    record: Record,
    talk: &'v mut Streams<'s>,
    course: Course,
    /// The measurement that the screen shows, and what of it.
    shown: Option<(String, Shown)>,
    /// A line that was typed before its prompt.
    typed: Option<String>,
}

/// What a line says.
enum Line {
    Does(Move),
    List(&'static str),
    Readings,
    Help,
    Stop,
    Incomplete(&'static str),
}

impl<'k, 'v, 's> Trainee<'k, 'v, 's> {
    /// A trainee on an open record.
    pub fn new(practice: Practice<'k>, record: Record, talk: &'v mut Streams<'s>) -> Self {
        let course = Course::of(&practice, record.history());
        Self {
            practice,
            record,
            talk,
            course,
            shown: None,
            typed: None,
        }
    }

    /// Says what the exercise is.
    pub fn opening(&mut self) -> io::Result<()> {
        let Exercise {
            title,
            level,
            customer,
            order,
            ..
        } = &self.practice.exercise;
        let mut page = self.talk.page();
        page.text(Tone::Plain, 0, &self.practice.family.notice)?;
        page.heading(&format!("Practice: {title} ({})", level.word()))?;
        page.entry("Order  ", order)?;
        page.entry("The customer says  ", customer)?;
        if let Some(vehicle) = self.practice.vehicle {
            page.entry("Vehicle  ", &vehicle.title)?;
            if vehicle.invented {
                page.text(Tone::Faint, 2, INVENTED)?;
            }
        }
        let path = self.record.path().display().to_string();
        page.entry("Record  ", &path)?;
        page.say("No vehicle is at hand: it answers what you take. `help` lists the words.")
    }

    /// Goes on until the exercise is over or left; gives the record, and whether it is over.
    pub fn run(mut self) -> Result<(Practice<'k>, Record, bool), VisitError> {
        loop {
            match self.practice.asked(self.record.history()) {
                Asked::Over => return Ok((self.practice, self.record, true)),
                Asked::Reading(prompt) => {
                    self.shows(&prompt)?;
                    let reply = self.practice.reads(self.record.history(), &prompt);
                    self.keep(reply)?;
                }
                Asked::Before(prompt) => {
                    self.shows(&prompt)?;
                    let label = match prompt.ask {
                        Ask::Hold { .. } => "seconds held >",
                        _ => "before it >",
                    };
                    if !self.hears(label)? {
                        return Ok((self.practice, self.record, false));
                    }
                }
                Asked::Free => {
                    self.status()?;
                    if !self.hears(">")? {
                        return Ok((self.practice, self.record, false));
                    }
                }
            }
        }
    }

    /// The job in a line.
    fn status(&mut self) -> io::Result<()> {
        let family = self.practice.family;
        let arrived = family.names_of(&family.in_place);
        let state = self.record.state();
        let here = state.in_place.iter().filter(|name| !arrived.contains(name));
        let here = here.filter_map(|name| family.set_up_known_as(name));
        let here = here.map(|id| few_words(&family.set_up(id).title));
        let order = format!("order {}", self.practice.exercise.order);
        let readings = format!("{} read", self.course.readings());
        let took = [minutes(self.course.minutes), money(self.course.cost)];
        let all = [order, readings].into_iter().chain(took).chain(here);
        let text = all.collect::<Vec<_>>().join(" · ");
        let mut page = self.talk.page();
        page.gap()?;
        page.text(Tone::Faint, 0, &text)
    }

    /// Shows what is new of a measurement: its warnings, what to prepare, its steps, and what is asked before it.
    fn shows(&mut self, prompt: &Prompt) -> io::Result<()> {
        let name = prompt.measure.as_ref().map(|of| of.measurement.clone());
        let before = self
            .shown
            .take()
            .filter(|(of, _)| Some(of) == name.as_ref());
        let before = before.map(|(_, what)| what);
        let mut bare = prompt.clone();
        bare.status = None;
        let pages = screens::pages(self.talk.room(), "", &bare, before, "")?;
        let waits = matches!(prompt.ask, Ask::Condition { .. });
        self.shown = name.map(|name| {
            let what = match before {
                None | Some(Shown::Heading) if waits => Shown::Heading,
                _ => Shown::Steps,
            };
            (name, what)
        });
        self.turned(&pages)
    }

    /// Shows pages, each after Enter; a line that is typed instead is kept for the prompt behind them.
    fn turned(&mut self, pages: &[String]) -> io::Result<()> {
        let last = pages.len().saturating_sub(1);
        for (place, page) in pages.iter().enumerate() {
            self.talk.out.write_all(page.as_bytes())?;
            if place < last && self.talk.interactive && self.typed.is_none() {
                let line = self.talk.hear("Enter: more >")?;
                self.typed = line.filter(|line| !line.trim().is_empty());
            }
        }
        Ok(())
    }

    /// Hears lines until one changes the record; false where the trainee leaves.
    fn hears(&mut self, label: &str) -> Result<bool, VisitError> {
        loop {
            let line = match self.typed.take() {
                None => self.talk.hear_of(label, self.offered())?,
                typed => typed,
            };
            let Some(line) = line else {
                return Ok(false);
            };
            match read(&line) {
                Line::Stop => return Ok(false),
                Line::Help => {
                    let mut page = self.talk.page();
                    let mut words = WORDS.iter();
                    words.try_for_each(|(word, does)| page.entry(&format!("{word:16} "), does))?;
                }
                Line::List(what) => self.list(what)?,
                Line::Readings => {
                    let history = self.record.history();
                    let mut page = self.talk.page();
                    readings(&mut page, &self.course, history.state().readings.is_empty())?;
                }
                Line::Incomplete(words) => self.talk.page().say(words)?,
                Line::Does(done) => {
                    let reply = self.practice.does(self.record.history(), done);
                    let changed = !reply.events.is_empty();
                    self.keep(reply)?;
                    if changed {
                        return Ok(true);
                    }
                }
            }
        }
    }

    /// Keeps and says what comes of a move.
    fn keep(&mut self, reply: Reply) -> Result<(), VisitError> {
        for event in reply.events {
            self.record.append(event)?;
        }
        self.course.follow(&self.practice, self.record.history());
        let mut page = self.talk.page();
        warnings(&mut page, &reply.warned)?;
        reply.said.iter().try_for_each(|words| page.stress(words))?;
        Ok(())
    }

    fn titles(&self, what: &str) -> Vec<&str> {
        let family: &Family = self.practice.family;
        let symptom = self.practice.exercise.symptom;
        let mut titles: Vec<&str> = match what {
            "repairs" => family.repairs.iter().map(|of| of.title.as_str()).collect(),
            "set-ups" => {
                let title = |of: &'k SetUp| of.title.as_str();
                self.practice.family.set_ups.iter().map(title).collect()
            }
            _ => {
                let all = family.measurements.iter();
                let own = all.filter(|of| of.is_for(&[symptom]));
                own.map(|of| of.title.as_str()).collect()
            }
        };
        titles.sort_unstable();
        titles
    }

    fn list(&mut self, what: &str) -> io::Result<()> {
        let mut shown = Vec::new();
        let width = self.talk.width;
        let titles = self.titles(what);
        let mut page = Page::new(&mut shown, width);
        titles
            .iter()
            .try_for_each(|title| page.entry("- ", title))?;
        let pages = self.talk.room().cut(&String::from_utf8_lossy(&shown));
        self.turned(&pages)
    }

    /// What Tab completes to.
    fn offered(&self) -> Vec<String> {
        let take = self
            .titles("")
            .into_iter()
            .map(|title| format!("take {title}"));
        let repair = self.titles("repairs").into_iter();
        let repair = repair.map(|title| format!("repair {title}"));
        let words = WORDS.iter().map(|(word, _)| (*word).to_owned());
        take.chain(repair).chain(words).collect()
    }
}

/// What was read so far.
fn readings(page: &mut Page<'_>, course: &Course, none: bool) -> io::Result<()> {
    if none {
        return page.say("Nothing was read yet.");
    }
    let read = course.steps.iter().filter(|step| !step.read.is_empty());
    for (number, step) in (1..).zip(read) {
        let mark = if step.counts { "" } else { " (does not count)" };
        let title = step.title.trim_end_matches('?');
        page.entry(
            &format!("{number:2} "),
            &format!("{title}: {}{mark}", step.read),
        )?;
    }
    Ok(())
}

/// Reads a line: its first word decides, without regard to case.
fn read(line: &str) -> Line {
    let line = line.trim();
    let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let rest = rest.trim().to_owned();
    let named = |word: fn(String) -> Move, what| {
        if rest.is_empty() {
            Line::Incomplete(what)
        } else {
            Line::Does(word(rest.clone()))
        }
    };
    match first.to_ascii_lowercase().as_str() {
        "take" => named(
            Move::Take,
            "take what? Write words of a measurement's title.",
        ),
        "repair" => named(
            Move::Repair,
            "repair what? Write words of a repair's title.",
        ),
        "prepare" => named(
            Move::Prepare,
            "prepare what? Write words of a set-up's title.",
        ),
        "note" => named(Move::Note, "note what? Write the remark behind the word."),
        "hand" => Line::Does(Move::HandOn),
        "skip" => Line::Does(Move::Skip),
        "hint" => Line::Does(Move::Ask(Mark::Hint)),
        "advice" => Line::Does(Move::Ask(Mark::Advice)),
        "suspects" => Line::Does(Move::Ask(Mark::Suspects)),
        "list" if rest.starts_with("rep") => Line::List("repairs"),
        "list" if rest.starts_with("set") => Line::List("set-ups"),
        "list" => Line::List("measurements"),
        "readings" => Line::Readings,
        "help" | "?" => Line::Help,
        "stop" | "quit" | "exit" | "q" => Line::Stop,
        _ => Line::Does(Move::Answered(line.to_owned())),
    }
}
