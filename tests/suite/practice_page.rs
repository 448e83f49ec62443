//! Practice on the page: the same exercise, through the same moves, by forms.

use std::fs;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use halfsplit::practice::{Debrief, Practice};
use halfsplit::record::{Event, Mark, Record};
use tempfile::TempDir;

use crate::browser::{Page, Response};
use crate::by_name::{chain_cvt, shipped};

/// Begins an exercise; its address.
fn begins(page: &Page, fields: &[(&str, &str)]) -> String {
    let token = page.get("/practice").hidden("token");
    let mut all = vec![("token", token.as_str())];
    all.extend(fields);
    let begun = page.post("/practice", &all);
    assert_eq!(begun.status, 303, "{begun:?}");
    begun.header("location").unwrap()
}

fn only_record(folder: &Path) -> PathBuf {
    let mut files = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path());
    let file = files.next().unwrap();
    assert!(files.next().is_none());
    file
}

/// What is done at once: everything before a reading is seen to, and the reading is taken.
fn reads(page: &Page, address: &str, measurement: &str) -> Response {
    page.answers(address, &[("do", "take"), ("take", measurement)]);
    for _ in 0..10 {
        let shown = page.get(address);
        if shown.body.contains("value=\"read\"") {
            page.answers(address, &[("do", "read")]);
            return page.get(address);
        }
        page.answers(address, &[("say", "yes")]);
    }
    panic!("{measurement} is not read");
}

#[test]
fn an_exercise_is_played_on_the_page_and_its_record_is_that_of_a_terminal() {
    let folder = TempDir::new().unwrap();
    let page = Page::of(shipped(), folder.path(), None);
    let address = begins(
        &page,
        &[
            ("name", "A. Learner"),
            ("exercise", "named chain-cvt 02-bang-into-reverse"),
        ],
    );
    let file = only_record(folder.path());
    assert!(file.to_str().unwrap().ends_with(".practice.jsonl"));
    // Until it is over nothing on the page names a cause, and no job is listed.
    let first = page.get(&address);
    assert!(
        first.body.contains("A bang when I select reverse"),
        "{first:?}"
    );
    let tells_nothing = |shown: &Response| {
        for cause in &chain_cvt().causes {
            assert!(!shown.body.contains(&cause.name), "{}", cause.name);
            assert!(!shown.body.contains(&cause.title), "{}", cause.title);
        }
    };
    tells_nothing(&first);
    assert!(!page.get("/?closed=yes").body.contains("K-02"));

    let read = reads(&page, &address, "engine-roll");
    assert!(read.body.contains("It reads: jumps"), "{}", read.body);
    tells_nothing(&read);
    // A stale form does nothing.
    let (token, at) = (first.hidden("token"), first.hidden("at"));
    let late = [
        ("token", token.as_str()),
        ("at", &at),
        ("do", "repair"),
        ("repair", "renew-mount"),
    ];
    assert_eq!(page.post(&address, &late).status, 409);
    // Under way, it is on the list.
    assert!(page.get("/practice").body.contains("A. Learner"));
    // The debrief is not shown before the end.
    assert_eq!(page.get(&format!("{address}/debrief")).status, 303);

    page.answers(&address, &[("do", "suspects")]);
    page.answers(&address, &[("do", "repair"), ("repair", "renew-mount")]);
    let over = page.get(&address);
    assert!(
        over.body.contains("The complaint is gone."),
        "{}",
        over.body
    );
    let debrief = page.get(&format!("{address}/debrief"));
    assert!(
        debrief.body.contains("Engine or transmission mount broken"),
        "{}",
        debrief.body
    );
    assert!(!page.get("/practice").body.contains("A. Learner"));

    let history = Record::read(&file).unwrap().history;
    let practice = Practice::of_record(shipped(), history.state(), None).unwrap();
    let own = Debrief::of(&practice, &history).unwrap();
    assert_eq!(
        (own.helps, own.own.readings.len(), own.own.wrong),
        ([0, 0, 1], 1, 0)
    );
}

#[test]
fn a_rule_that_is_broken_is_marked_and_answered_with_what_would_happen() {
    let folder = TempDir::new().unwrap();
    let page = Page::of(shipped(), folder.path(), None);
    let address = begins(
        &page,
        &[("exercise", "drawn chain-cvt slipping"), ("seed", "7")],
    );
    page.answers(&address, &[("do", "take"), ("take", "stall-forward")]);
    let shown = page.get(&address);
    assert!(
        shown.body.contains("To be read before it:"),
        "{}",
        shown.body
    );
    assert!(shown.body.contains("class=\"warning\""), "{}", shown.body);
    let history = Record::read(&only_record(folder.path())).unwrap().history;
    let marked = history.entries().iter().any(|entry| {
        matches!(&entry.event, Event::Marked { mark: Mark::Unsafe, about: Some(of) } if of == "stall-forward")
    });
    assert!(marked);
    assert_eq!(
        history.state().opened.practice.as_ref().unwrap().draw,
        Some(7)
    );
}

#[test]
fn help_that_is_forbidden_is_neither_offered_nor_given() {
    let folder = TempDir::new().unwrap();
    let page = Page::of(shipped(), folder.path(), None);
    let address = begins(
        &page,
        &[("exercise", "drawn chain-cvt slipping"), ("no-help", "yes")],
    );
    assert!(!page.get(&address).body.contains("value=\"hint\""));
    page.answers(&address, &[("do", "hint")]);
    let shown = page.get(&address);
    assert!(
        shown.body.contains("That help is not given"),
        "{}",
        shown.body
    );
}

#[test]
fn what_is_missing_is_said_and_nothing_is_begun() {
    let folder = TempDir::new().unwrap();
    let page = Page::of(shipped(), folder.path(), None);
    let token = page.get("/practice").hidden("token");
    for exercise in [
        "",
        "named chain-cvt 99",
        "named ../x y",
        "drawn chain-cvt nothing",
        "drawn",
    ] {
        let shown = page.post("/practice", &[("token", &token), ("exercise", exercise)]);
        assert!(
            shown.body.contains("Choose an exercise first."),
            "{exercise}: {shown:?}"
        );
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    assert_eq!(page.get("/practice/0123456789abcdef").status, 404);
}

/// The program itself serves the exercises, and the sealed ones of the folder.
#[test]
fn the_program_serves_its_exercises_and_sealed_ones() {
    let folder = TempDir::new().unwrap();
    let sealed = folder.path().join("five.sealed");
    fs::copy(
        Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/practice/five.sealed"),
        &sealed,
    )
    .unwrap();
    fs::write(folder.path().join("other.sealed"), "no exercise").unwrap();
    let mut program = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(["serve", "--port", "0"])
        .arg(folder.path())
        .env("HALFSPLIT_SHOP", "")
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut said = BufReader::new(program.stdout.take().unwrap()).lines();
    let line = said
        .find_map(|line| line.ok().filter(|line| line.contains("http://")))
        .unwrap();
    let host = line
        .split("http://")
        .nth(1)
        .unwrap()
        .trim_end_matches('/')
        .to_owned();
    let mut stream = TcpStream::connect(&host).unwrap();
    write!(
        stream,
        "GET /practice HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"
    )
    .unwrap();
    let mut shown = String::new();
    stream.read_to_string(&mut shown).unwrap();
    program.kill().unwrap();
    let told = program.wait_with_output().unwrap();
    assert!(
        shown.contains("named chain-cvt 02-bang-into-reverse"),
        "{shown}"
    );
    assert!(shown.contains("named chain-cvt sealed-five"), "{shown}");
    assert!(
        String::from_utf8_lossy(&told.stderr).contains("other.sealed is left out"),
        "{told:?}"
    );
}
