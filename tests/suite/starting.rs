use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use halfsplit::knowledge::Knowledge;
use halfsplit::load::{FileKind, NoPlace, Source, insert, load, schema};
use serde_json::Value;
use tempfile::TempDir;

use crate::shop::{Shop, Told};

/// A folder with a started family in it, filled in as far as its words go.
pub(crate) fn started() -> TempDir {
    let folder = TempDir::new().unwrap();
    new(folder.path(), &["family", "my-cvt"]).run();
    finish(folder.path());
    folder
}

/// Deletes the marks of what is unfinished.
fn finish(folder: &Path) {
    for (path, text) in texts(folder) {
        let finished = text
            .lines()
            .filter(|line| !line.trim_start().starts_with("unfinished: true"));
        let finished: Vec<&str> = finished.collect();
        fs::write(folder.join(path), finished.join("\n") + "\n").unwrap();
    }
}

fn new<'t>(folder: &Path, arguments: &[&str]) -> Shop<'t> {
    Shop::new()
        .arguments(["new"])
        .arguments(arguments.iter().copied())
        .arguments(["--in", folder.to_str().unwrap()])
}

/// The texts of a folder's files, by path.
fn texts(folder: &Path) -> BTreeMap<String, String> {
    let source = Source::folder(folder).unwrap();
    source
        .files()
        .map(|(path, text)| (path.to_owned(), text.to_owned()))
        .collect()
}

/// The knowledge of a folder, and its warnings.
fn knowledge(folder: &Path) -> (Knowledge, String) {
    match load(&Source::folder(folder).unwrap()) {
        Ok(loaded) => (loaded.knowledge, loaded.warnings.to_string()),
        Err(findings) => panic!("{findings}"),
    }
}

fn next(folder: &Path, symptom: &str) -> Told {
    Shop::new()
        .arguments([
            "--knowledge",
            folder.to_str().unwrap(),
            "next",
            symptom,
            "--vehicle",
            "my-cvt-example",
        ])
        .run()
}

#[test]
fn a_new_family_loads_without_a_finding_and_ranks_its_measurements() {
    let folder = started();
    let (knowledge, warnings) = knowledge(folder.path());
    assert_eq!(warnings, "");
    let family = knowledge.family("my-cvt").unwrap();
    assert_eq!((family.causes.len(), family.measurements.len()), (4, 3));
    assert_eq!(knowledge.vehicles.len(), 1);
    next(folder.path(), "slipping")
        .says("fluid-level")
        .says("supply-pressure");
}

/// The names of all fields that a schema describes.
fn fields(schema: &Value, found: &mut BTreeSet<String>) {
    match schema {
        Value::Object(map) => {
            if let Some(properties) = map.get("properties").and_then(Value::as_object) {
                found.extend(properties.keys().cloned());
            }
            map.values().for_each(|value| fields(value, found));
        }
        Value::Array(list) => list.iter().for_each(|value| fields(value, found)),
        _ => {}
    }
}

#[test]
fn a_new_family_shows_or_explains_every_field_there_is() {
    let folder = TempDir::new().unwrap();
    new(folder.path(), &["family", "my-cvt"]).run();
    let text: String = texts(folder.path()).into_values().collect();
    for kind in FileKind::ALL {
        let mut names = BTreeSet::new();
        fields(&schema(kind, None), &mut names);
        for name in names {
            assert!(
                text.contains(&format!("{name}:")),
                "{}: {name}",
                kind.name()
            );
        }
    }
}

#[test]
fn a_new_symptom_is_a_complaint_of_the_family_with_the_causes_named() {
    let folder = started();
    let before = texts(folder.path());
    new(
        folder.path(),
        &[
            "symptom",
            "my-cvt/whines-cold",
            "--cause",
            "pump-worn",
            "--cause",
            "fluid-low",
        ],
    )
    .run()
    .says("trees/whines-cold.yaml")
    .says("halfsplit check");
    let unfinished = knowledge(folder.path());
    assert!(
        unfinished.0.families[0]
            .symptom_named("whines-cold")
            .is_none()
    );
    assert!(
        unfinished.1.contains("warning[unfinished]"),
        "{}",
        unfinished.1
    );
    // What stood stands.
    let after = texts(folder.path());
    assert!(before.iter().all(|(path, text)| after[path] == *text));
    finish(folder.path());
    let (knowledge, warnings) = knowledge(folder.path());
    assert_eq!(warnings, "");
    let family = knowledge.family("my-cvt").unwrap();
    let symptom = family.symptom(family.symptom_named("whines-cold").unwrap());
    assert_eq!(symptom.title, "Whines cold");
    assert_eq!(symptom.matches("It whines when cold"), 1);
    next(folder.path(), "whines-cold").says("pump-worn");
}

#[test]
fn a_new_measurement_is_offered_in_words_and_as_a_number() {
    let folder = started();
    let clutch = ["--cause", "clutch-worn"];
    new(
        folder.path(),
        &[&["measurement", "my-cvt/smell"][..], &clutch].concat(),
    )
    .run();
    new(
        folder.path(),
        &[
            &["measurement", "my-cvt/clutch-pressure", "--number"][..],
            &clutch,
        ]
        .concat(),
    )
    .run();
    let unfinished = knowledge(folder.path()).0;
    assert!(unfinished.families[0].measurement_named("smell").is_none());
    finish(folder.path());
    let (knowledge, warnings) = knowledge(folder.path());
    assert_eq!(warnings, "");
    let family = knowledge.family("my-cvt").unwrap();
    let number = family.measurement(family.measurement_named("clutch-pressure").unwrap());
    assert!(number.number().is_some());
    next(folder.path(), "slipping")
        .says("smell")
        .says("clutch-pressure");
}

#[test]
fn a_new_cause_goes_behind_the_last_and_into_the_tree_named() {
    let folder = started();
    let before = texts(folder.path());
    new(
        folder.path(),
        &["cause", "my-cvt/seal-torn", "--symptom", "slipping"],
    )
    .run()
    .says("no other line changed");
    let after = texts(folder.path());
    let (without, _) = knowledge(folder.path());
    assert_eq!(without.families[0].causes.len(), 4);
    assert_eq!(without.families[0].repairs.len(), 4);
    finish(folder.path());
    let (with, warnings) = knowledge(folder.path());
    assert_eq!(warnings, "");
    let family = with.family("my-cvt").unwrap();
    let cause = family.cause(family.cause_named("seal-torn").unwrap());
    assert_eq!(cause.title, "Seal torn");
    assert_eq!(family.repair(cause.repair).name, "mend-seal-torn");
    next(folder.path(), "slipping").says("[seal-torn]");
    // Every line stands, in order; nothing else changed.
    for (path, text) in &before {
        let mut now = after[path].lines();
        assert!(
            text.lines().all(|line| now.any(|other| other == line)),
            "{path}:\n{}",
            after[path]
        );
        let grows = path.ends_with("causes.yaml") || path.ends_with("slipping.yaml");
        assert_eq!(after[path] == *text, !grows, "{path}");
    }

    // With a repair that is there, and no tree: the warning says what is left to do.
    new(
        folder.path(),
        &["cause", "my-cvt/seal-hard", "--repair", "renew-clutch"],
    )
    .run()
    .says("Put `- seal-hard` into the tree of each complaint");
    finish(folder.path());
    let (knowledge, warnings) = knowledge(folder.path());
    assert!(warnings.contains("no tree holds the cause"), "{warnings}");
    assert_eq!(knowledge.family("my-cvt").unwrap().repairs.len(), 5);
}

#[test]
fn a_cause_can_be_started_in_the_shipped_knowledge() {
    let folder = TempDir::new().unwrap();
    for (path, text) in Source::embedded().files() {
        let path = folder.path().join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    for symptom in [
        "slipping",
        "no-drive",
        "harsh-engagement",
        "tight-turn-binding",
    ] {
        let name = format!("chain-cvt/new-{symptom}");
        new(folder.path(), &["cause", &name, "--symptom", symptom]).run();
    }
    new(folder.path(), &["symptom", "chain-cvt/whines"]).run();
    new(folder.path(), &["measurement", "chain-cvt/whine-pitch"]).run();
    finish(folder.path());
    let (knowledge, warnings) = knowledge(folder.path());
    assert_eq!(warnings, "");
    let family = knowledge.family("chain-cvt").unwrap();
    assert!(family.cause_named("new-tight-turn-binding").is_some());
}

#[test]
fn nothing_is_written_over_and_nothing_half_written() {
    let folder = started();
    let before = texts(folder.path());
    let refused = |arguments: &[&str], words: &str| {
        new(folder.path(), arguments)
            .fails_with(2)
            .run()
            .complains(words);
        assert_eq!(texts(folder.path()), before, "{arguments:?}");
    };
    refused(
        &["family", "my-cvt"],
        "there is a family or a file of that name already",
    );
    refused(
        &["symptom", "my-cvt/slipping"],
        "has a symptom called slipping already",
    );
    refused(
        &["measurement", "my-cvt/fluid-level"],
        "has a measurement called fluid-level",
    );
    refused(
        &["cause", "my-cvt/pump-worn"],
        "has a cause called pump-worn already",
    );
    // A file of that name with another thing in it.
    refused(&["measurement", "my-cvt/first"], "it is not written over");
    refused(&["symptom", "my-cvt/shared"], "it is not written over");
    for name in ["My-CVT", "my cvt", "a--b", "../up", "", "vehicles"] {
        refused(&["family", name], "");
    }
    for name in [
        "my-cvt/Up",
        "my-cvt/a b",
        "my-cvt/../x",
        "my-cvt/",
        "other/x",
    ] {
        for kind in [
            "symptom",
            "measurement",
            "cause",
            "repair",
            "vehicle",
            "case",
        ] {
            refused(&[kind, name], "");
        }
    }
    refused(
        &["symptom", "my-cvt/x", "--cause", "pump-wron"],
        "did you mean `pump-worn`?",
    );
    refused(
        &["cause", "my-cvt/x", "--symptom", "sliping"],
        "did you mean `slipping`?",
    );
    refused(
        &["cause", "my-cvt/x", "--repair", "No Id"],
        "no id of a repair",
    );
    Shop::new()
        .arguments(["new", "symptom", "my-cvt/x"])
        .fails_with(2)
        .run()
        .complains("name the knowledge folder: --in DIR");
}

/// Ids that alone would read as a number or a truth value.
#[test]
fn ids_that_look_like_something_else_are_written_so_that_they_stay_ids() {
    let folder = started();
    for name in ["true", "null", "4", "1e5", "2wd-stuck", "no"] {
        let named = format!("my-cvt/{name}");
        new(folder.path(), &["measurement", &named]).run();
        new(folder.path(), &["symptom", &named]).run();
        new(folder.path(), &["cause", &named, "--symptom", name]).run();
    }
    new(folder.path(), &["family", "1e5"]).run();
    finish(folder.path());
    let (knowledge, warnings) = knowledge(folder.path());
    assert_eq!(warnings, "");
    assert!(knowledge.family("1e5").is_some());
}

#[test]
fn what_is_wrong_already_is_no_obstacle_and_is_left_alone() {
    let folder = started();
    let path = folder.path().join("my-cvt/causes.yaml");
    let text = fs::read_to_string(&path)
        .unwrap()
        .replace("rate: 12", "rate: -12");
    fs::write(&path, &text).unwrap();
    fs::write(
        folder.path().join("my-cvt/trees/broken.yaml"),
        "symptom: [\n",
    )
    .unwrap();
    new(folder.path(), &["measurement", "my-cvt/x"]).run();
    new(
        folder.path(),
        &["cause", "my-cvt/x", "--symptom", "slipping"],
    )
    .run();
    new(folder.path(), &["vehicle", "my-cvt/x"]).run();
    let now = fs::read_to_string(&path).unwrap();
    assert!(
        now.contains("rate: -12") && now.contains("\n  x:\n"),
        "{now}"
    );
}

#[test]
fn no_job_is_opened_on_a_family_that_is_unfinished() {
    let folder = TempDir::new().unwrap();
    new(folder.path(), &["family", "my-cvt"]).run();
    let (_, warnings) = knowledge(folder.path());
    assert!(
        warnings.contains("the family `my-cvt` is unfinished"),
        "{warnings}"
    );
    let knowledge = folder.path().to_str().unwrap();
    for arguments in [
        ["next", "slipping"],
        ["diagnose", "slipping"],
        ["plan", "slipping"],
    ] {
        Shop::new()
            .arguments(["--knowledge", knowledge])
            .arguments(arguments)
            .fails_with(2)
            .run()
            .complains("the family my-cvt is unfinished");
    }
    Shop::new()
        .arguments(["check", "--deny", knowledge])
        .fails_with(1)
        .run();
}

#[test]
fn a_new_vehicle_is_asked_for_every_limit_of_its_family() {
    let folder = TempDir::new().unwrap();
    for (path, text) in Source::embedded().files() {
        let path = folder.path().join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    new(folder.path(), &["vehicle", "chain-cvt/our-van"]).run();
    let path = folder.path().join("vehicles/our-van.yaml");
    let text = fs::read_to_string(&path).unwrap();
    assert!(
        text.contains("secondary-idle: {min: 0, max: 0, unit: kPa,"),
        "{text}"
    );
    assert!(
        text.contains("  # Secondary pressure at idle, gauge"),
        "{text}"
    );
    // Filled in, nothing is lacking; until then it is not there, and what was not filled in is told.
    let (knowledge, _) = knowledge(folder.path());
    assert_eq!(knowledge.vehicles.len(), 2);
    finish(folder.path());
    let filled = fs::read_to_string(&path).unwrap();
    let filled = filled
        .replace("max: 0", "max: 2")
        .replace("far: 0", "far: 3");
    fs::write(&path, filled).unwrap();
    let source = Source::folder(folder.path()).unwrap();
    let loaded = load(&source).unwrap_or_else(|findings| panic!("{findings}"));
    assert_eq!(loaded.warnings.to_string(), "");
    assert_eq!(loaded.knowledge.vehicles.len(), 3);
    let names = |vehicle: &str| {
        let sheet = loaded
            .knowledge
            .vehicles
            .iter()
            .find(|sheet| sheet.name == vehicle)
            .unwrap();
        sheet.limits.keys().cloned().collect::<BTreeSet<_>>()
    };
    assert_eq!(names("our-van"), names("demo-estate"));
    let findings = halfsplit::lint::judge(&source, &loaded.knowledge).0;
    let told = |one: &&halfsplit::load::Finding| {
        one.code == halfsplit::load::Code::DanglingSource
            && one.place.file == "vehicles/our-van.yaml"
    };
    assert_eq!(findings.iter().filter(told).count(), names("our-van").len());
}

#[test]
fn a_case_is_started_by_hand_or_from_a_job_that_was_closed_as_fixed() {
    let folder = started();
    new(folder.path(), &["repair", "my-cvt/renew-seal"]).run();
    new(
        folder.path(),
        &["case", "my-cvt/level-low", "--symptom", "slipping"],
    )
    .run();
    let cases = || knowledge(folder.path()).0.families[0].cases.len();
    let before = cases();
    finish(folder.path());
    assert_eq!(cases(), before + 1);
    new(folder.path(), &["case", "my-cvt/x", "--symptom", "sliping"])
        .fails_with(2)
        .run()
        .complains("did you mean `slipping`?");

    // The shipped example is a job that was closed.
    let folder = TempDir::new().unwrap();
    for (path, text) in Source::embedded().files() {
        let path = folder.path().join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/example/demo.job.jsonl");
    let job = ["--job", example.to_str().unwrap()];
    new(
        folder.path(),
        &[&["case", "chain-cvt/from-the-bay"][..], &job].concat(),
    )
    .run();
    finish(folder.path());
    let source = Source::folder(folder.path()).unwrap();
    let loaded = load(&source).unwrap_or_else(|findings| panic!("{findings}"));
    let runs = halfsplit::cases::run(&loaded.knowledge, &loaded.knowledge.families[0]);
    let run = runs
        .iter()
        .find(|run| run.file.ends_with("from-the-bay.yaml"))
        .unwrap();
    assert!(
        run.passes(),
        "{:?}\n{}",
        run.faults,
        texts(folder.path())["chain-cvt/cases/from-the-bay.yaml"]
    );
    assert!(run.chain.len() > 3, "{}", run.chain.len());
    // Of another family, and of a job that is still open.
    new(folder.path(), &["family", "other"]).run();
    new(folder.path(), &[&["case", "other/x"][..], &job].concat())
        .fails_with(2)
        .run()
        .complains("the job is on the family chain-cvt");
    let lines = fs::read_to_string(&example).unwrap();
    let lines: Vec<&str> = lines.split_inclusive('\n').take(20).collect();
    let open = folder.path().join("open.job.jsonl");
    fs::write(&open, lines.concat()).unwrap();
    let job = ["--job", open.to_str().unwrap()];
    new(
        folder.path(),
        &[&["case", "chain-cvt/x"][..], &job].concat(),
    )
    .fails_with(2)
    .run()
    .complains("the job is not closed as fixed");
}

#[test]
fn where_causes_are_not_written_by_line_the_lines_are_given_to_paste() {
    let folder = started();
    let path: PathBuf = folder.path().join("my-cvt/causes.yaml");
    let text = fs::read_to_string(&path).unwrap();
    let (head, tail) = text.split_once("\ncauses:\n").unwrap();
    let inner: Vec<&str> = tail
        .lines()
        .filter(|line| line.starts_with("  ") && !line.trim().starts_with('#'))
        .map(str::trim)
        .collect();
    fs::write(&path, format!("{head}\ncauses: {{{}}}\n", inner.join(", "))).unwrap();
    let before = texts(folder.path());
    new(folder.path(), &["cause", "my-cvt/x", "--repair", "fill-up"])
        .fails_with(2)
        .run()
        .complains("its `causes` is not written with one entry a line")
        .complains("repair: fill-up");
    assert_eq!(texts(folder.path()), before);
}

#[test]
fn an_entry_is_put_behind_the_last_whatever_stands_around_it() {
    let of = |text: &str, way: &[&str]| insert(text, way, "new:\n  a: 1");
    // Remarks, a text of several lines that looks like a remark, a section behind, no line end.
    for (text, expected) in [
        ("m:\n  old: {a: 2}", "m:\n  old: {a: 2}\n  new:\n    a: 1\n"),
        (
            "m:\n  old:\n    a: 2\n\n# next\nn:\n  x: 1\n",
            "m:\n  old:\n    a: 2\n  new:\n    a: 1\n\n# next\nn:\n  x: 1\n",
        ),
        (
            "m:\n  old:\n    t: >-\n      one\n\n      # two\n  # a remark\nn: 1\n",
            "m:\n  old:\n    t: >-\n      one\n\n      # two\n  new:\n    a: 1\n  # a remark\nn: 1\n",
        ),
        (
            "m:\r\n    old: {a: 2,\r\n      b: 3}\r\nn: 1\r\n",
            "m:\r\n    old: {a: 2,\r\n      b: 3}\r\n    new:\r\n      a: 1\r\nn: 1\r\n",
        ),
        (
            "\u{feff}m:\n old: 1 # r\n",
            "\u{feff}m:\n old: 1 # r\n new:\n   a: 1\n",
        ),
    ] {
        assert_eq!(of(text, &["m"]).as_deref(), Ok(expected), "{text}");
    }
    // Braces, nothing, a text kept with its blank lines, the same name again.
    for text in [
        "m: {old: 1}\n",
        "m: {old: 1,\n  other: 2}\n",
        "m:\n",
        "m: 1\n",
        "m:\n  old: |+\n    text\n\n\n\nn: 1\n",
        "m:\n  new: 1\n",
    ] {
        assert!(
            matches!(of(text, &["m"]), Err(NoPlace::NotByLine(_))),
            "{text}: {:?}",
            of(text, &["m"])
        );
    }
    assert_eq!(of("a: [\n", &["m"]), Err(NoPlace::Unreadable));
    assert_eq!(of("n: 1\n", &["m"]), Err(NoPlace::Missing("m".to_owned())));
    // A list, its dashes as deep as its name or deeper.
    for indent in ["", "  "] {
        let text = format!("top:\n  any:\n  {indent}- a\n  {indent}- {{b: 1}}\nend: 1\n");
        let expected =
            format!("top:\n  any:\n  {indent}- a\n  {indent}- {{b: 1}}\n  {indent}- new\nend: 1\n");
        assert_eq!(
            insert(&text, &["top", "any"], "- new").as_deref(),
            Ok(&*expected)
        );
    }
}

#[test]
fn the_family_follows_from_the_vehicle_or_the_complaint() {
    let folder = started();
    new(folder.path(), &["family", "other"]).run();
    new(
        folder.path(),
        &["symptom", "other/whines", "--cause", "pump-worn"],
    )
    .run();
    finish(folder.path());
    let next = |arguments: &[&str]| {
        Shop::new()
            .arguments(["--knowledge", folder.path().to_str().unwrap(), "next"])
            .arguments(arguments.to_vec())
    };
    next(&["slipping", "--vehicle", "my-cvt-example"])
        .run()
        .says("my-cvt");
    next(&["whines"]).run().says("pump-worn");
    next(&["slipping"])
        .fails_with(2)
        .run()
        .complains("name one with --family (my-cvt, other)");
}
