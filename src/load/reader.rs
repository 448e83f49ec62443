//! Reads types from the tree of values: a deserializer that keeps findings and goes on.
//!
//! It differs from a format of serde in four things. Fields that a struct does not have are kept as
//! findings and skipped. A value may ask for its place ([`PLACED`]). A collection may catch the
//! mistake of an entry and go on with the next ([`CAUGHT`]). And an enum whose variants are called
//! `$text`, `$number`, `$list` and `$map` is chosen by what stands there.

use serde::de::value::{StrDeserializer, U32Deserializer};
use serde::de::{
    Deserialize, DeserializeSeed, Deserializer, EnumAccess, Error as _, IntoDeserializer,
    MapAccess, SeqAccess, VariantAccess, Visitor,
};

use super::code::Code;
use super::log::{Log, Report, Spot};
use super::node::{Key, Kind, Node};
use super::placed::{CAUGHT, PLACED, SCALAR};
use super::read_error::ReadError;

/// Reads a value, or keeps why it could not be read.
pub(super) fn read<'n, T: Deserialize<'n>>(node: &'n Node, log: &'n Log<'n>) -> Option<T> {
    let reader = Reader {
        node,
        home: node.spot,
        log,
    };
    T::deserialize(reader).map_err(|error| error.keep(log)).ok()
}

/// One value to be read.
#[derive(Clone, Copy)]
pub(super) struct Reader<'n> {
    node: &'n Node,
    /// Where a finding about something missing points: the name of the entry.
    home: Spot,
    log: &'n Log<'n>,
}

impl<'n> Reader<'n> {
    /// The value is not what the field takes.
    fn wrong<T>(&self, expected: &str) -> Result<T, ReadError> {
        let found = &self.node.kind;
        let (spot, words) = match found {
            Kind::Null => (
                self.home,
                format!("nothing is given here; {expected} is expected"),
            ),
            _ => (
                self.node.spot,
                format!("{expected} is expected here, this is {}", found.words()),
            ),
        };
        let mut report = Report::new(Code::WrongType, spot, words);
        report.advice = match found {
            Kind::Number(..) | Kind::Bool(_) if expected == "a text" => {
                Some("put it in quotes if it is meant as text".to_owned())
            }
            Kind::Text(_) if expected.contains("number") => {
                Some("write the bare number, without quotes and without its unit".to_owned())
            }
            Kind::Map(_) if expected == "a text" => Some(
                "a colon and a blank make a field of it: put the whole text in quotes".to_owned(),
            ),
            Kind::Null => {
                Some("give a value, or leave the field out where it may be left out".to_owned())
            }
            _ => None,
        };
        Err(ReadError::At(Box::new(report)))
    }

    /// Gives an error of serde the place of this value.
    fn here<T>(&self, result: Result<T, ReadError>) -> Result<T, ReadError> {
        result.map_err(|error| match error {
            ReadError::Words(words) => ReadError::at(Code::WrongType, self.node.spot, words),
            ReadError::Missing(field) => ReadError::at(
                Code::MissingField,
                self.home,
                format!("`{field}` is missing here"),
            ),
            known => known,
        })
    }

    fn number(&self) -> Result<f64, ReadError> {
        match &self.node.kind {
            Kind::Number(value, _) => Ok(*value),
            _ => self.wrong("a number"),
        }
    }

    #[expect(
        clippy::cast_possible_truncation,
        reason = "the value was found whole and within 2^53 before"
    )]
    fn whole(&self) -> Result<i64, ReadError> {
        match &self.node.kind {
            Kind::Number(value, _) if value.fract() == 0.0 && value.abs() < 9e15 => {
                Ok(*value as i64)
            }
            _ => self.wrong("a whole number"),
        }
    }

    fn text(&self) -> Result<&'n str, ReadError> {
        match &self.node.kind {
            Kind::Text(text) => Ok(text),
            _ => self.wrong("a text"),
        }
    }

    fn map(&self) -> Result<&'n [(Key, Node)], ReadError> {
        match &self.node.kind {
            Kind::Map(entries) => Ok(entries),
            _ => self.wrong("a map of fields"),
        }
    }
}

/// The variant of an enum by shape that takes a value.
const fn shape(kind: &Kind) -> &'static str {
    match kind {
        Kind::Text(_) => "$text",
        Kind::Number(..) => "$number",
        Kind::List(_) => "$list",
        Kind::Map(_) => "$map",
        Kind::Bool(_) | Kind::Null => "$other",
    }
}

/// What variants by shape take, for a message.
fn shapes(variants: &[&str]) -> String {
    let words: Vec<&str> = variants
        .iter()
        .map(|variant| match *variant {
            "$text" => "a text",
            "$number" => "a number",
            "$list" => "a list",
            _ => "a map of fields",
        })
        .collect();
    words.join(" or ")
}

macro_rules! whole {
    ($($method:ident)+) => {$(
        fn $method<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
            let whole = self.whole()?;
            self.here(visitor.visit_i64(whole))
        }
    )+};
}

impl<'n> Deserializer<'n> for Reader<'n> {
    type Error = ReadError;

    fn deserialize_any<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        match &self.node.kind {
            Kind::Null => self.here(visitor.visit_unit()),
            Kind::Bool(_) => self.deserialize_bool(visitor),
            Kind::Number(..) => self.deserialize_f64(visitor),
            Kind::Text(_) => self.deserialize_str(visitor),
            Kind::List(_) => self.deserialize_seq(visitor),
            Kind::Map(_) => self.deserialize_map(visitor),
        }
    }

    fn deserialize_bool<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        match &self.node.kind {
            Kind::Bool(value) => self.here(visitor.visit_bool(*value)),
            _ => self.wrong("`true` or `false`"),
        }
    }

    whole! {
        deserialize_i8 deserialize_i16 deserialize_i32 deserialize_i64
        deserialize_u8 deserialize_u16 deserialize_u32 deserialize_u64
    }

    fn deserialize_f32<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        self.deserialize_f64(visitor)
    }

    fn deserialize_f64<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        let number = self.number()?;
        self.here(visitor.visit_f64(number))
    }

    fn deserialize_char<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        self.deserialize_str(visitor)
    }

    fn deserialize_str<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        let text = self.text()?;
        self.here(visitor.visit_borrowed_str(text))
    }

    fn deserialize_string<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        self.deserialize_str(visitor)
    }

    fn deserialize_bytes<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        self.deserialize_str(visitor)
    }

    fn deserialize_byte_buf<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        self.deserialize_str(visitor)
    }

    /// A field that stands there is given: an empty one is a mistake, not an absence.
    fn deserialize_option<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        visitor.visit_some(self)
    }

    fn deserialize_unit<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        self.here(visitor.visit_unit())
    }

    fn deserialize_unit_struct<V: Visitor<'n>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, ReadError> {
        self.here(visitor.visit_unit())
    }

    fn deserialize_newtype_struct<V: Visitor<'n>>(
        self,
        name: &'static str,
        visitor: V,
    ) -> Result<V::Value, ReadError> {
        match name {
            PLACED => visitor.visit_seq(PlacedParts {
                value: self,
                spot: self.node.spot,
                part: 0,
            }),
            CAUGHT => visitor.visit_seq(CaughtValue(Some(self))),
            SCALAR => match &self.node.kind {
                Kind::Text(text) | Kind::Number(_, text) => self.here(visitor.visit_str(text)),
                _ => self.wrong("a text or a number"),
            },
            _ => visitor.visit_newtype_struct(self),
        }
    }

    fn deserialize_seq<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        match &self.node.kind {
            Kind::List(items) => self.here(visitor.visit_seq(ListItems {
                items: items.iter(),
                log: self.log,
            })),
            _ => self.wrong("a list"),
        }
    }

    fn deserialize_tuple<V: Visitor<'n>>(
        self,
        _: usize,
        visitor: V,
    ) -> Result<V::Value, ReadError> {
        self.deserialize_seq(visitor)
    }

    fn deserialize_tuple_struct<V: Visitor<'n>>(
        self,
        _: &'static str,
        _: usize,
        visitor: V,
    ) -> Result<V::Value, ReadError> {
        self.deserialize_seq(visitor)
    }

    fn deserialize_map<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        let entries = self.map()?.iter().collect();
        self.here(visitor.visit_map(Fields::new(entries, self.log)))
    }

    fn deserialize_struct<V: Visitor<'n>>(
        self,
        _: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, ReadError> {
        let mut meant: Vec<String> = Vec::new();
        let mut known = Vec::new();
        for entry in self.map()? {
            if fields.contains(&entry.0.text.as_str()) {
                known.push(entry);
                continue;
            }
            let nearest = self.log.nearest(&entry.0.text, fields.iter().copied());
            meant.extend(nearest.clone());
            self.log.add(
                Report::new(
                    Code::UnknownField,
                    entry.0.spot,
                    format!("there is no field `{}` here", entry.0.text),
                )
                .nearest(nearest)
                .advice(format!("the fields are {}", fields.join(", "))),
            );
        }
        match visitor.visit_map(Fields::new(known, self.log)) {
            // The misspelt field is the one that is missing: one finding is enough.
            Err(ReadError::Missing(field)) if meant.iter().any(|name| name == field) => {
                Err(ReadError::Kept)
            }
            result => self.here(result),
        }
    }

    fn deserialize_enum<V: Visitor<'n>>(
        self,
        _: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, ReadError> {
        let by_shape = variants
            .first()
            .is_some_and(|variant| variant.starts_with('$'));
        let name = if by_shape {
            let shape = shape(&self.node.kind);
            if !variants.contains(&shape) {
                return self.wrong(&shapes(variants));
            }
            shape
        } else {
            let text = self.text()?;
            if !variants.contains(&text) {
                let report = Report::new(
                    Code::UnknownWord,
                    self.node.spot,
                    format!("`{text}` is not one of the words this field takes"),
                )
                .nearest(self.log.nearest(text, variants.iter().copied()))
                .advice(format!("it takes {}", variants.join(", ")));
                return Err(ReadError::At(Box::new(report)));
            }
            text
        };
        self.here(visitor.visit_enum(Variant { name, reader: self }))
    }

    fn deserialize_identifier<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        self.deserialize_str(visitor)
    }

    fn deserialize_ignored_any<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        visitor.visit_unit()
    }
}

/// A value with its place: file, line, column, value.
struct PlacedParts<R> {
    value: R,
    spot: Spot,
    part: u8,
}

impl<'n, R: Deserializer<'n, Error = ReadError> + Copy> SeqAccess<'n> for PlacedParts<R> {
    type Error = ReadError;

    fn next_element_seed<T: DeserializeSeed<'n>>(
        &mut self,
        seed: T,
    ) -> Result<Option<T::Value>, ReadError> {
        let Spot { file, line, column } = self.spot;
        self.part += 1;
        let part: U32Deserializer<ReadError> = match self.part {
            1 => file.into_deserializer(),
            2 => line.into_deserializer(),
            3 => column.into_deserializer(),
            _ => return seed.deserialize(self.value).map(Some),
        };
        seed.deserialize(part).map(Some)
    }
}

/// A value whose mistake is kept, and leaves nothing.
struct CaughtValue<'n>(Option<Reader<'n>>);

impl<'n> SeqAccess<'n> for CaughtValue<'n> {
    type Error = ReadError;

    fn next_element_seed<T: DeserializeSeed<'n>>(
        &mut self,
        seed: T,
    ) -> Result<Option<T::Value>, ReadError> {
        let Some(reader) = self.0.take() else {
            return Ok(None);
        };
        Ok(reader
            .here(seed.deserialize(reader))
            .map_err(|error| error.keep(reader.log))
            .ok())
    }
}

struct ListItems<'n> {
    items: std::slice::Iter<'n, Node>,
    log: &'n Log<'n>,
}

impl<'n> SeqAccess<'n> for ListItems<'n> {
    type Error = ReadError;

    fn next_element_seed<T: DeserializeSeed<'n>>(
        &mut self,
        seed: T,
    ) -> Result<Option<T::Value>, ReadError> {
        let Some(node) = self.items.next() else {
            return Ok(None);
        };
        let reader = Reader {
            node,
            home: node.spot,
            log: self.log,
        };
        reader.here(seed.deserialize(reader)).map(Some)
    }
}

struct Fields<'n> {
    entries: std::vec::IntoIter<&'n (Key, Node)>,
    next: Option<&'n (Key, Node)>,
    log: &'n Log<'n>,
}

impl<'n> Fields<'n> {
    fn new(entries: Vec<&'n (Key, Node)>, log: &'n Log<'n>) -> Self {
        Self {
            entries: entries.into_iter(),
            next: None,
            log,
        }
    }
}

impl<'n> MapAccess<'n> for Fields<'n> {
    type Error = ReadError;

    fn next_key_seed<K: DeserializeSeed<'n>>(
        &mut self,
        seed: K,
    ) -> Result<Option<K::Value>, ReadError> {
        self.next = self.entries.next();
        self.next
            .map(|(key, _)| seed.deserialize(KeyReader(key)))
            .transpose()
    }

    fn next_value_seed<T: DeserializeSeed<'n>>(&mut self, seed: T) -> Result<T::Value, ReadError> {
        let Some((key, node)) = self.next else {
            return Err(ReadError::custom("a value without a name"));
        };
        let reader = Reader {
            node,
            home: key.spot,
            log: self.log,
        };
        reader.here(seed.deserialize(reader))
    }
}

/// A key to be read: a text, with its place where that is asked for.
#[derive(Clone, Copy)]
struct KeyReader<'n>(&'n Key);

impl<'n> Deserializer<'n> for KeyReader<'n> {
    type Error = ReadError;

    fn deserialize_any<V: Visitor<'n>>(self, visitor: V) -> Result<V::Value, ReadError> {
        visitor.visit_borrowed_str(&self.0.text)
    }

    fn deserialize_newtype_struct<V: Visitor<'n>>(
        self,
        name: &'static str,
        visitor: V,
    ) -> Result<V::Value, ReadError> {
        if name == PLACED {
            visitor.visit_seq(PlacedParts {
                value: self,
                spot: self.0.spot,
                part: 0,
            })
        } else {
            visitor.visit_newtype_struct(self)
        }
    }

    serde::forward_to_deserialize_any! {
        <V: Visitor<'n>>
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf option unit unit_struct
        seq tuple tuple_struct map struct enum identifier ignored_any
    }
}

/// A variant of an enum: by its word alone, or by shape with the value itself as what it holds.
struct Variant<'n> {
    name: &'n str,
    reader: Reader<'n>,
}

impl<'n> EnumAccess<'n> for Variant<'n> {
    type Error = ReadError;
    type Variant = Reader<'n>;

    fn variant_seed<T: DeserializeSeed<'n>>(
        self,
        seed: T,
    ) -> Result<(T::Value, Reader<'n>), ReadError> {
        let name: StrDeserializer<'_, ReadError> = self.name.into_deserializer();
        Ok((seed.deserialize(name)?, self.reader))
    }
}

impl<'n> VariantAccess<'n> for Reader<'n> {
    type Error = ReadError;

    fn unit_variant(self) -> Result<(), ReadError> {
        Ok(())
    }

    fn newtype_variant_seed<T: DeserializeSeed<'n>>(self, seed: T) -> Result<T::Value, ReadError> {
        seed.deserialize(self)
    }

    fn tuple_variant<V: Visitor<'n>>(self, _: usize, visitor: V) -> Result<V::Value, ReadError> {
        self.deserialize_seq(visitor)
    }

    fn struct_variant<V: Visitor<'n>>(
        self,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, ReadError> {
        self.deserialize_struct("", fields, visitor)
    }
}
