use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use halfsplit::load::{FileKind, Ids, Outline, Source, schema, schema_of_shop, schema_of_trees};
use jsonschema::Validator;
use serde_json::Value;

use crate::shop::{Shop, program};

/// What writes the committed schemas anew.
const WRITE: &str = "cargo run -- schema --into docs/schemas";

/// Every schema by the name of its file.
fn all() -> Vec<(String, Value)> {
    let kinds = FileKind::ALL
        .iter()
        .map(|kind| (kind.name().to_owned(), schema(*kind, None)));
    kinds
        .chain([
            ("trees".to_owned(), schema_of_trees(None)),
            ("shop".to_owned(), schema_of_shop()),
        ])
        .collect()
}

fn committed(name: &str) -> String {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("docs/schemas/{name}.schema.json"));
    fs::read_to_string(path).unwrap_or_default()
}

#[test]
fn the_committed_schemas_are_those_of_the_types() {
    for (name, schema) in all() {
        let text = format!("{}\n", serde_json::to_string_pretty(&schema).unwrap());
        assert!(
            committed(&name).replace("\r\n", "\n") == text,
            "docs/schemas/{name}.schema.json is out of date: {WRITE}"
        );
    }
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/schemas");
    assert_eq!(fs::read_dir(folder).unwrap().count(), all().len());
}

#[test]
fn the_program_writes_the_schemas_one_by_one_and_into_a_folder() {
    let folder = tempfile::tempdir().unwrap();
    let into = folder.path().join("schemas");
    let path = into.to_str().unwrap();
    for _ in 0..2 {
        // The second time over its own.
        Shop::new().arguments(["schema", "--into", path]).run();
    }
    for (name, _) in all() {
        let written = fs::read_to_string(into.join(format!("{name}.schema.json"))).unwrap();
        assert_eq!(written, committed(&name));
        let shown = program(&["schema", &name], "", folder.path(), &BTreeMap::new());
        assert_eq!(String::from_utf8(shown.stdout).unwrap(), written);
    }
    // Another program's file of that name stays.
    fs::write(into.join("causes.schema.json"), "{\"title\": \"mine\"}").unwrap();
    Shop::new()
        .arguments(["schema", "--into", path])
        .fails_with(2)
        .run()
        .complains("it is no schema of this program");
}

/// A file as an editor sees it.
fn as_json(text: &str) -> Value {
    let options = serde_yaml::options! { strict_booleans: true, };
    serde_yaml::from_str_with_options(text, options).unwrap()
}

fn validator(schema: &Value) -> Validator {
    jsonschema::draft7::meta::validate(schema).unwrap();
    jsonschema::draft7::new(schema).unwrap()
}

/// The schemas that a file of a knowledge folder must satisfy.
fn schemas_for(path: &str, text: &str) -> Vec<Value> {
    let kind = match path.split('/').collect::<Vec<_>>()[..] {
        ["vehicles", _] => FileKind::Vehicle,
        [_, "family.yaml"] => FileKind::Family,
        [_, "causes.yaml"] => FileKind::Causes,
        [_, "codes.yaml"] => FileKind::Codes,
        [_, "measurements", _] => FileKind::Measurements,
        [_, "trees", _] if text.contains("\nshared:") => {
            return vec![schema(FileKind::Shared, None), schema_of_trees(None)];
        }
        [_, "trees", _] => return vec![schema(FileKind::Tree, None), schema_of_trees(None)],
        [_, "cases", _] => FileKind::Case,
        [_, "exercises", _] => FileKind::Exercise,
        _ => panic!("{path}"),
    };
    vec![schema(kind, None)]
}

/// What a file's schemas say against it.
fn faults(path: &str, text: &str) -> Vec<String> {
    let value = as_json(text);
    schemas_for(path, text)
        .iter()
        .flat_map(|schema| {
            validator(schema)
                .iter_errors(&value)
                .map(|error| format!("{path}{}: {error}", error.instance_path()))
                .collect::<Vec<_>>()
        })
        .collect()
}

#[test]
fn every_shipped_file_satisfies_the_schema_of_its_kind() {
    let source = Source::embedded();
    let files: Vec<(&str, &str)> = source
        .files()
        .filter(|(path, _)| !path.contains("README"))
        .collect();
    assert!(files.len() > 30);
    let faults: Vec<String> = files
        .iter()
        .flat_map(|(path, text)| faults(path, text))
        .collect();
    assert!(faults.is_empty(), "{faults:#?}");
}

/// The text of a shipped file with one edit.
fn edited(path: &str, from: &str, to: &str) -> Vec<String> {
    let source = Source::embedded();
    let (_, text) = source.files().find(|(found, _)| *found == path).unwrap();
    let edited = text.replacen(from, to, 1);
    assert_ne!(edited, text, "{path}: {from}");
    faults(path, &edited)
}

#[test]
fn what_an_editor_can_see_is_wrong_does_not_satisfy_the_schema() {
    let causes = "chain-cvt/causes.yaml";
    let fluid = "chain-cvt/measurements/fluid.yaml";
    let tree = "chain-cvt/trees/slipping.yaml";
    let shared = "chain-cvt/trees/shared.yaml";
    let family = "chain-cvt/family.yaml";
    for (path, from, to) in [
        // A misspelt field, and one that is missing for it.
        (causes, "    minutes: 30\n", "    minuets: 30\n"),
        (fluid, "    cautions:", "    cuations:"),
        (tree, "complaints:", "complaint:"),
        (shared, "event:", "evnet:"),
        (family, "\nnotice:", "\nnotcie:"),
        ("vehicles/demo-estate.yaml", "invented:", "inveted:"),
        // A probability above 1, a rate of nothing, a time below 0, a unit where a number belongs.
        (fluid, ": 0.", ": 5."),
        (causes, ", rate: ", ", rate: -"),
        (causes, "minutes: 30", "minutes: -30"),
        (causes, "minutes: 30", "minutes: 30 min"),
        (family, "unlisted: 0.05", "unlisted: 2"),
        (family, "max_order: 2", "max_order: 2.5"),
        // Names that are no ids.
        (causes, "repair: ", "repair: The "),
        (causes, "  set-fluid-level:", "  Set fluid level:"),
        // Nothing where something belongs, and a text where a list does.
        (tree, "\ntitle: ", "\ntitle:\n# "),
        (causes, "care: [cleanliness]", "care: cleanliness"),
        // Two answers, a quantity that nobody measures, a gate of two kinds.
        (
            "chain-cvt/cases/01-late-take-off.yaml",
            "expect: {",
            "expect: {unlisted: true, ",
        ),
        (
            "chain-cvt/measurements/gauge.yaml",
            "quantity: pressure",
            "quantity: presure",
        ),
        (shared, "    any:", "    at_least: 2\n    any:"),
        ("chain-cvt/codes.yaml", "  P0560:", "  X0560:"),
    ] {
        let faults = edited(path, from, to);
        assert!(!faults.is_empty(), "{path}: {from:?} to {to:?} passes");
    }
}

/// What a person types into one field, on the smallest file of its kind.
#[test]
fn a_limit_is_a_number_or_a_limit_of_a_sheet() {
    let of = |limit: &str| {
        faults(
            "a/measurements/a.yaml",
            &format!(
                "measurements:\n  a:\n    title: A\n    ask: A\n    minutes: 1\n    source: judged\n    \
                 reading: {{quantity: pressure, unit: kPa}}\n    outcomes: {{low: {{below: {limit}}}, \
                 normal: {{from: {limit}}}}}\n    shows: {{low: {{b: 0.5}}}}\n"
            ),
        )
    };
    for limit in ["450", "-1.5", "supply.min", "stall-forward.far"] {
        assert!(of(limit).is_empty(), "{limit}: {:?}", of(limit));
    }
    for limit in ["450 kPa", "supply", "supply.least", "[450]", "true"] {
        assert!(!of(limit).is_empty(), "{limit}");
    }
}

/// The ids of the shipped knowledge.
fn own() -> Ids {
    Outline::of(&Source::embedded()).ids
}

#[test]
fn with_the_ids_of_a_folder_its_files_satisfy_the_schemas_and_another_id_does_not() {
    let ids = own();
    let of = |path: &str, text: &str| {
        let schema = match path.split('/').collect::<Vec<_>>()[..] {
            ["vehicles", _] => schema(FileKind::Vehicle, Some(&ids)),
            [_, "family.yaml"] => schema(FileKind::Family, Some(&ids)),
            [_, "causes.yaml"] => schema(FileKind::Causes, Some(&ids)),
            [_, "codes.yaml"] => schema(FileKind::Codes, Some(&ids)),
            [_, "measurements", _] => schema(FileKind::Measurements, Some(&ids)),
            [_, "trees", _] => schema_of_trees(Some(&ids)),
            [_, "cases", _] => schema(FileKind::Case, Some(&ids)),
            _ => schema(FileKind::Exercise, Some(&ids)),
        };
        let value = as_json(text);
        let faults: Vec<String> = validator(&schema)
            .iter_errors(&value)
            .map(|error| format!("{path}{}: {error}", error.instance_path()))
            .collect();
        faults
    };
    let source = Source::embedded();
    let files: Vec<(&str, &str)> = source
        .files()
        .filter(|(path, _)| !path.contains("README"))
        .collect();
    for (path, text) in &files {
        assert_eq!(of(path, text), Vec::<String>::new());
    }
    for (path, from, to) in [
        (
            "chain-cvt/causes.yaml",
            "repair: repair-leak",
            "repair: repair-laek",
        ),
        (
            "chain-cvt/measurements/gauge.yaml",
            "{pump-drive-sheared: 0.96",
            "{pump-drive-shared: 0.96",
        ),
        (
            "chain-cvt/measurements/gauge.yaml",
            "set_ups: [secondary-gauge,",
            "set_ups: [secondary-guage,",
        ),
        (
            "chain-cvt/measurements/gauge.yaml",
            "for: [no-drive]",
            "for: [no-drvie]",
        ),
        (
            "chain-cvt/trees/no-drive.yaml",
            "- output-gear-stripped",
            "- output-gear-striped",
        ),
        (
            "chain-cvt/cases/01-late-take-off.yaml",
            "symptoms: [",
            "symptoms: [sliping, ",
        ),
        (
            "vehicles/demo-estate.yaml",
            "family: chain-cvt",
            "family: chain-cv",
        ),
    ] {
        let (_, text) = files.iter().find(|(found, _)| *found == path).unwrap();
        let edited = text.replacen(from, to, 1);
        assert_ne!(edited, *text, "{path}: {from}");
        assert!(!of(path, &edited).is_empty(), "{path}: {to}");
    }
}

#[test]
fn with_the_ids_of_a_folder_the_schemas_are_small_enough_for_an_editor() {
    let ids = own();
    let kinds = FileKind::ALL.iter();
    let schemas = kinds.map(|kind| (kind.name(), schema(*kind, Some(&ids))));
    for (name, schema) in schemas.chain([("trees", schema_of_trees(Some(&ids)))]) {
        let length = serde_json::to_string_pretty(&schema).unwrap().len();
        assert!(length < 300_000, "{name}: {length} bytes");
    }
}

#[test]
fn one_command_sets_an_editor_up_and_leaves_other_settings_alone() {
    let folder = tempfile::tempdir().unwrap();
    let knowledge = folder.path().to_str().unwrap();
    Shop::new()
        .arguments(["new", "family", "lamp", "--in", knowledge])
        .run();
    let settings = folder.path().join(".vscode/settings.json");
    fs::create_dir_all(settings.parent().unwrap()).unwrap();
    fs::write(&settings, "{\"editor.rulers\": [120]}").unwrap();
    let set_up = || Shop::new().arguments(["schema", "--knowledge", knowledge, "--editor"]);
    set_up()
        .run()
        .says(".vscode/settings.json")
        .says("causes.schema.json");
    let read =
        || -> Value { serde_json::from_str(&fs::read_to_string(&settings).unwrap()).unwrap() };
    assert_eq!(read()["editor.rulers"][0], 120);
    let schemas = read()["yaml.schemas"].clone();
    assert_eq!(schemas[".schemas/trees.schema.json"], "/*/trees/*.yaml");
    for schema in schemas.as_object().unwrap().keys() {
        let text = fs::read_to_string(folder.path().join(schema)).unwrap();
        validator(&serde_json::from_str(&text).unwrap());
    }
    let causes = fs::read_to_string(folder.path().join(".schemas/causes.schema.json")).unwrap();
    assert!(causes.contains("\"renew-pump\""), "{causes}");
    // A second time it is the same; settings with remarks are not touched.
    let before = read();
    set_up().run();
    assert_eq!(read(), before);
    fs::write(&settings, "{ // mine\n}").unwrap();
    set_up()
        .fails_with(2)
        .run()
        .complains("it is not plain JSON");
    // The folder still checks without a word about the files of the editor.
    let out = Shop::new().arguments(["check", knowledge]).run().out;
    assert!(!out.contains("stray-file"), "{out}");
}
