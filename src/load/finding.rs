//! What is wrong with a knowledge folder, where, and what would fit.

use std::fmt;

use unicode_width::UnicodeWidthChar;

use super::code::{Code, Severity};
use crate::text::clean;

/// The width findings are shown in.
const WIDTH: usize = 80;
/// What is printed before the offending line.
const GUTTER: &str = "  | ";

/// A position: lines and columns count from 1, columns in characters. Line 0 is the
/// whole file.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The file, by its path in the folder, with slashes.
    pub file: String,
    /// The line.
    pub line: u32,
    /// The column.
    pub column: u32,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", clean(&self.file))?;
        if self.line > 0 {
            write!(f, ":{}:{}", self.line, self.column)?;
        }
        Ok(())
    }
}

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// What kind of thing.
    pub code: Code,
    /// How bad it is.
    pub severity: Severity,
    /// Where.
    pub place: Place,
    /// The line it stands in, as the file has it; empty for a whole file. Of a line of many hundred
    /// characters only the part around the column.
    pub line: String,
    /// How many characters of `line` stand before the place.
    pub caret: usize,
    /// What was found, in words.
    pub words: String,
    /// The nearest name that would have fitted.
    pub nearest: Option<String>,
    /// What to do, where the words do not say it.
    pub advice: Option<String>,
    /// The names that lead to the place, by which `accept` in family.yaml refers to it: of a warning that was looked at.
    pub at: Option<String>,
}

impl Finding {
    /// What would put it right: the nearest name, else the advice.
    pub fn help(&self) -> Option<String> {
        self.nearest
            .as_ref()
            .map(|name| format!("did you mean `{name}`?"))
            .or_else(|| self.advice.clone())
    }

    fn key(&self) -> (&Place, Code, &str) {
        (&self.place, self.code, &self.words)
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.written(false))
    }
}

impl Finding {
    /// The finding with why it matters, for a person who asked for findings.
    pub fn explained(&self) -> String {
        self.written(true)
    }

    fn written(&self, with_why: bool) -> String {
        let (place, words) = (&self.place, clean(&self.words));
        let head = format!("{place}: {}[{}]: {words}", self.severity, self.code);
        let mut lines = vec![paragraph(&head, "    ")];
        if self.place.line > 0 {
            let (line, caret) = cropped(&self.line, self.caret, WIDTH - GUTTER.len());
            lines.push(format!("{GUTTER}{line}").trim_end().to_owned());
            lines.push(format!("{GUTTER}{:caret$}^", ""));
        }
        if with_why {
            let why = format!("  why: {}", self.code.why());
            lines.push(paragraph(&why, "       "));
        }
        if let Some(help) = self.help() {
            let help = format!("  help: {}", clean(&help));
            lines.push(paragraph(&help, "        "));
        }
        if let Some(at) = self.at.as_ref().filter(|_| with_why) {
            lines.push(format!("  at: {}", clean(at)));
        }
        lines.join("\n")
    }
}

/// A paragraph wrapped to the width; words are not broken, so a path stays whole.
fn paragraph(text: &str, indent: &str) -> String {
    let options = textwrap::Options::new(WIDTH)
        .subsequent_indent(indent)
        .break_words(false)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .word_separator(textwrap::WordSeparator::AsciiSpace);
    textwrap::fill(text, options)
}

/// Everything that is wrong with a folder that cannot be used, or that was noticed in one that can.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Findings(pub Vec<Finding>);

impl Findings {
    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether any of them is an error.
    pub fn have_errors(&self) -> bool {
        self.0
            .iter()
            .any(|finding| finding.severity == Severity::Error)
    }

    /// Those that were not there before: of their kind, in their words and in their file.
    pub fn beyond(mut self, before: &Self) -> Self {
        let same = |one: &Finding, other: &Finding| {
            (one.code, &one.words, &one.place.file) == (other.code, &other.words, &other.place.file)
        };
        self.0
            .retain(|one| !before.0.iter().any(|other| same(one, other)));
        self
    }

    /// Sorted by file, line and column, each once.
    pub fn sorted(mut self) -> Self {
        self.0.sort_by(|one, other| one.key().cmp(&other.key()));
        self.0.dedup();
        self
    }
}

impl fmt::Display for Findings {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let findings: Vec<String> = self.0.iter().map(ToString::to_string).collect();
        f.write_str(&findings.join("\n\n"))
    }
}

impl std::error::Error for Findings {}

/// The part of a line around the character `at` that fits `width`, and where in it the caret belongs.
fn cropped(line: &str, at: usize, width: usize) -> (String, usize) {
    // Each character as it is shown, with its width. A tab takes one place here, so that the caret stays under its
    // character.
    let shown = line.chars().map(|character| {
        let shown = clean(character.encode_utf8(&mut [0; 4]));
        let width = shown.chars().map(|c| c.width().unwrap_or(0)).sum::<usize>();
        (shown, width)
    });
    let shown: Vec<(String, usize)> = shown.collect();
    let wide = |part: &[(String, usize)]| part.iter().map(|(_, width)| width).sum::<usize>();
    let at = at.min(shown.len());
    let (mut from, mut to) = (0, shown.len());
    if wide(&shown) > width {
        // Two thirds of the room go to what is before the caret, less where little is.
        let room = width - 2;
        from = (0..at)
            .find(|from| wide(&shown[*from..at]) <= room * 2 / 3)
            .unwrap_or(at);
        to = (from..=to)
            .rev()
            .find(|to| wide(&shown[from..*to]) <= room)
            .unwrap_or(from);
    }
    let dots = |cut: bool| if cut { "…" } else { "" };
    let text: String = shown[from..to]
        .iter()
        .map(|(text, _)| text.as_str())
        .collect();
    let caret = wide(&shown[from..at]) + usize::from(from > 0);
    (
        format!("{}{text}{}", dots(from > 0), dots(to < shown.len())),
        caret,
    )
}
