//! A value of a document, with its position: what it holds, and the ways into it.

use std::borrow::Cow;
use std::iter;

use super::document::{Document, Item, Shape, numeric};
use super::log::Spot;

/// A file that was read, and its number in the source.
#[derive(Clone, Debug)]
pub(super) struct File<'t> {
    pub(super) document: Document<'t>,
    pub(super) number: u32,
}

/// A value of a file.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Node<'f> {
    file: &'f File<'f>,
    index: usize,
}

/// What a value is.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Kind<'f> {
    Null,
    Bool(bool),
    /// The number, and how it is written.
    Number(f64, &'f str),
    Text(&'f str),
    List,
    Map,
}

impl File<'_> {
    /// The value that the whole file is.
    pub(super) const fn root(&self) -> Node<'_> {
        Node {
            file: self,
            index: 0,
        }
    }

    /// How many values it holds, names of fields among them.
    pub(super) const fn count(&self) -> usize {
        self.document.len()
    }
}

impl<'f> Node<'f> {
    fn item(self) -> Item {
        self.file.document.item(self.index)
    }

    /// Where it stands.
    pub(super) fn spot(self) -> Spot {
        Spot::of(self.file.number, self.item().place)
    }

    /// What it is.
    pub(crate) fn kind(self) -> Kind<'f> {
        match self.item().shape {
            Shape::Null => Kind::Null,
            Shape::Bool => Kind::Bool(self.written().eq_ignore_ascii_case("true")),
            Shape::Number => {
                let text = self.written();
                Kind::Number(numeric(text).unwrap_or(f64::NAN), text)
            }
            Shape::Text => Kind::Text(self.written()),
            Shape::List => Kind::List,
            Shape::Map => Kind::Map,
        }
    }

    /// A scalar as it is written, without quotes; empty for a list or a map.
    pub(super) fn written(self) -> &'f str {
        let item = self.item();
        match item.shape {
            Shape::List | Shape::Map => "",
            _ => self.file.document.texts.written(&item),
        }
    }

    /// The text, where it is one.
    pub(super) fn text(self) -> Option<&'f str> {
        (self.item().shape == Shape::Text).then(|| self.written())
    }

    /// The items of a list, or the names and values of a map one after the other; none of another value.
    fn inner(self, shape: Shape) -> impl Iterator<Item = Self> {
        let end = if self.item().shape == shape {
            self.index + self.item().size()
        } else {
            0
        };
        let mut next = self.index + 1;
        iter::from_fn(move || {
            let node = Self {
                index: next,
                ..self
            };
            (next < end).then(|| {
                next += node.item().size();
                node
            })
        })
    }

    /// The items of a list.
    pub(super) fn items(self) -> impl Iterator<Item = Self> {
        self.inner(Shape::List)
    }

    /// The entries of a map: name and value.
    pub(super) fn entries(self) -> impl Iterator<Item = (Self, Self)> {
        let mut inner = self.inner(Shape::Map);
        iter::from_fn(move || Some((inner.next()?, inner.next()?)))
    }

    /// The entry or item that a word leads to: a key of a map, the index in a list, or an item that is
    /// this text; with the position of the key or item.
    pub(super) fn step(self, word: &str) -> Option<(Spot, Self)> {
        let entry = self.entries().find(|(key, _)| key.written() == word);
        let item = || {
            let index = word.parse::<usize>().ok();
            index
                .and_then(|index| self.items().nth(index))
                .or_else(|| self.items().find(|item| item.text() == Some(word)))
        };
        entry
            .map(|(key, value)| (key.spot(), value))
            .or_else(|| item().map(|item| (item.spot(), item)))
    }

    /// The value that a word leads to.
    pub(super) fn get(self, word: &str) -> Option<Self> {
        self.step(word).map(|(_, node)| node)
    }

    /// Adds to `way` the keys and indices that lead to the entry or item which starts last up to a line and column.
    pub(super) fn lead_to(self, place: (u32, u32), way: &mut Vec<String>) {
        let before = |node: Self| (node.spot().line, node.spot().column) <= place;
        let entry = self.entries().filter(|(key, _)| before(*key)).last();
        let item = self.items().enumerate().filter(|(_, item)| before(*item));
        let last = match entry {
            Some((key, value)) => Some((key.written().to_owned(), value)),
            None => item.last().map(|(index, item)| {
                // An item that is an id is found wherever it moves in its list.
                let is_id = |text: &&str| {
                    text.starts_with(|c: char| c.is_ascii_lowercase()) && !text.contains(['/', ' '])
                };
                let id = item.text().filter(is_id);
                (id.map_or_else(|| index.to_string(), str::to_owned), item)
            }),
        };
        if let Some((name, inner)) = last {
            way.push(name);
            inner.lead_to(place, way);
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
            Self::List => "a list".into(),
            Self::Map => "a map of fields".into(),
        }
    }
}
