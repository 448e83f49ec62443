//! What the values of a file may be, as a JSON Schema (draft 7, which every editor reads) says it. The
//! checks themselves are in `check`; a schema is never stricter.

use std::marker::PhantomData;

use serde_json::{Map, Value, json};

use crate::units::{Dimension, Unit};

/// Something that a schema describes.
pub(crate) trait Describe {
    /// Its schema; a record's goes to `schemas`, and what is given refers to it.
    fn schema(schemas: &mut Schemas) -> Value;
}

/// A field of a record.
pub(crate) struct Field {
    pub(crate) name: &'static str,
    /// The lines of its comment.
    pub(crate) about: &'static [&'static str],
    pub(crate) needed: bool,
    pub(crate) schema: fn(&mut Schemas) -> Value,
}

/// The schemas of records, by name.
#[derive(Default)]
pub(crate) struct Schemas(Map<String, Value>);

impl Schemas {
    /// A reference to a record, which is described the first time. `more` is put beside its fields.
    pub(crate) fn record(
        &mut self,
        name: &str,
        about: &[&str],
        fields: &[Field],
        more: Value,
    ) -> Value {
        if !self.0.contains_key(name) {
            // A record may contain itself.
            self.0.insert(name.to_owned(), Value::Null);
            let mut properties = Map::new();
            for field in fields {
                let schema = (field.schema)(self);
                properties.insert(field.name.to_owned(), described(field.about, schema));
            }
            let needed: Vec<&str> = fields
                .iter()
                .filter(|field| field.needed)
                .map(|field| field.name)
                .collect();
            let mut schema = json!({
                "description": sentence(about),
                "type": "object",
                "properties": properties,
                "additionalProperties": false,
            });
            if !needed.is_empty() {
                schema["required"] = json!(needed);
            }
            if let (Value::Object(schema), Value::Object(more)) = (&mut schema, more) {
                schema.extend(more);
            }
            self.0.insert(name.to_owned(), schema);
        }
        json!({ "$ref": format!("#/definitions/{name}") })
    }

    /// A reference to a value of one of several forms.
    pub(crate) fn forms(
        &mut self,
        name: &str,
        about: &[&str],
        forms: &[fn(&mut Self) -> Value],
    ) -> Value {
        if !self.0.contains_key(name) {
            self.0.insert(name.to_owned(), Value::Null);
            let forms: Vec<Value> = forms.iter().map(|form| form(self)).collect();
            let schema = json!({ "description": sentence(about), "anyOf": forms });
            self.0.insert(name.to_owned(), schema);
        }
        json!({ "$ref": format!("#/definitions/{name}") })
    }

    /// The schema of a file that holds one record.
    pub(crate) fn root<T: Describe>(title: &str) -> Value {
        let mut schemas = Self::default();
        let reference = T::schema(&mut schemas);
        let name = reference["$ref"]
            .as_str()
            .and_then(|way| way.rsplit('/').next());
        let own = name
            .and_then(|name| schemas.0.shift_remove(name))
            .unwrap_or_default();
        schemas.file(title, own)
    }

    /// A whole schema with the definitions it refers to.
    pub(crate) fn file(self, title: &str, schema: Value) -> Value {
        let mut file = Map::new();
        file.insert(
            "$schema".to_owned(),
            json!("http://json-schema.org/draft-07/schema#"),
        );
        file.insert("title".to_owned(), json!(format!("halfsplit: {title}")));
        if let Value::Object(schema) = schema {
            file.extend(schema);
        }
        if !self.0.is_empty() {
            file.insert("definitions".to_owned(), Value::Object(self.0));
        }
        Value::Object(file)
    }
}

/// A schema with a description; beside `$ref` nothing else is read in this draft.
fn described(about: &[&str], schema: Value) -> Value {
    let mut described = json!({ "description": sentence(about) });
    if let (Value::Object(described), Value::Object(schema)) = (&mut described, schema) {
        if schema.contains_key("$ref") {
            described.insert("allOf".to_owned(), json!([schema]));
        } else {
            described.extend(schema);
        }
    }
    described
}

fn sentence(lines: &[&str]) -> String {
    let lines: Vec<&str> = lines.iter().map(|line| line.trim()).collect();
    lines.join(" ")
}

macro_rules! kinds {
    ($($(#[doc = $doc:literal])+ $name:ident: $schema:expr;)+) => {$(
        $(#[doc = $doc])+
        pub(crate) struct $name;

        impl Describe for $name {
            fn schema(_: &mut Schemas) -> Value {
                $schema
            }
        }
    )+};
}

kinds! {
    /// An id: small letters and digits in groups joined by hyphens.
    Id: json!({ "type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$", "maxLength": 80 });
    /// A text with something in it.
    Text: json!({ "type": "string", "pattern": "\\S" });
    /// A probability.
    Share: json!({ "type": "number", "minimum": 0, "maximum": 1 });
    /// A probability above 0.
    Strength: json!({ "type": "number", "exclusiveMinimum": 0, "maximum": 1 });
    /// A probability below 1.
    Part: json!({ "type": "number", "minimum": 0, "exclusiveMaximum": 1 });
    /// A probability below 0.1.
    Floor: json!({ "type": "number", "minimum": 0, "exclusiveMaximum": 0.1 });
    /// Jobs in 1,000.
    PerThousand: json!({ "type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 1000 });
    /// Minutes, seconds or money: 0 or more.
    Amount: json!({ "type": "number", "minimum": 0 });
    /// The most causes in a candidate.
    Order: json!({ "type": "integer", "minimum": 1, "maximum": 4 });
    /// How many inputs of a voting gate.
    Count: json!({ "type": "integer", "minimum": 1 });
    /// The name of a quantity.
    Quantity: json!({ "type": "string", "enum": Dimension::ALL.map(Dimension::id) });
    /// The name of a unit. An editor proposes the symbols; other spellings are read too.
    UnitName: json!({ "anyOf": [{ "type": "string", "enum": symbols() }, { "type": "string", "pattern": "\\S" }] });
    /// A trouble code.
    CodeName: json!({ "type": "string", "pattern": "^[PCBU][0-3][0-9A-F]{3}$" });
    /// A limit of a sheet by its name and its key.
    LimitKey: json!({ "type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*\\.(min|max|far)$" });
    /// A limit of a sheet by its name, with or without its key.
    LimitName: json!({ "type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*(\\.(min|max|far))?$" });
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

impl<K: Describe, T: Describe> Describe for Named<K, T> {
    fn schema(schemas: &mut Schemas) -> Value {
        let (name, entry) = (K::schema(schemas), T::schema(schemas));
        json!({ "type": "object", "propertyNames": name, "additionalProperties": entry })
    }
}

impl Describe for bool {
    fn schema(_: &mut Schemas) -> Value {
        json!({ "type": "boolean" })
    }
}

impl Describe for f64 {
    fn schema(_: &mut Schemas) -> Value {
        json!({ "type": "number" })
    }
}

impl<T: Describe> Describe for Option<T> {
    fn schema(schemas: &mut Schemas) -> Value {
        T::schema(schemas)
    }
}

impl<T: Describe> Describe for Box<T> {
    fn schema(schemas: &mut Schemas) -> Value {
        T::schema(schemas)
    }
}
