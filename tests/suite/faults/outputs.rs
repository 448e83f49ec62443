//! What commands write: whole or not at all, nothing over what was not to be written over, and exit codes that hold.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use crate::shop::program;

fn run(arguments: &[&str], folder: &Path) -> Output {
    program(arguments, "", folder, &BTreeMap::new())
}

fn complaint_of(output: &Output) -> String {
    assert_eq!(output.status.code(), Some(2));
    String::from_utf8_lossy(&output.stderr).into_owned()
}

#[test]
fn a_study_writes_over_no_file_unasked_and_finds_before_it_begins_that_it_cannot_write() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    // So many vehicles that only a study that is not begun ends in this test's time.
    let study = |report: &str, more: &[&str]| {
        let mut arguments = vec![
            "study",
            "slipping",
            "--vehicles",
            "100000",
            "--report",
            report,
        ];
        arguments.extend(more);
        run(&arguments, folder.path())
    };
    fs::write(at("causes.yaml"), "mine").unwrap();
    assert!(
        complaint_of(&study("causes.yaml", &[])).contains("there is a file of that name already")
    );
    fs::write(at("found.svg"), "mine").unwrap();
    assert!(complaint_of(&study("found.md", &[])).contains("found.svg: there is a file"));
    assert!(complaint_of(&study("nowhere/found.md", &[])).contains("could not be written"));
    assert!(
        complaint_of(&study("nowhere/found.md", &["--force"])).contains("could not be written")
    );
    assert_eq!(fs::read_to_string(at("causes.yaml")).unwrap(), "mine");
    assert_eq!(fs::read_to_string(at("found.svg")).unwrap(), "mine");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
}

#[test]
fn what_a_crash_left_behind_blocks_no_later_run() {
    let folder = tempfile::tempdir().unwrap();
    let new = |what: &[&str]| {
        let mut arguments = vec!["new"];
        arguments.extend(what);
        arguments.extend(["--in", "k"]);
        run(&arguments, folder.path()).status.code()
    };
    // Files and folders of passing names, as a run that is killed leaves them.
    let left = folder.path().join("k/.halfsplit-a1b2c3");
    fs::create_dir_all(left.join("trees")).unwrap();
    fs::write(left.join("family.yaml"), "family: ha").unwrap();
    assert_eq!(new(&["family", "bench"]), Some(0));
    fs::write(folder.path().join("k/bench/.halfsplit-d4e5f6"), "causes:").unwrap();
    assert_eq!(new(&["cause", "bench/worn"]), Some(0));
    assert_eq!(run(&["check", "k"], folder.path()).status.code(), Some(0));
    // The folder of the family is as any other of the user's.
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        let mode = |path: &str| {
            fs::metadata(folder.path().join(path))
                .unwrap()
                .permissions()
                .mode()
        };
        assert_eq!(mode("k/bench"), mode("k/bench/trees"));
    }
}

#[cfg(unix)]
#[test]
fn a_sheet_is_its_owners_alone_and_one_that_is_there_keeps_its_rights() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    run(
        &[
            "diagnose",
            "slipping",
            "--vehicle",
            "demo-estate",
            "--record",
            "a.job.jsonl",
        ],
        folder.path(),
    );
    let sheet = folder.path().join("a.html");
    let written = run(&["sheet", "a.job.jsonl", "--out", "a.html"], folder.path());
    assert_eq!(written.status.code(), Some(0));
    let mode = || fs::metadata(&sheet).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(), 0o600);
    fs::set_permissions(&sheet, fs::Permissions::from_mode(0o640)).unwrap();
    let written = run(
        &["sheet", "a.job.jsonl", "--out", "a.html", "--replace"],
        folder.path(),
    );
    assert_eq!((written.status.code(), mode()), (Some(0), 0o640));
}

#[cfg(unix)]
#[test]
fn pipes_and_devices_are_refused_where_a_file_is_read() {
    let folder = tempfile::tempdir().unwrap();
    assert!(
        Command::new("mkfifo")
            .arg(folder.path().join("pipe"))
            .status()
            .unwrap()
            .success()
    );
    for file in ["pipe", "/dev/zero"] {
        for arguments in [
            &["next", "slipping", "--overlay", file][..],
            &["next", "slipping", "--shop", file],
            &["next", "--job", file],
            &["sheet", file],
            &["learn", "--counts", file],
        ] {
            let words = complaint_of(&run(arguments, folder.path()));
            assert!(
                words.contains("a device or a pipe"),
                "{arguments:?}: {words}"
            );
        }
    }
}

#[cfg(target_os = "linux")]
#[test]
fn an_output_that_takes_nothing_is_a_failure_with_its_exit_code() {
    let folder = tempfile::tempdir().unwrap();
    for arguments in [
        &["--help"][..],
        &["next", "slipping"],
        &["show", "slipping"],
        &["check"],
        &["schema", "causes"],
    ] {
        let full = fs::OpenOptions::new()
            .write(true)
            .open("/dev/full")
            .unwrap();
        let status = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
            .args(arguments)
            .current_dir(folder.path())
            .stdin(Stdio::null())
            .stdout(full)
            .stderr(Stdio::null())
            .status()
            .unwrap();
        assert_eq!(status.code(), Some(2), "{arguments:?}");
    }
}
