//! The collection of findings while a folder is read: it stops at none.

use std::cell::{Cell, RefCell};

use super::code::{Code, Severity};
use super::document::{LineColumn, number};
use super::finding::{Finding, Findings, Place};
use super::source::SourceFile;

/// Findings beyond so many are counted and not kept: a broken folder of many megabytes must not
/// fill the memory.
const MOST_FINDINGS: usize = 2000;
/// The nearest name is looked for only so often: each look goes over all names.
const MOST_NEAREST: usize = 200;
/// Longer names, in bytes, are not compared.
const LONGEST_NAME: usize = 80;
/// So many characters of a line are kept before and after the place of a finding.
const REACH: usize = 400;
/// A look for the nearest name goes over so many names at most.
const MOST_NAMES: usize = 2000;

/// A place in a source: the number of the file, and a line and a column that count from 1. Line 0 is
/// the whole file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Spot {
    pub(crate) file: u32,
    pub(crate) line: u32,
    pub(crate) column: u32,
}

impl Spot {
    /// A place in a file.
    pub(crate) const fn of(file: u32, place: LineColumn) -> Self {
        Self {
            file,
            line: place.line,
            column: place.column,
        }
    }

    /// The place behind so many lines of a file and so many characters of the next.
    pub(super) fn behind(file: u32, lines: usize, characters: usize) -> Self {
        let (line, column) = (number(lines + 1), number(characters + 1));
        Self { file, line, column }
    }

    /// The whole of a file.
    pub(crate) const fn file(file: u32) -> Self {
        Self {
            file,
            line: 0,
            column: 0,
        }
    }
}

/// A finding before it knows its file's name and its line's text.
#[derive(Clone, Debug)]
pub(crate) struct Report {
    pub(crate) code: Code,
    pub(crate) spot: Spot,
    pub(crate) words: String,
    pub(crate) nearest: Option<String>,
    pub(crate) advice: Option<String>,
}

impl Report {
    pub(crate) fn new(code: Code, spot: Spot, words: impl Into<String>) -> Self {
        Self {
            code,
            spot,
            words: words.into(),
            nearest: None,
            advice: None,
        }
    }

    pub(crate) fn nearest(mut self, nearest: Option<String>) -> Self {
        self.nearest = nearest;
        self
    }

    pub(crate) fn advice(mut self, advice: impl Into<String>) -> Self {
        self.advice = Some(advice.into());
        self
    }
}

/// A report: where; its code, its words, `=>` what would put it right; the nearest name.
macro_rules! report {
    ($spot:expr; $code:ident, $words:literal $(, $arg:expr)* $(=> $help:literal $(, $more:expr)*)? $(; $nearest:expr)?) => {
        $crate::load::log::Report::new(
            $crate::load::code::Code::$code, $spot, format_args!($words $(, $arg)*).to_string(),
        )
        $(.advice(format_args!($help $(, $more)*).to_string()))?
        $(.nearest($nearest))?
    };
}
/// Adds a [`report!`] to a log.
macro_rules! say {
    ($log:expr, $($report:tt)+) => { $log.add($crate::load::log::report!($($report)+)) };
}
pub(super) use {report, say};

/// What was found so far.
pub(crate) struct Log<'s> {
    files: &'s [SourceFile],
    found: RefCell<Vec<Finding>>,
    dropped: Cell<usize>,
    /// Whether any of those not kept is an error.
    dropped_error: Cell<bool>,
    looks: Cell<usize>,
    /// Whether a name was met that stands for something unfinished.
    pub(super) left_out: Cell<bool>,
}

impl<'s> Log<'s> {
    pub(super) const fn new(files: &'s [SourceFile]) -> Self {
        Self {
            files,
            found: RefCell::new(Vec::new()),
            dropped: Cell::new(0),
            dropped_error: Cell::new(false),
            looks: Cell::new(0),
            left_out: Cell::new(false),
        }
    }

    /// Keeps a finding.
    pub(crate) fn add(&self, report: Report) {
        if self.found.borrow().len() >= MOST_FINDINGS {
            self.dropped.set(self.dropped.get() + 1);
            let error = report.code.severity() == Severity::Error;
            self.dropped_error.set(self.dropped_error.get() || error);
            return;
        }
        let spot = report.spot;
        let file = self.files.get(spot.file as usize);
        let path = file.map_or_else(String::new, |file| file.path.clone());
        let around = file.map(|file| around(file.line(spot.line), spot.column));
        self.keep(report, path, around.unwrap_or_default());
    }

    /// Keeps a finding about a file that is not there, or a folder.
    pub(crate) fn about(&self, code: Code, path: &str, words: impl Into<String>, advice: &str) {
        let mut report = Report::new(code, Spot::default(), words);
        report.advice = (!advice.is_empty()).then(|| advice.to_owned());
        let path = if path.is_empty() { "." } else { path };
        self.keep(report, path.to_owned(), Default::default());
    }

    fn keep(&self, report: Report, file: String, (line, caret): (String, usize)) {
        let Spot {
            line: number,
            column,
            ..
        } = report.spot;
        self.found.borrow_mut().push(Finding {
            code: report.code,
            severity: report.code.severity(),
            place: Place {
                file,
                line: number,
                column,
            },
            line,
            caret,
            words: report.words,
            nearest: report.nearest,
            advice: report.advice,
            at: None,
        });
    }

    /// A position in words, for a message.
    pub(crate) fn where_is(&self, spot: Spot) -> String {
        match self.files.get(spot.file as usize) {
            Some(file) => format!("{} line {}", file.path, spot.line),
            None => format!("line {}", spot.line),
        }
    }

    /// A place inside a text that starts at a spot, `column` characters into it from 1: only where the
    /// text is on one line as it is, in quotes or not.
    pub(crate) fn inside(&self, spot: Spot, text: &str, column: usize) -> Spot {
        let Some(file) = self.files.get(spot.file as usize) else {
            return spot;
        };
        let start = (spot.column.max(1) - 1) as usize;
        let mut rest = file.line(spot.line).chars().skip(start).peekable();
        let quote = rest.next_if(|first| matches!(first, '"' | '\''));
        let as_it_is = text.chars().all(|character| rest.next() == Some(character));
        let further = u32::from(quote.is_some()) + number(column.max(1) - 1);
        Spot {
            column: spot.column + if as_it_is { further } else { 0 },
            ..spot
        }
    }

    /// The nearest of the names, where one is near.
    pub(crate) fn nearest<'n>(
        &self,
        name: &str,
        names: impl IntoIterator<Item = &'n str>,
    ) -> Option<String> {
        if self.looks.get() >= MOST_NEAREST {
            return None;
        }
        self.looks.set(self.looks.get() + 1);
        nearest(name, names)
    }

    /// All findings, sorted.
    pub(crate) fn finish(self) -> Findings {
        let mut findings = Findings(self.found.into_inner()).sorted();
        if let (Some(last), dropped @ 1..) = (findings.0.last().cloned(), self.dropped.get()) {
            findings.0.push(Finding {
                code: Code::TooMuch,
                severity: if findings.have_errors() || self.dropped_error.get() {
                    Severity::Error
                } else {
                    Severity::Warning
                },
                words: format!("{dropped} more findings are left out"),
                nearest: None,
                advice: Some("put the first ones right and load again".to_owned()),
                ..last
            });
        }
        findings
    }
}

/// The part of a line around a column, and how many of its characters stand before that.
fn around(line: &str, column: u32) -> (String, usize) {
    let before = (column.max(1) - 1) as usize;
    let skipped = before.saturating_sub(REACH);
    (
        line.chars().skip(skipped).take(2 * REACH).collect(),
        before - skipped,
    )
}

/// The nearest of the names; a name longer than an id is like none, and takes long to compare.
fn nearest<'n>(name: &str, names: impl IntoIterator<Item = &'n str>) -> Option<String> {
    let known = names
        .into_iter()
        .take(MOST_NAMES)
        .filter(|known| known.len() <= LONGEST_NAME && *known != name);
    if name.is_empty() || name.len() > LONGEST_NAME {
        return None;
    }
    crate::text::nearest(name, known).map(str::to_owned)
}
