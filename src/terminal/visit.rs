//! A session at a terminal: shows each prompt, reads the line that is typed, and keeps what comes of it.

use std::collections::VecDeque;
use std::io;
use std::path::Path;
use std::time::Duration;

use jiff::Timestamp;

use super::belief;
use super::recording::{Columns, RecordingError, recording};
use super::screens::{self, Shown};
use super::streams::Streams;
use super::word::{Line, WORDS};
use crate::entry::yes_or_no;
use crate::record::{Event, Phase, Record, RecordError};
use crate::session::{Answer, Ask, Choice, FromRecording, PartAsked, Prompt, Session, Step};
use crate::text::{Page, Tone, in_shell, plain};
use crate::units::timing::whole_seconds;

/// What the engine does during a cool-down. Common practice.
const COOLING: &str = "Cooling down, engine idling in P or N";
/// What is said to a word that would change a closed job.
const IS_CLOSED: &str = "The job is closed: here it can only be said which cause it was.";

/// A session at a terminal, with its record.
pub struct Visit<'k, 'v, 's> {
    session: Session<'k>,
    /// The options with which the job is gone on with.
    options: String,
    record: Record,
    talk: &'v mut Streams<'s>,
    /// The measurement that the screen shows, and what of it.
    shown: Option<(String, Shown)>,
    /// What comes before the first prompt.
    before: String,
    /// What was said since the last line, to stand above the next prompt.
    said: String,
    /// What was typed while a count ran: an answer to the question behind it.
    typed: Turned,
    /// The pages of the prompt that are not shown yet.
    pages: VecDeque<String>,
    /// Whether they are of a list, which is left by any line, and not of a prompt.
    lists: bool,
    /// The complaint that the screen shows: symptoms present, absent, and repairs done.
    told: Option<[Vec<String>; 3]>,
    /// The line of the answer whose change was shown last.
    changed: Option<u64>,
    /// When the count of a stall test was started.
    started: Option<Timestamp>,
}

/// What keeps a visit from going on; what was answered before is in the record.
#[derive(Debug, thiserror::Error)]
pub enum VisitError {
    /// The record could not be kept.
    #[error(transparent)]
    Record(#[from] RecordError),
    /// The screen or the input failed.
    #[error(transparent)]
    Io(#[from] io::Error),
}

impl<'k, 'v, 's> Visit<'k, 'v, 's> {
    /// A visit on an open record; `options` are those with which the job is gone on with, as a shell takes them.
    pub fn new(
        session: Session<'k>,
        record: Record,
        options: String,
        talk: &'v mut Streams<'s>,
    ) -> Self {
        Self {
            session,
            options,
            record,
            talk,
            shown: None,
            before: String::new(),
            said: String::new(),
            typed: Turned::Last,
            pages: VecDeque::new(),
            lists: false,
            told: None,
            changed: None,
            started: None,
        }
    }

    /// A text that comes before the first question.
    pub fn opened(&mut self, text: String) {
        self.before = text;
    }

    /// Says what the job is that is taken up again.
    pub fn taken_up(&mut self) -> io::Result<()> {
        let hours = elapsed(self.record.state().opened_at, self.talk.clock.now()) / 3600.0;
        let opened = match (hours / 24.0).floor() {
            0.0 => "Opened within the last day.".to_owned(),
            1.0 => "Opened a day ago.".to_owned(),
            days => format!("Opened {days:.0} days ago."),
        };
        let so_far = self.session.so_far(self.record.history());
        self.before = self.talk.room().set(|page| {
            page.text(Tone::Plain, 0, self.session.notice())?;
            screens::resumed(page, &so_far, &opened)
        })?;
        Ok(())
    }

    /// Goes on until the job is closed or left.
    pub fn run(&mut self) -> Result<(), VisitError> {
        let mut first = true;
        loop {
            let now = self.talk.clock.now();
            let prompt = self.session.next(self.record.history(), now);
            self.show(&prompt)?;
            if let Ask::Closed { choices, .. } = &prompt.ask {
                // A job that was closed before this visit may be told what was found since.
                if !first || choices.is_empty() {
                    return Ok(());
                }
                self.say("If it has come out since, say which; `stop` leaves it as it is.")?;
                screens::causes(&mut self.talk.page(), choices)?;
                if self.answered(prompt)?.is_none_or(|events| events == 0) {
                    return Ok(());
                }
            } else if self.answered(prompt)?.is_none() {
                return Ok(self.say_saved()?);
            }
            first = false;
        }
    }

    /// Prompts until the record decides what comes next; returns the number of events recorded last, or none where the
    /// technician leaves.
    fn answered(&mut self, mut prompt: Prompt) -> Result<Option<usize>, VisitError> {
        loop {
            let line = match self.turned()? {
                Turned::Last => self.hear(&prompt)?,
                Turned::Line(line) => line,
            };
            let Some(line) = line else {
                return Ok(None);
            };
            let closed = matches!(prompt.ask, Ask::Closed { .. });
            match line {
                Line::Stop => return Ok(None),
                Line::Help => self.long(help)?,
                Line::List { .. }
                | Line::Find(_)
                | Line::Why(_)
                | Line::Recording(_)
                | Line::Wait
                    if closed =>
                {
                    self.say(IS_CLOSED)?;
                }
                Line::Incomplete(words) => self.say(words)?,
                Line::Find(text) => {
                    let hits = self.session.search(&text);
                    self.long(|page| screens::hits(page, &hits))?;
                }
                Line::List { all } => match &prompt.outlook {
                    Some(outlook) => self.long(|page| screens::list(page, outlook, all))?,
                    None => self.say("There is nothing to list yet.")?,
                },
                Line::Why(name) => self.why(&prompt, name.as_deref())?,
                Line::Readings => {
                    let so_far = self.session.so_far(self.record.history());
                    self.long(|page| screens::readings(page, &so_far.readings))?;
                }
                Line::Recording(file) => {
                    let Some(answer) = self.recording(&file)? else {
                        continue;
                    };
                    let step = self.session.take(self.record.history(), &prompt, answer);
                    let events = step.events.len();
                    let Some(next) = self.keep(&prompt, step)? else {
                        return Ok(Some(events));
                    };
                    prompt = next;
                }
                Line::Wait => {
                    self.wait()?;
                    if matches!(prompt.ask, Ask::Cooling { .. }) {
                        return Ok(Some(0));
                    }
                }
                Line::Said(answer) => {
                    let step = self.session.take(self.record.history(), &prompt, answer);
                    let events = step.events.len();
                    let Some(next) = self.keep(&prompt, step)? else {
                        return Ok(Some(events));
                    };
                    self.show_new(&prompt.ask, &next)?;
                    prompt = next;
                }
            }
        }
    }

    /// The readings of a recording, where the technician wants them.
    fn recording(&mut self, file: &str) -> io::Result<Option<Answer>> {
        let (family, vehicle) = self.session.on_job(self.record.state());
        let path = Path::new(file.trim_matches(['"', '\'']));
        let columns = Columns {
            file: self.talk.mappings.clone(),
            ..Columns::default()
        };
        let (report, drive) = match recording(family, vehicle, path, &columns, self.talk) {
            Ok(Some(read)) => read,
            Ok(None) => return Ok(None),
            Err(RecordingError::Io(error)) => return Err(error),
            Err(error) => {
                self.say(&error.to_string())?;
                return Ok(None);
            }
        };
        self.talk.show(|page| report.show(page))?;
        let readings = FromRecording::of(&report, &drive, vehicle);
        if readings.readings.is_empty() {
            self.say("There is nothing to take.")?;
            return Ok(None);
        }
        let count = readings.readings.len();
        let line = self.talk.hear(&format!("take these {count}? >"))?;
        let agreed = line.is_some_and(|line| yes_or_no(line.trim()) == Some(true));
        if !agreed {
            self.say("Nothing is taken.")?;
        }
        Ok(agreed.then(|| Answer::Recording(Box::new(readings))))
    }

    /// Records what comes of an answer, then says what there is to say.
    fn keep(&mut self, prompt: &Prompt, step: Step) -> Result<Option<Prompt>, VisitError> {
        let clock = |event: &Event| matches!(event, Event::Condition(_) | Event::Timed(_));
        if step.again.is_none() && !step.events.is_empty() && !step.events.iter().any(clock) {
            self.shown = None;
        }
        let read = step.events.iter().any(|e| matches!(e, Event::Reading(_)));
        for event in step.events {
            let starts = matches!(&event, Event::Timed(timed) if timed.phase == Phase::Started);
            if starts {
                self.started = Some(self.talk.clock.now());
            }
            self.record.append(event)?;
        }
        let said = self.talk.room().set(|page| {
            if let Some(caution) = &step.caution {
                page.text(Tone::Caution, 2, caution)?;
            }
            step.said.iter().try_for_each(|words| page.say(words))
        })?;
        self.said += &said;
        if step.again.is_some() {
            self.say_all()?;
        }
        if read
            && self.talk.interactive
            && prompt.measure.as_ref().is_some_and(|measure| measure.stall)
            && let Some(left) = self.cool_down_left()
        {
            self.say_all()?;
            self.say(
                "Enter goes on meanwhile; the next stall test waits for the end of the count.",
            )?;
            self.count_down(left, COOLING)?;
        }
        Ok(step.again)
    }

    /// Shows what is new in a prompt: its first page, where it is longer than the screen.
    fn show(&mut self, prompt: &Prompt) -> io::Result<()> {
        let room = self.talk.room();
        let mut said = std::mem::take(&mut self.said);
        if let Some(outlook) = prompt.outlook.as_deref() {
            let complaint =
                [&outlook.present, &outlook.absent, &outlook.repaired].map(Clone::clone);
            let line = prompt.change.as_ref().map(|change| change.line);
            if self.told.as_ref() != Some(&complaint) {
                said += &room.set(|page| screens::overview(page, outlook))?;
            } else if let Some(change) = prompt.change.as_ref().filter(|_| line != self.changed) {
                said += &room.set(|page| belief::changed(page, change))?;
            }
            self.told = Some(complaint);
            self.changed = line.or(self.changed);
        }
        let name = prompt.measure.as_ref().map(|of| &of.measurement);
        let shown = self.shown.take().filter(|(of, _)| Some(of) == name);
        let shown = shown.map(|(_, what)| what);
        let path = self.record.path().display().to_string();
        let pages = screens::pages(room, &said, prompt, shown, &path)?;
        self.pages = room.behind(&std::mem::take(&mut self.before), pages).into();
        self.lists = false;
        let waits = matches!(prompt.ask, Ask::Condition { .. } | Ask::Cooling { .. });
        self.shown = name.map(|name| {
            let what = match shown {
                None | Some(Shown::Heading) if waits => Shown::Heading,
                _ => Shown::Steps,
            };
            (name.clone(), what)
        });
        self.turn_page()
    }

    /// Shows the next page.
    fn turn_page(&mut self) -> io::Result<()> {
        match self.pages.pop_front() {
            Some(page) => self.talk.out.write_all(page.as_bytes()),
            None => Ok(()),
        }
    }

    /// Shows something long: a screen at a time where somebody turns pages.
    fn long(&mut self, write: impl FnOnce(&mut Page<'_>) -> io::Result<()>) -> io::Result<()> {
        let room = self.talk.room();
        self.pages = room.cut(&room.set(write)?).into();
        self.lists = true;
        self.turn_page()
    }

    /// Turns pages at Enter, up to the last. A word that is typed on the way counts as if the last were shown; an answer
    /// does not.
    fn turned(&mut self) -> io::Result<Turned> {
        while !self.pages.is_empty() {
            let Some(line) = self.talk.hear("Enter: more >")? else {
                return Ok(Turned::Line(None));
            };
            if !line.trim().is_empty() {
                let line = Line::read(&line);
                if self.lists {
                    self.pages.clear();
                } else if matches!(line, Line::Said(Answer::Typed(_))) {
                    // What can hurt may stand on a page that was not shown yet.
                    self.say("Not taken: the question comes on the last page.")?;
                    self.turn_page()?;
                    continue;
                }
                return Ok(Turned::Line(Some(line)));
            }
            self.turn_page()?;
        }
        Ok(Turned::Last)
    }

    /// Says at once what was to stand above the next prompt.
    fn say_all(&mut self) -> io::Result<()> {
        let said = std::mem::take(&mut self.said);
        self.talk.out.write_all(said.as_bytes())
    }

    /// Shows what an answer that left the prompt open asks for now, where that is something else.
    fn show_new(&mut self, before: &Ask, next: &Prompt) -> io::Result<()> {
        let mut page = self.talk.page();
        match (before, &next.ask) {
            (Ask::Fixed { .. }, Ask::Found { choices }) => screens::causes(&mut page, choices),
            (Ask::Fixed { .. }, Ask::Confirm { .. })
            | (Ask::Symptoms { .. }, Ask::Told { .. })
            | (_, Ask::Did { .. }) => screens::question(&mut page, next, ""),
            (Ask::Reading(old), Ask::Reading(new)) if old.part() != new.part() => {
                screens::part(&mut page, new)
            }
            _ => Ok(()),
        }
    }

    /// Reads a line, or lets a clock run; none at the end of the input.
    fn hear(&mut self, prompt: &Prompt) -> io::Result<Option<Line>> {
        if let Turned::Line(line) = std::mem::replace(&mut self.typed, Turned::Last) {
            return Ok(line);
        }
        let diagnosis = prompt.measure.as_ref().is_some_and(|m| m.number.is_some());
        let said = |text: String| Some(Line::Said(Answer::Typed(text)));
        let label = match &prompt.ask {
            Ask::Complaint => {
                let line = self.talk.hear("complaint >")?;
                return Ok(line.map(|line| Line::read_sentence(&line)));
            }
            Ask::Hold { limit, warn, .. } if self.talk.interactive => {
                if let Some(started) = self.started.take() {
                    let seconds = self.count(started, *limit, *warn)?;
                    return Ok(Some(Line::Said(Answer::Held(seconds))));
                }
                let line = self.talk.hear("start >")?;
                return Ok(line.map(|line| match Line::read(&line) {
                    Line::Said(Answer::Typed(text))
                        if text.is_empty() || text.eq_ignore_ascii_case("start") =>
                    {
                        Line::Said(Answer::Start)
                    }
                    line => line,
                }));
            }
            Ask::Reading(asked) if asked.lag && diagnosis && self.talk.interactive => {
                let mut tries: Vec<String> = Vec::new();
                for _ in 0..asked.tries {
                    let Some(typed) = self.talk.hear("Enter at the lever, or the time >")? else {
                        return Ok(None);
                    };
                    if !typed.trim().is_empty() {
                        if tries.is_empty()
                            || !typed.trim().starts_with(|c: char| c.is_ascii_digit())
                        {
                            return Ok(Some(Line::read(&typed)));
                        }
                        tries.push(typed.trim().to_owned());
                        continue;
                    }
                    let started = self.talk.clock.now();
                    if self.talk.hear("Enter at the bump >")?.is_none() {
                        return Ok(None);
                    }
                    let seconds = elapsed(started, self.talk.clock.now());
                    tries.push(format!("{seconds:.2} s"));
                }
                return Ok(said(tries.join(", ")));
            }
            Ask::Symptoms { .. } => "symptoms >",
            Ask::Still { .. } => "still >",
            Ask::Told { .. } => "told >",
            Ask::Cooling { .. } => "cooling >",
            Ask::Hold { .. } => "held >",
            Ask::Reading(_) if !diagnosis => "verify >",
            Ask::Reading(asked) => match asked.part() {
                Some(PartAsked { name, .. }) => &format!("{name} >"),
                None => ">",
            },
            Ask::Repair(_) | Ask::Did { .. } => "repair >",
            Ask::HandOn { .. } => "hand on >",
            Ask::Confirm { .. } => "verify >",
            Ask::Fixed { .. } => "fixed >",
            Ask::Found { .. } | Ask::Closed { .. } => "found >",
            Ask::NoSymptom { .. }
            | Ask::Lost { .. }
            | Ask::Stuck { .. }
            | Ask::Condition { .. } => ">",
        };
        let offered = Self::offered(prompt);
        let line = self.talk.hear_of(label, offered)?;
        Ok(line.map(|line| Line::read(&line)))
    }

    /// What Tab completes to: the choices, the words, the measurements to take.
    fn offered(prompt: &Prompt) -> Vec<String> {
        let choices = match &prompt.ask {
            Ask::Reading(asked) => &asked.choices[..],
            Ask::Symptoms { choices, .. } | Ask::Found { choices } => choices,
            _ => &[],
        };
        let mut offered: Vec<String> = choices.iter().map(Choice::words).collect();
        let words = WORDS.iter().filter_map(|(word, _)| word.split(' ').next());
        offered.extend(words.map(str::to_owned));
        if let Some(outlook) = &prompt.outlook {
            let titles = outlook.offers.iter().map(|offer| &offer.title);
            offered.extend(titles.map(|title| format!("take {title}")));
        }
        offered
    }

    /// Explains what is asked for; without a name, the measurement at hand.
    fn why(&mut self, prompt: &Prompt, name: Option<&str>) -> io::Result<()> {
        if prompt.outlook.is_none() {
            return self.say("There is nothing to explain yet.");
        }
        if name.is_none() {
            return self.long(|page| screens::why_now(page, prompt));
        }
        match self.session.why(self.record.history(), name) {
            Ok(each) => self.long(|page| each.iter().try_for_each(|why| screens::why(page, why))),
            Err(words) => self.say(&words),
        }
    }

    /// Says one thing, wrapped.
    fn say(&mut self, text: &str) -> io::Result<()> {
        self.talk.page().say(text)
    }

    fn cool_down_left(&self) -> Option<Duration> {
        let left = self.record.state().cool_down_left(self.talk.clock.now())?;
        Some(left.unsigned_abs())
    }

    /// Waits until the cool-down has passed.
    fn wait(&mut self) -> io::Result<()> {
        match self.cool_down_left() {
            Some(left) => self.count_down(left, COOLING),
            None => self.say("There is nothing to wait for."),
        }
    }

    /// Lets a span of time pass, second by second where a person looks on, who can cut it short.
    fn count_down(&mut self, left: Duration, words: &str) -> io::Result<()> {
        let seconds = whole_seconds(left);
        if !self.talk.interactive {
            self.say(&format!("{words}: {seconds} s."))?;
            (self.talk.pause)(Duration::from_secs(seconds));
            return Ok(());
        }
        for second in (1..=seconds).rev() {
            write!(self.talk.out, "\r  {words}: {second:3} s ")?;
            self.talk.out.flush()?;
            if (self.talk.pause)(Duration::from_secs(1)) {
                let line = self.talk.hear("")?;
                let says_nothing = line.as_ref().is_some_and(|line| line.trim().is_empty());
                if !says_nothing {
                    self.typed = Turned::Line(line.map(|line| Line::read(&line)));
                }
                return Ok(());
            }
        }
        // The bell says that it is over.
        writeln!(self.talk.out, "\r  {words}: over. \u{7}")
    }

    /// Counts a stall test up to its limit, or until Enter; gives how long it was held, in seconds.
    fn count(&mut self, started: Timestamp, limit: f64, warn: Option<f64>) -> io::Result<f64> {
        let mut warn = warn;
        loop {
            let gone = elapsed(started, self.talk.clock.now());
            if gone >= limit {
                writeln!(
                    self.talk.out,
                    "\r  OFF THE THROTTLE NOW  {gone:4.1} s \u{7}"
                )?;
                return Ok(elapsed(started, self.talk.clock.now()));
            }
            if warn.is_some_and(|warn| gone >= warn) {
                warn = None;
                writeln!(
                    self.talk.out,
                    "\r  OFF THE THROTTLE  {gone:4.1} s       \u{7}"
                )?;
            }
            let limit = plain(limit);
            write!(self.talk.out, "\r  full throttle {gone:4.1} s of {limit} ")?;
            self.talk.out.flush()?;
            if (self.talk.pause)(Duration::from_millis(100)) {
                let held = elapsed(started, self.talk.clock.now());
                // The line that stopped it says nothing; the end of the input ends the visit.
                if self.talk.hear("")?.is_none() {
                    self.typed = Turned::Line(None);
                }
                return Ok(held);
            }
        }
    }

    fn say_saved(&mut self) -> io::Result<()> {
        if self.record.events().len() == 1 && self.record.discard()? {
            return self.say("Nothing was said, so no job is kept.");
        }
        let path = self.record.path().display().to_string();
        let mut page = self.talk.page();
        page.gap()?;
        page.text(Tone::Plain, 0, "Saved. Go on with:")?;
        // On a line of its own and whole, to be copied.
        let command = format!(
            "halfsplit diagnose{} --job {}",
            self.options,
            in_shell(&path)
        );
        page.lines(2, &command)
    }
}

/// What can be typed.
fn help(page: &mut Page<'_>) -> io::Result<()> {
    page.say("Answer with a word of the list or its number, or with a number and its unit. Or:")?;
    let mut words = WORDS.into_iter();
    words.try_for_each(|(word, does)| page.entry(&format!("{word:20} "), does))
}

/// Whether nothing is left to be shown or counted, or what was typed before that; no line is the end of the input.
enum Turned {
    Last,
    Line(Option<Line>),
}

/// Seconds from one time to a later one.
fn elapsed(from: Timestamp, to: Timestamp) -> f64 {
    to.duration_since(from).as_secs_f64()
}
