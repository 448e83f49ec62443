use std::collections::BTreeSet;
use std::fs;

use halfsplit::knowledge::defaults;
use halfsplit::load::{Code, FileKind, Severity, Source, load, schema};
use halfsplit::units::{Dimension, Unit};
use tempfile::TempDir;

const FINDINGS: &str = include_str!("../../docs/findings.md");

#[test]
fn every_code_has_a_heading_in_the_findings_paper_and_every_heading_a_code() {
    let headings: Vec<&str> = FINDINGS
        .lines()
        .filter_map(|line| line.strip_prefix("## "))
        .collect();
    let codes: Vec<&str> = Code::ALL.iter().map(|code| code.name()).collect();
    assert_eq!(headings, codes);
    assert_eq!(codes.iter().collect::<BTreeSet<_>>().len(), codes.len());
}

#[test]
fn the_findings_paper_says_how_bad_each_code_is() {
    for code in Code::ALL {
        let section = FINDINGS.split(&format!("## {code}\n")).nth(1).unwrap();
        let word = match code.severity() {
            Severity::Error => "\nError. ",
            Severity::Warning => "\nWarning. ",
        };
        assert!(section.starts_with(word), "{code}");
    }
}

/// What an editor shows while one types comes from the types that read the files.
#[test]
fn the_schema_of_every_kind_of_file_describes_its_fields() {
    for kind in FileKind::ALL {
        let schema = schema(kind, None);
        let fields = schema["properties"].as_object().unwrap();
        assert!(!fields.is_empty(), "{}", kind.name());
        assert_eq!(schema["additionalProperties"], false, "{}", kind.name());
        for (name, field) in fields {
            assert!(
                field["description"].is_string(),
                "{}: {name}: {field}",
                kind.name()
            );
        }
        let text = schema.to_string();
        assert!(
            !text.contains("$shape") && !text.contains("$text") && !text.contains("Placed"),
            "{text}"
        );
    }
    // A branch of a tree is a cause's name or a map.
    let tree = schema(FileKind::Tree, None);
    let branch = &tree["definitions"]["Branch"]["anyOf"];
    assert_eq!(branch[0]["type"], "string", "{branch}");
    // A measurement's figures are numbers by cause by outcome.
    let measurement = schema(FileKind::Measurements, None);
    let shows = &measurement["definitions"]["Measurement"]["properties"]["shows"];
    assert_eq!(
        shows["additionalProperties"]["additionalProperties"]["type"], "number",
        "{shows}"
    );
}

const KNOWLEDGE: &str = include_str!("../../docs/knowledge.md");

/// The files in the knowledge paper: fenced blocks that start with their path.
pub(super) fn example() -> Vec<(String, String)> {
    KNOWLEDGE
        .split("```yaml\n# ")
        .skip(1)
        .map(|block| {
            let (path, rest) = block.split_once('\n').unwrap();
            let text = rest.split("```").next().unwrap();
            // The line of the path stays, so that findings name the line of the block.
            (path.to_owned(), format!("# {path}\n{text}"))
        })
        .collect()
}

#[test]
fn the_family_of_the_knowledge_paper_loads_without_findings() {
    let files = example();
    assert_eq!(files.len(), 7);
    match load(&Source::texts(files)) {
        Ok(loaded) => assert!(loaded.warnings.is_empty(), "{}", loaded.warnings),
        Err(findings) => panic!("{findings}"),
    }
}

/// The names of all fields that a schema describes, its definitions' too.
fn fields(schema: &serde_json::Value, found: &mut BTreeSet<String>) {
    match schema {
        serde_json::Value::Object(map) => {
            if let Some(properties) = map.get("properties").and_then(|value| value.as_object()) {
                found.extend(properties.keys().cloned());
            }
            for value in map.values() {
                fields(value, found);
            }
        }
        serde_json::Value::Array(list) => list.iter().for_each(|value| fields(value, found)),
        _ => {}
    }
}

#[test]
fn the_knowledge_paper_names_every_field_of_every_kind_of_file() {
    for kind in FileKind::ALL {
        let mut names = BTreeSet::new();
        fields(&schema(kind, None), &mut names);
        for name in names {
            let named = [
                format!("`{name}`"),
                format!("`{name}:"),
                format!("{{{name}:"),
                format!(" {name}:"),
                format!("\n{name}:"),
            ]
            .iter()
            .any(|form| KNOWLEDGE.contains(form.as_str()));
            assert!(named, "{}: {name}", kind.name());
        }
    }
}

#[test]
fn the_knowledge_paper_states_the_defaults_as_they_are() {
    let rows = [
        ("max_order", defaults::MAX_ORDER.to_string()),
        ("unlisted", defaults::UNLISTED.to_string()),
        ("floor", defaults::FLOOR.to_string()),
        ("reacts", defaults::REACTS.to_string()),
    ];
    for (name, value) in rows {
        assert!(
            KNOWLEDGE.contains(&format!("| `{name}` | {value} |")),
            "{name}: {value}"
        );
    }
    let chance = format!(
        "none of the named causes; {} for an outcome",
        defaults::CHANCE
    );
    assert!(KNOWLEDGE.contains(&chance), "{chance}");
}

#[test]
fn the_knowledge_paper_lists_the_quantities_and_only_units_that_exist() {
    let table = KNOWLEDGE
        .split("| quantity | units |")
        .nth(1)
        .unwrap()
        .split("\n\n")
        .next()
        .unwrap();
    let rows: Vec<(&str, &str)> = table
        .lines()
        .skip(2)
        .map(|line| {
            let mut cells = line.trim_matches('|').split('|').map(str::trim);
            (
                cells.next().unwrap().trim_matches('`'),
                cells.next().unwrap(),
            )
        })
        .collect();
    let named: Vec<&str> = rows.iter().map(|(quantity, _)| *quantity).collect();
    assert_eq!(named, Dimension::ALL.map(Dimension::id));
    for (quantity, units) in rows {
        let dimension = Dimension::named(quantity).unwrap();
        for unit in units.split(", ") {
            assert!(Unit::named(unit, dimension).is_some(), "{quantity}: {unit}");
        }
    }
}

/// The paper's family in a folder, with edits.
pub(crate) fn training(edits: &[(&str, &str, &str)]) -> TempDir {
    let folder = TempDir::new().unwrap();
    for (path, text) in example() {
        let edits = edits.iter().filter(|(file, _, _)| *file == path);
        let text = edits.fold(text, |text, (_, from, to)| {
            assert_eq!(text.matches(from).count(), 1, "{from:?} in {path}");
            text.replace(from, to)
        });
        let file = folder.path().join(path);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file, text).unwrap();
    }
    folder
}
