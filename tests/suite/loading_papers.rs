use std::collections::BTreeSet;

use halfsplit::manual::{Code, FileKind, Severity, schema};

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
        let schema = schema(kind);
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
    let tree = schema(FileKind::Tree);
    let branch = &tree["$defs"]["Branch"]["anyOf"];
    assert_eq!(branch[0]["type"], "string", "{branch}");
    // A measurement's figures are numbers by cause by outcome.
    let measurement = schema(FileKind::Measurements);
    let shows = &measurement["$defs"]["Measurement"]["properties"]["shows"];
    assert_eq!(
        shows["additionalProperties"]["additionalProperties"]["type"], "number",
        "{shows}"
    );
}
