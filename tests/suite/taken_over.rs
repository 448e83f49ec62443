//! Reviewed figures written into a folder of knowledge, and nothing else of it.

use std::fs;
use std::path::Path;

use halfsplit::load::{Source, amend, load};
use tempfile::TempDir;

use crate::shop::Shop;

const BY_LINE: &str = "\
causes:  # all of them
  # Often found.
  pump: {title: \"Pump, worn\", rate: 7, source: judged}  # a remark
  strainer:
    title: Strainer
    rate: 10.0   # of 1,000
    source: 'the shop''s own'
shows:
  low: {pump: 0.5,
      strainer: 0.2}
";

#[test]
fn a_value_is_replaced_where_it_stands_and_no_other_byte_moves() {
    for (way, value, from, to) in [
        (
            &["causes", "pump", "rate"][..],
            "8.5",
            "rate: 7,",
            "rate: 8.5,",
        ),
        (&["causes", "strainer", "rate"], "12", "10.0   #", "12   #"),
        (
            &["causes", "pump", "title"],
            "Pump",
            "\"Pump, worn\"",
            "Pump",
        ),
        (
            &["causes", "strainer", "source"],
            "\"a: b\"",
            "'the shop''s own'",
            "\"a: b\"",
        ),
        (
            &["shows", "low", "strainer"],
            "0.25",
            "strainer: 0.2}",
            "strainer: 0.25}",
        ),
        // What is not there goes in front in braces, and behind the last by line.
        (
            &["shows", "low", "seal"],
            "0.1",
            "{pump: 0.5",
            "{seal: 0.1, pump: 0.5",
        ),
        (
            &["shows", "high", "seal"],
            "0.1",
            "0.2}\n",
            "0.2}\n  high: {seal: 0.1}\n",
        ),
    ] {
        assert_eq!(BY_LINE.matches(from).count(), 1, "{from}");
        let expected = BY_LINE.replace(from, to);
        assert_eq!(amend(BY_LINE, way, value).unwrap(), expected, "{way:?}");
        let windows = BY_LINE.replace('\n', "\r\n");
        let expected = expected.replace('\n', "\r\n");
        assert_eq!(amend(&windows, way, value).unwrap(), expected, "{way:?}");
    }
    // No value, or one that is written over several lines.
    assert!(amend(BY_LINE, &["causes", "pump"], "8").is_err());
    assert!(amend("text: >-\n  one\n  two\n", &["text"], "three").is_err());
    assert!(amend("- one\n", &["text"], "three").is_err());
}

/// The shipped knowledge in a folder, and a file of learned figures beside it.
fn folder() -> TempDir {
    let folder = TempDir::new().unwrap();
    for (path, text) in Source::embedded().files() {
        let file = folder.path().join("k").join(path);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file, text).unwrap();
    }
    let figure = |was: f64, now: f64, jobs: u32| {
        format!(
            "{{was: {was}, now: {now}, seen: 5, jobs: {jobs}, interval: [0, 1], dates: [2026-05-03, 2026-11-20]}}"
        )
    };
    let text = format!(
        "overlay:\n  family: chain-cvt\n  jobs: 212\n  dates: [2026-05-03, 2026-11-20]\n  prior_jobs: 500\n  \
         prior_readings: 15\n  rates:\n    pump-worn: {}\n    pump-tired: {}\n  shows:\n    \
         gauge-secondary-idle:\n      low:\n        pump-worn: {}\n      high:\n        pump-worn: {}\n",
        figure(7.0, 7.3456, 212),
        figure(14.0, 10.0, 19),
        figure(0.75, 0.68159, 30),
        figure(0.0, 0.124, 30)
    );
    fs::write(folder.path().join("learned.yaml"), text).unwrap();
    folder
}

fn apply<'t>(folder: &Path, more: &[&str]) -> Shop<'t> {
    let learned = folder.join("learned.yaml");
    let arguments = ["learn", "--apply", learned.to_str().unwrap(), "--knowledge"];
    Shop::new()
        .arguments(arguments)
        .arguments([folder.join("k").to_str().unwrap()])
        .arguments(more.iter().copied())
}

fn texts(folder: &Path) -> Vec<(String, String)> {
    let source = Source::folder(&folder.join("k")).unwrap();
    let files = source.files();
    files
        .map(|(path, text)| (path.to_owned(), text.to_owned()))
        .collect()
}

#[test]
fn reviewed_figures_are_written_with_their_source_and_every_other_line_stays() {
    let folder = folder();
    let before = texts(folder.path());
    let told = apply(folder.path(), &["--yes"]).run();
    told.says("1 figure rests on fewer than 20 jobs: as they were.")
        .says("No finding that was not there before.");
    let after = texts(folder.path());
    let mut changed = Vec::new();
    for ((path, was), (same, is)) in before.iter().zip(&after) {
        assert_eq!(path, same);
        let lines = was.lines().zip(is.lines()).filter(|(was, is)| was != is);
        changed.extend(lines.map(|(_, is)| is.trim().to_owned()));
        assert_eq!(was.lines().count(), is.lines().count(), "{path}");
    }
    assert_eq!(
        changed,
        [
            "pump-worn: {title: Fluid pump worn past use, part: hydraulic supply, rate: 7.35, repair: renew-pump, \
             source: \"judged; jobs: 212, 2026-05 to 2026-11\"}",
            "suction-air-leak: 0.5, pump-worn: 0.68, fluid-overfilled: 0.2, secondary-valve-sticking-low: 0.72,",
            "high: {pump-worn: 0.12, secondary-solenoid-stuck-high: 0.92, pressure-sensor-reads-low: 0.8, \
             case-connector-poor: 0.55,",
            "source: \"judged; jobs: 30, 2026-05 to 2026-11\"",
        ]
    );
    // The figures were learned from what stood there before: they do not move twice.
    let again = apply(folder.path(), &["--yes"]).fails_with(2).run();
    again.complains("learned from 7, and the knowledge says 7.35 today");
}

/// A share that falls to nearly nothing is written as a hundredth: the old one would stay, and 0 would say never.
#[test]
fn a_share_that_falls_to_nearly_nothing_is_written_as_a_hundredth() {
    let folder = folder();
    let learned = folder.path().join("learned.yaml");
    let text = fs::read_to_string(&learned).unwrap();
    fs::write(&learned, text.replace("now: 0.68159", "now: 0.0031")).unwrap();
    apply(folder.path(), &["--yes"]).run();
    let loaded = load(&Source::folder(&folder.path().join("k")).unwrap()).unwrap();
    let family = &loaded.knowledge.families[0];
    let idle = family.measurement(family.measurement_named("gauge-secondary-idle").unwrap());
    let row = &idle.shows[&family.cause_named("pump-worn").unwrap()];
    let low = idle.outcome("low").unwrap();
    let share = row
        .0
        .iter()
        .find(|(outcome, _)| **outcome == low)
        .unwrap()
        .1;
    assert!((share.get() - 0.01).abs() < 1e-12, "{share:?}");
}

#[test]
fn nothing_is_written_before_it_was_shown_and_confirmed() {
    let folder = folder();
    let before = texts(folder.path());
    let told = apply(folder.path(), &[]).fails_with(2).run();
    told.says("pump-worn")
        .complains("--yes writes it without asking");
    let told = apply(folder.path(), &[])
        .at_a_terminal()
        .types("no\n")
        .fails_with(1)
        .run();
    told.says("Write 3 figures to 2 files? (yes/no)")
        .says("Nothing was written.");
    let told = apply(folder.path(), &["--least-jobs", "300"])
        .fails_with(1)
        .run();
    told.says("4 figures rest on fewer than 300 jobs: as they were.");
    assert_eq!(texts(folder.path()), before);
    apply(folder.path(), &["--least-jobs", "10"])
        .at_a_terminal()
        .types("yes\n")
        .run();
    let loaded = load(&Source::folder(&folder.path().join("k")).unwrap()).unwrap();
    let family = &loaded.knowledge.families[0];
    let tired = family.cause(family.cause_named("pump-tired").unwrap());
    assert_eq!(
        (tired.rate.get(), &*tired.source),
        (10.0, "judged; jobs: 19, 2026-05 to 2026-11")
    );
}

#[test]
fn the_knowledge_in_the_program_is_not_written_to() {
    let folder = folder();
    let learned = folder.path().join("learned.yaml");
    let told = Shop::new()
        .arguments(["learn", "--apply", learned.to_str().unwrap()])
        .fails_with(2)
        .run();
    told.complains("name the folder to write to with --knowledge");
}

#[test]
fn learned_figures_are_tried_with_check_and_diff_before_that() {
    let folder = folder();
    let (k, learned) = (folder.path().join("k"), folder.path().join("learned.yaml"));
    let [k, learned] = [&k, &learned].map(|path| path.to_str().unwrap());
    let says = "With figures learned from 212 closed jobs, 2026-05-03 to 2026-11-20:";
    let told = Shop::new()
        .arguments(["diff", "--knowledge", k, "--overlay", learned])
        .run();
    told.says(says).says("pump-worn").says("7.3456");
    let told = Shop::new()
        .arguments(["check", k, "--overlay", learned])
        .run();
    told.says(says);
    let json = Shop::new()
        .arguments(["check", k, "--overlay", learned, "--json"])
        .run();
    let json: serde_json::Value = serde_json::from_str(&json.out).unwrap();
    assert_eq!(json["overlay"]["jobs"], 212);
    // Nothing to compare.
    let told = Shop::new().arguments(["diff"]).fails_with(2).run();
    told.complains("name the newer knowledge folder, or learned figures with --overlay");
}
