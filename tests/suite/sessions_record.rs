use std::fs;

use halfsplit::record::{Clock, Record};

use crate::shop::{Shop, Told, without_sums};

fn two_readings() -> Told {
    Shop::job("slipping")
        .types("take complaint-direction\nforward-only\ntake recent-work\nnormal\n")
        .run()
}

#[test]
fn the_end_of_the_input_saves_and_says_how_to_go_on() {
    let told = two_readings();
    told.says("Saved. Go on with:");
    let command = told
        .out
        .lines()
        .find(|line| line.contains("--job"))
        .unwrap()
        .trim();
    // With the knowledge that it was opened on.
    let knowledge = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/first-edition");
    let job = told.record().display().to_string();
    assert_eq!(
        command,
        format!("halfsplit diagnose --knowledge {knowledge} --job {job}")
    );
    assert_eq!(told.readings().len(), 2);
}

#[test]
fn an_input_that_ends_in_the_middle_of_a_line_is_taken_as_that_line() {
    let told = Shop::job("slipping")
        .types("take complaint-direction\nforward-only")
        .run();
    assert_eq!(told.readings().len(), 1);
}

#[test]
fn an_input_that_ends_in_the_middle_of_a_measurement_keeps_what_was_answered() {
    let told = Shop::job("slipping")
        .types("take fluid-level\n40\nyes\n")
        .run();
    assert_eq!(told.state().conditions.len(), 2);
    let told = told.resume().types("take fluid-level\nyes\nnormal\n").run();
    assert_eq!(told.readings().len(), 1);
}

#[test]
fn an_input_that_ends_at_the_vehicle_opens_no_job() {
    let told = Shop::diagnose(["slipping"]).run();
    assert!(!told.record().exists());
}

#[test]
fn stop_leaves_and_the_same_job_goes_on_with_the_same_proposal() {
    let told = Shop::job("slipping")
        .types("take complaint-direction\nforward-only\nstop\n")
        .run();
    let again = told.resume().run();
    assert_eq!(again.proposed(), told.proposed());
    assert_eq!(again.readings(), told.readings());
    // Nothing but looking was done: nothing is written.
    assert_eq!(again.text(), told.text());
}

#[test]
fn a_second_process_on_the_same_record_is_refused() {
    let told = two_readings();
    let (held, _) = Record::open(&told.record(), Clock::system()).unwrap();
    told.resume()
        .fails_with(2)
        .run()
        .complains("another halfsplit is at work on this job");
    // Only looking is no harm.
    let path = told.record();
    told.another()
        .arguments(["next", "--job", path.to_str().unwrap()])
        .run();
    drop(held);
    told.resume().run();
}

#[test]
fn a_record_damaged_in_the_middle_is_refused_with_its_line() {
    let told = two_readings();
    let text = told.text().replacen("\"symptom\"", "\"sym ptom\"", 1);
    fs::write(told.record(), &text).unwrap();
    told.resume()
        .fails_with(2)
        .run()
        .complains("line 2 is damaged");
    assert_eq!(told.text(), text);
}

#[test]
fn a_torn_last_line_is_set_aside_and_the_rest_stands() {
    let told = two_readings();
    let text = told.text();
    fs::write(told.record(), &text[..text.len() - 30]).unwrap();
    let again = told.resume().may_complain().run();
    again.complains("torn");
    assert!(again.record().with_extension("jsonl.torn").exists());
    assert!(again.proposed().is_some());
}

#[test]
fn a_record_that_is_not_there_is_refused() {
    Shop::new()
        .arguments(["diagnose", "--job", "/nowhere/a.job.jsonl"])
        .fails_with(2)
        .run()
        .complains("there is no such file");
}

#[test]
fn a_new_job_does_not_overwrite_a_record() {
    let told = two_readings();
    let before = told.text();
    let path = told.record();
    told.another()
        .arguments([
            "diagnose",
            "slipping",
            "--vehicle",
            "demo-estate",
            "--record",
            path.to_str().unwrap(),
        ])
        .fails_with(2)
        .run()
        .complains("there is a file of that name already");
    assert_eq!(told.text(), before);
}

#[test]
fn a_job_made_with_other_knowledge_says_what_differs() {
    let told = two_readings();
    let text = without_sums(&told.text());
    let at = text.find("chain-cvt/causes.yaml\":\"").unwrap() + "chain-cvt/causes.yaml\":\"".len();
    let other = format!("{}0000000000000000{}", &text[..at], &text[at + 16..]);
    fs::write(told.record(), other).unwrap();
    told.resume()
        .may_complain()
        .run()
        .complains("chain-cvt/causes.yaml has changed since the job was opened");
}

#[test]
fn a_job_whose_measurement_the_knowledge_lost_is_refused_by_name() {
    let told = two_readings();
    fs::write(
        told.record(),
        without_sums(&told.text()).replace("recent-work", "recent-wrok"),
    )
    .unwrap();
    let path = told.record();
    told.another()
        .arguments(["next", "--job", path.to_str().unwrap()])
        .fails_with(2)
        .run()
        .complains("measurement `recent-wrok`");
}

/// ESC, a bell, an operating-system command, a right-to-left override.
const HOSTILE: &str = "a\u{1b}[35m\u{7}\u{1b}]0;x\u{9b}2J\u{202e}b";

#[test]
fn control_characters_never_reach_the_screen() {
    // The shop itself fails on any that does.
    let told = Shop::diagnose(["--vehicle", "demo-estate", "--order", HOSTILE])
        .types(format!("slips {HOSTILE}\n{HOSTILE}\n1\nnote {HOSTILE}\n{HOSTILE}\ntake {HOSTILE}\nwhy {HOSTILE}\ncannot {HOSTILE}\nwith {HOSTILE}\nalso {HOSTILE}\nin-place {HOSTILE}\n"))
        .run();
    // They are in the record, where they are escaped.
    let state = told.state();
    assert_eq!(state.notes[0].what, HOSTILE);
    assert_eq!(state.opened.ticket.as_deref(), Some(HOSTILE));
    assert!(
        !told
            .text()
            .contains(['\u{1b}', '\u{7}', '\u{9b}', '\u{202e}'])
    );
    told.resume().run();
}

#[test]
fn control_characters_in_arguments_never_reach_the_screen() {
    for arguments in [
        vec!["diagnose", HOSTILE],
        vec!["diagnose", "slipping", "--vehicle", HOSTILE],
        vec!["diagnose", "--job", HOSTILE],
        vec!["diagnose", "--by", HOSTILE],
        vec!["diagnose", "--family", HOSTILE],
        vec!["--knowledge", HOSTILE, "diagnose"],
        vec!["next", "slipping", "--reading", HOSTILE],
        vec![
            "next",
            "slipping",
            "--vehicle",
            "demo-estate",
            "--reading",
            "gauge-forward=\u{1b}[35m",
        ],
        vec!["show", HOSTILE],
        vec![HOSTILE],
    ] {
        Shop::new().arguments(arguments).fails_with(2).run();
    }
}

#[test]
fn a_reading_cannot_be_both_reported_and_absent() {
    Shop::new()
        .arguments([
            "diagnose",
            "slipping",
            "--absent",
            "slipping",
            "--vehicle",
            "demo-estate",
        ])
        .fails_with(2)
        .run()
        .complains("`slipping` cannot be both reported and absent");
}

#[test]
fn complaints_that_nothing_explains_together_are_named() {
    let told = Shop::job("slipping")
        .types("also no-drive\nalso harsh-engagement\nalso tight-turn-binding\nback 4\n")
        .run();
    if told.flat().contains("Nothing fits") {
        told.says("treat them as two jobs");
    }
}
