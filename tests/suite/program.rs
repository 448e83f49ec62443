use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};

use tempfile::TempDir;

use crate::shop::program;

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[test]
fn a_session_by_pipe_saves_at_the_end_of_the_input_and_exits_0() {
    let folder = TempDir::new().unwrap();
    let output = program(
        &[
            "diagnose",
            "slipping",
            "--vehicle",
            "demo-estate",
            "--record",
            "a.job.jsonl",
        ],
        "take recent-work\nnormal\n",
        folder.path(),
        &BTreeMap::new(),
    );
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(text(&output.stderr), "");
    assert!(
        text(&output.stdout)
            .ends_with("Saved. Go on with:\n  halfsplit diagnose --job a.job.jsonl\n")
    );
    assert!(
        fs::read_to_string(folder.path().join("a.job.jsonl"))
            .unwrap()
            .contains("\"recent-work\"")
    );
}

#[test]
fn a_record_without_a_name_is_named_after_today() {
    let folder = TempDir::new().unwrap();
    program(
        &["diagnose", "slipping", "--vehicle", "demo-estate"],
        "",
        folder.path(),
        &BTreeMap::new(),
    );
    let names: Vec<String> = fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(names.len(), 1);
    assert!(
        names[0].starts_with("20") && names[0].ends_with(".job.jsonl"),
        "{names:?}"
    );
}

#[test]
fn what_cannot_be_used_exits_2_and_faulty_knowledge_exits_1() {
    let folder = TempDir::new().unwrap();
    let code = |arguments: &[&str]| {
        program(arguments, "", folder.path(), &BTreeMap::new())
            .status
            .code()
    };
    assert_eq!(
        code(&["diagnose", "sliping", "--vehicle", "demo-estate"]),
        Some(2)
    );
    assert_eq!(code(&["diagnose", "--job", "missing"]), Some(2));
    assert_eq!(code(&["nonsense"]), Some(2));
    assert_eq!(code(&["--version"]), Some(0));
    assert_eq!(code(&["--help"]), Some(0));
    fs::create_dir_all(folder.path().join("k/f")).unwrap();
    fs::write(folder.path().join("k/f/family.yaml"), "nonsense: 1\n").unwrap();
    assert_eq!(code(&["--knowledge", "k", "next", "slipping"]), Some(1));
}

#[test]
fn a_reader_that_has_seen_enough_ends_the_program_quietly() {
    let folder = TempDir::new().unwrap();
    for arguments in [
        &["next", "slipping", "--vehicle", "demo-estate", "--json"][..],
        &["show", "slipping"],
        &["diagnose", "slipping", "--vehicle", "demo-estate"],
    ] {
        let mut child = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
            .args(arguments)
            .current_dir(folder.path())
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        // As `head -1` does.
        BufReader::with_capacity(1, child.stdout.take().unwrap())
            .read_line(&mut line)
            .unwrap();
        let output = child.wait_with_output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{arguments:?}");
        assert_eq!(text(&output.stderr), "", "{arguments:?}");
    }
}

/// What a command writes into a pipe whose reader has gone, and its exit code.
fn unread(arguments: &[&str], folder: &std::path::Path, unread_errors: bool) -> Option<i32> {
    let gone = || {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        writer
    };
    let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    command
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(gone())
        .stderr(Stdio::null());
    if unread_errors {
        command.stderr(gone());
    }
    command.status().unwrap().code()
}

#[test]
fn the_exit_code_is_the_same_where_nobody_reads_the_output() {
    let folder = TempDir::new().unwrap();
    fs::create_dir_all(folder.path().join("broken/f")).unwrap();
    fs::write(folder.path().join("broken/f/family.yaml"), "nonsense: 1\n").unwrap();
    let code = |arguments: &[&str]| unread(arguments, folder.path(), false);
    assert_eq!(code(&["check", "broken"]), Some(1));
    assert_eq!(code(&["check", "broken", "--json"]), Some(1));
    assert_eq!(code(&["check"]), Some(0));
    assert_eq!(code(&["--help"]), Some(0));
    assert_eq!(code(&["completions", "bash"]), Some(0));
    // Nor does it matter where the errors go.
    for (arguments, expected) in [
        (&["nonsense"][..], 2),
        (&["show", "nonsense"], 2),
        (&["--knowledge", "broken", "next", "slipping"], 1),
    ] {
        assert_eq!(
            unread(arguments, folder.path(), true),
            Some(expected),
            "{arguments:?}"
        );
    }
}

#[cfg(target_os = "linux")]
#[test]
fn an_output_that_cannot_be_written_exits_2() {
    for (arguments, into_errors) in [
        (&["--help"][..], false),
        (&["--version"], false),
        (&["show"], false),
        (&["next", "slipping", "--json"], false),
        (&["completions", "bash"], false),
        (&["nonsense"], true),
    ] {
        let full = || fs::File::options().write(true).open("/dev/full").unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
        command.args(arguments).stdout(full()).stderr(Stdio::null());
        if into_errors {
            command.stderr(full());
        }
        assert_eq!(command.status().unwrap().code(), Some(2), "{arguments:?}");
    }
}

#[test]
fn a_pipe_and_no_color_take_the_colours_out_and_forcing_them_brings_them_back() {
    let folder = TempDir::new().unwrap();
    let out = |variables: &[(&str, &str)]| {
        let variables: BTreeMap<&str, &str> = variables.iter().copied().collect();
        text(&program(&["next", "slipping"], "", folder.path(), &variables).stdout)
    };
    let plain = out(&[]);
    assert!(!plain.contains('\u{1b}'));
    assert_eq!(out(&[("NO_COLOR", "1")]), plain);
    let coloured = out(&[("CLICOLOR_FORCE", "1")]);
    assert!(coloured.contains('\u{1b}'));
    // No meaning rests on colour.
    assert_eq!(anstream::adapter::strip_str(&coloured).to_string(), plain);
}

#[test]
fn a_record_in_use_is_refused_to_a_second_program() {
    let folder = TempDir::new().unwrap();
    let arguments = [
        "diagnose",
        "slipping",
        "--vehicle",
        "demo-estate",
        "--record",
        "a.job.jsonl",
    ];
    let mut first = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(arguments)
        .current_dir(folder.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut shown = BufReader::new(first.stdout.take().unwrap());
    let mut line = String::new();
    while !line.contains("The record of this job") {
        line.clear();
        assert!(shown.read_line(&mut line).unwrap() > 0);
    }
    let second = program(
        &["diagnose", "--job", "a.job.jsonl"],
        "",
        folder.path(),
        &BTreeMap::new(),
    );
    assert_eq!(second.status.code(), Some(2));
    assert!(text(&second.stderr).contains("another halfsplit is at work on this job"));
    drop(first.stdin.take());
    std::io::copy(&mut shown, &mut std::io::sink()).unwrap();
    assert!(first.wait().unwrap().success());
}

#[test]
fn a_folder_that_cannot_be_written_to_is_refused() {
    let folder = TempDir::new().unwrap();
    let output = program(
        &[
            "diagnose",
            "slipping",
            "--vehicle",
            "demo-estate",
            "--record",
            "missing/a.job.jsonl",
        ],
        "",
        folder.path(),
        &BTreeMap::new(),
    );
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("the folder it should go into does not exist"));
}
