//! Values that know where they stand, and collections that go on after a mistake.
//!
//! They ask [`Reader`](super::reader::Reader) for what no format of serde offers, by the names of the
//! newtypes below.

use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{Deserialize, Deserializer, Error as _, MapAccess, SeqAccess, Visitor};

use super::log::Spot;

/// The newtype that is given its place: file, line, column, value.
pub(crate) const PLACED: &str = "$placed";
/// The newtype whose mistakes are kept and leave it empty.
pub(crate) const CAUGHT: &str = "$caught";
/// The newtype that takes a text or a number as it is written.
pub(crate) const SCALAR: &str = "$scalar";

/// A value and where it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Placed<T> {
    pub(crate) value: T,
    pub(crate) spot: Spot,
}

/// An id or a text with its place.
pub(crate) type Name = Placed<String>;

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Placed<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Parts<T>(PhantomData<T>);
        impl<'de, T: Deserialize<'de>> Visitor<'de> for Parts<T> {
            type Value = Placed<T>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a value with its place")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut parts: A) -> Result<Placed<T>, A::Error> {
                let lost = || A::Error::custom("a value without its place");
                Ok(Placed {
                    spot: Spot {
                        file: parts.next_element()?.ok_or_else(lost)?,
                        line: parts.next_element()?.ok_or_else(lost)?,
                        column: parts.next_element()?.ok_or_else(lost)?,
                    },
                    value: parts.next_element()?.ok_or_else(lost)?,
                })
            }
        }
        deserializer.deserialize_newtype_struct(PLACED, Parts(PhantomData))
    }
}

impl<T: JsonSchema> JsonSchema for Placed<T> {
    fn inline_schema() -> bool {
        T::inline_schema()
    }
    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        T::json_schema(generator)
    }
}

/// A value, or nothing where it could not be read; the mistake is kept already.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Caught<T>(pub(crate) Option<T>);

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Caught<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Try<T>(PhantomData<T>);
        impl<'de, T: Deserialize<'de>> Visitor<'de> for Try<T> {
            type Value = Caught<T>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a value")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut value: A) -> Result<Caught<T>, A::Error> {
                value.next_element().map(Caught)
            }
        }
        deserializer.deserialize_newtype_struct(CAUGHT, Try(PhantomData))
    }
}

impl<T: JsonSchema> JsonSchema for Caught<T> {
    fn inline_schema() -> bool {
        T::inline_schema()
    }
    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        T::json_schema(generator)
    }
}

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

impl<T> Default for Entries<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Entries<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct All<T>(PhantomData<T>);
        impl<'de, T: Deserialize<'de>> Visitor<'de> for All<T> {
            type Value = Entries<T>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a map of entries")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Entries<T>, A::Error> {
                let mut entries = Vec::new();
                while let Some(name) = map.next_key::<Name>()? {
                    let value = map.next_value::<Caught<T>>()?.0;
                    entries.push(Entry {
                        name: name.value,
                        spot: name.spot,
                        value,
                    });
                }
                Ok(Entries(entries))
            }
        }
        deserializer.deserialize_map(All(PhantomData))
    }
}

impl<T: JsonSchema> JsonSchema for Entries<T> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        format!("Entries_of_{}", T::schema_name()).into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        super::kinds::entries::<super::kinds::Id, T>(generator)
    }
}

/// Items in the order of the file; an item that could not be read is empty.
#[derive(Clone, Debug)]
pub(crate) struct Items<T>(pub(crate) Vec<Option<T>>);

impl<T> Default for Items<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<T> Items<T> {
    /// The items that could be read.
    pub(crate) fn iter(&self) -> impl Iterator<Item = &T> {
        self.0.iter().flatten()
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Items<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct All<T>(PhantomData<T>);
        impl<'de, T: Deserialize<'de>> Visitor<'de> for All<T> {
            type Value = Items<T>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a list")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Items<T>, A::Error> {
                let mut items = Vec::new();
                while let Some(item) = list.next_element::<Caught<T>>()? {
                    items.push(item.0);
                }
                Ok(Items(items))
            }
        }
        deserializer.deserialize_seq(All(PhantomData))
    }
}

impl<T: JsonSchema> JsonSchema for Items<T> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        format!("Items_of_{}", T::schema_name()).into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let inner = generator.subschema_for::<T>();
        json_schema!({ "type": "array", "items": inner })
    }
}

/// A text or a number as it is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Scalar(pub(crate) String);

impl<'de> Deserialize<'de> for Scalar {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Written;
        impl Visitor<'_> for Written {
            type Value = Scalar;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a text or a number")
            }
            fn visit_str<E>(self, text: &str) -> Result<Scalar, E> {
                Ok(Scalar(text.to_owned()))
            }
        }
        deserializer.deserialize_newtype_struct(SCALAR, Written)
    }
}

impl JsonSchema for Scalar {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "Scalar".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": ["string", "number"] })
    }
}
