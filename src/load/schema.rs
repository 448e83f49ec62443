//! JSON Schemas of the knowledge files, from the types that read them.

use serde_json::{Value, json};

use super::describe::{Describe, Schemas};
use super::folder::FileKind;
use super::ids::Ids;
use super::raw::cases::CaseFile;
use super::raw::causes::CausesFile;
use super::raw::codes::CodesFile;
use super::raw::exercises::ExerciseFile;
use super::raw::family::FamilyFile;
use super::raw::measurements::MeasurementsFile;
use super::raw::shop::ShopFile;
use super::raw::trees::{SharedFile, TreeFile};
use super::raw::vehicles::VehicleFile;

/// The JSON Schema of a kind of file, for an editor that completes and checks while one types. With the ids of a folder,
/// it knows those and no others.
pub fn schema(kind: FileKind, ids: Option<&Ids>) -> Value {
    let root = match kind {
        FileKind::Family => Schemas::root::<FamilyFile>,
        FileKind::Causes => Schemas::root::<CausesFile>,
        FileKind::Codes => Schemas::root::<CodesFile>,
        FileKind::Measurements => Schemas::root::<MeasurementsFile>,
        FileKind::Tree => Schemas::root::<TreeFile>,
        FileKind::Shared => Schemas::root::<SharedFile>,
        FileKind::Case => Schemas::root::<CaseFile>,
        FileKind::Exercise => Schemas::root::<ExerciseFile>,
        FileKind::Vehicle => Schemas::root::<VehicleFile>,
    };
    root(kind.name(), ids)
}

/// The schema of a shop's profile.
pub fn schema_of_shop() -> Value {
    Schemas::root::<ShopFile>("shop", None)
}

/// The schema of any file in a folder `trees`: of shared parts where it holds `shared`, else of a
/// complaint. For an editor that takes a schema by folder.
pub fn schema_of_trees(ids: Option<&Ids>) -> Value {
    let mut schemas = Schemas::with(ids);
    let (tree, shared) = (
        TreeFile::schema(&mut schemas),
        SharedFile::schema(&mut schemas),
    );
    schemas.file(
        "trees",
        json!({ "if": { "required": ["shared"] }, "then": shared, "else": tree }),
    )
}
