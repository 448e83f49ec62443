//! A YAML file as a flat list of its values in the order of the text, so that one allocation keeps a whole file.
//! `build.rs` compiles this file too, and stores what it makes of the shipped files.

use std::collections::BTreeMap;

use granit_parser::{Event, Options, Parser, ScalarStyle, ScanError};

/// How deep values may be nested. The deepest shipped tree has 15 levels.
const DEEPEST: usize = 64;
/// How many values a file may hold, names of fields among them. The largest shipped one has about 3,000; 20,000 causes
/// take 250,000.
const MOST_VALUES: usize = 400_000;
/// How many bytes aliases may add to a file; a knowledge file needs no aliases.
const MOST_COPIED: usize = 4 << 20;
/// A map of fewer entries is searched one by one.
const SHORT: usize = 40;

/// What a value is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Shape {
    Null,
    Bool,
    Number,
    Text,
    List,
    Map,
}

impl Shape {
    /// Each at the place of its number.
    pub(crate) const ALL: [Self; 6] = [
        Self::Null,
        Self::Bool,
        Self::Number,
        Self::Text,
        Self::List,
        Self::Map,
    ];
}

/// A value. Behind a list lie its items, behind a map a name and a value for each entry.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Item {
    pub(crate) shape: Shape,
    pub(crate) place: LineColumn,
    /// Of a scalar, the byte where its text starts; the texts that the file has otherwise follow its last byte.
    pub(crate) start: u32,
    /// Of a scalar, the bytes of its text; of a list or a map, how many values it is with all that it holds.
    pub(crate) extent: u32,
}

impl Item {
    /// As `build.rs` stored it: 16 bytes, the shape in the lowest of the first number.
    pub(crate) fn from_bytes(bytes: &[u8; 16]) -> Self {
        let (numbers, _) = bytes.as_chunks::<4>();
        let [first, line, start, extent] =
            std::array::from_fn(|place| u32::from_le_bytes(numbers[place]));
        Self {
            shape: Shape::ALL[(first & 255) as usize % Shape::ALL.len()],
            place: LineColumn {
                line,
                column: first >> 8,
            },
            start,
            extent,
        }
    }

    /// How many values it is, with all that it holds.
    pub(crate) const fn size(&self) -> usize {
        match self.shape {
            Shape::List | Shape::Map => self.extent as usize,
            _ => 1,
        }
    }
}

/// The values of a file. The first is the file itself.
#[derive(Clone, Debug)]
pub(crate) struct Document<'t> {
    pub(crate) texts: Texts<'t>,
    pub(crate) items: Items,
}

/// Where the texts of a file's scalars are.
#[derive(Clone, Debug)]
pub(crate) struct Texts<'t> {
    pub(crate) file: &'t str,
    /// Those that the file has otherwise: with escapes, or on several lines.
    pub(crate) rewritten: String,
}

/// The values, as they were read or as they are stored.
#[derive(Clone, Debug)]
pub(crate) enum Items {
    Read(Vec<Item>),
    Stored(&'static [[u8; 16]]),
}

impl Document<'_> {
    /// A value by its place.
    pub(crate) fn item(&self, place: usize) -> Item {
        match &self.items {
            Items::Read(items) => items[place],
            Items::Stored(items) => Item::from_bytes(&items[place]),
        }
    }

    /// How many values there are, names of fields among them.
    pub(crate) const fn len(&self) -> usize {
        match &self.items {
            Items::Read(items) => items.len(),
            Items::Stored(items) => items.len(),
        }
    }
}

impl Texts<'_> {
    /// The text of a scalar.
    pub(crate) fn written(&self, item: &Item) -> &str {
        let (start, length) = (item.start as usize, item.extent as usize);
        let part = match start.checked_sub(self.file.len()) {
            Some(start) => self.rewritten.get(start..start + length),
            None => self.file.get(start..start + length),
        };
        part.unwrap_or_default()
    }

    /// Where a text starts: in the file, if it stands there as it is.
    fn start(&mut self, text: &str) -> u32 {
        let start = (text.as_ptr() as usize).wrapping_sub(self.file.as_ptr() as usize);
        let rest = self.file.get(start..);
        if !text.is_empty() && rest.is_some_and(|rest| rest.starts_with(text)) {
            return number(start);
        }
        let start = self.file.len() + self.rewritten.len();
        self.rewritten.push_str(text);
        number(start)
    }
}

/// A mistake that does not end the file.
#[derive(Clone, Debug)]
pub(crate) struct Flaw {
    pub(crate) place: LineColumn,
    pub(crate) what: What,
}

#[derive(Clone, Debug)]
pub(crate) enum What {
    /// An escape stands for a character that must not be there.
    Hidden(char),
    /// The name of an entry is no text.
    NoName(Shape),
    /// A decimal comma: the digits before and behind it.
    Comma(String, String),
    /// A name that its map has already, in this line.
    Twice(String, u32),
}

/// Why a text cannot be read as YAML, and where.
#[derive(Clone, Debug)]
pub(crate) struct Refused {
    pub(crate) why: Why,
    pub(crate) place: LineColumn,
}

#[derive(Clone, Debug)]
pub(crate) enum Why {
    TooMuch,
    SecondDocument,
    /// The parser's message.
    NotYaml(String),
}

/// Reads a text; `hidden` tells which characters no escape may stand for.
pub(crate) fn parse<'t>(
    text: &'t str,
    hidden: &dyn Fn(char) -> bool,
) -> Result<(Document<'t>, Vec<Flaw>), Refused> {
    let mut options = Options::default();
    options.set_emit_comments(false);
    let mut builder = Builder {
        events: Parser::new_from_str_with_options(text, options),
        texts: Texts {
            file: text,
            rewritten: String::new(),
        },
        items: Vec::new(),
        copied: 0,
        anchored: BTreeMap::new(),
        names: Vec::new(),
        flaws: Vec::new(),
        hidden,
    };
    loop {
        let (event, place) = builder.next()?;
        match event {
            Event::StreamEnd => break,
            Event::DocumentStart(..) if !builder.items.is_empty() => {
                let why = Why::SecondDocument;
                return Err(Refused { why, place });
            }
            Event::StreamStart | Event::DocumentStart(..) | Event::DocumentEnd => {}
            event => {
                builder.value(event, place, 0)?;
            }
        }
    }
    if builder.items.is_empty() {
        let start = LineColumn { line: 1, column: 1 };
        builder.items.push(start.item(Shape::Null));
    }
    let (texts, items) = (builder.texts, Items::Read(builder.items));
    Ok((Document { texts, items }, builder.flaws))
}

/// A line and a column, from 1.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LineColumn {
    pub(crate) line: u32,
    pub(crate) column: u32,
}

impl LineColumn {
    const fn item(self, shape: Shape) -> Item {
        Item {
            shape,
            place: self,
            start: 0,
            extent: 0,
        }
    }
}

struct Builder<'t, 'h, E> {
    events: E,
    texts: Texts<'t>,
    items: Vec<Item>,
    copied: usize,
    /// What an anchor names, and how deep it is.
    anchored: BTreeMap<usize, (Vec<Item>, usize)>,
    /// The names of the maps that are open, by their place in `items`.
    names: Vec<usize>,
    flaws: Vec<Flaw>,
    hidden: &'h dyn Fn(char) -> bool,
}

impl<'t, E> Builder<'t, '_, E>
where
    E: Iterator<Item = Result<(Event<'t>, granit_parser::Span), ScanError>>,
{
    fn next(&mut self) -> Result<(Event<'t>, LineColumn), Refused> {
        let place = |at: &granit_parser::Marker| LineColumn {
            line: number(at.line()),
            column: number(at.col() + 1),
        };
        match self.events.next() {
            Some(Ok((event, span))) => Ok((event, place(&span.start))),
            Some(Err(error)) => {
                let words = error.info();
                let why = if words.contains("limit exceeded") {
                    Why::TooMuch
                } else {
                    Why::NotYaml(words)
                };
                let place = place(error.marker());
                Err(Refused { why, place })
            }
            None => Ok((Event::StreamEnd, LineColumn { line: 0, column: 0 })),
        }
    }

    /// Adds a value, and says how deep it is.
    fn value(
        &mut self,
        event: Event<'t>,
        place: LineColumn,
        depth: usize,
    ) -> Result<usize, Refused> {
        let start = self.items.len();
        let why = Why::TooMuch;
        let too_much = || Err(Refused { why, place });
        if depth >= DEEPEST || start >= MOST_VALUES {
            return too_much();
        }
        let (height, anchor) = match event {
            Event::Scalar(text, style, anchor, tag) => {
                let plain = style == ScalarStyle::Plain
                    && tag.is_none_or(|tag| tag.core_suffix() != Some("str"));
                if style == ScalarStyle::DoubleQuoted
                    && let Some(found) = text.chars().find(|found| (self.hidden)(*found))
                {
                    let what = What::Hidden(found);
                    self.flaws.push(Flaw { place, what });
                }
                let shape = if plain { shape(&text) } else { Shape::Text };
                let extent = number(text.len());
                let start = self.texts.start(&text);
                self.items.push(Item {
                    start,
                    extent,
                    ..place.item(shape)
                });
                (0, anchor)
            }
            Event::SequenceStart(_, anchor, _) => {
                self.items.push(place.item(Shape::List));
                let mut height = 0;
                loop {
                    match self.next()? {
                        (Event::SequenceEnd, _) => break,
                        (event, at) => height = height.max(1 + self.value(event, at, depth + 1)?),
                    }
                }
                self.close(start);
                (height, anchor)
            }
            Event::MappingStart(_, anchor, _) => {
                self.items.push(place.item(Shape::Map));
                let height = self.entries(depth + 1)?;
                self.close(start);
                (height, anchor)
            }
            Event::Alias(id) => {
                let Some((items, height)) = self.anchored.get(&id) else {
                    // An alias inside of what it stands for.
                    return too_much();
                };
                let texts = items.iter().filter(|item| item.size() == 1);
                self.copied += texts.map(|item| item.extent as usize).sum::<usize>();
                if start + items.len() > MOST_VALUES
                    || self.copied > MOST_COPIED
                    || depth + height >= DEEPEST
                {
                    return too_much();
                }
                self.items.extend(items);
                self.items[start].place = place;
                (*height, 0)
            }
            _ => {
                self.items.push(place.item(Shape::Null));
                (0, 0)
            }
        };
        if anchor > 0 {
            let items = self.items[start..].to_vec();
            self.anchored.insert(anchor, (items, height));
        }
        Ok(height)
    }

    /// All that was added since belongs to this list or map.
    fn close(&mut self, at: usize) {
        self.items[at].extent = number(self.items.len() - at);
    }

    /// The entries of a map, and how deep the deepest is: names are texts, each once.
    fn entries(&mut self, depth: usize) -> Result<usize, Refused> {
        let first = self.names.len();
        let mut height = 0;
        // Of a long map, the line of each name; a short one is searched as it is.
        let mut lines: BTreeMap<String, u32> = BTreeMap::new();
        loop {
            let at = self.items.len();
            let place = match self.next()? {
                (Event::MappingEnd, _) => break,
                (event, place) => {
                    self.value(event, place, depth)?;
                    place
                }
            };
            let value = self.items.len();
            let (event, value_place) = self.next()?;
            let inner = self.value(event, value_place, depth)?;
            let flaw = self.flaw(at, value, first).or_else(|| {
                let line = self.earlier(at, first, &mut lines)?;
                let name = self.texts.written(&self.items[at]).to_owned();
                let what = What::Twice(name, line);
                Some(Flaw { place, what })
            });
            if let Some(flaw) = flaw {
                self.flaws.push(flaw);
                self.items.truncate(at);
            } else {
                self.names.push(at);
                height = height.max(inner + 1);
            }
        }
        self.names.truncate(first);
        Ok(height)
    }

    /// What is wrong with the name of an entry by itself, and where.
    fn flaw(&self, at: usize, value: usize, first: usize) -> Option<Flaw> {
        let name = &self.items[at];
        if matches!(name.shape, Shape::Null | Shape::List | Shape::Map) {
            return Some(Flaw {
                place: name.place,
                what: What::NoName(name.shape),
            });
        }
        let last = *self.names.get(first..)?.last()?;
        let (last, whole) = (&self.items[last], self.items.get(last + 1)?);
        let digits = self.texts.written(name);
        let cut = self.items[value].shape == Shape::Null
            && whole.shape == Shape::Number
            && last.place.line == name.place.line
            && digits.bytes().all(|byte| byte.is_ascii_digit());
        cut.then(|| {
            let whole_digits = self.texts.written(whole).to_owned();
            Flaw {
                place: whole.place,
                what: What::Comma(whole_digits, digits.to_owned()),
            }
        })
    }

    /// The line in which the map has a name already.
    fn earlier(&self, at: usize, first: usize, lines: &mut BTreeMap<String, u32>) -> Option<u32> {
        let names = &self.names[first..];
        let new = self.texts.written(&self.items[at]);
        if names.len() < SHORT {
            let mut known = names.iter().map(|at| &self.items[*at]);
            return known
                .find(|known| self.texts.written(known) == new)
                .map(|known| known.place.line);
        }
        let unlisted = names[lines.len()..].iter().map(|at| &self.items[*at]);
        lines
            .extend(unlisted.map(|known| (self.texts.written(known).to_owned(), known.place.line)));
        lines.get(new).copied()
    }
}

/// What the core schema of YAML 1.2 makes of a plain scalar.
fn shape(text: &str) -> Shape {
    match text {
        "" | "~" | "null" | "Null" | "NULL" => Shape::Null,
        "true" | "True" | "TRUE" | "false" | "False" | "FALSE" => Shape::Bool,
        _ if numeric(text).is_some() => Shape::Number,
        _ => Shape::Text,
    }
}

/// The number that a plain scalar is, by the core schema of YAML 1.2.
pub(crate) fn numeric(text: &str) -> Option<f64> {
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

pub(crate) fn number(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}
