//! Processes that are killed, run out of disk, or meet on one record.

use std::fs;
use std::io::{Read as _, Write as _};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::Duration;

use halfsplit::record::{Clock, Record};

use super::Draws;

/// A command at work in a folder, its input and output ours.
fn started(command: &mut Command, folder: &Path) -> Child {
    command
        .current_dir(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
}

fn diagnosing(folder: &Path) -> Child {
    let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    let arguments = [
        "diagnose",
        "slipping",
        "--vehicle",
        "demo-estate",
        "--record",
        "a.job.jsonl",
    ];
    started(command.args(arguments), folder)
}

/// Notes typed one after the other, to a program that may end at any time.
fn type_notes(child: &mut Child, notes: usize) {
    let mut input = child.stdin.take().unwrap();
    let lines = (1..=notes).map(|note| format!("note number {note};"));
    let lines = lines.collect::<Vec<_>>().join("\n") + "\n";
    thread::spawn(move || input.write_all(lines.as_bytes()));
}

/// How many of the notes were on disk before the next prompt: all before the last that the screen repeats.
fn acknowledged(screen: &str, notes: usize) -> usize {
    let shown = |note: &usize| screen.contains(&format!("note number {note};"));
    (1..=notes).filter(shown).count().saturating_sub(1)
}

/// Whether the record holds the notes that were acknowledged, in their order, and can be gone on with.
fn holds(path: &Path, acknowledged: usize) {
    if !path.exists() {
        assert_eq!(acknowledged, 0);
        return;
    }
    let (record, _) = match Record::open(path, Clock::system()) {
        Ok(opened) => opened,
        Err(error) => {
            // Killed while the first line was written: nothing was accepted.
            assert!(
                acknowledged == 0 && error.to_string().contains("no job was opened"),
                "{error}"
            );
            return;
        }
    };
    let notes = record.state().notes.iter().map(|note| note.what.clone());
    let notes: Vec<String> = notes.collect();
    let all: Vec<String> = (1..=notes.len())
        .map(|note| format!("number {note};"))
        .collect();
    assert_eq!(notes, all);
    assert!(
        notes.len() >= acknowledged,
        "{} of {acknowledged}",
        notes.len()
    );
}

fn killed(times: usize) {
    const NOTES: usize = 60;
    let mut draws = Draws(5);
    for _ in 0..times {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.job.jsonl");
        let mut child = diagnosing(folder.path());
        type_notes(&mut child, NOTES);
        // Not before there is a record: what comes before is no job yet.
        while !path.exists() && child.try_wait().unwrap().is_none() {
            thread::sleep(Duration::from_millis(1));
        }
        thread::sleep(Duration::from_micros(
            u64::try_from(draws.below(60_000)).unwrap(),
        ));
        let _ = child.kill();
        let mut screen = Vec::new();
        child
            .stdout
            .take()
            .unwrap()
            .read_to_end(&mut screen)
            .unwrap();
        child.wait().unwrap();
        holds(
            &path,
            acknowledged(&String::from_utf8_lossy(&screen), NOTES),
        );
    }
}

#[test]
fn a_program_killed_at_random_loses_no_answer_that_it_acknowledged() {
    killed(6);
}

#[test]
#[ignore = "the long form"]
fn a_program_killed_five_hundred_times_loses_no_answer_that_it_acknowledged() {
    killed(500);
}

#[cfg(unix)]
#[test]
fn a_full_disk_ends_the_job_in_words_and_keeps_what_was_acknowledged() {
    let folder = tempfile::tempdir().unwrap();
    // A limit on the size of files is met as a full disk is: in the middle of a line.
    let script = format!(
        "trap '' XFSZ; ulimit -f 8; exec {} diagnose slipping --vehicle demo-estate --record a.job.jsonl",
        env!("CARGO_BIN_EXE_halfsplit")
    );
    let mut child = started(Command::new("bash").args(["-c", &script]), folder.path());
    type_notes(&mut child, 60);
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    let words = String::from_utf8_lossy(&output.stderr);
    assert!(words.contains("could not write the answer"), "{words}");
    let screen = String::from_utf8_lossy(&output.stdout);
    let path = folder.path().join("a.job.jsonl");
    let acknowledged = acknowledged(&screen, 60);
    assert!(acknowledged > 3, "{acknowledged}: {screen}");
    holds(&path, acknowledged);
    // The line that did not fit was taken off again.
    assert!(fs::read(&path).unwrap().ends_with(b"}\n"));
}

#[test]
fn of_programs_that_resume_one_record_at_once_one_has_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.job.jsonl");
    let mut child = diagnosing(folder.path());
    type_notes(&mut child, 3);
    assert!(child.wait().unwrap().success());
    let mut program = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    program.args(["diagnose", "--job", "a.job.jsonl"]);
    let mut children: Vec<Child> = (0..4)
        .map(|_| started(&mut program, folder.path()))
        .collect();
    // The one that has it waits for its input; the others end.
    let mut codes = Vec::new();
    while children.len() > 1 {
        thread::sleep(Duration::from_millis(5));
        children.retain_mut(|child| match child.try_wait().unwrap() {
            Some(status) => {
                codes.push(status.code());
                false
            }
            None => true,
        });
    }
    assert_eq!(codes, [Some(2); 3]);
    drop(children[0].stdin.take());
    assert!(children[0].wait().unwrap().success());
    holds(&path, 3);
}

#[cfg(unix)]
#[test]
fn a_record_that_is_a_pipe_or_a_device_is_refused_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let pipe = folder.path().join("pipe");
    assert!(
        Command::new("mkfifo")
            .arg(&pipe)
            .status()
            .unwrap()
            .success()
    );
    for path in [pipe.as_path(), Path::new("/dev/zero")] {
        let refused = Record::read(path).unwrap_err().to_string();
        assert!(refused.contains("a device or a pipe"), "{refused}");
        assert!(Record::open(path, Clock::system()).is_err());
    }
}
