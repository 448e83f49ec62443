//! What `study` writes: the screen, JSON, and the report with its picture.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::family_text::{Test, Textbook};
use crate::shop::program;

/// Runs the program in a folder; what it wrote.
fn written(arguments: &[&str], folder: &Path) -> String {
    let output = program(arguments, "", folder, &BTreeMap::new());
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).unwrap()
}

/// A folder of knowledge: two faults, and a look that tells them apart as often as it says.
fn knowledge(folder: &Path, name: &str, right: f64) -> String {
    let book = Textbook::hypotheses(&[("worn", 0.65), ("loose", 0.35)]).test(
        Test::new("look", &["clean", "scored", "rattles"])
            .row("worn", &[0.0, right, 1.0 - right])
            .row("loose", &[0.0, 1.0 - right, right]),
    );
    let root = folder.join(name);
    for (file, text) in book.files() {
        let file = root.join(file);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file, text).unwrap();
    }
    root.to_str().unwrap().to_owned()
}

#[test]
fn the_screen_says_what_was_drawn_and_how_the_vehicles_fared() {
    let folder = tempfile::tempdir().unwrap();
    let from = knowledge(folder.path(), "shop", 0.9);
    let screen = written(
        &[
            "--knowledge",
            &from,
            "study",
            "--vehicles",
            "200",
            "--robustness",
        ],
        folder.path(),
    );
    insta::assert_snapshot!(screen);
    assert!(screen.lines().all(|line| line.chars().count() <= 80));
}

#[test]
fn the_json_has_the_same_figures_and_does_not_change_between_runs() {
    let folder = tempfile::tempdir().unwrap();
    let from = knowledge(folder.path(), "shop", 0.9);
    let run = |seed| {
        let text = written(
            &[
                "--knowledge",
                &from,
                "study",
                "--vehicles",
                "50",
                "--seed",
                seed,
                "--robustness",
                "--json",
            ],
            folder.path(),
        );
        serde_json::from_str::<Value>(&text).unwrap()
    };
    let (one, two, other) = (run("1"), run("1"), run("2"));
    assert_eq!(one, two);
    assert_ne!(one, other);
    let study = &one["studies"][0];
    assert_eq!(study["symptom"], "complaint");
    let number = |value: &Value| value.as_f64().unwrap();
    let weighed: f64 = study["faults"]
        .as_array()
        .unwrap()
        .iter()
        .map(|fault| number(&fault["probability"]) * number(&fault["figures"]["first"]))
        .sum();
    assert!((weighed - number(&study["listed"]["first"])).abs() < 1e-12);
    assert_eq!(study["stressed"].as_array().unwrap().len(), 4);
}

#[test]
fn the_report_says_how_to_make_it_again_and_has_a_picture() {
    let folder = tempfile::tempdir().unwrap();
    let from = knowledge(folder.path(), "shop", 0.9);
    written(
        &[
            "--knowledge",
            &from,
            "study",
            "--vehicles",
            "30",
            "--seed",
            "5",
            "--report",
            "found.md",
        ],
        folder.path(),
    );
    let report = fs::read_to_string(folder.path().join("found.md")).unwrap();
    let command = "halfsplit study --vehicles 30 --seed 5 --report found.md";
    assert!(report.contains(command), "{report}");
    assert!(
        report.contains("![Stated against observed probability"),
        "{report}"
    );
    assert!(report.contains("| right repair first"), "{report}");
    let picture = fs::read_to_string(folder.path().join("found.svg")).unwrap();
    let picture = roxmltree::Document::parse(&picture).unwrap();
    let dots = picture
        .descendants()
        .filter(|node| node.has_tag_name("circle"))
        .count();
    // What is said: the look says the one or the other, and what is left after a repair in vain.
    assert!(dots >= 2, "{dots}");
}

#[test]
fn a_better_look_shows_against_the_version_without_it() {
    let folder = tempfile::tempdir().unwrap();
    let (old, new) = (
        knowledge(folder.path(), "old", 0.7),
        knowledge(folder.path(), "new", 0.95),
    );
    let arguments = [
        "--knowledge",
        &new,
        "study",
        "--vehicles",
        "200",
        "--against",
        &old,
    ];
    let screen = written(&arguments, folder.path());
    assert!(screen.contains("as the old version has them"), "{screen}");
    assert!(screen.contains("as the new version has them"), "{screen}");
    let answer: Value = serde_json::from_str(&written(
        &[&arguments[..], &["--json"]].concat(),
        folder.path(),
    ))
    .unwrap();
    let of_new = &answer["paired"][1];
    // Whoever expects the look to be right where it is does better on those vehicles than whoever does not.
    assert!(
        of_new["cost"]["change"].as_f64().unwrap() <= 0.0,
        "{answer}"
    );
    assert_eq!(of_new["vehicles"], 800);
}

#[test]
fn diff_lets_both_versions_diagnose_the_same_vehicles() {
    let folder = tempfile::tempdir().unwrap();
    let (old, new) = (
        knowledge(folder.path(), "old", 0.7),
        knowledge(folder.path(), "new", 0.95),
    );
    let of = |more: &[&str]| {
        let arguments = [&["diff", &old, &new, "--study", "200"], more].concat();
        written(&arguments, folder.path())
    };
    let screen = of(&[]);
    assert!(screen.contains("as the old version has them"), "{screen}");
    let answer: Value = serde_json::from_str(&of(&["--json"])).unwrap();
    // What `study --against` finds on the same vehicles.
    let against: Value = serde_json::from_str(&written(
        &[
            "--knowledge",
            &new,
            "study",
            "--vehicles",
            "200",
            "--against",
            &old,
            "--json",
        ],
        folder.path(),
    ))
    .unwrap();
    assert_eq!(answer["studies"], against["paired"]);
}

#[test]
fn a_vehicle_or_a_symptom_that_is_not_known_is_said() {
    let folder = tempfile::tempdir().unwrap();
    for (arguments, says) in [
        (&["study", "sliping"][..], "did you mean `slipping`?"),
        (
            &["study", "--vehicle", "demo-estat"],
            "did you mean `demo-estate`?",
        ),
        (&["study", "--vehicles", "0"], "1..=100000"),
        (&["study", "--against", "nowhere"], "nowhere"),
    ] {
        let output = program(arguments, "", folder.path(), &BTreeMap::new());
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(told.contains(says), "{told}");
    }
}
