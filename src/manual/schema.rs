//! JSON Schemas of the knowledge files, from the types that read them.

use schemars::{JsonSchema, schema_for};

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
pub fn schema(kind: FileKind) -> serde_json::Value {
    match kind {
        FileKind::Family => of::<FamilyFile>(),
        FileKind::Causes => of::<CausesFile>(),
        FileKind::Codes => of::<CodesFile>(),
        FileKind::Measurements => of::<MeasurementsFile>(),
        FileKind::Tree => of::<TreeFile>(),
        FileKind::Shared => of::<SharedFile>(),
        FileKind::Case => of::<CaseFile>(),
        FileKind::Vehicle => of::<VehicleFile>(),
    }
}

fn of<T: JsonSchema>() -> serde_json::Value {
    schema_for!(T).to_value()
}
