use std::collections::BTreeSet;

use halfsplit::knowledge::{Expect, Reading};
use halfsplit::load::{Code, Severity};

use super::textbook::Book;

const FAMILY: &str = "bench/family.yaml";
const CAUSES: &str = "bench/causes.yaml";
const CODES: &str = "bench/codes.yaml";
const MEASUREMENTS: &str = "bench/measurements/all.yaml";
const TREE: &str = "bench/trees/no-light.yaml";
const SHARED: &str = "bench/trees/shared.yaml";
const CASE: &str = "bench/cases/dark-lamp.yaml";
const VEHICLE: &str = "vehicles/trainer.yaml";

/// The textbook family with one text replaced by another, and the one finding it must give.
struct Broken {
    code: Code,
    path: &'static str,
    from: &'static str,
    to: &'static str,
    /// A text that starts where the finding points; empty for the whole file.
    at: &'static str,
    /// What the help must hold.
    help: &'static str,
}

/// Shorthand for a row of the table.
const fn broken(
    code: Code,
    path: &'static str,
    from: &'static str,
    to: &'static str,
    at: &'static str,
    help: &'static str,
) -> Broken {
    Broken {
        code,
        path,
        from,
        to,
        at,
        help,
    }
}

/// Every way to break the textbook family by one edit of a text.
#[rustfmt::skip] // a table reads as a table
const BROKEN: &[Broken] = &[
    broken(Code::ControlCharacter, CAUSES, "Renew the lamp", "Renew\u{7} the lamp", "\u{7}", "delete it"),
    broken(Code::ControlCharacter, CAUSES, "title: Renew the lamp", "title: \"Renew\\u202e the lamp\"", "\"Renew", "delete it"),
    broken(Code::NotYaml, CAUSES, "{title: Mend", "{{title: Mend", "\ncauses:\n", "every { ends with }"),
    broken(Code::DuplicateKey, CAUSES, "    parts: 3\n", "    parts: 3\n    parts: 4\n", "parts: 4", "keep one"),
    broken(Code::DuplicateKey, CAUSES, "  mend-wire: {", "  renew-lamp: {title: R, minutes: 1, parts: 1, verify: v}\n  mend-wire: {", "renew-lamp: {", "keep one"),
    broken(Code::UnknownField, CAUSES, "    verify: it", "    verfy: it", "verfy", "did you mean `verify`?"),
    broken(Code::UnknownField, FAMILY, "max_order: 2", "colour: 2", "colour", "the fields are family, title"),
    broken(Code::MissingField, CAUSES, "    parts: 3\n", "", "renew-lamp", ""),
    broken(Code::MissingField, FAMILY, "title: Lamp on a test bench\n", "", "family: bench", ""),
    broken(Code::MissingField, SHARED, "      - event: Two of three\n        at_least: 2\n", "      - at_least: 2\n", "at_least", "say in words"),
    broken(Code::MissingField, CASE, ", value: 12.1 V", "", "supply}", "`values`"),
    broken(Code::MissingField, CASE, "vehicle: trainer\n", "", "dark lamp\nsymptoms", "add `vehicle:`"),
    broken(Code::MissingField, VEHICLE, ", unit: V", "", "supply-window", "unit: kPa"),
    broken(Code::MissingField, FAMILY, "    holds: {from: supply-window.min, to: supply-window.max}\n", "", "supply-steady:", ""),
    broken(Code::WrongType, CAUSES, "title: Renew the lamp", "title: 75", "75", "quotes"),
    broken(Code::WrongType, CAUSES, "minutes: 5", "minutes: five", "five", "bare number"),
    broken(Code::WrongType, CAUSES, "minutes: 5", "minutes:", "minutes:\n", "give a value"),
    broken(Code::WrongType, MEASUREMENTS, "[Cover off., Probe on.]", "[Cover off., {Now: Probe on.}]", "{Now", "put the whole text in quotes"),
    broken(Code::WrongType, MEASUREMENTS, "cautions: [shock]", "cautions: shock", "shock", ""),
    broken(Code::UnknownWord, VEHICLE, "units: metric", "units: metrik", "metrik", "did you mean `metric`?"),
    broken(Code::UnknownWord, MEASUREMENTS, "rest: chance", "rest: nowhere", "nowhere", "it takes normal, chance"),
    broken(Code::BadId, VEHICLE, "  lamp-colour:", "  lamp-colour: {words: clear, source: invented}\n  Lamp_Glass:", "Lamp_Glass", "did you mean `lamp-glass`?"),
    broken(Code::EmptyText, CAUSES, "title: Renew the lamp", "title: ' '", "' '", "write it"),
    broken(Code::DuplicateName, MEASUREMENTS, "[frayed, normal]", "[frayed, normal, frayed]", "frayed]", ""),
    broken(Code::DuplicateName, MEASUREMENTS, "cautions: [shock]", "cautions: [shock, shock]", "shock]", "keep one"),
    broken(Code::DuplicateName, CAUSES, "    parts: 3\n", "    parts: 3\n    formerly: [mend-wire]\n", "mend-wire]", "could mean either"),
    broken(Code::DuplicateName, TREE, "title: The", "formerly: [dim, dim]\ntitle: The", "dim]", "could mean either"),
    broken(Code::DuplicateName, CASE, "symptoms: [no-light]", "symptoms: [no-light]\nabsent: [no-light]", "no-light]\nvehicle", ""),
    broken(Code::UnknownFamily, FAMILY, "family: bench", "family: bnech", "bnech", "did you mean `bench`?"),
    broken(Code::UnknownVehicle, CASE, "vehicle: trainer", "vehicle: trianer", "trianer", "did you mean `trainer`?"),
    broken(Code::UnknownCause, TREE, "- lamp-broken", "- lamp-brokn", "lamp-brokn", "did you mean `lamp-broken`?"),
    broken(Code::UnknownCause, TREE, "- lamp-broken", "- no-current", "no-current", "shared: no-current"),
    broken(Code::UnknownCause, MEASUREMENTS, "{lamp-broken: 0.7}", "{lamp-borken: 0.7}", "lamp-borken", "did you mean `lamp-broken`?"),
    broken(Code::UnknownCause, FAMILY, "[lamp-broken, wire", "[lamb-broken, wire", "lamb-broken", "did you mean `lamp-broken`?"),
    broken(Code::UnknownRepair, CAUSES, "repair: renew-lamp", "repair: renew-lamps", "renew-lamps", "did you mean `renew-lamp`?"),
    broken(Code::UnknownRepair, CASE, "repair: renew-lamp", "repair: polish", "polish", "use a name that is described"),
    broken(Code::UnknownMeasurement, CAUSES, "[wire-look]", "[wire-lok]", "wire-lok", "did you mean `wire-look`?"),
    broken(Code::UnknownMeasurement, FAMILY, "[supply, lamp-look]", "[suply, lamp-look]", "suply", "did you mean `supply`?"),
    broken(Code::UnknownOutcome, MEASUREMENTS, "black: {lamp-broken", "blakc: {lamp-broken", "blakc", "did you mean `black`?"),
    broken(Code::UnknownOutcome, MEASUREMENTS, "normal: whole", "normal: hole", "hole}", "did you mean `whole`?"),
    broken(Code::UnknownOutcome, CASE, "value: black", "value: balck", "balck", "did you mean `black`?"),
    broken(Code::UnknownOutcome, CODES, "kind: open", "kind: opne", "opne", "did you mean `open`?"),
    broken(Code::UnknownSymptom, MEASUREMENTS, "for: [no-light]", "for: [no-ligth]", "no-ligth", "did you mean `no-light`?"),
    broken(Code::UnknownShared, TREE, "shared: no-current", "shared: no-curent", "no-curent", "did you mean `no-current`?"),
    broken(Code::UnknownSetUp, MEASUREMENTS, "set_ups: [cover-off]", "set_ups: [cover-of]", "cover-of]", "did you mean `cover-off`?"),
    broken(Code::UnknownInstrument, MEASUREMENTS, "instrument: voltmeter, plausible", "instrument: voltmetre, plausible", "voltmetre", "did you mean `voltmeter`?"),
    broken(Code::UnknownCondition, MEASUREMENTS, "conditions: [switched-on]", "conditions: [switched-in]", "switched-in", "did you mean `switched-on`?"),
    broken(Code::UnknownCaution, MEASUREMENTS, "cautions: [shock]", "cautions: [shok]", "shok", "did you mean `shock`?"),
    broken(Code::UnknownCare, CAUSES, "care: [clean]", "care: [cleen]", "cleen", "did you mean `clean`?"),
    broken(Code::UnknownSignal, MEASUREMENTS, "value: supply-voltage", "value: suply-voltage", "suply-voltage", "did you mean `supply-voltage`?"),
    broken(Code::UnknownWord, MEASUREMENTS, "switch: [closed]", "switch: [close]", "close]", "its states are closed, open"),
    broken(Code::UnknownWord, MEASUREMENTS, "takes: smallest", "takes: least", "least", "it takes mean, largest, smallest, furthest"),
    broken(Code::WrongDimension, MEASUREMENTS, "value: supply-voltage", "value: switch", "value", ""),
    broken(Code::ReadingShape, MEASUREMENTS, "reads: {value: supply-voltage}, ", "", "{while", "a number has `reads` with value"),
    broken(Code::ReadingShape, FAMILY, "quantity: voltage, unit: V, range", "range", "supply-voltage: {title", "give `quantity` and `unit`, or `states`"),
    broken(Code::UnknownUnit, MEASUREMENTS, "unit: mV", "unit: mVV", "mVV", "did you mean `mV`?"),
    broken(Code::UnknownUnit, VEHICLE, "unit: V", "unit: furlong", "furlong", "units are V, mV"),
    broken(Code::UnknownQuantity, MEASUREMENTS, "quantity: voltage, unit: V, instrument: voltmeter, plausible", "quantity: volage, unit: V, instrument: voltmeter, plausible", "volage", "did you mean `voltage`?"),
    broken(Code::WrongDimension, VEHICLE, "unit: V", "unit: kPa", "kPa", "use one of V, mV"),
    broken(Code::WrongDimension, MEASUREMENTS, "unit: mV", "unit: ohm", "ohm", "use one of V, mV"),
    broken(Code::WrongDimension, MEASUREMENTS, "instrument: voltmeter, plausible", "instrument: gauge, plausible", "gauge", ""),
    broken(Code::BadProbability, MEASUREMENTS, "{lamp-broken: 0.7}", "{lamp-broken: -0.7}", "-0.7", "between 0 and 1"),
    broken(Code::BadProbability, TREE, "strength: 0.9", "strength: 0", "0}", "above 0"),
    broken(Code::BadProbability, FAMILY, "unlisted: 0.02", "unlisted: 2", "2\nfloor", "did you mean `0.02`?"),
    broken(Code::BadRate, CAUSES, "rate: 20", "rate: 1000", "1000", "jobs in 1,000"),
    broken(Code::BadRate, CAUSES, "rate: 20", "rate: -20", "-20", "jobs in 1,000"),
    broken(Code::BadNumber, CAUSES, "minutes: 5", "minutes: -5", "-5", "0 or more"),
    broken(Code::BadNumber, CAUSES, "parts: 3", "parts: .inf", ".inf", "0 or more"),
    broken(Code::BadNumber, FAMILY, "max_order: 2", "max_order: 2.5", "2.5", "whole number"),
    broken(Code::BadNumber, FAMILY, "{class: 1.6}", "{class: 1.6, resolution: 1}", "{class", "give one of"),
    broken(Code::BadNumber, MEASUREMENTS, "plausible: {from: 0,", "plausible: {from: 40,", "40", "not above the second"),
    broken(Code::BadNumber, MEASUREMENTS, "cool_down: 60", "cool_down: 0", "0}}\n    source", "above 0"),
    broken(Code::BadNumber, VEHICLE, "min: 11.5", "min: 15", "14.5", "least good value"),
    broken(Code::Cycle, SHARED, "      - wire-broken\n", "      - wire-broken\n      - shared: no-current\n", "no-current\n      - event", "own cause"),
    broken(Code::GateShape, TREE, "all: [supply-low", "any: [lamp-broken]\n      all: [supply-low", "supply-low, {cause", "exactly one of"),
    broken(Code::GateShape, TREE, "strength: 0.9}", "strength: 0.9, cause: wire-broken}", "{shared", "write `cause: id`"),
    broken(Code::GateShape, SHARED, "of: [supply-low, wire-broken, lamp-broken]", "of: []", "event: Two", "exactly one of"),
    broken(Code::GateShape, SHARED, "        at_least: 2\n", "", "event: Two", "exactly one of"),
    broken(Code::GateOutOfReach, SHARED, "at_least: 2", "at_least: 4", "4", "from 1 to 3"),
    broken(Code::GateOutOfReach, SHARED, "at_least: 2", "at_least: 0", "0", "from 1 to 3"),
    broken(Code::CauseTwice, SHARED, "of: [supply-low, wire-broken, lamp-broken]", "of: [wire-broken, wire-broken, lamp-broken]", "wire-broken, lamp", "link of its own"),
    broken(Code::UnusedShared, SHARED, "shared:\n", "shared:\n  spare: {event: Spare, any: [supply-low]}\n", "spare", "`shared:`"),
    broken(Code::UnreachableCause, CAUSES, "causes:\n", "causes:\n  dust: {title: Dust, part: lamp, rate: 1, repair: renew-lamp, source: textbook}\n", "dust", "tree of a symptom"),
    broken(Code::FewOutcomes, MEASUREMENTS, "    reading: {choices: [frayed, normal]}\n    minutes: 1\n    shows:\n      frayed: {wire-broken: 0.6}\n", "    reading: {choices: [normal]}\n    minutes: 1\n    shows: {}\n", "{choices: [normal]}", "at least one other"),
    broken(Code::NoNormal, MEASUREMENTS, "{choices: [frayed, normal]}", "{choices: [frayed, nromal]}", "{choices: [frayed", "did you mean `normal`?"),
    broken(Code::NoNormal, MEASUREMENTS, "      normal: {to: 200}\n", "      small: {to: 200}\n", "quantity: voltage\n", "normal: free"),
    broken(Code::NormalStated, MEASUREMENTS, "frayed: {wire-broken: 0.6}", "normal: {wire-broken: 0.4}", "normal: {wire", "abnormal outcomes alone"),
    broken(Code::RowAboveOne, MEASUREMENTS, "high: {wire-broken: 0.05}", "high: {wire-broken: 0.95}", "0.95", "at most 1"),
    broken(Code::ChanceAboveOne, MEASUREMENTS, "chance: {low: 0.02, high: 0.01}", "chance: {low: 0.5, high: 0.6}", "0.6}", "at most 1"),
    broken(Code::BadBand, MEASUREMENTS, "normal: {to: 200}", "normal: {to: 200, below: 300}", "300", ""),
    broken(Code::BadBand, MEASUREMENTS, "normal: {to: 200}", "normal: {}", "{}", ""),
    broken(Code::BadBand, MEASUREMENTS, "normal: {to: 200}", "normal: {to: 200, from: 300}", "normal: {to: 200", "lower end comes first"),
    broken(Code::BandsOverlap, MEASUREMENTS, "large: {above: 200}", "large: {from: 200}", "large: {from", "let one band end"),
    broken(Code::BandsOverlap, MEASUREMENTS, "high: {above: supply-window.max}", "high: {above: supply-window.min}", "high: {above", "let one band end"),
    broken(Code::BandsGap, MEASUREMENTS, "large: {above: 200}", "large: {above: 250}", "large: {above", "let the bands meet"),
    broken(Code::BandsGap, MEASUREMENTS, "normal: {to: 200}", "normal: {below: 200}", "large: {above", "let one band end"),
    broken(Code::BandsGap, MEASUREMENTS, "      high: {above: supply-window.max}\n", "      high: {above: supply-window.max, to: 20}\n", "high: {above", "let the bands meet"),
    broken(Code::BadLimit, MEASUREMENTS, "below: supply-window.min", "below: supply-window.mni", "supply-window.mni", "did you mean `supply-window.min`?"),
    broken(Code::BadLimit, MEASUREMENTS, "below: supply-window.min", "below: supply-window", "supply-window}", "stall.max"),
    broken(Code::LimitLacking, VEHICLE, "  lamp-colour: {words: clear, source: invented}\n", "", "", "vehicle's sheet"),
    broken(Code::LimitNowhere, MEASUREMENTS, "limits: [lamp-colour]", "limits: [lamp-color]", "lamp-color]", "did you mean `lamp-colour`?"),
    broken(Code::ReadingShape, MEASUREMENTS, "{choices: [frayed, normal]}", "{}", "{}", "words have choices"),
    broken(Code::ReadingShape, MEASUREMENTS, "{choices: [frayed, normal]}", "{choices: [frayed, normal], plausible: {from: 0, to: 1}}", "{choices: [frayed", "words have choices"),
    broken(Code::ReadingShape, MEASUREMENTS, "      value: 1000 * (before - after)\n", "", "quantity: voltage\n", "`value` is the formula"),
    broken(Code::BadFormula, MEASUREMENTS, "(before - after)", "(before - affter)", "affter", "did you mean `after`?"),
    broken(Code::BadFormula, MEASUREMENTS, "(before - after)", "(before - after", "\n      takes", ""),
    broken(Code::BadFormula, MEASUREMENTS, "(before - after)", "before", "after: {ask", "use it"),
    broken(Code::SetUpConflict, FAMILY, "in_place: [cover-on]", "in_place: [cover-on, cover-off]", "cover-off]", "take one of them out"),
    broken(Code::SetUpConflict, FAMILY, "needs: [cover-off]", "needs: [cover-off, cover-on]", "probe-fitted", "take one of them out"),
    broken(Code::SetUpConflict, FAMILY, "minutes: 3, group: cover}", "minutes: 3, group: cover, needs: [cover-off]}", "cover-off: {", "break the circle"),
    broken(Code::SetUpConflict, MEASUREMENTS, "set_ups: [cover-off]", "set_ups: [cover-off, cover-on]", "cover-on]", "take one of them out"),
    broken(Code::BadPattern, TREE, "'dark'", "'dark('", "'dark('", "brackets come in pairs"),
    broken(Code::BadPattern, TREE, "'dark'", "'(x{1000}){1000}'", "'(x", "brackets"),
    broken(Code::BadCode, CODES, "P0841", "P084", "P084", "as in P0841"),
    broken(Code::BadCode, CODES, "P0841", "p0841", "p0841", "as in P0841"),
    broken(Code::BadValue, CASE, "value: 12.1 V", "value: a lot", "a lot", ""),
    broken(Code::BadValue, CASE, "value: 12.1 V", "value: 12.1 psi", "12.1 psi", ""),
    broken(Code::BadValue, CASE, "{before: 12.1,", "{befor: 12.1, before: 12.1,", "befor: ", "did you mean `before`?"),
    broken(Code::ExpectShape, CASE, "{repair: renew-lamp}", "{repair: renew-lamp, unlisted: true}", "{repair", "exactly one of"),
    broken(Code::ExpectShape, CASE, "{repair: renew-lamp}", "{}", "{}", "exactly one of"),
];

/// Codes that no edit of one text gives: they have tests of their own below.
const ELSEWHERE: &[Code] = &[
    Code::Unreadable,
    Code::MissingFile,
    Code::TooLarge,
    Code::NotUtf8,
    Code::TooMuch,
    Code::StrayFile,
    Code::WrongEnding,
    Code::UnneededAccept,
    Code::Unfinished,
    Code::CaseFails,
    Code::ExerciseFault,
    Code::RepairTooSoon,
    Code::ExerciseFault,
];

#[test]
fn the_textbook_family_loads_without_findings() {
    let book = Book::new();
    let loaded = book.load().unwrap_or_else(|findings| panic!("{findings}"));
    assert!(loaded.warnings.is_empty(), "{}", loaded.warnings);
    let family = loaded.knowledge.family("bench").unwrap();
    assert_eq!(family.causes.len(), 3);
    let lamp = family.cause_named("lamp-broken").unwrap();
    assert_eq!(family.cause(lamp).rate.get(), 20.0);
    let supply = family.measurement(family.measurement_named("supply").unwrap());
    assert_eq!(supply.outcomes[supply.normal.index()].name, "normal");
    // What `chance` leaves is normal: 1 − 0.02 − 0.01.
    assert!((supply.chance.0[supply.normal.index()].get() - 0.97).abs() < 1e-12);
    let drop = family.measurement(family.measurement_named("supply-drop").unwrap());
    let Reading::Number(number) = &drop.reading else {
        panic!("no number")
    };
    assert_eq!(number.takes.len(), 2);
    // The chance that is not stated is 0.02.
    assert!((drop.chance.0[drop.outcome("large").unwrap().index()].get() - 0.02).abs() < 1e-12);
    let look = family.measurement(family.measurement_named("lamp-look").unwrap());
    assert_eq!(look.outcomes[look.normal.index()].name, "whole");
    // close-out belongs to every repair.
    assert!(family.repairs.iter().all(|repair| {
        repair
            .care
            .iter()
            .any(|care| family.care[*care].name == "close-out")
    }));
    let case = &family.cases[0];
    assert_eq!(
        case.expect,
        Expect::Repairs(vec![family.repair_named("renew-lamp").unwrap()])
    );
    assert_eq!(case.readings[1].parts["after"], "12 V");
    // The second trainer's sheet is in mV: 11,000 mV are 11 V.
    let second = loaded.knowledge.vehicle("second-trainer").unwrap();
    let volt = supply.number().unwrap().unit;
    assert_eq!(second.limit("supply-window", "min", volt), Some(11.0));
    assert_eq!(loaded.knowledge.files.len(), super::textbook::FILES.len());
}

#[test]
fn a_thing_is_found_by_its_id_and_by_its_former_ids() {
    let book = Book::new()
        .edit(
            MEASUREMENTS,
            "    note: Normal",
            "    formerly: [feed, mains]\n    note: Normal",
        )
        .edit(TREE, "title: The", "formerly: [dark]\ntitle: The");
    let loaded = book.load().unwrap_or_else(|findings| panic!("{findings}"));
    let family = loaded.knowledge.family("bench").unwrap();
    let supply = family.measurement_named("supply");
    assert!(supply.is_some());
    for name in ["supply", "feed", "mains"] {
        assert_eq!(family.measurement_known_as(name), supply);
    }
    assert_eq!(family.measurement_named("feed"), None);
    assert_eq!(family.measurement_known_as("dark"), None);
    assert_eq!(
        family.symptom_known_as("dark"),
        family.symptom_named("no-light")
    );
}

#[test]
fn a_tree_holds_each_leaf_as_written_and_each_shared_part_once() {
    let loaded = Book::new().load().unwrap();
    let family = loaded.knowledge.family("bench").unwrap();
    let tree = &family.symptoms[0].tree;
    let id = |name: &str| family.cause_named(name).unwrap();
    // Leaves as written: wire; supply, wire, lamp; lamp; supply, wire at 0.5. Gates: top, shared, two of three, and.
    // One switch.
    assert_eq!(tree.graph().node_count(), 12);
    let mut expected = vec![vec![id("lamp-broken")], vec![id("wire-broken")]];
    expected.sort();
    assert_eq!(tree.cut_sets(2), expected);
    // A broken wire alone lights the shared part, whose switch is on in 0.9 of them.
    let wire = id("wire-broken");
    assert!((tree.probability(|cause| cause == wire).unwrap().get() - 0.9).abs() < 1e-12);
}

#[test]
fn each_broken_edit_gives_its_finding_at_its_place_with_a_suggestion() {
    let mut wrong = Vec::new();
    for row in BROKEN {
        let book = Book::new().edit(row.path, row.from, row.to);
        let findings = book.findings();
        let place = if row.at.is_empty() {
            None
        } else {
            Some(book.place(row.path, row.at))
        };
        let found = findings.iter().find(|finding| {
            finding.code == row.code
                && place.is_none_or(|(line, column)| {
                    finding.place.file == row.path
                        && (finding.place.line, finding.place.column) == (line, column)
                })
                && (row.help.is_empty()
                    || finding.help().is_some_and(|help| help.contains(row.help)))
        });
        // A broken edit is one mistake: nothing else is found because of it.
        if found.is_none() || findings.len() != 1 {
            let shown: Vec<String> = findings.iter().map(ToString::to_string).collect();
            wrong.push(format!(
                "{} at {place:?} {:?} wanted by {:?} -> {:?}, found:\n{}",
                row.code,
                row.help,
                row.from,
                row.to,
                shown.join("\n")
            ));
        }
    }
    assert!(
        wrong.is_empty(),
        "{} of {}\n\n{}",
        wrong.len(),
        BROKEN.len(),
        wrong.join("\n\n")
    );
}

#[test]
fn every_code_has_a_broken_knowledge_that_gives_it() {
    let tested: BTreeSet<Code> = BROKEN
        .iter()
        .map(|row| row.code)
        .chain(ELSEWHERE.iter().copied())
        .chain(super::judgement::codes())
        .collect();
    let all: BTreeSet<Code> = Code::ALL.iter().copied().collect();
    assert_eq!(tested, all);
}

#[test]
fn an_exercise_has_a_fault_or_says_that_none_is_listed() {
    let path = "bench/exercises/one.yaml";
    let exercise = "exercise: Dark\nsymptom: no-light\ncustomer: It stays dark.\norder: B-1\nlearn: Look first.\nseed: 1\n";
    let found = |fault: &str| {
        Book::new()
            .with(path, format!("{exercise}{fault}"))
            .findings()
    };
    assert_eq!(found("fault: [lamp-broken]\n"), []);
    assert_eq!(found("unlisted: true\n"), []);
    for fault in ["", "fault: [lamp-broken]\nunlisted: true\n"] {
        let findings = found(fault);
        assert_eq!(findings.len(), 1, "{findings:?}");
        assert_eq!(findings[0].code, Code::ExerciseFault);
        assert_eq!(
            (findings[0].place.file.as_str(), findings[0].place.line),
            (path, 2)
        );
    }
}

#[test]
fn a_family_without_its_files_says_which() {
    for (path, shown) in [
        (CAUSES, CAUSES),
        (FAMILY, FAMILY),
        (TREE, "bench/trees"),
        (MEASUREMENTS, "bench/measurements"),
    ] {
        let book = Book::new().without(path);
        let findings = book.findings();
        assert!(
            findings
                .iter()
                .any(|finding| finding.code == Code::MissingFile && finding.place.file == shown),
            "{path}: {findings:?}"
        );
    }
    let findings = Book { files: Vec::new() }.findings();
    assert_eq!(findings.len(), 1);
    assert_eq!(findings[0].code, Code::MissingFile);
    assert_eq!(
        findings[0].to_string().lines().next(),
        Some(".: error[missing-file]: no family is described here")
    );
}

#[test]
fn a_file_of_no_known_kind_is_a_warning_and_a_readme_is_not() {
    let book = Book::new()
        .with("README.md", "hello")
        .with("bench/notes.txt", "x");
    let loaded = book.load().unwrap_or_else(|findings| panic!("{findings}"));
    let found: Vec<(&str, Code)> = loaded
        .warnings
        .0
        .iter()
        .map(|finding| (finding.place.file.as_str(), finding.code))
        .collect();
    assert_eq!(found, [("bench/notes.txt", Code::StrayFile)]);
}

#[test]
fn one_name_in_two_files_is_found_where_it_stands_the_second_time() {
    let measurements = Book::new().text(MEASUREMENTS);
    let second = measurements.replace("measurements:\n", "");
    let wire: String = second
        .split("  wire-look:")
        .nth(1)
        .unwrap()
        .split("  code:")
        .next()
        .unwrap()
        .to_owned();
    let book = Book::new().with(
        "bench/measurements/more.yaml",
        format!("measurements:\n  wire-look:{wire}"),
    );
    let findings = book.findings();
    assert_eq!(findings.len(), 1, "{findings:?}");
    assert_eq!(findings[0].code, Code::DuplicateName);
    assert_eq!(
        (findings[0].place.file.as_str(), findings[0].place.line),
        ("bench/measurements/more.yaml", 2)
    );
    assert!(
        findings[0]
            .words
            .contains("bench/measurements/all.yaml line"),
        "{}",
        findings[0].words
    );
}

#[test]
fn all_findings_of_all_files_come_at_once_in_order() {
    let book = Book::new()
        .edit(CAUSES, "repair: renew-lamp", "repair: renew-lampp")
        .edit(CAUSES, "rate: 5", "rate: five")
        .edit(MEASUREMENTS, "cautions: [shock]", "cautions: [shok]")
        .edit(TREE, "- lamp-broken", "- lamp-brokn")
        .edit(VEHICLE, "units: metric", "units: metrik");
    let findings = book.findings();
    let codes: Vec<Code> = findings.iter().map(|finding| finding.code).collect();
    assert_eq!(
        codes,
        [
            Code::UnknownRepair,
            Code::WrongType,
            Code::UnknownCaution,
            Code::UnknownCause,
            Code::UnknownWord
        ],
        "{findings:?}"
    );
    assert!(findings.is_sorted_by(|one, other| one.place <= other.place));
}

#[test]
fn an_entry_that_cannot_be_read_is_still_known_by_its_name() {
    // The cause's rate is no number; nothing that names the cause is called unknown for it.
    let book = Book::new().edit(CAUSES, "rate: 20", "rate: many");
    assert_eq!(book.codes(), [Code::WrongType]);
}

#[test]
fn a_file_that_is_no_yaml_hides_no_names_of_other_files() {
    let book = Book::new().with(CAUSES, "repairs: [");
    assert_eq!(book.codes(), [Code::NotYaml]);
}

#[test]
fn a_finding_shows_its_line_with_a_caret_and_a_suggestion() {
    let book = Book::new().edit(TREE, "- lamp-broken", "- lamp-brokn");
    let findings = book.findings();
    assert_eq!(
        findings[0].to_string(),
        "bench/trees/no-light.yaml:7:7: error[unknown-cause]: there is no cause called\n    \
         `lamp-brokn`\n  |     - lamp-brokn\n  |       ^\n  help: did you mean `lamp-broken`?"
    );
}

#[test]
fn a_long_line_is_cropped_around_the_caret_to_80_columns() {
    let long = "x".repeat(300);
    let book = Book::new().edit(
        CAUSES,
        "{title: Mend the wire,",
        &format!("{{title: \"{long}\", care: [nonsense], "),
    );
    let findings = book.findings();
    assert_eq!(findings.len(), 1);
    let text = findings[0].to_string();
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );
    let lines: Vec<&str> = text.lines().collect();
    let caret = lines
        .iter()
        .position(|line| line.trim_start_matches("  |").trim() == "^")
        .unwrap();
    let at = lines[caret]
        .chars()
        .position(|character| character == '^')
        .unwrap();
    let under: String = lines[caret - 1].chars().skip(at).take(8).collect();
    assert_eq!(under, "nonsense");
}

#[test]
fn warnings_let_the_knowledge_load_and_errors_do_not() {
    for code in Code::ALL {
        let Some(row) = BROKEN.iter().find(|row| row.code == *code) else {
            continue;
        };
        let loaded = Book::new().edit(row.path, row.from, row.to).load();
        assert_eq!(
            loaded.is_ok(),
            code.severity() == Severity::Warning,
            "{code}"
        );
    }
}
