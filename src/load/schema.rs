//! JSON Schemas of the knowledge files, from the types that read them.
//!
//! Draft 7: every editor that knows JSON Schema reads it.

use schemars::generate::SchemaSettings;
use schemars::transform::transform_subschemas;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde_json::{Map, Value, json};

use super::folder::FileKind;
use super::raw::cases::CaseFile;
use super::raw::causes::CausesFile;
use super::raw::codes::CodesFile;
use super::raw::family::FamilyFile;
use super::raw::measurements::MeasurementsFile;
use super::raw::trees::{SharedFile, TreeFile};
use super::raw::vehicles::VehicleFile;

/// The JSON Schema of a kind of file: an editor that knows it completes and checks while one types.
#[must_use]
pub fn schema(kind: FileKind) -> Value {
    let schema = match kind {
        FileKind::Family => of::<FamilyFile>(),
        FileKind::Causes => of::<CausesFile>(),
        FileKind::Codes => of::<CodesFile>(),
        FileKind::Measurements => of::<MeasurementsFile>(),
        FileKind::Tree => of::<TreeFile>(),
        FileKind::Shared => of::<SharedFile>(),
        FileKind::Case => of::<CaseFile>(),
        FileKind::Vehicle => of::<VehicleFile>(),
    };
    titled(schema, kind.name())
}

/// The schema of any file in a folder `trees`: of shared parts where it holds `shared`, of a complaint
/// else. For an editor that takes a schema by folder.
#[must_use]
pub fn schema_of_trees() -> Value {
    let mut generator = generator();
    let (tree, shared) = (
        generator.subschema_for::<TreeFile>(),
        generator.subschema_for::<SharedFile>(),
    );
    let mut schema = Schema::from(Map::from_iter([
        (
            "$schema".to_owned(),
            json!(schemars::consts::meta_schemas::DRAFT07),
        ),
        ("if".to_owned(), json!({ "required": ["shared"] })),
        ("then".to_owned(), shared.to_value()),
        ("else".to_owned(), tree.to_value()),
        (
            "definitions".to_owned(),
            Value::Object(generator.take_definitions(true)),
        ),
    ]));
    never_nothing(&mut schema);
    titled(schema, "trees")
}

fn generator() -> SchemaGenerator {
    SchemaSettings::draft07()
        .with_transform(never_nothing)
        .into_generator()
}

fn of<T: JsonSchema>() -> Schema {
    generator().into_root_schema_for::<T>()
}

/// A field may be left out, and may not be there with nothing in it: takes `null` away.
fn never_nothing(schema: &mut Schema) {
    let null = json!("null");
    if let Some(Value::Array(types)) = schema.get_mut("type") {
        types.retain(|kind| *kind != null);
        if let [only] = types.as_slice() {
            let only = only.clone();
            schema.insert("type".to_owned(), only);
        }
    }
    if let Some(Value::Array(values)) = schema.get_mut("enum") {
        values.retain(|value| !value.is_null());
    }
    if let Some(Value::Array(forms)) = schema.get_mut("anyOf") {
        let is_null = |form: &Value| form.get("type") == Some(&null);
        if forms.iter().any(is_null) {
            forms.retain(|form| !is_null(form));
            if forms.len() == 1 {
                // Beside `$ref` nothing else is read in this draft.
                let forms = schema.remove("anyOf").unwrap_or_default();
                schema.insert("allOf".to_owned(), forms);
            }
        }
    }
    transform_subschemas(&mut never_nothing, schema);
}

fn titled(mut schema: Schema, name: &str) -> Value {
    schema.insert("title".to_owned(), json!(format!("halfsplit: {name}")));
    schema.to_value()
}
