use std::fs;
use std::path::Path;
use std::process::Command;

use halfsplit::cases::{CaseRun, Expected, Fault, Proposal, findings, run};
use halfsplit::load::{Code, Source, load};
use serde_json::Value;
use tempfile::TempDir;

use super::loading_papers::example;
use super::shop::Shop;

const CHECKING: &str = include_str!("../../docs/checking.md");
const FAMILY: &str = "training-drive/family.yaml";
const CAUSES: &str = "training-drive/causes.yaml";
const MEASUREMENTS: &str = "training-drive/measurements/all.yaml";
const CASE: &str = "training-drive/cases/low.yaml";

/// The family of the knowledge paper with edits, each of a text that stands there once.
fn training(edits: &[(&str, &str, &str)]) -> Vec<(String, String)> {
    let mut files = example();
    for (path, from, to) in edits {
        let (_, text) = files.iter_mut().find(|(file, _)| file == path).unwrap();
        assert_eq!(text.matches(from).count(), 1, "{from:?} in {path}");
        *text = text.replace(from, to);
    }
    files
}

/// The same in a folder.
fn folder(edits: &[(&str, &str, &str)]) -> TempDir {
    let folder = TempDir::new().unwrap();
    for (path, text) in training(edits) {
        let file = folder.path().join(path);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file, text).unwrap();
    }
    folder
}

fn check(folder: &Path, more: &[&str], code: u8) -> String {
    Shop::new()
        .arguments(["check", folder.to_str().unwrap()])
        .arguments(more.iter().copied())
        .fails_with(code)
        .run()
        .out
}

/// The one case of the family, played, and where its findings stand.
fn case(edits: &[(&str, &str, &str)]) -> (CaseRun, Vec<(u32, u32)>) {
    let source = Source::texts(training(edits));
    let loaded = load(&source).unwrap_or_else(|findings| panic!("{findings}"));
    let mut runs = run(&loaded.knowledge, &loaded.knowledge.families[0]);
    assert_eq!(runs.len(), 1);
    let found = findings(&source, &runs).0;
    assert!(found.iter().all(|finding| finding.code == Code::CaseFails));
    assert_eq!(found.len(), runs[0].faults.len());
    let places = found
        .iter()
        .map(|finding| {
            assert_eq!(finding.place.file, CASE);
            (finding.place.line, finding.place.column)
        })
        .collect();
    (runs.remove(0), places)
}

fn close(got: f64, wanted: f64) {
    assert!((got - wanted).abs() < 1e-12, "{got} is not {wanted}");
}

#[test]
fn the_shipped_knowledge_passes_with_warnings_denied() {
    let told = Shop::new().arguments(["check", "--deny"]).run();
    assert!(told.out.ends_with("No findings.\n"), "{}", told.out);
}

#[test]
fn the_family_of_the_knowledge_paper_passes_with_warnings_denied() {
    let out = check(folder(&[]).path(), &["--deny"], 0);
    assert!(out.contains("Every case comes out as expected."), "{out}");
    assert!(out.contains("No findings."), "{out}");
}

/// Every `text` block of the paper is what the program prints.
#[test]
fn the_checking_paper_shows_what_is_printed() {
    let blocks: Vec<&str> = CHECKING
        .split("```text\n")
        .skip(1)
        .map(|block| block.split("```").next().unwrap())
        .collect();
    assert_eq!(blocks.len(), 2);
    let rate = folder(&[(CAUSES, "rate: 12,", "rate: 120,")]);
    let out = check(rate.path(), &[], 0);
    assert!(out.contains(blocks[0]), "{out}");
    let level = folder(&[(
        MEASUREMENTS,
        "low: {fluid-low: 0.95}",
        "low: {pump-worn: 0.95}",
    )]);
    let out = check(level.path(), &[], 1);
    assert!(out.contains(blocks[1]), "{out}");
}

#[test]
fn warnings_fail_only_where_they_are_denied() {
    let source = folder(&[(
        CAUSES,
        "part: clutch, rate: 4, repair: renew-clutch, source: judged",
        "part: clutch, rate: 4, repair: renew-clutch, source: tbd",
    )]);
    let out = check(source.path(), &[], 0);
    assert!(out.contains("warning[dangling-source]"), "{out}");
    assert!(out.ends_with("1 finding: 0 errors, 1 warning.\n"), "{out}");
    check(source.path(), &["--deny"], 1);
    let out = Shop::new()
        .arguments([
            "--knowledge",
            source.path().to_str().unwrap(),
            "check",
            "--deny",
        ])
        .fails_with(1)
        .run()
        .out;
    assert!(out.contains("warning[dangling-source]"), "{out}");
}

#[test]
fn knowledge_that_does_not_load_is_not_judged() {
    let broken = folder(&[
        (
            CAUSES,
            "repair: renew-clutch, source: judged",
            "repair: renew-cluch, source: tbd",
        ),
        (
            CASE,
            "expect: {repair: fill-up}",
            "expect: {repair: renew-pump}",
        ),
    ]);
    let out = check(broken.path(), &[], 1);
    assert!(out.contains("error[unknown-repair]"), "{out}");
    assert!(
        !out.contains("dangling-source") && !out.contains("case-fails"),
        "{out}"
    );
    assert!(
        out.contains("nothing was judged, and no case was run"),
        "{out}"
    );
}

#[test]
fn a_folder_that_is_not_there_and_two_folders_are_refused() {
    check(Path::new("no/such/folder"), &[], 2);
    let folder = folder(&[]);
    check(
        folder.path(),
        &["--knowledge", folder.path().to_str().unwrap()],
        2,
    );
}

#[test]
fn the_same_is_told_to_other_programs() {
    let level = folder(&[
        (
            MEASUREMENTS,
            "low: {fluid-low: 0.95}",
            "low: {pump-worn: 0.95}",
        ),
        (
            CAUSES,
            "repair: renew-clutch, source: judged",
            "repair: renew-clutch, source: tbd",
        ),
    ]);
    let told = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(["check", "--json"])
        .arg(level.path())
        .output()
        .unwrap();
    assert_eq!(told.status.code(), Some(1));
    let answer: Value = serde_json::from_slice(&told.stdout).unwrap();
    assert_eq!(answer["loads"], true);
    let found = answer["findings"].as_array().unwrap();
    let codes: Vec<&str> = found
        .iter()
        .map(|one| one["code"].as_str().unwrap())
        .collect();
    assert_eq!(codes, ["dangling-source", "case-fails"]);
    for field in [
        "severity", "file", "line", "column", "text", "words", "why", "help",
    ] {
        assert!(!found[0][field].is_null(), "{field}");
    }
    assert_eq!(found[1]["text"], "expect: {repair: fill-up}");
    let case = &answer["cases"][0];
    assert_eq!(case["passes"], false);
    assert_eq!(case["expected"]["repairs"][0], "fill-up");
    assert_eq!(case["lost_most"], 1);
    assert_eq!(case["chain"].as_array().unwrap().len(), 3);
    assert_eq!(case["chain"][1]["reading"]["measurement"], "fluid-level");
    assert_eq!(answer["checked"]["cases_failing"], 1);
    assert_eq!(answer["checked"]["errors"], 1);
    assert_eq!(answer["checked"]["warnings"], 1);
}

/// By hand: odds of the rates, the strengths of the tree, and 5 % for the unlisted cause; then the rows of the
/// level, where low is 0.95 under the low fluid, 0.02 under the others and under an unlisted cause that touches nothing,
/// and 0.25/2 + 0.75·0.02 = 0.14 under one that may touch anything.
#[test]
fn the_chain_of_beliefs_is_that_of_the_method() {
    let (run, _) = case(&[]);
    assert!(run.passes());
    let odds = |rate: f64| rate / (1000.0 - rate);
    let weights = [odds(12.0), odds(3.0), 0.8 * odds(5.0), 0.9 * odds(4.0)];
    let sum: f64 = weights.iter().sum();
    let prior = weights.map(|weight| 0.95 * weight / sum);
    close(run.chain[0].expected, prior[0]);
    close(run.chain[0].unlisted, 0.05);
    assert_eq!(run.chain[0].reading, None);
    let after = [
        0.95 * prior[0],
        0.02 * (prior[1] + prior[2] + prior[3]),
        0.02 * 0.025 + 0.14 * 0.025,
    ];
    let total: f64 = after.iter().sum();
    close(run.chain[1].expected, after[0] / total);
    close(run.chain[1].unlisted, after[2] / total);
    assert_eq!(run.chain[1].leading[0].names, ["fill-up"]);
    // Both readings speak for it.
    assert_eq!(run.lost_most, None);
}

#[test]
fn a_case_with_another_answer_fails_at_its_line() {
    let (run, places) = case(&[(CASE, "{repair: fill-up}", "{repair: renew-pump}")]);
    assert_eq!(
        run.expected,
        Expected::Repairs(vec!["renew-pump".to_owned()])
    );
    let [Fault::OtherRepairs(leads)] = run.faults.as_slice() else {
        panic!("{:?}", run.faults)
    };
    assert_eq!(leads.names, ["fill-up"]);
    // The low level speaks against the pump.
    assert_eq!(run.lost_most, Some(1));
    assert_eq!(places, [(8, 1)]);
}

#[test]
fn an_ambiguity_wants_its_causes_first_and_near_one_another() {
    let only_pressure = (CASE, "  - {measurement: fluid-level, value: low}\n", "");
    // Rates 12·0.7, 3·0.9 and 5·0.8·0.8: none ten times less than the first.
    let three = "{ambiguity: [fluid-low, pump-worn, strainer-clogged]}";
    let (run, _) = case(&[only_pressure, (CASE, "{repair: fill-up}", three)]);
    assert!(run.passes(), "{:?}", run.faults);
    let two = "{ambiguity: [pump-worn, strainer-clogged]}";
    let (run, _) = case(&[only_pressure, (CASE, "{repair: fill-up}", two)]);
    assert!(
        matches!(run.faults[..], [Fault::OtherCause(_)]),
        "{:?}",
        run.faults
    );
    // With the level read low, the low fluid stands far before both.
    let (run, _) = case(&[(CASE, "{repair: fill-up}", three)]);
    assert!(
        matches!(run.faults[..], [Fault::ToldApart(_)]),
        "{:?}",
        run.faults
    );
}

#[test]
fn no_listed_cause_is_an_answer_too() {
    let (run, _) = case(&[(CASE, "{repair: fill-up}", "{unlisted: true}")]);
    assert!(
        matches!(run.faults[..], [Fault::Fits(_)]),
        "{:?}",
        run.faults
    );
    // Low level, drifting marks, a clogged strainer, and a pressure that is right: no cause gives all of that.
    let readings = "value: 800 kPa}\n  - {measurement: clutch-marks, value: drift}\n  - {measurement: strainer-look, value: clogged}";
    let contradiction = [
        (CASE, "value: 300 kPa}", readings),
        (FAMILY, "in_place:", "unlisted: 0.1\nin_place:"),
    ];
    let expects_none = (CASE, "{repair: fill-up}", "{unlisted: true}");
    let (run, _) = case(&[contradiction[0], contradiction[1], expects_none]);
    assert!(run.passes(), "{:?} {:?}", run.faults, run.answer);
    let (run, _) = case(&contradiction);
    assert!(run.faults.contains(&Fault::NothingFits), "{:?}", run.faults);
}

#[test]
fn the_first_proposal_is_held_against_the_one_stated() {
    let stated = |first: &str| format!("{{repair: fill-up}}\nfirst: {first}");
    let (run, _) = case(&[(CASE, "{repair: fill-up}", &stated("supply-pressure"))]);
    let Some(Proposal::Measure(first)) = run.first else {
        panic!("{:?}", run.first)
    };
    let (other, places) = case(&[(CASE, "{repair: fill-up}", &stated(&first))]);
    assert!(other.passes() && places.is_empty());
    let wrong = if first == "fluid-level" {
        "clutch-marks"
    } else {
        "fluid-level"
    };
    let (other, places) = case(&[(CASE, "{repair: fill-up}", &stated(wrong))]);
    assert_eq!(other.faults, [Fault::OtherFirst(Proposal::Measure(first))]);
    assert_eq!(places, [(9, 1)]);
}

/// A case states its readings as they would be typed at the prompt.
#[test]
fn whatever_the_prompt_takes_for_a_number_a_case_takes_too() {
    for typed in [
        "300",
        "300 kPa",
        "0,3 MPa",
        "300,5 kPa",
        "280-320 kPa",
        "280 to 320",
        "<300 kPa",
        "300 ± 10 kPa",
        "300~5",
        "43.5 psi",
        "low",
    ] {
        let (run, _) = case(&[(CASE, "value: 300 kPa", &format!("value: \"{typed}\""))]);
        assert!(run.passes(), "{typed}: {:?}", run.faults);
    }
    for typed in [">600 kPa", "OL"] {
        let (run, _) = case(&[(CASE, "value: 300 kPa", &format!("value: \"{typed}\""))]);
        let understood = !matches!(run.faults[..], [Fault::NotUnderstood { .. }]);
        assert!(understood, "{typed}: {:?}", run.faults);
    }
}

/// Nobody is there to answer.
#[test]
fn a_reading_that_would_be_asked_back_is_a_fault_at_its_line() {
    let (run, places) = case(&[(CASE, "value: 300 kPa", "value: 1 k")]);
    assert!(
        matches!(run.faults[..], [Fault::NotUnderstood { reading: 1, .. }]),
        "{:?}",
        run.faults
    );
    assert_eq!(places[0].0, 7);
    assert_eq!(run.answer, None);
    // The beliefs up to there are kept.
    assert_eq!(run.chain.len(), 2);
}
