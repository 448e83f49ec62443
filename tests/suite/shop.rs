//! A shop to run the program in: typed lines in, screens and a record out.
//!
//! Silence on the error stream and exit code 0 are expected unless the test says otherwise. Every
//! screen that comes out is checked: no line over 80 columns, no control character that was not the
//! program's own.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs;
use std::io::{self, BufRead, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::rc::Rc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, LazyLock};
use std::time::Duration;

use halfsplit::commands::{Streams, run};
use halfsplit::knowledge::{Family, Knowledge, Vehicle};
use halfsplit::load::{Source, load};
use halfsplit::record::{Clock, Event, Record, State};
use jiff::Timestamp;
use tempfile::TempDir;

use crate::by_name::chain_cvt;

/// The columns of the shop's screen.
const WIDTH: usize = 80;
/// 2026-11-25 10:00:00 UTC, in milliseconds.
const TEN: i64 = (20_782 * 86_400 + 10 * 3_600) * 1000;

/// The knowledge that the shop works with: the first edition, so that prompts and screens stay as they are when the
/// shipped knowledge changes.
pub(crate) const FIRST_EDITION: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/first-edition");

/// A record as versions before check sums wrote it, to be edited.
pub(crate) fn without_sums(record: &str) -> String {
    let line = |line: &str| match line.rsplit_once(",\"sum\":\"") {
        Some((before, _)) => format!("{before}}}\n"),
        None => format!("{line}\n"),
    };
    record.lines().map(line).collect()
}

/// The knowledge of the shop.
pub(crate) static KNOWLEDGE: LazyLock<Knowledge> = LazyLock::new(|| {
    let source = Source::folder(Path::new(FIRST_EDITION)).unwrap();
    load(&source).map_or_else(|found| panic!("{found}"), |loaded| loaded.knowledge)
});

/// The family of the shop.
pub(crate) fn family() -> &'static Family {
    KNOWLEDGE.family("chain-cvt").unwrap()
}

/// A vehicle of the shop.
pub(crate) fn vehicle(name: &str) -> &'static Vehicle {
    KNOWLEDGE.vehicle(name).unwrap()
}

/// A person who sees what came on the screen since the last line, and types the next; `None` ends
/// the input.
pub(crate) type Typist<'t> = Box<dyn FnMut(&str) -> Option<Vec<u8>> + 't>;

/// A folder, a clock, and what is about to be typed.
pub(crate) struct Shop<'t> {
    folder: Rc<TempDir>,
    clock: Arc<AtomicI64>,
    arguments: Vec<OsString>,
    typist: Typist<'t>,
    interactive: bool,
    /// Whether it works with the shipped knowledge.
    shipped: bool,
    /// How long a person at the terminal lets a count run before pressing Enter.
    patience: Option<Duration>,
    code: u8,
    err: Option<String>,
}

/// What a run came to.
pub(crate) struct Told {
    folder: Rc<TempDir>,
    clock: Arc<AtomicI64>,
    /// The output, its styles taken off.
    pub(crate) out: String,
    /// The errors, their styles taken off.
    pub(crate) err: String,
}

impl<'t> Shop<'t> {
    /// An empty shop at ten in the morning.
    pub(crate) fn new() -> Self {
        Self::in_folder(
            Rc::new(TempDir::new().unwrap()),
            Arc::new(AtomicI64::new(TEN)),
        )
    }

    fn in_folder(folder: Rc<TempDir>, clock: Arc<AtomicI64>) -> Self {
        Self {
            folder,
            clock,
            arguments: Vec::new(),
            typist: Box::new(|_| None),
            interactive: false,
            shipped: false,
            patience: None,
            code: 0,
            err: Some(String::new()),
        }
    }

    /// The shop with the shipped knowledge.
    pub(crate) fn shipped(mut self) -> Self {
        self.shipped = true;
        self
    }

    /// A new job: `diagnose` with a record in the shop's folder.
    pub(crate) fn diagnose<'a>(arguments: impl IntoIterator<Item = &'a str>) -> Self {
        let mut shop = Self::new()
            .arguments(["diagnose"])
            .arguments(arguments)
            .arguments(["--record"]);
        shop.arguments.push(record_in(&shop.folder).into());
        shop
    }

    /// A new job on the estate with one complaint.
    pub(crate) fn job(symptom: &str) -> Self {
        Self::diagnose([symptom, "--vehicle", "demo-estate"])
    }

    /// The arguments behind the program's name; more each time.
    pub(crate) fn arguments<'a>(mut self, arguments: impl IntoIterator<Item = &'a str>) -> Self {
        self.arguments
            .extend(arguments.into_iter().map(OsString::from));
        self
    }

    /// The bytes that are typed.
    pub(crate) fn types(self, lines: impl Into<Vec<u8>>) -> Self {
        let lines: Vec<u8> = lines.into();
        let mut lines = lines
            .split_inclusive(|byte| *byte == b'\n')
            .map(<[u8]>::to_vec)
            .collect::<Vec<_>>()
            .into_iter();
        self.typist(move |_| lines.next())
    }

    /// Who types, seeing the screen.
    pub(crate) fn typist(mut self, typist: impl FnMut(&str) -> Option<Vec<u8>> + 't) -> Self {
        self.typist = Box::new(typist);
        self
    }

    /// As at a terminal: counts run, Enter starts and stops them.
    pub(crate) fn at_a_terminal(mut self) -> Self {
        self.interactive = true;
        self
    }

    /// A person who presses Enter when a count has run so long.
    pub(crate) fn stops_counts_after(mut self, patience: Duration) -> Self {
        self.patience = Some(patience);
        self
    }

    /// The exit code expected.
    pub(crate) fn fails_with(mut self, code: u8) -> Self {
        self.code = code;
        self.err = None;
        self
    }

    /// Errors are expected; the test looks at them itself.
    pub(crate) fn may_complain(mut self) -> Self {
        self.err = None;
        self
    }

    /// Runs the program in this process.
    pub(crate) fn run(self) -> Told {
        let Self {
            folder,
            clock,
            arguments,
            typist,
            interactive,
            shipped,
            patience,
            code,
            err,
        } = self;
        let mut arguments = arguments;
        let uses_knowledge = [
            "diagnose", "practice", "cards", "next", "show", "plan", "draw", "study", "sheet",
        ];
        let command = arguments.first().and_then(|first| first.to_str());
        if !shipped
            && command.is_some_and(|first| uses_knowledge.contains(&first))
            && !arguments.iter().any(|given| given == "--knowledge")
        {
            arguments.splice(1..1, ["--knowledge".into(), FIRST_EDITION.into()]);
        }
        let screen = Screen::default();
        let mut errors = Vec::new();
        let waited = Rc::new(Cell::new(Duration::ZERO));
        let mut keyboard = Keyboard {
            interactive,
            waited: Rc::clone(&waited),
            screen: screen.clone(),
            typist,
            line: Vec::new(),
            seen: 0,
        };
        let (looked_at, moved) = (Arc::clone(&clock), Arc::clone(&clock));
        let got = run(
            std::iter::once(OsString::from("halfsplit")).chain(arguments.iter().cloned()),
            &mut Streams {
                out: &mut screen.clone(),
                err: &mut errors,
                input: &mut keyboard,
                interactive,
                width: WIDTH,
                height: None,
                editor: None,
                clock: Clock::of(move || {
                    Timestamp::from_millisecond(looked_at.load(Ordering::Relaxed)).unwrap()
                }),
                shop: None,
                mappings: None,
                pause: &mut |span: Duration| {
                    moved.fetch_add(i64::try_from(span.as_millis()).unwrap(), Ordering::Relaxed);
                    waited.set(waited.get() + span);
                    patience.is_some_and(|patience| waited.get() >= patience)
                },
            },
        );
        // JSON is for programs, which need no line to fit a screen.
        let out = if arguments.iter().any(|argument| argument == "--json") {
            unwrapped(&screen.text(), interactive)
        } else {
            checked(&screen.text(), interactive)
        };
        let complaints = unwrapped(&String::from_utf8(errors).unwrap(), false);
        assert_eq!(got, code, "exit code of {arguments:?}\n{out}\n{complaints}");
        if let Some(err) = err {
            assert_eq!(complaints, err, "errors of {arguments:?}\n{out}");
        }
        Told {
            folder,
            clock,
            out,
            err: complaints,
        }
    }
}

impl Told {
    /// The record's file.
    pub(crate) fn record(&self) -> PathBuf {
        record_in(&self.folder)
    }

    /// The record's text.
    pub(crate) fn text(&self) -> String {
        fs::read_to_string(self.record()).unwrap()
    }

    /// The events of the record, without their times.
    pub(crate) fn events(&self) -> Vec<Event> {
        let view = Record::read(&self.record()).unwrap();
        view.history
            .entries()
            .iter()
            .map(|entry| entry.event.clone())
            .collect()
    }

    /// What the record amounts to.
    pub(crate) fn state(&self) -> State {
        State::of(Record::read(&self.record()).unwrap().history.entries()).unwrap()
    }

    /// The readings in the record: measurement, outcome, whether it counts.
    pub(crate) fn readings(&self) -> Vec<(String, String, bool)> {
        self.state()
            .readings
            .into_iter()
            .map(|taken| {
                (
                    taken.reading.measurement,
                    taken.reading.outcome,
                    taken.reading.counts,
                )
            })
            .collect()
    }

    /// The same job goes on.
    pub(crate) fn resume<'t>(&self) -> Shop<'t> {
        let path = self.record();
        self.another()
            .arguments(["diagnose", "--job", path.to_str().unwrap()])
    }

    /// The same shop, another command.
    pub(crate) fn another<'t>(&self) -> Shop<'t> {
        Shop::in_folder(Rc::clone(&self.folder), Arc::clone(&self.clock))
    }

    /// Time passes before what is done next.
    pub(crate) fn later(&self, minutes: i64) -> &Self {
        self.clock.fetch_add(minutes * 60_000, Ordering::Relaxed);
        self
    }

    /// The measurement proposed last, by the last numbered heading.
    pub(crate) fn proposed(&self) -> Option<String> {
        proposed_in(&self.out)
    }

    /// The output with each run of spaces and line breaks as one space: wrapping does not matter.
    pub(crate) fn flat(&self) -> String {
        flat(&self.out)
    }

    /// Fails unless the output says this, wrapped anyhow.
    pub(crate) fn says(&self, words: &str) -> &Self {
        assert!(
            self.flat().contains(&flat(words)),
            "not said: {words}\n{}",
            self.out
        );
        self
    }

    /// Fails if the output says this.
    pub(crate) fn says_not(&self, words: &str) -> &Self {
        assert!(
            !self.flat().contains(&flat(words)),
            "said: {words}\n{}",
            self.out
        );
        self
    }

    /// Fails unless the errors say this.
    pub(crate) fn complains(&self, words: &str) -> &Self {
        assert!(
            flat(&self.err).contains(&flat(words)),
            "not complained: {words}\n{}",
            self.err
        );
        self
    }

    /// The output with the shop's folder taken out, for a snapshot.
    pub(crate) fn page(&self) -> String {
        self.out
            .replace(&self.folder.path().display().to_string(), "FOLDER")
            .replace(env!("CARGO_MANIFEST_DIR"), "HERE")
    }
}

/// The measurement of the last numbered heading of a text.
pub(crate) fn proposed_in(text: &str) -> Option<String> {
    let titled = |line: &str| {
        let (number, heading) = line.split_once("  ")?;
        number.parse::<u32>().ok()?;
        let families = [family(), chain_cvt()];
        let all = families.iter().flat_map(|family| &family.measurements);
        let named = all.filter(|of| {
            let rest = heading.strip_prefix(of.title.as_str());
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with("  "))
        });
        named.map(|of| of.name.clone()).next()
    };
    text.lines().rev().find_map(titled)
}

/// Each run of white space as one space.
pub(crate) fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn record_in(folder: &TempDir) -> PathBuf {
    folder.path().join("a.job.jsonl")
}

/// A text with the program's own styles taken off, once it is known to hold nothing worse.
fn unwrapped(text: &str, interactive: bool) -> String {
    let mut plain = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find("\u{1b}[") {
        plain.push_str(&rest[..at]);
        let from = &rest[at + 2..];
        let end = from
            .find(|c: char| !c.is_ascii_digit() && c != ';')
            .unwrap();
        // Bold, dimmed, underlined, yellow; red and green are the argument parser's.
        let own = from[..end]
            .split(';')
            .all(|code| ["", "0", "1", "2", "4", "31", "32", "33"].contains(&code));
        assert!(
            own && from[end..].starts_with('m'),
            "an escape sequence that is not the program's: {:?}",
            &from[..=end]
        );
        rest = &from[end + 1..];
    }
    plain.push_str(rest);
    for c in plain.chars() {
        let own = c == '\n' || interactive && (c == '\r' || c == '\u{7}');
        assert!(
            own || !c.is_control(),
            "a control character came through: {c:?} in\n{plain}"
        );
    }
    plain
}

/// As [`unwrapped`], and no line is too wide. Errors are left to the terminal to wrap: they hold paths.
fn checked(text: &str, interactive: bool) -> String {
    let plain = unwrapped(text, interactive);
    for line in plain.split('\n') {
        // A count is written over itself.
        for line in line.split('\r') {
            let width =
                unicode_width::UnicodeWidthStr::width(line.trim_end_matches('\u{7}').trim_end());
            assert!(
                width <= WIDTH || line.contains("/tmp/"),
                "{width} columns: {line:?}"
            );
        }
    }
    plain
}

/// What was shown so far, to look at while it grows.
#[derive(Clone, Default)]
struct Screen(Rc<RefCell<Vec<u8>>>);

impl Screen {
    fn text(&self) -> String {
        String::from_utf8(self.0.borrow().clone()).expect("the output is UTF-8")
    }
}

impl Write for Screen {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.borrow_mut().write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// A keyboard whose lines come when they are asked for.
struct Keyboard<'t> {
    interactive: bool,
    /// How long counts have run since the last line.
    waited: Rc<Cell<Duration>>,
    screen: Screen,
    typist: Typist<'t>,
    line: Vec<u8>,
    /// How much of the screen the typist has seen.
    seen: usize,
}

impl Read for Keyboard<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let read = self.fill_buf()?.read(into)?;
        self.consume(read);
        Ok(read)
    }
}

impl BufRead for Keyboard<'_> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.line.is_empty() {
            self.waited.set(Duration::ZERO);
            let text = self.screen.text();
            let new = checked_loosely(&text[self.seen..]);
            self.seen = text.len();
            self.line = (self.typist)(&new).unwrap_or_default();
            if self.interactive && !self.line.is_empty() {
                // Enter ends the line on a terminal.
                self.screen.write_all(b"\n")?;
            }
        }
        Ok(&self.line)
    }

    fn consume(&mut self, amount: usize) {
        self.line.drain(..amount);
    }
}

/// A text without styles, unchecked: the whole is checked in the end.
fn checked_loosely(text: &str) -> String {
    anstream::adapter::strip_str(text).to_string()
}

/// The real program, with what is typed on its standard input.
pub(crate) fn program(
    arguments: &[&str],
    typed: &str,
    folder: &Path,
    variables: &BTreeMap<&str, &str>,
) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(arguments)
        .current_dir(folder)
        // The profile of the shop that the tests run in is none of their business.
        .env("HALFSPLIT_SHOP", "")
        .envs(variables)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A program that leaves before it has read all is its own affair.
    let _ = child.stdin.take().unwrap().write_all(typed.as_bytes());
    child.wait_with_output().unwrap()
}
