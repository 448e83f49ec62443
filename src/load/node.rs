//! YAML as a tree of values with their positions, so that reading can go on after a mistake.

use std::borrow::Cow;
use std::collections::BTreeMap;

use granit_parser::{Event, Options, Parser, ScalarStyle, ScanError};

use super::log::{Report, Spot, report};
use crate::text::is_hidden;

/// How deep values may be nested. The deepest shipped tree has 15 levels.
const DEEPEST: usize = 64;
/// How many values a file may hold, names of fields among them. The largest shipped one has about 3,000; 20,000 causes
/// take 250,000.
const MOST_NODES: usize = 400_000;
/// How many bytes aliases may add to a file; a knowledge file needs no aliases.
const MOST_COPIED: usize = 4 << 20;
/// A map of fewer entries is searched one by one.
const SHORT: usize = 40;

/// A value and its position. Its texts are parts of the file where they stand there as they are.
#[derive(Clone, Debug)]
pub(crate) struct Node<'t> {
    pub(super) spot: Spot,
    pub(super) kind: Kind<'t>,
}

/// What a value is.
#[derive(Clone, Debug)]
pub(crate) enum Kind<'t> {
    Null,
    Bool(bool),
    /// The number, and how it is written.
    Number(f64, Cow<'t, str>),
    Text(Cow<'t, str>),
    List(Vec<Node<'t>>),
    Map(Vec<(Key<'t>, Node<'t>)>),
}

/// A key of a map.
#[derive(Clone, Debug)]
pub(crate) struct Key<'t> {
    pub(super) text: Cow<'t, str>,
    pub(super) spot: Spot,
}

impl Node<'_> {
    /// The entry or item that a word leads to: a key of a map, the index in a list, or an item that is
    /// this text; with the position of the key or item.
    pub(super) fn step(&self, word: &str) -> Option<(Spot, &Self)> {
        match &self.kind {
            Kind::Map(entries) => entries
                .iter()
                .find(|(key, _)| key.text == word)
                .map(|(key, value)| (key.spot, value)),
            Kind::List(items) => word
                .parse::<usize>()
                .ok()
                .and_then(|index| items.get(index))
                .or_else(|| items.iter().find(|item| item.text() == Some(word)))
                .map(|item| (item.spot, item)),
            Kind::Null | Kind::Bool(_) | Kind::Number(..) | Kind::Text(_) => None,
        }
    }

    /// The entries of a map.
    pub(super) fn entries(&self) -> impl Iterator<Item = (&str, &Self)> {
        let entries: &[(Key<'_>, Self)] = match &self.kind {
            Kind::Map(entries) => entries,
            _ => &[],
        };
        entries
            .iter()
            .map(|(key, value)| (key.text.as_ref(), value))
    }

    /// The items of a list.
    pub(super) fn items(&self) -> impl Iterator<Item = &Self> {
        match &self.kind {
            Kind::List(items) => items.as_slice(),
            _ => &[],
        }
        .iter()
    }

    /// Adds to `way` the keys and indices that lead to the entry or item which starts last up to a line and column.
    pub(super) fn lead_to(&self, place: (u32, u32), way: &mut Vec<String>) {
        let before = |spot: Spot| (spot.line, spot.column) <= place;
        let last = match &self.kind {
            Kind::List(items) => {
                let last = items.iter().rposition(|item| before(item.spot));
                last.map(|index| {
                    // An item that is an id is found wherever it moves in its list.
                    let is_id = |text: &&str| {
                        text.starts_with(|c: char| c.is_ascii_lowercase())
                            && !text.contains(['/', ' '])
                    };
                    let id = items[index].text().filter(is_id);
                    (
                        id.map_or_else(|| index.to_string(), str::to_owned),
                        &items[index],
                    )
                })
            }
            Kind::Map(entries) => {
                let last = entries.iter().rfind(|(key, _)| before(key.spot));
                last.map(|(key, value)| (key.text.to_string(), value))
            }
            Kind::Null | Kind::Bool(_) | Kind::Number(..) | Kind::Text(_) => None,
        };
        if let Some((name, inner)) = last {
            way.push(name);
            inner.lead_to(place, way);
        }
    }

    /// The text, where it is one.
    pub(super) fn text(&self) -> Option<&str> {
        match &self.kind {
            Kind::Text(text) => Some(text),
            _ => None,
        }
    }

    /// How many values it holds, names of fields not counted.
    pub(super) fn count(&self) -> usize {
        self.size().0
    }

    /// How many values it holds, how many bytes of text, and how deep it is.
    fn size(&self) -> (usize, usize, usize) {
        let sum = |(nodes, bytes, deep): (usize, usize, usize), node: &Self, key: usize| {
            let (more, text, depth) = node.size();
            (nodes + more, bytes + text + key, deep.max(depth + 1))
        };
        match &self.kind {
            Kind::Null | Kind::Bool(_) => (1, 0, 0),
            Kind::Number(_, text) | Kind::Text(text) => (1, text.len(), 0),
            Kind::List(items) => items
                .iter()
                .fold((1, 0, 0), |total, item| sum(total, item, 0)),
            Kind::Map(entries) => entries.iter().fold((1, 0, 0), |total, (key, value)| {
                sum(total, value, key.text.len())
            }),
        }
    }
}

impl Kind<'_> {
    /// What it is, for a message.
    pub(super) fn words(&self) -> Cow<'static, str> {
        match self {
            Self::Null => "nothing".into(),
            Self::Bool(value) => format!("the truth value `{value}`").into(),
            Self::Number(_, text) => format!("the number `{text}`").into(),
            Self::Text(text) => {
                let mut short: String = text.chars().take(40).collect();
                if short.len() < text.len() {
                    short.push('…');
                }
                format!("the text `{short}`").into()
            }
            Self::List(_) => "a list".into(),
            Self::Map(_) => "a map of fields".into(),
        }
    }
}

/// Why a text cannot be read as YAML, and where.
#[derive(Clone, Debug)]
pub(super) struct Refused {
    pub(super) why: Why,
    pub(super) spot: Spot,
}

#[derive(Clone, Debug)]
pub(super) enum Why {
    TooMuch,
    SecondDocument,
    /// The parser's message.
    NotYaml(String),
}

/// Reads a text; findings that do not end the file are added to `reports`.
pub(super) fn parse<'t>(
    text: &'t str,
    file: u32,
    reports: &mut Vec<Report>,
) -> Result<Node<'t>, Refused> {
    let mut options = Options::default();
    options.set_emit_comments(false);
    let events = Parser::new_from_str_with_options(text, options);
    let placed = |(event, span): (Event<'t>, granit_parser::Span)| {
        (event, span.start.line(), span.start.col() + 1)
    };
    build(events.map(|event| event.map(placed)), file, reports)
}

/// Builds the value of a file from its events, each with its line and column.
pub(super) fn build<'t>(
    events: impl Iterator<Item = Result<(Event<'t>, usize, usize), ScanError>>,
    file: u32,
    reports: &mut Vec<Report>,
) -> Result<Node<'t>, Refused> {
    let mut builder = Builder {
        events,
        file,
        nodes: 0,
        copied: 0,
        anchored: BTreeMap::new(),
        items: Vec::new(),
        entries: Vec::new(),
        reports,
    };
    let mut root = None;
    loop {
        let (event, spot) = builder.next()?;
        match event {
            Event::StreamEnd => break,
            Event::DocumentStart(..) if root.is_some() => {
                let why = Why::SecondDocument;
                return Err(Refused { why, spot });
            }
            Event::StreamStart | Event::DocumentStart(..) | Event::DocumentEnd => {}
            event => root = Some(builder.node(event, spot, 0)?),
        }
    }
    let spot = builder.spot(1, 1);
    let kind = Kind::Null;
    Ok(root.unwrap_or(Node { spot, kind }))
}

struct Builder<'t, 'r, E> {
    events: E,
    file: u32,
    nodes: usize,
    copied: usize,
    anchored: BTreeMap<usize, Node<'t>>,
    /// The items of the lists that are open, and the entries of the maps: each list and map then takes as much room as it
    /// needs, at once.
    items: Vec<Node<'t>>,
    entries: Vec<(Key<'t>, Node<'t>)>,
    reports: &'r mut Vec<Report>,
}

impl<'t, E: Iterator<Item = Result<(Event<'t>, usize, usize), ScanError>>> Builder<'t, '_, E> {
    fn next(&mut self) -> Result<(Event<'t>, Spot), Refused> {
        match self.events.next() {
            Some(Ok((event, line, column))) => Ok((event, self.spot(line, column))),
            Some(Err(error)) => Err(self.refused(&error)),
            None => Ok((Event::StreamEnd, Spot::file(self.file))),
        }
    }

    fn spot(&self, line: usize, column: usize) -> Spot {
        Spot {
            file: self.file,
            line: number(line),
            column: number(column),
        }
    }

    fn refused(&self, error: &ScanError) -> Refused {
        let words = error.info();
        let at = error.marker();
        let spot = self.spot(at.line(), at.col() + 1);
        let why = if words.contains("limit exceeded") {
            Why::TooMuch
        } else {
            Why::NotYaml(words)
        };
        Refused { why, spot }
    }

    fn node(&mut self, event: Event<'t>, spot: Spot, depth: usize) -> Result<Node<'t>, Refused> {
        self.nodes += 1;
        let too_much = Err(Refused {
            why: Why::TooMuch,
            spot,
        });
        if depth >= DEEPEST || self.nodes > MOST_NODES {
            return too_much;
        }
        let (kind, anchor) = match event {
            Event::Scalar(text, style, anchor, tag) => {
                let plain = style == ScalarStyle::Plain
                    && tag.is_none_or(|tag| tag.core_suffix() != Some("str"));
                if style == ScalarStyle::DoubleQuoted {
                    self.escapes(&text, spot);
                }
                (scalar(text, plain), anchor)
            }
            Event::SequenceStart(_, anchor, _) => {
                let start = self.items.len();
                loop {
                    match self.next()? {
                        (Event::SequenceEnd, _) => break,
                        (event, at) => {
                            let item = self.node(event, at, depth + 1)?;
                            self.items.push(item);
                        }
                    }
                }
                (Kind::List(self.items.split_off(start)), anchor)
            }
            Event::MappingStart(_, anchor, _) => (Kind::Map(self.map(depth + 1)?), anchor),
            Event::Alias(id) => {
                let Some(node) = self.anchored.get(&id) else {
                    // An alias inside of what it stands for.
                    return too_much;
                };
                let (nodes, bytes, deep) = node.size();
                self.nodes += nodes;
                self.copied += bytes;
                if self.nodes > MOST_NODES || self.copied > MOST_COPIED || depth + deep >= DEEPEST {
                    return too_much;
                }
                (node.kind.clone(), 0)
            }
            _ => (Kind::Null, 0),
        };
        let node = Node { spot, kind };
        if anchor > 0 {
            self.anchored.insert(anchor, node.clone());
        }
        Ok(node)
    }

    /// A finding about the first hidden character that an escape stands for; the file itself was searched before.
    fn escapes(&mut self, text: &str, spot: Spot) {
        let hidden = |found: &char| is_hidden(*found) && !matches!(found, '\n' | '\t');
        if let Some(found) = text.chars().find(hidden) {
            let found = u32::from(found);
            self.reports.push(report!(spot; ControlCharacter, "this text holds a hidden character, U+{found:04X}" =>
                "delete it, or write what it stands for"));
        }
    }

    /// The entries of a map: keys are texts, each once.
    fn map(&mut self, depth: usize) -> Result<Vec<(Key<'t>, Node<'t>)>, Refused> {
        let start = self.entries.len();
        // Of a long map, the line of each key; a short one is searched as it is.
        let mut lines: BTreeMap<Cow<'t, str>, u32> = BTreeMap::new();
        loop {
            let key = match self.next()? {
                (Event::MappingEnd, _) => return Ok(self.entries.split_off(start)),
                (event, at) => self.node(event, at, depth)?,
            };
            let (event, at) = self.next()?;
            let value = self.node(event, at, depth)?;
            let entries = &self.entries[start..];
            let spot = key.spot;
            let text = match key.kind {
                Kind::Text(text) | Kind::Number(_, text) => text,
                Kind::Bool(value) => value.to_string().into(),
                other => {
                    let found = other.words();
                    self.reports.push(report!(spot; WrongType,
                        "a name is expected before the colon, this is {found}"));
                    continue;
                }
            };
            if let (Kind::Null, Some((_, last))) = (&value.kind, entries.last())
                && let Kind::Number(_, whole) = &last.kind
                && last.spot.line == spot.line
                && text.bytes().all(|byte| byte.is_ascii_digit())
            {
                self.reports.push(report!(last.spot; WrongType,
                    "`{whole},{text}` is two numbers here: a comma ends an entry" =>
                    "a decimal point belongs here: {whole}.{text}"));
                continue;
            }
            let first = if entries.len() < SHORT {
                let same = entries.iter().find(|(key, _)| key.text == text);
                same.map(|(key, _)| key.spot.line)
            } else {
                let keys = entries[lines.len()..].iter().map(|(key, _)| key);
                lines.extend(keys.map(|key| (key.text.clone(), key.spot.line)));
                lines.get(&text).copied()
            };
            if let Some(line) = first {
                self.reports.push(report!(spot; DuplicateKey,
                    "`{text}` is given a second time here; the first is in line {line}" =>
                    "keep one of the two"));
                continue;
            }
            self.entries.push((Key { text, spot }, value));
        }
    }
}

/// What a scalar is: a text in quotes, or what the core schema of YAML 1.2 makes of a plain one.
fn scalar(text: Cow<'_, str>, plain: bool) -> Kind<'_> {
    if plain {
        match text.as_ref() {
            "" | "~" | "null" | "Null" | "NULL" => return Kind::Null,
            "true" | "True" | "TRUE" => return Kind::Bool(true),
            "false" | "False" | "FALSE" => return Kind::Bool(false),
            _ => {}
        }
        if let Some(value) = numeric(&text) {
            return Kind::Number(value, text);
        }
    }
    Kind::Text(text)
}

/// The number that a plain scalar is, by the core schema of YAML 1.2.
fn numeric(text: &str) -> Option<f64> {
    let unsigned = text.strip_prefix(['+', '-']).unwrap_or(text);
    // Most texts are words.
    if !unsigned.starts_with(|first: char| first.is_ascii_digit() || first == '.') {
        return None;
    }
    let negative = text.starts_with('-');
    let signed = |value: f64| if negative { -value } else { value };
    match unsigned {
        ".inf" | ".Inf" | ".INF" => return Some(signed(f64::INFINITY)),
        ".nan" | ".NaN" | ".NAN" => return Some(f64::NAN),
        _ => {}
    }
    for (prefix, radix) in [("0x", 16), ("0o", 8)] {
        if let Some(digits) = unsigned.strip_prefix(prefix) {
            return u32::from_str_radix(digits, radix)
                .ok()
                .map(f64::from)
                .map(signed);
        }
    }
    let figure =
        |byte: u8| byte.is_ascii_digit() || matches!(byte, b'.' | b'e' | b'E' | b'+' | b'-');
    unsigned
        .bytes()
        .all(figure)
        .then(|| text.parse().ok())
        .flatten()
}

pub(super) fn number(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}
