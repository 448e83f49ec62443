//! Reads the text of a file: hidden characters, then YAML, and a finding with the likely place where it
//! is no YAML.

use std::collections::BTreeMap;

use granit_parser::{Event, Marker, Options, Parser, ScalarStyle};

use super::document::{Document, Flaw, Refused, Shape, What, Why, number, parse};
use super::log::{Report, Spot, report};
use super::narrow::{Blame, is_content, narrow};
use super::node::File;
use super::shipped;
use super::source::{Content, SourceFile};
use crate::text::is_hidden_in_text;

/// The smallest part that is no YAML is looked for in texts of so many bytes at most: it takes many parses.
const LARGEST_NARROWED: usize = 1 << 20;

/// Reads a file, with what was found on the way; one that the program was built with from what was parsed then.
pub(super) fn read_file(file: &SourceFile, number: u32) -> (Option<File<'_>>, Vec<Report>) {
    let Content::Text(text) = &file.content else {
        return (None, Vec::new());
    };
    match shipped::document(text, file.parsed) {
        Some(document) => (Some(File { document, number }), Vec::new()),
        None => read(text, number),
    }
}

/// Reads a file's text, with what was found on the way. A mistake in the YAML itself ends the file;
/// after any other mistake the rest is read.
pub(super) fn read(text: &str, file: u32) -> (Option<File<'_>>, Vec<Report>) {
    let text = text.trim_start_matches('\u{feff}');
    if let Some(report) = hidden(text, file) {
        return (None, vec![report]);
    }
    match parsed(text) {
        Ok((document, flaws)) => {
            let reports = flaws.iter().map(|flaw| told_of(flaw, file));
            let number = file;
            (Some(File { document, number }), reports.collect())
        }
        // What was found before the mistake may be due to it.
        Err(refused) => (None, vec![located(&refused, text, file)]),
    }
}

fn parsed(text: &str) -> Result<(Document<'_>, Vec<Flaw>), Refused> {
    // The file itself was searched before.
    parse(text, &is_hidden_in_text)
}

fn told_of(flaw: &Flaw, file: u32) -> Report {
    let spot = Spot::of(file, flaw.place);
    match &flaw.what {
        What::Hidden(found) => {
            let found = u32::from(*found);
            report!(spot; ControlCharacter, "this text holds a hidden character, U+{found:04X}" =>
                "delete it, or write what it stands for")
        }
        What::NoName(shape) => {
            let found = match shape {
                Shape::List => "a list",
                Shape::Map => "a map of fields",
                _ => "nothing",
            };
            report!(spot; WrongType, "a name is expected before the colon, this is {found}")
        }
        What::Comma(whole, part) => {
            report!(spot; WrongType, "`{whole},{part}` is two numbers here: a comma ends an entry" =>
                "a decimal point belongs here: {whole}.{part}")
        }
        What::Twice(name, line) => {
            report!(spot; DuplicateKey, "`{name}` is given a second time here; the first is in line {line}" =>
                "keep one of the two")
        }
    }
}

/// The first character of a file that no text needs and YAML forbids.
fn hidden(text: &str, file: u32) -> Option<Report> {
    let (at, found) = text
        .char_indices()
        .find(|(_, found)| *found != '\r' && is_hidden_in_text(*found))?;
    let before = text[..at].replace("\r\n", "\n").replace('\r', "\n");
    let last = before.rsplit('\n').next().unwrap_or_default();
    let spot = Spot::behind(file, before.matches('\n').count(), last.chars().count());
    let found = u32::from(found);
    Some(
        report!(spot; ControlCharacter, "there is a hidden character here, U+{found:04X}" =>
        "delete it; the file is not read before that"),
    )
}

/// Why a text is no YAML: a parser notices late, so the smallest part that fails by itself is blamed.
fn located(refused: &Refused, text: &str, file: u32) -> Report {
    let report = told(refused, file);
    if !matches!(refused.why, Why::NotYaml(_)) || text.len() > LARGEST_NARROWED {
        return report;
    }
    let plain = text.replace("\r\n", "\n").replace('\r', "\n");
    let lines: Vec<&str> = plain.split('\n').collect();
    let at = |line, column| Spot::behind(file, line, column);
    let tabbed = |line: &&str| is_content(line) && line.trim_start_matches(' ').starts_with('\t');
    if let Some(line) = lines.iter().position(tabbed) {
        let spot = at(line, lines[line].find('\t').unwrap_or(0));
        return report!(spot; NotYaml, "a tab indents this line; only blanks may" =>
            "let the editor turn tabs into blanks");
    }
    // What looks like a blank or a quote and is none.
    let blank = |line: &&str| {
        let start: String = line.chars().take_while(|c| c.is_whitespace()).collect();
        start.chars().any(is_odd_blank) || line.contains(":\u{a0}")
    };
    if let Some(line) = lines.iter().position(blank) {
        let column = lines[line].chars().position(is_odd_blank).unwrap_or(0);
        let found = lines[line].chars().nth(column).map_or(0, u32::from);
        return report!(at(line, column); NotYaml, "a blank that is none for YAML stands here, U+{found:04X}" =>
            "type an ordinary blank in its place; copied text brings such blanks along");
    }
    match narrow(&plain, &|part| mistake(part).is_none()) {
        Some(Blame::Indent(line)) => {
            let indent_of = |line: usize| lines[line].chars().take_while(|c| *c == ' ').count();
            // Where the file itself starts with an indent, the name above its first line is what is missing.
            let first = lines
                .iter()
                .position(|line| is_content(line))
                .unwrap_or(line);
            let line = Some(first)
                .filter(|first| indent_of(*first) > indent_of(line))
                .unwrap_or(line);
            report!(at(line, indent_of(line)); NotYaml, "this line is not indented like those it belongs with" =>
                "a line with a name above it may be missing, or the indent is wrong")
        }
        Some(Blame::Part { from, lines }) => nearer(from, &lines, file).unwrap_or(report),
        None => report,
    }
}

/// Reads a text for nothing but its mistake.
fn mistake(text: &str) -> Option<Refused> {
    parsed(text).err()
}

/// What is wrong with the smallest part that is no YAML by itself.
fn nearer(from: usize, lines: &[String], file: u32) -> Option<Report> {
    let mut report = told(&mistake(&lines.join("\n"))?, file);
    let at = |line, before: &str| Spot::behind(file, from + line, before.chars().count());
    // A lost quote pairs up with every quote after it: the first line with one too many is it.
    let odd = lines
        .iter()
        .position(|line| line.matches('"').count() % 2 == 1);
    if let Some(line) = odd.filter(|_| report.words.contains("quoted")) {
        let before = lines[line]
            .rsplit_once('"')
            .map_or("", |(before, _)| before);
        report.spot = at(line, before);
        return Some(report.advice("a quote has no partner: every text in quotes ends with one"));
    }
    let curly = lines.iter().enumerate().find_map(|(line, text)| {
        let column = text.find(is_curly)?;
        Some((line, &text[..column]))
    });
    if let Some((line, before)) = curly {
        report.spot = at(line, before);
        "curly quotes are letters to YAML: they hold no text together"
            .clone_into(&mut report.words);
        return Some(report.advice("write straight quotes: \" or '"));
    }
    report.spot.line = report.spot.line.max(1).saturating_add(number(from));
    // A bracket that is not closed: the last line of the part is where it should be.
    if report.words.contains("unclosed bracket") {
        let opened = report.spot.line;
        let last = lines.iter().rposition(|line| is_content(line))?;
        report.spot = at(last, lines[last].trim_end());
        report.words = format!("the bracket that opens in line {opened} is not closed by here");
        return Some(report.advice("every { ends with }, every [ with ]"));
    }
    Some(report)
}

fn told(refused: &Refused, file: u32) -> Report {
    let spot = Spot::of(file, refused.place);
    match &refused.why {
        Why::TooMuch => {
            report!(spot; TooMuch, "the file nests deeper or holds more than a knowledge file needs; it is read up to here" =>
                "write it plainly: no aliases, little nesting, long lists in several files")
        }
        Why::SecondDocument => {
            report!(spot; NotYaml, "a second document starts here" => "one file holds one document")
        }
        Why::NotYaml(words) => {
            report!(spot; NotYaml, "this is not YAML: {words}" =>
                "look at the indent, the colons, the brackets and the quotes of this line and the one before")
        }
    }
}

/// A blank that YAML takes for a letter.
fn is_odd_blank(character: char) -> bool {
    character.is_whitespace() && !character.is_ascii()
}

/// A quote as a word processor writes it.
fn is_curly(character: char) -> bool {
    matches!(character, '\u{201c}'..='\u{201f}' | '\u{2018}'..='\u{201b}' | '\u{ab}' | '\u{bb}')
}

/// The marks of a text that YAML takes otherwise than they look: a `#` that ends a text and is no comment of a person,
/// and curly quotes around a text.
pub(super) fn eaten(text: &str, file: u32) -> Vec<Report> {
    let mut options = Options::default();
    options.set_emit_comments(true);
    let spot = |start: Marker| Spot::behind(file, start.line() - 1, start.col());
    let mut reports = Vec::new();
    // Where each text ends, in characters, and whether it is without quotes.
    let mut texts = BTreeMap::new();
    let mut comments = Vec::new();
    for (event, span) in Parser::new_from_str_with_options(text, options).flatten() {
        let start = span.start;
        match event {
            Event::Scalar(text, style, ..) if !text.is_empty() => {
                let plain = style == ScalarStyle::Plain;
                texts.insert(span.end.index(), plain);
                if plain && text.starts_with(is_curly) {
                    reports.push(report!(spot(start); EatenText, "the curly quotes are shown as part of this text" =>
                        "write straight quotes: \" or '"));
                }
            }
            // A person puts a blank behind the #; in `pin #3` it belongs to the text.
            Event::Comment(text, _) if text.starts_with(char::is_alphanumeric) => {
                comments.push((start, text));
            }
            _ => {}
        }
    }
    let characters: Vec<char> = text.chars().collect();
    for (start, text) in comments {
        let before = texts.range(..start.index()).next_back();
        let eaten = before.is_some_and(|(end, plain)| {
            let between = characters.get(*end..start.index());
            *plain && between.is_some_and(|between| between.iter().all(|c| matches!(c, ' ' | '\t')))
        });
        if eaten {
            let text: String = text.chars().take(40).collect();
            reports.push(report!(spot(start); EatenText, "`#{text}` is a comment and no part of the text before it" =>
                "put the whole text in quotes; where a comment is meant, put a blank behind the #"));
        }
    }
    reports
}
