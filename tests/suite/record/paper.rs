//! docs/jobs.md against the program.

use std::fs;
use std::path::Path;

use halfsplit::record::{Event, Record};

use super::place;

fn page() -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/jobs.md")).unwrap()
}

#[test]
fn the_job_in_the_paper_is_a_record() {
    let page = page();
    let (_, from) = page.split_once("```jsonl\n").unwrap();
    let (lines, _) = from.split_once("```").unwrap();
    let (_folder, path) = place();
    fs::write(&path, lines).unwrap();
    let view = Record::read(&path).unwrap();
    assert_eq!(
        (view.torn, view.history.entries().len()),
        (None, lines.lines().count())
    );
    let state = view.history.state();
    assert_eq!(state.present, ["tight-turn-binding"]);
    let outcomes: Vec<&str> = state
        .counting()
        .map(|taken| taken.reading.outcome.as_str())
        .collect();
    assert_eq!(outcomes, ["groan", "vanishes", "axles-differ"]);
    assert_eq!(
        state.closed.as_ref().unwrap().what.causes,
        ["tyre-mismatch-axles"]
    );
    // Field for field as it is written: the lines in the paper are what the program writes.
    let written: Vec<u8> = view
        .history
        .entries()
        .iter()
        .flat_map(|entry| entry.to_line().unwrap())
        .collect();
    assert_eq!(String::from_utf8(written).unwrap(), lines);
}

#[test]
fn the_paper_describes_every_event_and_says_which_are_answers() {
    let page = page();
    let opened = serde_json::json!({"format": 1, "family": "f", "knowledge": {}});
    let fields = |name: &str| match name {
        "opened" => opened.clone(),
        "complaint" | "note" => serde_json::json!({"words": "w"}),
        "symptom" => serde_json::json!({"symptom": "s", "present": true}),
        "marked" => serde_json::json!({"mark": "hint"}),
        "vehicle" => serde_json::json!({"readings": []}),
        "in-place" => serde_json::json!({"set_ups": []}),
        "condition" => serde_json::json!({"condition": "c", "raw": "y", "holds": true}),
        "reading" => serde_json::json!({"measurement": "m", "raw": "r", "outcome": "o",
            "weights": {"o": 1.0}, "counts": true, "attempt": 1}),
        "timed" => serde_json::json!({"measurement": "m", "phase": "started", "seconds": 5,
            "cool_down": 60}),
        "set-aside" => serde_json::json!({"measurement": "m", "how": "skipped"}),
        "taken-up" => serde_json::json!({"measurement": "m"}),
        "advice" => serde_json::json!({"advice": "take-again"}),
        "back" => serde_json::json!({"steps": 1, "lines": [2]}),
        "withdrawn" => serde_json::json!({"reading": 2}),
        "repair" => serde_json::json!({"repairs": [], "causes": [], "probability": 1}),
        "verification" => serde_json::json!({"measurement": "m", "raw": "r", "outcome": "o",
            "as_expected": true}),
        "closed" => serde_json::json!({"fixed": true, "causes": [], "repairs": []}),
        "no-symptom" | "reopened" => serde_json::json!({}),
        other => panic!("{other} has no row here"),
    };
    for name in Event::NAMES {
        let mut object = fields(name);
        object["event"] = name.into();
        let event: Event = serde_json::from_value(object).unwrap();
        assert_eq!(event.name(), name);
        let answer = if event.is_answer() { "yes" } else { "" };
        let row = format!("| `{name}` | {answer}");
        assert!(page.contains(row.trim_end()), "{row}");
        let described = page
            .lines()
            .find(|line| line.starts_with(&format!("| `{name}` |")))
            .unwrap();
        let serde_json::Value::Object(written) = serde_json::to_value(&event).unwrap() else {
            panic!("{name} is no object")
        };
        for field in written.keys().filter(|field| *field != "event") {
            let cell = format!("| `{field}` |");
            let told = described.contains(&format!("`{field}`"))
                || (name == "reading" && page.contains(&cell));
            assert!(told, "`{field}` of `{name}` is not described");
        }
    }
}
