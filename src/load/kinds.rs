//! What the texts and numbers of a file may be, as its schema says it. The checks themselves stand in
//! `check`; a schema is never stricter.

use std::borrow::Cow;
use std::marker::PhantomData;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use crate::units::{Dimension, Unit};

macro_rules! kinds {
    ($($(#[doc = $doc:literal])+ $name:ident: $schema:expr;)+) => {$(
        $(#[doc = $doc])+
        pub(crate) struct $name;

        impl JsonSchema for $name {
            fn inline_schema() -> bool {
                true
            }
            fn schema_name() -> Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                $schema
            }
        }
    )+};
}

kinds! {
    /// An id: small letters and digits in groups joined by hyphens.
    Id: json_schema!({ "type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$", "maxLength": 80 });
    /// A text with something in it.
    Text: json_schema!({ "type": "string", "pattern": "\\S" });
    /// A probability.
    Share: json_schema!({ "type": "number", "minimum": 0, "maximum": 1 });
    /// A probability above 0.
    Strength: json_schema!({ "type": "number", "exclusiveMinimum": 0, "maximum": 1 });
    /// A probability below 1.
    Part: json_schema!({ "type": "number", "minimum": 0, "exclusiveMaximum": 1 });
    /// A probability below 0.1.
    Floor: json_schema!({ "type": "number", "minimum": 0, "exclusiveMaximum": 0.1 });
    /// Jobs in 1,000.
    PerThousand: json_schema!({ "type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 1000 });
    /// Minutes, seconds or money: 0 or more.
    Amount: json_schema!({ "type": "number", "minimum": 0 });
    /// The most causes in a candidate.
    Order: json_schema!({ "type": "integer", "minimum": 1, "maximum": 4 });
    /// How many inputs of a voting gate.
    Count: json_schema!({ "type": "integer", "minimum": 1 });
    /// The name of a quantity.
    Quantity: json_schema!({ "type": "string", "enum": Dimension::ALL.map(Dimension::id) });
    /// The name of a unit. An editor proposes the symbols; other spellings are read too.
    UnitName: json_schema!({ "anyOf": [{ "type": "string", "enum": symbols() }, { "type": "string", "pattern": "\\S" }] });
    /// A trouble code.
    CodeName: json_schema!({ "type": "string", "pattern": "^[PCBU][0-3][0-9A-F]{3}$" });
    /// A limit of a sheet by its name and its key.
    LimitKey: json_schema!({ "type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*\\.(min|max|far)$" });
    /// A limit of a sheet by its name, with or without its key.
    LimitName: json_schema!({ "type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*(\\.(min|max|far))?$" });
}

/// The symbols of all units, each once.
fn symbols() -> Vec<&'static str> {
    let mut symbols: Vec<&str> = Vec::new();
    for unit in Unit::ALL {
        if !symbols.contains(&unit.symbol()) {
            symbols.push(unit.symbol());
        }
    }
    symbols
}

/// Entries whose names are no ids: `K` says what they are.
pub(crate) struct Named<K, T>(PhantomData<(K, T)>);

impl<K: JsonSchema, T: JsonSchema> JsonSchema for Named<K, T> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        format!("Named_{}_{}", K::schema_name(), T::schema_name()).into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        entries::<K, T>(generator)
    }
}

/// A map from names to entries.
pub(crate) fn entries<K: JsonSchema, T: JsonSchema>(generator: &mut SchemaGenerator) -> Schema {
    let (name, entry) = (
        generator.subschema_for::<K>(),
        generator.subschema_for::<T>(),
    );
    json_schema!({ "type": "object", "propertyNames": name, "additionalProperties": entry })
}
