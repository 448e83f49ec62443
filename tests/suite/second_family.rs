//! A family of another trade, the air brake of a trailer (invented), made of nothing but what `new` writes and
//! docs/knowledge.md describes; then diagnosed, planned, studied and learned from.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use halfsplit::knowledge::Knowledge;
use halfsplit::load::{Source, load};
use halfsplit::record::{Clock, Opened, Record};
use halfsplit::session::{Answer, Session};
use tempfile::TempDir;

use super::player::Player;
use super::shop::Shop;

/// What the maintainer makes of `family.yaml`.
const FAMILY: &str = "\
family: air-brake
title: Compressed-air brake of a trailer
jobs: brake jobs
notice: The maker's instructions come first.
worth: Every figure here is invented for a test.
shop: {labour_rate: 80, escalation: {minutes: 300, parts: 400}}
in_place: [coupled]
cautions:
  air: Let the air out before a line is opened.
sources: {judged: nobody's judgement}
care:
  close-out: Brake test, three stops.
set_ups:
  coupled: {title: Trailer coupled and charged, minutes: 5, group: coupling}
  uncoupled: {title: Trailer uncoupled and chocked, minutes: 5, group: coupling}
  gauge-fitted: {title: Gauge on the chamber port, minutes: 6, needs: [coupled], equipment: gauge}
instruments:
  gauge: {title: Gauge 0 to 16 bar, unit: bar, range: {from: 0, to: 16}, accuracy: {class: 1}}
";

/// The first repair and the first cause; `new` puts the others behind them.
const CAUSES: &str = "\
repairs:
  renew-hose: {title: Renew the hose, minutes: 30, parts: 25, verify: no hiss, verify_with: [hose-look]}
causes:
  hose-chafed: {title: Hose chafed, part: lines, rate: 20, repair: renew-hose, source: judged}
";

/// The other repairs: minutes and parts.
const REPAIRS: [(&str, &str, &str); 5] = [
    ("renew-relay-valve", "60", "140"),
    ("renew-chamber", "50", "60"),
    ("adjust-brake", "25", "0"),
    ("renew-linings", "120", "90"),
    ("free-mechanism", "80", "15"),
];

/// The other causes: part, rate, repair, complaint.
const OTHERS: [(&str, &str, &str, &str, &str); 9] = [
    (
        "relay-valve-sticking",
        "valves",
        "8",
        "renew-relay-valve",
        "brakes-drag",
    ),
    (
        "relay-valve-leaking",
        "valves",
        "10",
        "renew-relay-valve",
        "brakes-weak",
    ),
    (
        "chamber-torn",
        "chambers",
        "12",
        "renew-chamber",
        "brakes-weak",
    ),
    (
        "spring-broken",
        "chambers",
        "6",
        "renew-chamber",
        "brakes-drag",
    ),
    (
        "stroke-too-long",
        "mechanism",
        "25",
        "adjust-brake",
        "brakes-weak",
    ),
    (
        "stroke-too-short",
        "mechanism",
        "10",
        "adjust-brake",
        "brakes-drag",
    ),
    (
        "linings-worn",
        "linings",
        "18",
        "renew-linings",
        "brakes-weak",
    ),
    (
        "linings-oily",
        "linings",
        "7",
        "renew-linings",
        "brakes-weak",
    ),
    (
        "lever-seized",
        "mechanism",
        "14",
        "free-mechanism",
        "brakes-drag",
    ),
];

fn new(folder: &Path, arguments: &[&str]) {
    Shop::new()
        .arguments(["new"])
        .arguments(arguments.iter().copied())
        .arguments(["--in", folder.to_str().unwrap()])
        .run();
}

/// Fills a field in, as a maintainer does in an editor: of the entry, or of the whole file where none is named.
fn fill(folder: &Path, file: &str, entry: &str, field: &str, value: &str) {
    let path = folder.join(file);
    let text = fs::read_to_string(&path).unwrap();
    let mut inside = entry.is_empty();
    let mut filled = false;
    let lines = text.lines().map(|line| {
        inside |= line.trim_start().starts_with(&format!("{entry}:"));
        let indent = line.len() - line.trim_start().len();
        if filled || !inside || !line.trim_start().starts_with(&format!("{field}:")) {
            return line.to_owned();
        }
        filled = true;
        format!("{}{field}: {value}", &line[..indent])
    });
    let text: Vec<String> = lines.collect();
    assert!(filled, "{file}: {entry}.{field}");
    fs::write(&path, text.join("\n") + "\n").unwrap();
}

/// Deletes the marks of what is unfinished.
fn finish(folder: &Path) {
    let source = Source::folder(folder).unwrap();
    let files: Vec<(String, String)> = source
        .files()
        .map(|(p, t)| (p.to_owned(), t.to_owned()))
        .collect();
    for (path, text) in files {
        let marked = |line: &&str| line.trim_start().starts_with("unfinished: true");
        let lines: Vec<&str> = text.lines().filter(|line| !marked(line)).collect();
        fs::write(folder.join(path), lines.join("\n") + "\n").unwrap();
    }
}

/// A measurement that is answered in words: the outcome `abnormal`, and what shows it.
fn look(folder: &Path, name: &str, title: &str, minutes: &str, shows: &str) {
    new(folder, &["measurement", &format!("air-brake/{name}")]);
    let file = format!("air-brake/measurements/{name}.yaml");
    for (field, value) in [
        ("title", title),
        ("ask", title),
        ("minutes", minutes),
        ("abnormal", shows),
    ] {
        // The first `abnormal` is the choice, the second the figures.
        let entry = if field == "abnormal" { "shows" } else { name };
        fill(folder, &file, entry, field, value);
    }
    fill(folder, &file, "choices", "abnormal", "as it should not be");
    fill(folder, &file, "choices", "normal", "as it should be");
}

fn built() -> TempDir {
    let folder = TempDir::new().unwrap();
    let at = folder.path();
    new(at, &["family", "air-brake"]);
    for sample in [
        "measurements/first",
        "trees/slipping",
        "trees/shared",
        "cases/first",
        "exercises/first",
        "codes",
    ] {
        fs::remove_file(at.join(format!("air-brake/{sample}.yaml"))).unwrap();
    }
    fs::remove_file(at.join("vehicles/air-brake-example.yaml")).unwrap();
    fs::write(at.join("air-brake/family.yaml"), FAMILY).unwrap();
    fs::write(at.join("air-brake/causes.yaml"), CAUSES).unwrap();
    // The folder does not load in between, and `new` works all the same.
    for (name, title) in [
        ("brakes-weak", "The brakes are weak"),
        ("brakes-drag", "The brakes do not let go"),
    ] {
        new(
            at,
            &[
                "symptom",
                &format!("air-brake/{name}"),
                "--cause",
                "hose-chafed",
            ],
        );
        fill(
            at,
            &format!("air-brake/trees/{name}.yaml"),
            "",
            "title",
            title,
        );
    }
    for (name, minutes, parts) in REPAIRS {
        new(at, &["repair", &format!("air-brake/{name}")]);
        fill(at, "air-brake/causes.yaml", name, "minutes", minutes);
        fill(at, "air-brake/causes.yaml", name, "parts", parts);
        fill(at, "air-brake/causes.yaml", name, "verify", "brake test");
    }
    for (name, part, rate, repair, symptom) in OTHERS {
        new(
            at,
            &[
                "cause",
                &format!("air-brake/{name}"),
                "--repair",
                repair,
                "--symptom",
                symptom,
            ],
        );
        fill(at, "air-brake/causes.yaml", name, "part", part);
        fill(at, "air-brake/causes.yaml", name, "rate", rate);
    }
    look(
        at,
        "hiss",
        "Listen along the lines and valves",
        "4",
        "{hose-chafed: 0.9, relay-valve-leaking: 0.7, chamber-torn: 0.6}",
    );
    look(
        at,
        "hose-look",
        "Look at the hoses",
        "5",
        "{hose-chafed: 0.92}",
    );
    look(
        at,
        "valve-exhaust",
        "Feel the exhaust of the relay valve",
        "3",
        "{relay-valve-leaking: 0.88, relay-valve-sticking: 0.6}",
    );
    look(
        at,
        "lining-look",
        "Look at the linings",
        "15",
        "{linings-worn: 0.9, linings-oily: 0.75}",
    );
    look(
        at,
        "lever-by-hand",
        "Move the lever by hand",
        "8",
        "{lever-seized: 0.93, spring-broken: 0.3}",
    );
    look(
        at,
        "chamber-look",
        "Look into the chamber",
        "25",
        "{chamber-torn: 0.94, spring-broken: 0.92}",
    );
    look(
        at,
        "drum-heat",
        "Feel the drums after a drive",
        "10",
        "{stroke-too-short: 0.9, lever-seized: 0.7, spring-broken: 0.6, relay-valve-sticking: 0.85}",
    );
    new(at, &["measurement", "air-brake/stroke", "--number"]);
    let stroke = "air-brake/measurements/stroke.yaml";
    fill(at, stroke, "stroke", "title", "Stroke of the chamber");
    fill(at, stroke, "stroke", "ask", "Stroke at full braking");
    fill(
        at,
        stroke,
        "stroke",
        "reading",
        "{quantity: length, unit: mm}",
    );
    fill(
        at,
        stroke,
        "outcomes",
        "low",
        "{below: stroke.min}\n      long: {above: stroke.max}",
    );
    fill(
        at,
        stroke,
        "outcomes",
        "normal",
        "{from: stroke.min, to: stroke.max}",
    );
    fill(
        at,
        stroke,
        "shows",
        "low",
        "{stroke-too-short: 0.9}\n      long: {stroke-too-long: 0.93, linings-worn: 0.4}",
    );
    new(
        at,
        &["measurement", "air-brake/chamber-pressure", "--number"],
    );
    let pressure = "air-brake/measurements/chamber-pressure.yaml";
    fill(
        at,
        pressure,
        "chamber-pressure",
        "title",
        "Pressure at the chamber",
    );
    fill(
        at,
        pressure,
        "chamber-pressure",
        "ask",
        "Pressure at full braking",
    );
    fill(
        at,
        pressure,
        "chamber-pressure",
        "reading",
        "{quantity: pressure, unit: bar, instrument: gauge}",
    );
    fill(at, pressure, "outcomes", "low", "{below: service.min}");
    fill(at, pressure, "outcomes", "normal", "{from: service.min}");
    fill(
        at,
        pressure,
        "shows",
        "low",
        "{hose-chafed: 0.6, relay-valve-leaking: 0.7, chamber-torn: 0.7}\n    set_ups: [gauge-fitted]\n    cautions: [air]",
    );
    new(at, &["vehicle", "air-brake/demo-trailer"]);
    let sheet = "vehicles/demo-trailer.yaml";
    fill(at, sheet, "", "family", "air-brake\ninvented: true");
    fill(
        at,
        sheet,
        "limits",
        "service",
        "{min: 6.5, unit: bar, source: invented}",
    );
    fill(
        at,
        sheet,
        "limits",
        "stroke",
        "{min: 20, max: 45, unit: mm, source: invented}",
    );
    new(at, &["case", "air-brake/torn", "--symptom", "brakes-weak"]);
    let case = "air-brake/cases/torn.yaml";
    fill(
        at,
        case,
        "",
        "readings",
        "\n  - {measurement: hose-look, value: normal}\n  - {measurement: chamber-look, value: abnormal}",
    );
    let text = fs::read_to_string(at.join(case)).unwrap();
    let lines: Vec<&str> = text
        .lines()
        .filter(|line| !line.starts_with("  - {measurement: chamber-look, value: normal}"))
        .collect();
    fs::write(at.join(case), lines.join("\n") + "\n").unwrap();
    fill(at, case, "", "expect", "{repair: renew-chamber}");
    finish(at);
    folder
}

/// The records of jobs on trailers whose hose is chafed, closed as fixed.
fn jobs(knowledge: &'static Knowledge, folder: &Path, count: usize) {
    let family = knowledge.family("air-brake").unwrap();
    for job in 0..count {
        let path = folder.join(format!("{job}.job.jsonl"));
        let mut opened = Opened::new("air-brake", knowledge.fingerprints());
        opened.vehicle = Some("demo-trailer".to_owned());
        let mut record = Record::create(&path, opened, Clock::system()).unwrap();
        let session = Session::new(knowledge, record.state(), None, None).unwrap();
        let player = Player {
            reads: BTreeMap::from([("hiss", "abnormal"), ("hose-look", "abnormal")]),
            symptom: "brakes-weak".to_owned(),
            cured: true,
        };
        let mut prompt = session.next(record.history(), record.state().opened_at);
        while let Some(typed) = player.types(family, &prompt) {
            let step = session.take(record.history(), &prompt, Answer::Typed(typed));
            for event in step.events {
                record.append(event).unwrap();
            }
            let now = record.state().opened_at;
            prompt = step
                .again
                .unwrap_or_else(|| session.next(record.history(), now));
            assert!(record.events().len() < 200, "the job does not end");
        }
        let closed = record.state().closed.as_ref().expect("the job is closed");
        assert_eq!(closed.what.repairs, ["renew-hose"]);
    }
}

#[test]
fn a_family_of_another_trade_is_started_filled_in_diagnosed_studied_and_learned_from() {
    let folder = built();
    let at = folder.path().to_str().unwrap();
    let on = |arguments: &[&str]| {
        Shop::new()
            .arguments(["--knowledge", at])
            .arguments(arguments.to_vec())
            .run()
    };
    on(&["check", "--deny"])
        .says("1 family, 2 symptoms, 10 causes, 6 repairs, 9 measurements, 1 vehicle, 1 case.")
        .says("No findings.");
    // In its own words: neither driveline nor valve body is spoken of.
    on(&["show", "chamber-torn"]).says("Present in 12 of 1,000 brake jobs");
    on(&["next", "brakes-weak", "--vehicle", "demo-trailer"]).says("hiss");
    on(&["plan", "brakes-drag", "--vehicle", "demo-trailer"]).says_not("driveline");
    on(&["study", "brakes-weak", "brakes-drag", "--vehicles", "3"]).says("chamber-torn");
    let source = Source::folder(folder.path()).unwrap();
    let loaded = load(&source).unwrap_or_else(|findings| panic!("{findings}"));
    let knowledge: &'static Knowledge = Box::leak(Box::new(loaded.knowledge));
    let records = TempDir::new().unwrap();
    jobs(knowledge, records.path(), 3);
    let learned = records.path().join("learned.yaml");
    on(&[
        "learn",
        records.path().to_str().unwrap(),
        "--out",
        learned.to_str().unwrap(),
    ])
    .says("3 jobs");
    assert!(
        fs::read_to_string(learned)
            .unwrap()
            .contains("chamber-torn")
    );
    // And tables of it.
    let tables = records.path().join("tables");
    on(&["tables", "--into", tables.to_str().unwrap()]).says("coverage.html");
    let coverage = fs::read_to_string(tables.join("coverage.csv")).unwrap();
    let torn = coverage
        .lines()
        .find(|line| line.starts_with("chamber-torn,"))
        .unwrap();
    assert!(
        torn.starts_with("chamber-torn,renew-chamber,12,brakes-weak,1,0,"),
        "{torn}"
    );
    let pairs = fs::read_to_string(tables.join("pairs.csv")).unwrap();
    // By hand: 0.94 against the chance of 0.02.
    assert!(pairs.contains("chamber-look,0.92"), "{pairs}");
    let figures = fs::read_to_string(tables.join("figures.csv")).unwrap();
    assert!(
        figures.contains("shows,hose-chafed,hose-look,abnormal,0.92,judged"),
        "{figures}"
    );
    assert!(
        figures.contains("rate,linings-worn,,,18.0,judged"),
        "{figures}"
    );
}
