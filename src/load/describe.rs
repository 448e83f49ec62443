//! What the values of a file may be, as a JSON Schema (draft 7, which every editor reads) says it. The
//! checks themselves are in `check`; a schema is never stricter.

use std::marker::PhantomData;

use serde_json::{Map, Value, json};

use super::code::{Code, Severity};
use super::ids::{IdKind, Ids};
use crate::units::{Dimension, Unit};

/// Something that a schema describes.
pub(crate) trait Describe {
    /// Its schema; a record's goes to `schemas`, and what is given refers to it.
    fn schema(schemas: &mut Schemas) -> Value;

    /// What it can be, where that is known one by one.
    fn words(_: &Schemas) -> Option<Vec<String>> {
        None
    }
}

/// A field of a record.
pub(crate) struct Field {
    pub(crate) name: &'static str,
    /// The lines of its comment.
    pub(crate) about: &'static [&'static str],
    pub(crate) needed: bool,
    pub(crate) schema: fn(&mut Schemas) -> Value,
}

/// The schemas of records, by name; with the ids of a folder, where it is for the files of one.
#[derive(Default)]
pub(crate) struct Schemas(Map<String, Value>, Option<Ids>);

impl Schemas {
    pub(crate) fn with(ids: Option<&Ids>) -> Self {
        Self(Map::new(), ids.cloned())
    }

    /// A reference to what is described under a name, and described there by the first who asks: it may refer to itself.
    fn described(&mut self, name: &str, describe: impl FnOnce(&mut Self) -> Value) -> Value {
        if !self.0.contains_key(name) {
            self.0.insert(name.to_owned(), Value::Null);
            let schema = describe(self);
            self.0.insert(name.to_owned(), schema);
        }
        json!({ "$ref": format!("#/definitions/{name}") })
    }

    /// A reference to a schema that stands in many places and is described once.
    fn shared(&mut self, schema: Value) -> Value {
        let known = self.0.iter().find(|(_, known)| **known == schema);
        let name = known.map_or_else(|| format!("map-{}", self.0.len()), |(name, _)| name.clone());
        self.described(&name, |_| schema)
    }

    /// The ids of some kinds; `None` where no folder is known, or it has none of them.
    fn ids(&self, kinds: &[IdKind]) -> Option<Vec<String>> {
        let ids = self.1.as_ref()?;
        let ids = kinds.iter().flat_map(|kind| ids.of(*kind));
        let ids: Vec<String> = ids.map(str::to_owned).collect();
        (!ids.is_empty()).then_some(ids)
    }

    /// A reference to a record, which is described the first time. `more` is put beside its fields.
    pub(crate) fn record(
        &mut self,
        name: &str,
        about: &[&str],
        fields: &[Field],
        more: Value,
    ) -> Value {
        self.described(name, |schemas| {
            let mut properties = Map::new();
            for field in fields {
                let schema = (field.schema)(schemas);
                properties.insert(field.name.to_owned(), described(field.about, schema));
            }
            let needed = fields.iter().filter(|field| field.needed);
            let needed: Vec<&str> = needed.map(|field| field.name).collect();
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
            schema
        })
    }

    /// A reference to a value of one of several forms.
    pub(crate) fn forms(
        &mut self,
        name: &str,
        about: &[&str],
        forms: &[fn(&mut Self) -> Value],
    ) -> Value {
        self.described(name, |schemas| {
            let forms: Vec<Value> = forms.iter().map(|form| form(schemas)).collect();
            json!({ "description": sentence(about), "anyOf": forms })
        })
    }

    /// The schema of a file that holds one record.
    pub(crate) fn root<T: Describe>(title: &str, ids: Option<&Ids>) -> Value {
        let mut schemas = Self::with(ids);
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
        let mut file = Map::from_iter([
            (
                "$schema".to_owned(),
                json!("http://json-schema.org/draft-07/schema#"),
            ),
            ("title".to_owned(), json!(format!("halfsplit: {title}"))),
        ]);
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

macro_rules! refs {
    ($($name:ident: $($kind:ident),+ $(; $more:literal)?;)+) => {$(
        #[doc = concat!("An id of: ", $(stringify!($kind), " "),+)]
        pub(crate) struct $name;

        impl Describe for $name {
            fn schema(schemas: &mut Schemas) -> Value {
                match Self::words(schemas) {
                    // The words are listed once.
                    Some(words) => {
                        let kinds = [$(IdKind::$kind.name()),+];
                        schemas.described(&kinds.join("-or-"), |_| json!({ "type": "string", "enum": words }))
                    }
                    None => Id::schema(schemas),
                }
            }

            fn words(schemas: &Schemas) -> Option<Vec<String>> {
                let mut words = schemas.ids(&[$(IdKind::$kind),+])?;
                words.extend(<[&str]>::iter(&[$($more)?]).map(|word| (*word).to_owned()));
                Some(words)
            }
        }
    )+};
}

refs! {
    FamilyRef: Family;
    VehicleRef: Vehicle;
    CauseRef: Cause;
    RepairRef: Repair;
    MeasurementRef: Measurement;
    OutcomeRef: Outcome;
    SymptomRef: Symptom;
    SharedRef: Shared;
    SetUpRef: SetUp;
    InstrumentRef: Instrument;
    ConditionRef: Condition;
    CautionRef: Caution;
    SignalRef: Signal;
    CareRef: Care;
    UnlessRef: Measurement; "complaint";
    UnlessOutcomeRef: Outcome, Symptom;
}

/// What verifies a repair: a measurement, or words with a blank between them.
pub(crate) struct VerifyRef;

impl Describe for VerifyRef {
    fn schema(schemas: &mut Schemas) -> Value {
        match MeasurementRef::words(schemas) {
            Some(_) => {
                let measurement = MeasurementRef::schema(schemas);
                json!({ "anyOf": [measurement, { "type": "string", "pattern": "\\S\\s+\\S" }] })
            }
            None => Text::schema(schemas),
        }
    }
}

/// The code of a finding that can be accepted.
pub(crate) struct FindingCode;

impl Describe for FindingCode {
    fn schema(_: &mut Schemas) -> Value {
        let warnings = Code::ALL
            .iter()
            .filter(|code| code.severity() == Severity::Warning);
        let names: Vec<&str> = warnings.map(|code| code.name()).collect();
        json!({ "type": "string", "enum": names })
    }
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
        let entry = T::schema(schemas);
        if let Some(words) = K::words(schemas) {
            // Named one by one, an editor proposes them and marks any other.
            let fields: Map<String, Value> = words
                .into_iter()
                .map(|word| (word, entry.clone()))
                .collect();
            return schemas.shared(
                json!({ "type": "object", "properties": fields, "additionalProperties": false }),
            );
        }
        let name = K::schema(schemas);
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
