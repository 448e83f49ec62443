//! The overlay: its file, and what it does to a family.

use std::fs;
use std::path::Path;

use halfsplit::infer::row_under;
use halfsplit::knowledge::Family;
use halfsplit::learn::{NoFit, Overlay, OverlayError, Prior, apply, learn};
use halfsplit::text::Page;

use halfsplit::record::Found;

use super::{
    PRESSURE, PUMP, RESIDUE, Records, STRAINER, closed_unseen, ending, family, reading, repaired,
    verified,
};

/// Nine jobs: eight strainers, one seal.
fn shop() -> Records {
    let mut records = Records::new();
    let found = [
        ("low", "dark"),
        ("low", "metal"),
        ("high", "clean"),
        ("low", "dark"),
    ];
    for (pressure, residue) in found {
        for _ in 0..2 {
            let readings = vec![reading("pressure", pressure), reading("residue", residue)];
            records.job([readings, ending(&["strainer-clogged"])].concat());
        }
    }
    records.job(ending(&["seal-leak"]));
    records
}

fn prior() -> Prior {
    Prior::new(91.0, 8.0).unwrap()
}

fn overlay(family: &Family, records: &Records) -> Overlay {
    learn(family, &records.tally(family), prior(), None)
}

fn read(text: &str) -> Overlay {
    Overlay::read_text(text, Path::new("learned.yaml")).unwrap()
}

const WRITTEN: &str = "\
overlay:
  family: chain-cvt
  jobs: 9
  dates: [2026-01-01, 2026-01-09]
  prior_jobs: 91
  prior_readings: 8
  rates:
    pump-worn: {was: 14, now: 7.98261, seen: 0, jobs: 9,";

#[test]
fn the_file_reads_as_written_and_is_the_same_each_time() {
    let (family, records) = (family(), shop());
    let text = overlay(&family, &records).to_yaml();
    // The stated odds are 14/986, 30/970, 60/940 and 20/980, together Λ = 0.12936. 91 · 14/986 of 91 Λ + 9, times Λ, are odds
    // of 0.0080468: 7.98261 in 1,000.
    assert!(text.contains(WRITTEN), "{text}");
    // 8 · 0.6 + 6 of 16 jobs is 0.675.
    let low = "      low:\n        strainer-clogged: {was: 0.6, now: 0.675, seen: 6, jobs: 8, \
               interval: [";
    assert!(text.contains(low), "{text}");
    assert!(text.contains("dates: [2026-01-01, 2026-01-08]}"), "{text}");
    assert!(!text.contains("same_repair: ["), "{text}");
    assert_eq!(overlay(&family, &records).to_yaml(), text);
    assert_eq!(read(&text).to_yaml(), text);
}

#[test]
fn a_figure_that_rests_on_jobs_whose_cause_nobody_saw_says_so() {
    let (family, mut records) = (family(), shop());
    let unseen = closed_unseen(Some(Found::Unknown), &[], &["seal-leak", "seal-torn"]);
    records.job([repaired(&["seal-leak"]), verified(true), unseen]);
    let text = overlay(&family, &records).to_yaml();
    // 91 · 60/940 + 1 beside 91 · 20/980: 0.785688 of the job. Λ · (6.80851 + 0.785688)/(91 Λ + 10) are odds of 0.0451227.
    let leak = "    seal-leak: {was: 60, now: 43.1746, seen: 1, jobs: 10, interval: [";
    assert!(text.contains(leak), "{text}");
    let flag = ", unstated: 1, same_repair: [seal-leak]}";
    assert!(text.contains(flag), "{text}");
    assert_eq!(read(&text).to_yaml(), text);
    let mut family = family;
    apply(&mut family, &read(&text)).unwrap();
}

#[test]
fn an_overlay_laid_over_gives_the_posterior_rows_and_rates() {
    let (mut family, records) = (family(), shop());
    let text = overlay(&family, &records).to_yaml();
    apply(&mut family, &read(&text)).unwrap();
    let rates: Vec<f64> = family.causes.iter().map(|cause| cause.rate.get()).collect();
    // In odds Λ/(91 Λ + 9) of 91 · 14/986, 91 · 30/970 + 8, 91 · 60/940 + 1 and 91 · 20/980.
    assert_eq!(rates, [7.98261, 63.1001, 40.6771, 11.4336]);
    // 8 · (0.6, 0.3, 0.1) and 6, 0, 2 of 16; 8 · (0.49, 0.5, 0.01) and 2, 4, 2 of 16.
    let is = |measurement, expected: [f64; 3]| {
        let row = row_under(family.measurement(measurement), &[STRAINER]);
        for (found, expected) in row.iter().zip(expected) {
            assert!((found - expected).abs() < 1e-6, "{row:?}");
        }
    };
    is(PRESSURE, [0.675, 0.15, 0.175]);
    is(RESIDUE, [0.37, 0.5, 0.13]);
    let pump = row_under(family.measurement(PRESSURE), &[PUMP]);
    assert_eq!(pump[0], 0.8, "nothing was learned of the pump's row");
}

#[test]
fn an_overlay_of_no_job_changes_nothing() {
    let mut family = family();
    let mut records = Records::new();
    records.job([reading("pressure", "low")]);
    let overlay = overlay(&family, &records);
    assert!(overlay.rates.0.is_empty() && overlay.shows.0.is_empty());
    let before = format!("{family:?}");
    apply(&mut family, &overlay).unwrap();
    apply(&mut family, &read(&overlay.to_yaml())).unwrap();
    assert_eq!(format!("{family:?}"), before);
}

#[test]
fn a_reviewer_may_delete_every_line_of_a_part() {
    let mut family = family();
    let before = format!("{family:?}");
    let text = "overlay:\n  family: chain-cvt\n  jobs: 9\n  prior_jobs: 1\n  prior_readings: 1\n  \
                rates:\n  shows:\n    pressure:\n      low:\n    residue:\n";
    apply(&mut family, &read(text)).unwrap();
    assert_eq!(format!("{family:?}"), before);
}

#[test]
fn a_figure_is_not_moved_twice_and_a_misfit_leaves_the_family_as_it_was() {
    let (mut family, records) = (family(), shop());
    let overlay = overlay(&family, &records);
    apply(&mut family, &overlay).unwrap();
    let before = format!("{family:?}");
    let misfits = apply(&mut family, &overlay).unwrap_err();
    let words = "learned from 14, and the knowledge says 7.98261 today";
    assert!(misfits[0].words.contains(words), "{:?}", misfits[0]);
    assert_eq!(format!("{family:?}"), before);
}

#[test]
fn what_does_not_fit_is_named_with_its_place() {
    let mut family = family();
    let figure = "seen: 1, jobs: 2, interval: [0, 1], dates: [2026-01-01, 2026-01-02]}";
    let text = format!(
        "overlay:
  family: chain-cvt
  jobs: 2
  prior_jobs: 1
  prior_readings: 1
  rates:
    pump-wron: {{was: 14, now: 15, {figure}
    strainer-clogged: {{was: 30, now: 1000, {figure}
  shows:
    presure: {{}}
    pressure:
      lo: {{}}
      normal: {{}}
      low:
        seal-leak: {{was: 0, now: 0.5, {figure}
        pump-worn: {{was: 0.8, now: 1.5, {figure}
        strainer-clogged: {{was: 0.6, now: 0.95, {figure}
"
    );
    let misfits = apply(&mut family, &read(&text)).unwrap_err();
    let words = |misfit: &NoFit| misfit.in_file(Path::new("learned.yaml"));
    let mut misfits: Vec<String> = misfits.iter().map(words).collect();
    misfits.sort();
    let expected = [
        (
            "learned.yaml:10:5: ",
            "no measurement “presure”: did you mean “pressure”?",
        ),
        (
            "learned.yaml:12:7: ",
            "no outcome “lo”: did you mean “low”?",
        ),
        ("learned.yaml:13:7: ", "“normal” is the normal outcome"),
        (
            "learned.yaml:15:9: ",
            "“pressure” does not show the cause “seal-leak”",
        ),
        ("learned.yaml:16:9: ", "now: 1.5 is no probability"),
        (
            "learned.yaml:17:9: ",
            "the figures of “strainer-clogged” for “pressure” add up to 1.05",
        ),
        (
            "learned.yaml:7:5: ",
            "no cause “pump-wron”: did you mean “pump-worn”?",
        ),
        ("learned.yaml:8:5: ", "now: 1000 is no rate"),
    ];
    assert_eq!(misfits.len(), expected.len(), "{misfits:#?}");
    for (misfit, (place, words)) in misfits.iter().zip(expected) {
        assert!(
            misfit.starts_with(place) && misfit.contains(words),
            "{misfit}"
        );
    }

    let other = read(&text.replace("chain-cvt", "other"));
    let misfits = apply(&mut family, &other).unwrap_err();
    assert_eq!(misfits.len(), 1);
    let misfit = misfits[0].in_file(Path::new("learned.yaml"));
    let words = "learned.yaml:2:11: the overlay is of the family “other”";
    assert!(misfit.starts_with(words), "{misfit}");
}

#[test]
fn what_is_no_overlay_is_refused_with_its_place() {
    let many = "overlay:\n  family: a\n  jobs: many\n  prior_jobs: 1\n  prior_readings: 1\n";
    for (text, place) in [
        (
            "overlay: {family: a, jobs: 1, prior_jobs: 1, prior_readings: 1, rats: {}}\n",
            "o.yaml:1:",
        ),
        (many, "o.yaml:3:"),
        ("causes: {}\n", "o.yaml:1:"),
        ("", "o.yaml"),
        ("overlay: [\n", "o.yaml:"),
    ] {
        let error = Overlay::read_text(text, Path::new("o.yaml")).unwrap_err();
        assert!(error.to_string().starts_with(place), "{error}");
    }
}

#[test]
fn no_file_is_written_over_but_an_overlay_when_told_to() {
    let (family, records) = (family(), shop());
    let overlay = overlay(&family, &records);
    let path = records.path().join("learned.yaml");
    overlay.write(&path, false).unwrap();
    assert_eq!(fs::read_to_string(&path).unwrap(), overlay.to_yaml());
    let refused = overlay.write(&path, false);
    assert!(matches!(refused, Err(OverlayError::Exists(_))));
    overlay.write(&path, true).unwrap();
    assert_eq!(fs::read_to_string(&path).unwrap(), overlay.to_yaml());

    let causes = records.path().join("causes.yaml");
    fs::write(&causes, "causes: {}\n").unwrap();
    let refused = overlay.write(&causes, false);
    assert!(matches!(refused, Err(OverlayError::Exists(_))));
    let refused = overlay.write(&causes, true);
    assert!(matches!(refused, Err(OverlayError::NotAnOverlay(_))));
    assert_eq!(fs::read_to_string(&causes).unwrap(), "causes: {}\n");
}

#[test]
fn the_report_shows_the_largest_moves_first_and_every_refused_record() {
    let (family, mut records) = (family(), shop());
    records.job([reading("pressure", "low")]);
    let tally = records.tally(&family);
    let learned = learn(&family, &tally, prior(), None);
    let mut text = Vec::new();
    halfsplit::learn::learned(&mut Page::new(&mut text, 100), &family, &tally, &learned).unwrap();
    let text = std::str::from_utf8(&text).unwrap();
    let text = anstream::adapter::strip_str(text).to_string();
    let text = text.replace(&records.path().display().to_string(), "jobs");
    insta::assert_snapshot!(text.replace('\\', "/"));
}
