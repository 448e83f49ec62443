//! YAML as a tree of values that know where they stand.
//!
//! A value is read from this tree and not from the text, so that reading can go on after a mistake.

use std::borrow::Cow;
use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_yaml::{
    DuplicateKeyPolicy, Location, MergeKeyPolicy, NonFiniteFloatPolicy, Options, Spanned,
};

use super::code::Code;
use super::log::{Log, Report, Spot};
use super::refusal::refused;
use crate::text::is_hidden;

/// How deep values may stand in one another. The deepest shipped tree has 15.
const DEEPEST: usize = 64;
/// How many values a file may hold. The largest shipped one has about 3,000.
const MOST_NODES: usize = 50_000;
/// How many aliases a file may use; a knowledge file needs none.
const MOST_ALIASES: usize = 1000;

/// A value and where it stands.
#[derive(Clone, Debug)]
pub(super) struct Node {
    pub(super) spot: Spot,
    pub(super) kind: Kind,
}

/// What a value is.
#[derive(Clone, Debug)]
pub(super) enum Kind {
    Null,
    Bool(bool),
    /// The number, and how it is written.
    Number(f64, String),
    Text(String),
    List(Vec<Node>),
    Map(Vec<(Key, Node)>),
}

/// A key of a map.
#[derive(Clone, Debug)]
pub(super) struct Key {
    pub(super) text: String,
    pub(super) spot: Spot,
}

impl Node {
    /// The entry or the item that a word leads to: a key of a map, the place in a list from 0, or an
    /// item that is this text. Where it stands, and what it holds.
    pub(super) fn step(&self, word: &str) -> Option<(Spot, &Self)> {
        match &self.kind {
            Kind::Map(entries) => entries
                .iter()
                .find(|(key, _)| key.text == word)
                .map(|(key, value)| (key.spot, value)),
            Kind::List(items) => word
                .parse::<usize>()
                .ok()
                .and_then(|place| items.get(place))
                .or_else(|| items.iter().find(|item| item.is_text(word)))
                .map(|item| (item.spot, item)),
            Kind::Null | Kind::Bool(_) | Kind::Number(..) | Kind::Text(_) => None,
        }
    }

    /// Whether it is this text.
    pub(super) fn is_text(&self, text: &str) -> bool {
        matches!(&self.kind, Kind::Text(own) if own == text)
    }
}

impl Kind {
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

/// Reads a file's text. A mistake in the YAML itself ends the file; everything else becomes findings
/// and the rest is read.
pub(super) fn read(text: &str, file: u32, log: &Log<'_>) -> Option<Node> {
    if let Some(report) = hidden(text, file) {
        log.add(report);
        return None;
    }
    let text = text.trim_start_matches('\u{feff}');
    match serde_yaml::from_str_with_options::<Loose>(text, options()) {
        Ok(loose) => Some(Settle { text, file, log }.node(loose)),
        Err(error) => {
            log.add(refused(&error, text, file));
            None
        }
    }
}

/// Reads a text for nothing but its mistake.
pub(super) fn mistake(text: &str) -> Option<serde_yaml::Error> {
    serde_yaml::from_str_with_options::<Loose>(text, options()).err()
}

fn options() -> Options {
    serde_yaml::options! {
        budget: serde_yaml::budget! {
            max_depth: DEEPEST,
            max_nodes: MOST_NODES,
            max_events: 4 * MOST_NODES,
            max_aliases: MOST_ALIASES,
            max_anchors: MOST_ALIASES,
            max_documents: 2,
            max_merge_keys: 0,
            max_recorded_anchor_events: MOST_NODES,
            max_recorded_anchor_bytes: 1 << 20,
            max_total_scalar_bytes: 4 << 20,
        },
        alias_limits: serde_yaml::alias_limits! {
            max_total_replayed_events: MOST_NODES,
            max_replay_stack_depth: 8,
        },
        // Let through, so that all of them become findings.
        duplicate_keys: DuplicateKeyPolicy::PassThrough,
        merge_keys: MergeKeyPolicy::AsOrdinary,
        non_finite_float_policy: NonFiniteFloatPolicy::PassThrough,
        strict_booleans: true,
        with_snippet: false,
    }
}

/// The first character of a file that no text needs and YAML forbids.
fn hidden(text: &str, file: u32) -> Option<Report> {
    let text = text.trim_start_matches('\u{feff}');
    let (at, found) = text
        .char_indices()
        .find(|(_, character)| is_hidden(*character) && !matches!(character, '\r' | '\n' | '\t'))?;
    let before = &text[..at];
    let line = before.replace("\r\n", "\n").matches(['\n', '\r']).count() + 1;
    let column = before
        .rsplit(['\n', '\r'])
        .next()
        .unwrap_or_default()
        .chars()
        .count()
        + 1;
    let spot = Spot {
        file,
        line: number(line),
        column: number(column),
    };
    Some(
        Report::new(
            Code::ControlCharacter,
            spot,
            format!("a hidden character stands here, U+{:04X}", u32::from(found)),
        )
        .advice("delete it; the file is not read before that"),
    )
}

fn number(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

pub(super) fn spot(location: Location, file: u32) -> Spot {
    Spot {
        file,
        line: u32::try_from(location.line()).unwrap_or(u32::MAX),
        column: u32::try_from(location.column()).unwrap_or(u32::MAX),
    }
}

/// A value as the parser gives it.
struct Loose(Spanned<LooseKind>);

enum LooseKind {
    Null,
    Bool(bool),
    Number(f64),
    Text(String),
    List(Vec<Loose>),
    Map(Vec<(Loose, Loose)>),
}

impl<'de> Deserialize<'de> for Loose {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Spanned::deserialize(deserializer).map(Self)
    }
}

impl<'de> Deserialize<'de> for LooseKind {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Any;
        impl<'de> Visitor<'de> for Any {
            type Value = LooseKind;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a value")
            }
            fn visit_unit<E>(self) -> Result<LooseKind, E> {
                Ok(LooseKind::Null)
            }
            fn visit_none<E>(self) -> Result<LooseKind, E> {
                Ok(LooseKind::Null)
            }
            fn visit_bool<E>(self, value: bool) -> Result<LooseKind, E> {
                Ok(LooseKind::Bool(value))
            }
            #[expect(
                clippy::cast_precision_loss,
                reason = "no figure of a knowledge file comes near 2^53"
            )]
            fn visit_i64<E>(self, value: i64) -> Result<LooseKind, E> {
                Ok(LooseKind::Number(value as f64))
            }
            #[expect(
                clippy::cast_precision_loss,
                reason = "no figure of a knowledge file comes near 2^53"
            )]
            fn visit_u64<E>(self, value: u64) -> Result<LooseKind, E> {
                Ok(LooseKind::Number(value as f64))
            }
            #[expect(
                clippy::cast_precision_loss,
                reason = "no figure of a knowledge file comes near 2^53"
            )]
            fn visit_i128<E>(self, value: i128) -> Result<LooseKind, E> {
                Ok(LooseKind::Number(value as f64))
            }
            #[expect(
                clippy::cast_precision_loss,
                reason = "no figure of a knowledge file comes near 2^53"
            )]
            fn visit_u128<E>(self, value: u128) -> Result<LooseKind, E> {
                Ok(LooseKind::Number(value as f64))
            }
            fn visit_f64<E>(self, value: f64) -> Result<LooseKind, E> {
                Ok(LooseKind::Number(value))
            }
            fn visit_str<E>(self, value: &str) -> Result<LooseKind, E> {
                Ok(LooseKind::Text(value.to_owned()))
            }
            fn visit_string<E>(self, value: String) -> Result<LooseKind, E> {
                Ok(LooseKind::Text(value))
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<LooseKind, A::Error> {
                let mut items = Vec::new();
                while let Some(item) = access.next_element()? {
                    items.push(item);
                }
                Ok(LooseKind::List(items))
            }
            fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<LooseKind, A::Error> {
                let mut entries = Vec::new();
                while let Some(entry) = access.next_entry()? {
                    entries.push(entry);
                }
                Ok(LooseKind::Map(entries))
            }
        }
        deserializer.deserialize_any(Any)
    }
}

/// Turns what the parser gives into the tree: keys are texts, each once, and numbers remember how
/// they are written.
struct Settle<'a, 's> {
    text: &'a str,
    file: u32,
    log: &'a Log<'s>,
}

impl Settle<'_, '_> {
    fn node(&self, loose: Loose) -> Node {
        let Spanned {
            value,
            referenced,
            defined,
            ..
        } = loose.0;
        let spot = spot(referenced, self.file);
        let kind = match value {
            LooseKind::Null => Kind::Null,
            LooseKind::Bool(value) => Kind::Bool(value),
            LooseKind::Number(value) => Kind::Number(
                value,
                self.written(defined).unwrap_or_else(|| value.to_string()),
            ),
            LooseKind::Text(text) => {
                if let Some(found) = text
                    .chars()
                    .find(|character| is_hidden(*character) && !matches!(character, '\n' | '\t'))
                {
                    self.log.add(
                        Report::new(
                            Code::ControlCharacter,
                            spot,
                            format!(
                                "this text holds a hidden character, U+{:04X}",
                                u32::from(found)
                            ),
                        )
                        .advice("delete it, or write what it stands for"),
                    );
                }
                Kind::Text(text)
            }
            LooseKind::List(items) => {
                Kind::List(items.into_iter().map(|item| self.node(item)).collect())
            }
            LooseKind::Map(entries) => Kind::Map(self.map(entries)),
        };
        Node { spot, kind }
    }

    fn map(&self, entries: Vec<(Loose, Loose)>) -> Vec<(Key, Node)> {
        let mut settled: Vec<(Key, Node)> = Vec::with_capacity(entries.len());
        let mut lines = std::collections::BTreeMap::new();
        for (key, value) in entries {
            let (key, value) = (self.node(key), self.node(value));
            let text = match key.kind {
                Kind::Text(text) | Kind::Number(_, text) => text,
                Kind::Bool(value) => value.to_string(),
                other => {
                    self.log.say(
                        Code::WrongType,
                        key.spot,
                        format!(
                            "a name is expected before the colon, this is {}",
                            other.words()
                        ),
                    );
                    continue;
                }
            };
            if let Some(line) = lines.get(&text) {
                self.log.add(
                    Report::new(
                        Code::DuplicateKey,
                        key.spot,
                        format!("`{text}` stands here a second time; the first is in line {line}"),
                    )
                    .advice("keep one of the two"),
                );
                continue;
            }
            lines.insert(text.clone(), key.spot.line);
            settled.push((
                Key {
                    text,
                    spot: key.spot,
                },
                value,
            ));
        }
        settled
    }

    /// How a scalar is written in the file.
    fn written(&self, location: Location) -> Option<String> {
        let span = location.span();
        let from = usize::try_from(span.byte_offset()?).ok()?;
        let length = usize::try_from(span.byte_len()?).ok()?;
        let written = self.text.get(from..from + length)?.trim();
        (!written.is_empty() && written.len() <= 64).then(|| written.to_owned())
    }
}
