//! The values of a file: texts, numbers, lists, entries and records, each with its position. A mistake
//! in one leaves the others to be read, and is said to the log.

use serde_json::{Value, json};

use super::describe::{Amount, Describe, Id, Named, Schemas, Text};
use super::log::{Log, Report, Spot, report, say};
use super::node::{Kind, Node};
use crate::units::{Minutes, Money};

/// The field, first of its record, by which an entry is left out until it is filled in.
const UNFINISHED: &str = "unfinished";

/// A node that is being read.
#[derive(Clone, Copy)]
pub(crate) struct At<'n> {
    node: Node<'n>,
    /// Where a finding about something missing points: the name of the entry.
    home: Spot,
    log: &'n Log<'n>,
    /// Whether it is part of something that is left out until it is filled in: what it says is not judged yet.
    left_out: bool,
}

/// What a node can be read as.
pub(crate) trait Read: Sized {
    /// `None` where the node is something else, which is said to the log.
    fn read(at: At<'_>) -> Option<Self>;

    /// What counts where the field is left out; `None` where it must not be.
    fn absent() -> Option<Self> {
        None
    }
}

/// Reads the whole of a file.
pub(super) fn read<T: Read>(node: Node<'_>, log: &Log<'_>) -> Option<T> {
    T::read(At {
        node,
        home: node.spot(),
        log,
        left_out: false,
    })
}

impl<'n> At<'n> {
    fn to(self, node: Node<'n>, home: Spot) -> Self {
        Self { node, home, ..self }
    }

    /// Which of the shapes the node has.
    pub(crate) fn kind(&self) -> Kind<'n> {
        self.node.kind()
    }

    /// The node is not what the field takes.
    pub(crate) fn wrong<T>(self, expected: &str) -> Option<T> {
        let found = self.kind();
        let spot = self.node.spot();
        let numeric = expected.contains("number");
        let advice = match found {
            Kind::Null => {
                say!(self.log, self.home; WrongType, "nothing is given here; {expected} is expected" =>
                    "give a value, or leave the field out where it may be left out");
                return None;
            }
            Kind::Text(text) if numeric => plain_number(text).unwrap_or_else(|| {
                "write the bare number, without quotes and without its unit".to_owned()
            }),
            Kind::Number(..) | Kind::Bool(_) if expected == "a text" => {
                "put it in quotes if it is meant as text".to_owned()
            }
            Kind::Map if expected == "a text" => {
                "a colon and a blank make a field of it: put the whole text in quotes".to_owned()
            }
            _ => String::new(),
        };
        let mut report =
            report!(spot; WrongType, "{expected} is expected here, this is {}", found.words());
        report.advice = Some(advice).filter(|advice| !advice.is_empty());
        self.log.add(report);
        None
    }

    /// The text.
    fn text(self) -> Option<&'n str> {
        match self.kind() {
            Kind::Text(text) => Some(text),
            _ => self.wrong("a text"),
        }
    }

    /// What the word stands for, where it is one of those the field takes.
    pub(crate) fn word<T: Copy>(self, words: &[(&'static str, T)]) -> Option<T> {
        let text = self.text()?;
        let found = words.iter().find(|(word, _)| *word == text);
        if found.is_none() {
            let words: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
            say!(self.log, self.node.spot(); UnknownWord, "`{text}` is not one of the words this field takes" =>
                "it takes {}", words.join(", "); self.log.nearest(text, words.iter().copied()));
        }
        found.map(|(_, meant)| *meant)
    }

    /// Says what is wrong with a value of the right kind, but not of one that is still to be filled in.
    fn judge(self, report: Report) {
        if !self.left_out {
            self.log.add(report);
        }
    }

    /// The fields of a record; one that it does not have becomes a finding.
    pub(crate) fn fields<const N: usize>(
        self,
        names: &'static [&'static str; N],
    ) -> Option<Fields<'n, N>> {
        if !matches!(self.kind(), Kind::Map) {
            return self.wrong("a map of fields");
        }
        let mut fields = Fields {
            at: self,
            names,
            found: [None; N],
            taken: 0,
            meant: Vec::new(),
            missing: Vec::new(),
        };
        // Most files name the fields in the order of the record.
        let mut next = 0;
        for (key, value) in self.node.entries() {
            let name = key.written();
            let mut places = (next..N).chain(0..next);
            if let Some(place) = places.find(|place| names[*place] == name) {
                fields.found[place] = Some((key, value));
                next = place + 1;
            } else {
                let nearest = self.log.nearest(name, names.iter().copied());
                fields.meant.extend(nearest.clone());
                say!(self.log, key.spot(); UnknownField, "there is no field `{name}` here" =>
                    "the fields are {}", names.join(", "); nearest);
            }
        }
        let first = fields.found[0].map(|(_, value)| value.kind());
        fields.at.left_out |= names[0] == UNFINISHED && matches!(first, Some(Kind::Bool(true)));
        Some(fields)
    }
}

/// How a number with a decimal comma or a percent sign is to be written.
fn plain_number(text: &str) -> Option<String> {
    let (number, percent) = match text.strip_suffix('%') {
        Some(number) => (number.trim_end(), true),
        None => (text, false),
    };
    let point = number.replacen(',', ".", 1);
    let value: f64 = point.parse().ok().filter(|value: &f64| value.is_finite())?;
    if percent {
        let share = crate::text::plain(value / 100.0);
        Some(format!(
            "write the bare number: {point} where the unit is %, {share} for a probability"
        ))
    } else {
        (point != number).then(|| format!("a decimal point belongs here: {point}"))
    }
}

/// The fields of a record while it is read.
pub(crate) struct Fields<'n, const N: usize> {
    at: At<'n>,
    names: &'static [&'static str; N],
    /// The name and the value of each field that is given.
    found: [Option<(Node<'n>, Node<'n>)>; N],
    taken: usize,
    /// The names that misspelt fields were meant to have.
    meant: Vec<String>,
    missing: Vec<&'static str>,
}

impl<const N: usize> Fields<'_, N> {
    /// The value of the next field; `absent` counts where it is left out.
    pub(crate) fn take<T: Read>(&mut self, absent: Option<T>) -> Option<T> {
        let (name, found) = (self.names[self.taken], self.found[self.taken]);
        self.taken += 1;
        if let Some((key, node)) = found {
            return T::read(self.at.to(node, key.spot()));
        }
        // A misspelt field is the one that is missing: one finding is enough.
        if absent.is_none() && !self.meant.iter().any(|meant| meant == name) {
            self.missing.push(name);
        }
        absent
    }

    /// Says which fields are missing.
    pub(crate) fn end(self) {
        if let [first, rest @ ..] = self.missing.as_slice() {
            let (and, are) = if rest.is_empty() {
                (String::new(), "is")
            } else {
                (format!("`, `{}", rest.join("`, `")), "are")
            };
            say!(self.at.log, self.at.home; MissingField, "`{first}{and}` {are} missing here");
        }
    }
}

/// A value and its position.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Placed<T> {
    pub(crate) value: T,
    pub(crate) spot: Spot,
}

/// A name as it is written, with its position.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Name {
    pub(crate) value: String,
    pub(crate) spot: Spot,
}

impl Name {
    /// It as one of a list of names, with whether what it names is unfinished.
    pub(crate) fn listed(&self, unfinished: bool) -> (&str, Spot, bool) {
        (&self.value, self.spot, unfinished)
    }
}

/// A value that leaves its record usable where it could not be read: it is the default then.
#[derive(Debug, Default)]
pub(crate) struct Caught<T> {
    value: T,
    /// Whether it could be read.
    pub(crate) whole: bool,
}

impl<T: Default> Caught<T> {
    /// What a field holds that is left out.
    pub(crate) fn empty() -> Self {
        let value = T::default();
        Self { value, whole: true }
    }
}

impl<T> std::ops::Deref for Caught<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.value
    }
}

/// Items in the order of the file; an item that could not be read is empty.
#[derive(Clone, Debug)]
pub(crate) struct Items<T>(pub(crate) Vec<Option<T>>);

/// Entries by name, in the order of the file.
#[derive(Clone, Debug)]
pub(crate) struct Entries<T>(pub(crate) Vec<Entry<T>>);

/// An entry: its name, and what it holds where that could be read.
#[derive(Clone, Debug)]
pub(crate) struct Entry<T> {
    pub(crate) name: String,
    pub(crate) spot: Spot,
    pub(crate) value: Option<T>,
}

/// A text or a number as it is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Scalar(pub(crate) String);

impl<T> Default for Items<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<T> Default for Entries<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<T> Entries<T> {
    /// Their names.
    pub(crate) fn names(&self) -> impl Iterator<Item = &str> + Clone {
        self.0.iter().map(|entry| entry.name.as_str())
    }
}

impl<T> Items<T> {
    /// The items that could be read.
    pub(crate) fn iter(&self) -> impl Iterator<Item = &T> {
        self.0.iter().flatten()
    }

    /// Copies of them.
    pub(crate) fn to_vec(&self) -> Vec<T>
    where
        T: Clone,
    {
        self.iter().cloned().collect()
    }
}

impl Read for Name {
    fn read(at: At<'_>) -> Option<Self> {
        at.text().map(|text| Self {
            value: text.to_owned(),
            spot: at.node.spot(),
        })
    }
}

/// A text with something in it, without blanks around it.
impl Read for String {
    fn read(at: At<'_>) -> Option<Self> {
        let text = at.text()?.trim();
        if text.is_empty() {
            at.judge(report!(at.node.spot(); EmptyText, "this text is empty" =>
                "write it, or leave the field out where it may be left out"));
        }
        Some(text.to_owned())
    }
}

impl Read for Minutes {
    fn read(at: At<'_>) -> Option<Self> {
        let number = f64::read(at)?;
        Some(Self::new(number).unwrap_or_else(|| {
            at.judge(
                report!(at.node.spot(); BadNumber, "{number} minutes are not possible" =>
                "a time is 0 or more"),
            );
            Self::ZERO
        }))
    }
}

impl Read for Money {
    fn read(at: At<'_>) -> Option<Self> {
        let number = f64::read(at)?;
        Some(Self::new(number).unwrap_or_else(|| {
            at.judge(
                report!(at.node.spot(); BadNumber, "a price of {number} is not possible" =>
                "a price is 0 or more"),
            );
            Self::ZERO
        }))
    }
}

impl Read for f64 {
    fn read(at: At<'_>) -> Option<Self> {
        match at.kind() {
            Kind::Number(number, _) => Some(number),
            _ => at.wrong("a number"),
        }
    }
}

impl Read for bool {
    fn read(at: At<'_>) -> Option<Self> {
        match at.kind() {
            Kind::Bool(value) => Some(value),
            _ => at.wrong("`true` or `false`"),
        }
    }
}

impl Read for Scalar {
    fn read(at: At<'_>) -> Option<Self> {
        match at.kind() {
            Kind::Text(text) | Kind::Number(_, text) => Some(Self(text.to_owned())),
            _ => at.wrong("a text or a number"),
        }
    }
}

impl<T: Read> Read for Placed<T> {
    fn read(at: At<'_>) -> Option<Self> {
        let spot = at.node.spot();
        T::read(at).map(|value| Self { value, spot })
    }
}

/// A field that is given must hold something: an empty one is a mistake, not an absence.
impl<T: Read> Read for Option<T> {
    fn read(at: At<'_>) -> Option<Self> {
        T::read(at).map(Some)
    }

    fn absent() -> Option<Self> {
        Some(None)
    }
}

impl<T: Read> Read for Box<T> {
    fn read(at: At<'_>) -> Option<Self> {
        T::read(at).map(Self::new)
    }
}

impl<T: Read + Default> Read for Caught<T> {
    fn read(at: At<'_>) -> Option<Self> {
        let read = T::read(at);
        let whole = read.is_some();
        let value = read.unwrap_or_default();
        Some(Self { value, whole })
    }

    fn absent() -> Option<Self> {
        T::absent().map(|value| Self { value, whole: true })
    }
}

impl<T: Read> Read for Items<T> {
    fn read(at: At<'_>) -> Option<Self> {
        if !matches!(at.kind(), Kind::List) {
            return at.wrong("a list");
        }
        let items = at.node.items();
        let items = items.map(|item| T::read(at.to(item, item.spot())));
        Some(Self(items.collect()))
    }
}

impl<T: Read> Read for Entries<T> {
    fn read(at: At<'_>) -> Option<Self> {
        if !matches!(at.kind(), Kind::Map) {
            return at.wrong("a map of fields");
        }
        let entries = at.node.entries().map(|(key, node)| Entry {
            name: key.written().to_owned(),
            spot: key.spot(),
            value: T::read(at.to(node, key.spot())),
        });
        Some(Self(entries.collect()))
    }
}

impl Describe for Scalar {
    fn schema(_: &mut Schemas) -> Value {
        json!({ "type": ["string", "number"] })
    }
}

/// Declares values that a schema describes as it does another.
macro_rules! described_as {
    ($([$($of:ident)?] $name:ty: $as:ty;)+) => {$(
        impl$(<$of: Describe>)? Describe for $name {
            fn schema(schemas: &mut Schemas) -> Value {
                <$as>::schema(schemas)
            }
        }
    )+};
}

described_as! {
    [] Name: Id;
    [] String: Text;
    [] Minutes: Amount;
    [] Money: Amount;
    [T] Placed<T>: T;
    [T] Caught<T>: T;
    [T] Option<T>: T;
    [T] Box<T>: T;
    [T] Entries<T>: Named<Id, T>;
}

impl<T: Describe> Describe for Items<T> {
    fn schema(schemas: &mut Schemas) -> Value {
        json!({ "type": "array", "items": T::schema(schemas) })
    }
}

/// Declares records: their fields in the order of the schema. `as` names what the schema says of a
/// field, `=` what counts where it is left out, `[…]` what the schema says beside the fields. The
/// comments become the descriptions that an editor shows.
macro_rules! records {
    ($(
        $(#[doc = $doc:literal])+
        $name:ident $([$more:expr])? {$(
            $(#[doc = $about:literal])+
            $field:ident $(($key:literal))?: $type:ty $(as $kind:ty)? $(= $absent:expr)?,
        )+}
    )+) => {$(
        $(#[doc = $doc])+
        #[derive(Debug, Default)]
        pub(crate) struct $name {
            $($(#[doc = $about])+ pub(crate) $field: $type,)+
        }

        impl $crate::load::value::Read for $name {
            fn read(at: $crate::load::value::At<'_>) -> Option<Self> {
                let mut fields = at.fields(&[$(records!(@key $field $($key)?)),+])?;
                $(let $field = fields.take::<$type>(records!(@absent $type $(, $absent)?));)+
                fields.end();
                Some(Self { $($field: $field?,)+ })
            }
        }

        impl $crate::load::describe::Describe for $name {
            fn schema(schemas: &mut $crate::load::describe::Schemas) -> serde_json::Value {
                let fields = [$($crate::load::describe::Field {
                    name: records!(@key $field $($key)?),
                    about: &[$($about),+],
                    needed: records!(@absent $type $(, $absent)?).is_none(),
                    schema: <records!(@kind $type $(, $kind)?) as $crate::load::describe::Describe>::schema,
                },)+];
                schemas.record(stringify!($name), &[$($doc),+], &fields, records!(@more $($more)?))
            }
        }
    )+};
    (@key $field:ident) => { stringify!($field) };
    (@key $field:ident $key:literal) => { $key };
    (@absent $type:ty) => { <$type as $crate::load::value::Read>::absent() };
    (@absent $type:ty, $absent:expr) => { Some::<$type>($absent) };
    (@kind $type:ty) => { $type };
    (@kind $type:ty, $kind:ty) => { $kind };
    (@more) => { serde_json::Value::Null };
    (@more $more:expr) => { $more };
}

/// Declares values of several forms, told apart by what the node is.
macro_rules! forms {
    ($(
        $(#[doc = $doc:literal])+
        $name:ident = $expected:literal {$(
            $(#[doc = $about:literal])+
            $shape:ident => $form:ident($type:ty $(as $kind:ty)?),
        )+}
    )+) => {$(
        $(#[doc = $doc])+
        #[derive(Debug)]
        pub(crate) enum $name {
            $($(#[doc = $about])+ $form($type),)+
        }

        impl $crate::load::value::Read for $name {
            fn read(at: $crate::load::value::At<'_>) -> Option<Self> {
                match at.kind() {
                    $($crate::load::node::Kind::$shape { .. } => {
                        $crate::load::value::Read::read(at).map(Self::$form)
                    })+
                    _ => at.wrong($expected),
                }
            }
        }

        impl $crate::load::describe::Describe for $name {
            fn schema(schemas: &mut $crate::load::describe::Schemas) -> serde_json::Value {
                let forms: &[fn(&mut $crate::load::describe::Schemas) -> serde_json::Value] = &[$(
                    <records!(@kind $type $(, $kind)?) as $crate::load::describe::Describe>::schema,
                )+];
                schemas.forms(stringify!($name), &[$($doc),+], forms)
            }
        }
    )+};
}

/// Declares values that are one of a few words: stated here, or listed by the type itself.
macro_rules! words {
    ($($name:ty {$($word:literal = $meant:expr,)+})+) => {
        $(words!(@of $name, [$(($word, $meant)),+]);)+
    };
    ($($name:ty),+) => {
        $(words!(@of $name, <$name>::ALL.map(|word| (word.id(), word)));)+
    };
    (@of $name:ty, $words:expr) => {
        impl $crate::load::value::Read for $name {
            fn read(at: $crate::load::value::At<'_>) -> Option<Self> {
                at.word(&$words)
            }
        }

        impl $crate::load::describe::Describe for $name {
            fn schema(_: &mut $crate::load::describe::Schemas) -> serde_json::Value {
                serde_json::json!({ "type": "string", "enum": $words.map(|(word, _)| word) })
            }
        }
    };
}

pub(super) use {forms, records, words};
