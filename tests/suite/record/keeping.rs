//! What is on disk when, and who may write there.

use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

use halfsplit::files::{Readers, fingerprint};
use halfsplit::record::{
    Clock, Difference, Entry, Event, MAX_LINE, Record, RecordError, file_name,
};

use super::{at, complaint, note, opened, place, reading, record_of, ticking};

#[test]
fn every_answer_is_a_whole_line_in_the_file_when_append_returns() {
    let (_folder, mut record) = record_of([]);
    let answers = [
        complaint("it slips"),
        reading("turn-noise", "groan"),
        note("n"),
        Event::back(1),
    ];
    for (before, answer) in (1..).zip(answers) {
        record.append(answer).unwrap();
        let text = fs::read_to_string(record.path()).unwrap();
        assert!(text.ends_with('\n'));
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len(), before + 1);
        let last = Entry::from_line(lines[before].as_bytes()).unwrap();
        assert_eq!(Some(&last), record.events().last());
    }
}

#[test]
fn a_line_says_when_by_which_version_of_which_job_and_where() {
    let (_folder, record) = record_of([complaint("it slips")]);
    let text = fs::read_to_string(record.path()).unwrap();
    let job = record.history().job();
    let version = env!("CARGO_PKG_VERSION");
    assert_eq!(job.len(), 16);
    let mut unsummed = String::new();
    for line in text.lines() {
        let (before, sum) = line.rsplit_once(",\"sum\":").unwrap();
        assert_eq!(sum, format!("\"{}\"}}", fingerprint(before.as_bytes())));
        unsummed += &format!("{before}}}\n");
    }
    assert_eq!(
        unsummed,
        format!(
            "{{\"time\":\"2026-11-25T10:00:00.000Z\",\"version\":\"{version}\",\"job\":\"{job}\",\"line\":1,\
             \"event\":\"opened\",\"format\":1,\"family\":\"chain-cvt\",\
             \"knowledge\":{{\"chain-cvt/family.yaml\":\"90b1d27ce4a6f358\"}}}}\n\
             {{\"time\":\"2026-11-25T10:00:01.000Z\",\"version\":\"{version}\",\"job\":\"{job}\",\"line\":2,\
             \"event\":\"complaint\",\"words\":\"it slips\"}}\n"
        )
    );
}

#[test]
fn control_characters_round_trip_and_are_not_in_the_file() {
    let words = "a\u{0}b\u{1b}[2Jc\u{7f}d\u{9b}e\u{2028}f\u{202e}g\r\n\t\"\\ü 漢";
    let (_folder, record) = record_of([note(words), complaint(words)]);
    let text = fs::read_to_string(record.path()).unwrap();
    assert!(
        !text
            .chars()
            .any(|c| (c.is_control() && c != '\n') || "\u{2028}\u{202e}".contains(c))
    );
    assert_eq!(text.lines().count(), 3);
    assert!(text.contains("ü 漢"));
    let view = Record::read(record.path()).unwrap();
    assert_eq!(view.history.state().notes[0].what, words);
    assert_eq!(view.history.state().complaints, [words]);
}

#[test]
fn a_job_goes_on_where_it_was_left() {
    let (_folder, mut record) = record_of([complaint("it slips")]);
    record.append(reading("turn-noise", "groan")).unwrap();
    let (path, events, state) = (
        record.path().to_owned(),
        record.events().to_vec(),
        record.state().clone(),
    );
    drop(record);
    let (mut record, torn) = Record::open(&path, ticking()).unwrap();
    assert_eq!(torn, None);
    assert_eq!((record.events(), record.state()), (&events[..], &state));
    record.append(note("back after lunch")).unwrap();
    assert_eq!(record.events().last().unwrap().line, 4);
}

#[test]
fn what_cannot_be_read_back_is_refused_and_nothing_is_written() {
    let (_folder, mut record) = record_of([complaint("it slips")]);
    let before = fs::read(record.path()).unwrap();
    let Event::Reading(mut taken) = reading("turn-noise", "groan") else {
        unreachable!()
    };
    taken.value = Some(f64::NAN);
    let refused = record.append(Event::Reading(taken.clone())).unwrap_err();
    assert!(
        matches!(
            refused,
            RecordError::Unwritable {
                event: "reading",
                ..
            }
        ),
        "{refused}"
    );
    taken.value = None;
    taken.weights.insert("groan".to_owned(), f64::INFINITY);
    assert!(record.append(Event::Reading(taken)).is_err());
    assert!(record.append(note(&"x".repeat(MAX_LINE))).is_err());
    assert_eq!(fs::read(record.path()).unwrap(), before);
    assert_eq!(record.events().len(), 2);
    record.append(note("and on")).unwrap();
}

#[test]
fn a_second_handle_is_kept_out_and_may_read() {
    let (_folder, record) = record_of([complaint("it slips")]);
    let refused = Record::open(record.path(), ticking()).unwrap_err();
    assert!(matches!(refused, RecordError::Locked(_)));
    let words = refused.to_string();
    assert!(
        words.contains("a.job.jsonl") && words.contains("another halfsplit"),
        "{words}"
    );
    assert_eq!(
        Record::read(record.path()).unwrap().history.entries(),
        record.events()
    );
    let path = record.path().to_owned();
    drop(record);
    Record::open(&path, ticking()).unwrap();
}

#[test]
fn another_process_is_kept_out_until_the_first_is_killed() {
    let (_folder, path) = place();
    let mut holder = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(["diagnose", "slipping", "--vehicle", "none", "--record"])
        .arg(&path)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    // At its first prompt it has the record open.
    let mut screen = BufReader::new(holder.stdout.take().unwrap());
    assert!(screen.skip_until(b'>').unwrap() > 0);
    let refused = Record::open(&path, ticking());
    holder.kill().unwrap();
    holder.wait().unwrap();
    assert!(matches!(refused, Err(RecordError::Locked(_))));
    Record::open(&path, ticking()).unwrap();
}

#[test]
fn a_record_changed_by_another_program_takes_no_more_answers() {
    let (_folder, mut record) = record_of([complaint("it slips")]);
    let path = record.path().to_owned();
    let text = fs::read(&path).unwrap();
    let longer = [&text[..], b"x"].concat();
    fs::write(&path, &longer).unwrap();
    let refused = record.append(note("n")).unwrap_err();
    assert!(
        refused.to_string().contains("another program changed"),
        "{refused}"
    );
    assert_eq!(
        (fs::read(&path).unwrap(), record.events().len()),
        (longer, 2)
    );
    fs::write(&path, &text).unwrap();
    record.append(note("n")).unwrap();
}

#[test]
fn a_record_deleted_moved_or_replaced_meanwhile_is_written_beside_with_the_answer() {
    type Deed = fn(&Path) -> std::io::Result<()>;
    let deeds: [Deed; 3] = [
        |path| fs::remove_file(path),
        |path| fs::rename(path, path.with_extension("moved")),
        |path| {
            let copy = path.with_extension("copy");
            fs::copy(path, &copy)?;
            fs::rename(&copy, path)
        },
    ];
    for deed in deeds {
        let (_folder, mut record) = record_of([complaint("it slips")]);
        let path = record.path().to_owned();
        deed(&path).unwrap();
        let refused = record.append(note("n")).unwrap_err().to_string();
        let beside = format!("{}.rescued", path.display());
        assert!(refused.contains(&beside), "{refused}");
        let view = Record::read(Path::new(&beside)).unwrap();
        assert_eq!(view.history.entries().len(), 3);
        assert_eq!(view.history.state().notes[0].what, "n");
        let again = record.append(note("n")).unwrap_err().to_string();
        assert!(again.contains("no more are taken"), "{again}");
        Record::open(Path::new(&beside), ticking()).unwrap();
    }
}

#[cfg(unix)]
#[test]
fn a_record_is_its_owners_alone_unless_the_folder_of_jobs_is_shared() {
    use std::os::unix::fs::PermissionsExt as _;
    let (folder, path) = place();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    let record = Record::create(&path, opened(), ticking()).unwrap();
    assert_eq!(mode(&path), 0o600);
    drop(record);
    let clock = Clock::fixed(at(0));
    let create = |readers| Record::create_in(folder.path(), &opened(), &clock, readers).unwrap();
    assert_eq!(mode(create(Readers::Owner).path()), 0o600);
    // As the user's mask leaves any new file.
    let usual = folder.path().join("usual");
    fs::write(&usual, "").unwrap();
    assert_eq!(mode(create(Readers::Usual).path()), mode(&usual));
    // What is torn off a record is as private as the record.
    let mut text = fs::read(&path).unwrap();
    text.extend(b"{\"time\"");
    fs::write(&path, text).unwrap();
    let (_record, torn) = Record::open(&path, ticking()).unwrap();
    assert_eq!(mode(&torn.unwrap().moved_to.unwrap()), 0o600);
}

#[test]
fn a_file_that_is_there_is_not_written_over() {
    let (_folder, path) = place();
    fs::write(&path, "shopping list\n").unwrap();
    let refused = Record::create(&path, opened(), ticking()).unwrap_err();
    assert!(matches!(refused, RecordError::Exists(_)));
    assert_eq!(fs::read_to_string(&path).unwrap(), "shopping list\n");
    let nowhere = path.with_file_name("no").join("a.job.jsonl");
    let refused = Record::create(&nowhere, opened(), ticking()).unwrap_err();
    assert!(refused.to_string().contains("the folder it should go into"));
}

#[test]
fn a_job_without_a_name_gets_the_first_free_one_of_the_day() {
    assert_eq!(
        file_name(jiff::civil::date(2026, 11, 25), 1, ".job.jsonl"),
        "2026-11-25-1.job.jsonl"
    );
    let (folder, _) = place();
    fs::write(folder.path().join("2026-11-25-2.job.jsonl"), "taken\n").unwrap();
    let clock = Clock::fixed(at(0));
    let names: Vec<String> = (0..3)
        .map(|_| Record::create_in(folder.path(), &opened(), &clock, Readers::Owner).unwrap())
        .map(|record| {
            record
                .path()
                .file_name()
                .unwrap()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    assert_eq!(
        names,
        [
            "2026-11-25-1.job.jsonl",
            "2026-11-25-3.job.jsonl",
            "2026-11-25-4.job.jsonl"
        ]
    );
}

#[test]
fn jobs_opened_at_once_all_get_files_of_their_own() {
    let (folder, _) = place();
    let clock = Clock::fixed(at(0));
    let jobs: std::collections::BTreeSet<String> = std::thread::scope(|scope| {
        let open = || Record::create_in(folder.path(), &opened(), &clock, Readers::Owner).unwrap();
        let threads: Vec<_> = (0..8).map(|_| scope.spawn(open)).collect();
        threads
            .into_iter()
            .map(|thread| thread.join().unwrap().history().job().to_owned())
            .collect()
    });
    assert_eq!(jobs.len(), 8);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 8);
}

#[test]
fn a_record_made_with_other_knowledge_says_what_differs() {
    // FIPS 180-4 example: SHA-256 of "abc" is ba7816bf 8f01cfea 414140de …
    assert_eq!(fingerprint(b"abc"), "ba7816bf8f01cfea");
    let print = |pairs: &[(&str, &str)]| -> BTreeMap<String, String> {
        pairs
            .iter()
            .map(|(file, print)| ((*file).to_owned(), (*print).to_owned()))
            .collect()
    };
    let (_folder, path) = place();
    let mut opened = opened();
    opened.knowledge = print(&[("a.yaml", "1"), ("b.yaml", "2"), ("d.yaml", "4")]);
    let record = Record::create(&path, opened, ticking()).unwrap();
    let today = print(&[("a.yaml", "1"), ("c.yaml", "3"), ("d.yaml", "5")]);
    let found = record.state().differs(&today);
    assert_eq!(
        found,
        [
            Difference::Gone("b.yaml".to_owned()),
            Difference::Added("c.yaml".to_owned()),
            Difference::Changed("d.yaml".to_owned())
        ]
    );
    assert_eq!(
        found[2].to_string(),
        "d.yaml has changed since the job was opened"
    );
    assert_eq!(record.state().differs(&record.state().opened.knowledge), []);
}
