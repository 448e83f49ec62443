use std::fs;
use std::path::Path;

use serde_json::Value;
use tempfile::TempDir;

use crate::shop::{Shop, Told, family};

/// A reviewed file that makes one cause so common.
fn overlay(folder: &Path, cause: &str, now: f64) -> String {
    let was = family()
        .cause_named(cause)
        .map_or(1.0, |id| family().cause(id).rate.get());
    let text = format!(
        "overlay:\n  family: chain-cvt\n  jobs: 400\n  dates: [2026-01-05, 2026-11-20]\n  \
         prior_jobs: 500\n  prior_readings: 15\n  rates:\n    {cause}: {{was: {was}, now: {now}, seen: 90, \
         jobs: 400, interval: [180, 260], dates: [2026-01-05, 2026-11-20]}}\n  shows: {{}}\n"
    );
    let path = folder.join("learned.yaml");
    fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}

fn shop<'t>(path: &str, arguments: &[&str]) -> Shop<'t> {
    Shop::new()
        .arguments(["--overlay", path])
        .arguments(arguments.iter().copied())
}

fn json(told: &Told) -> Value {
    serde_json::from_str(&told.out).unwrap()
}

const SAYS: &str = "With figures learned from 400 closed jobs, 2026-01-05 to 2026-11-20:";

#[test]
fn learned_figures_move_the_candidates_and_the_answer_says_so() {
    let folder = TempDir::new().unwrap();
    let path = overlay(folder.path(), "pump-worn", 400.0);
    let next = ["next", "slipping", "--vehicle", "demo-estate", "--json"];
    let (plain, learned) = (
        json(&Shop::new().arguments(next).run()),
        json(&shop(&path, &next).run()),
    );
    let of = |answer: &Value| {
        let causes = answer["causes"].as_array().unwrap();
        let pump = causes.iter().find(|cause| cause["cause"] == "pump-worn");
        pump.unwrap()["posterior"].as_f64().unwrap()
    };
    // 400 in 1,000 are odds of 2/3, above a hundred times those of before.
    assert!(
        of(&plain) < 0.1 && of(&learned) > 0.7,
        "{} {}",
        of(&plain),
        of(&learned)
    );
    assert_eq!(plain["overlay"], Value::Null);
    assert_eq!(learned["overlay"]["jobs"], 400);
    assert_eq!(learned["overlay"]["dates"][1], "2026-11-20");
    assert_eq!(learned["overlay"]["file"], *path);
    let print = halfsplit::files::fingerprint(fs::read_to_string(&path).unwrap().as_bytes());
    assert_eq!(learned["overlay"]["fingerprint"], print);
}

#[test]
fn every_screen_that_uses_learned_figures_says_so_once() {
    let folder = TempDir::new().unwrap();
    let path = overlay(folder.path(), "pump-worn", 40.0);
    let estate = ["slipping", "--vehicle", "demo-estate"];
    for arguments in [
        &[&["next"][..], &estate].concat()[..],
        &["show", "pump-worn"],
        &["show"],
    ] {
        let told = shop(&path, arguments).run();
        assert_eq!(
            told.flat().matches(SAYS).count(),
            1,
            "{arguments:?}\n{}",
            told.out
        );
        let plain = Shop::new().arguments(arguments.iter().copied()).run();
        plain.says_not("learned from");
    }
    shop(&path, &["show", "pump-worn"]).run().says("40");
    let planned = shop(&path, &[&["plan"][..], &estate].concat()).run();
    assert_eq!(planned.flat().matches(SAYS).count(), 1, "{}", planned.out);
    // Beside a drawing, where nothing else may stand.
    let drawing = folder.path().join("tree.dot");
    let to = drawing.to_str().unwrap();
    let drawn = shop(&path, &["draw", "slipping", "--dot", "--out", to])
        .may_complain()
        .run();
    drawn.complains(SAYS);
}

#[test]
fn a_job_keeps_the_fingerprint_of_the_learned_figures_it_was_opened_with() {
    let folder = TempDir::new().unwrap();
    let path = overlay(folder.path(), "pump-worn", 40.0);
    let told = Shop::diagnose(["slipping", "--vehicle", "demo-estate", "--overlay", &path])
        .types("take complaint-direction\nforward-only\n")
        .run();
    assert_eq!(told.flat().matches(SAYS).count(), 1, "{}", told.out);
    let text = fs::read_to_string(&path).unwrap();
    let print = halfsplit::files::fingerprint(text.as_bytes());
    assert_eq!(told.state().opened.knowledge["overlay"], print);
    // The same figures: nothing to say but that they are in use.
    let again = told.resume().arguments(["--overlay", &path]).run();
    assert_eq!(again.flat().matches(SAYS).count(), 1, "{}", again.out);
    // None, and others.
    told.resume()
        .may_complain()
        .run()
        .complains("overlay was there when the job was opened and is gone");
    overlay(folder.path(), "pump-worn", 50.0);
    told.resume()
        .arguments(["--overlay", &path])
        .may_complain()
        .run()
        .complains("overlay has changed since the job was opened");
}

#[test]
fn learned_figures_that_do_not_fit_are_refused_with_file_line_and_column() {
    let folder = TempDir::new().unwrap();
    let next = ["next", "slipping", "--vehicle", "demo-estate"];
    let path = overlay(folder.path(), "pump-wron", 40.0);
    let refused = shop(&path, &next).fails_with(2).run();
    refused
        .complains("learned.yaml:8:5: there is no cause “pump-wron”: did you mean “pump-worn”?")
        .complains("does not fit the knowledge, so none of it is used");
    // Of another family, moved once already, no overlay, none at all.
    let path = overlay(folder.path(), "pump-worn", 40.0);
    let text = fs::read_to_string(&path).unwrap();
    for (text, words) in [
        (
            text.replace("chain-cvt", "other"),
            "2:11: the overlay is of the family “other”",
        ),
        (
            text.replace("was: ", "was: 1"),
            "learn again from today's knowledge",
        ),
        ("causes: {}\n".to_owned(), "learned.yaml:1:"),
    ] {
        fs::write(&path, text).unwrap();
        shop(&path, &next).fails_with(2).run().complains(words);
    }
    fs::remove_file(&path).unwrap();
    shop(&path, &next)
        .fails_with(2)
        .run()
        .complains("learned.yaml: ");
}

#[test]
fn commands_that_take_the_figures_as_they_are_written_refuse_learned_ones() {
    let folder = TempDir::new().unwrap();
    let path = overlay(folder.path(), "pump-worn", 40.0);
    let jobs = folder.path().to_str().unwrap();
    for arguments in [&["learn", jobs][..], &["schema"], &["completions", "bash"]] {
        shop(&path, arguments).fails_with(2).run().complains(
            "--overlay is for diagnose, next, plan, serve, jobs, sheet, show, draw, study, check and diff",
        );
    }
}
