//! Records that earlier versions made at their prompts: the jobs that a shop has lying about when it takes a
//! new version. Whoever adds to what a record can say adds records to `tests/records`, and changes none.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use halfsplit::record::{Event, Record, State};
use serde_json::Value;
use tempfile::TempDir;

use crate::shop::{flat, program};

/// Each record and what a person who reads it finds: the symptoms present | the symptoms absent | how many
/// readings move the diagnosis | the repairs that did not fix it | how the job stands.
#[rustfmt::skip]
const RECORDS: [(&str, &str); 17] = [
    ("cause-told-later", "slipping | | 1 | | closed for forward-clutch-worn"),
    ("codes-and-a-cold-level", "harsh-engagement | | 3 | | open"),
    ("goes-on-after-a-repair-in-vain", "slipping | | 3 | repair-leak | open"),
    ("handed-on", "harsh-engagement | | 9 | renew-tcc-solenoid, run-adaptation, adjust-selector | open"),
    ("hops-when-parking", "tight-turn-binding | | 3 | | closed for tyre-mismatch-axles"),
    ("instrument-and-repair-named", "slipping | | 1 | | open"),
    ("no-symptom-then-one", "slipping | | 1 | | open"),
    ("nobody-saw-which", "slipping | | 1 | | closed for one of forward-clutch-worn forward-clutch-seal-leak"),
    ("power-lost-in-a-stall", "slipping | | 0 | | open"),
    ("reading-corrected", "slipping | | 2 | | open"),
    ("shop-without-scan-tool", "slipping | | 0 | | open"),
    ("stall-cooling-down", "slipping | | 1 | | open"),
    ("steps-back", "no-drive | | 2 | | closed for selector-cable-misadjusted"),
    ("two-complaints-no-sheet", "harsh-engagement slipping | no-drive tight-turn-binding | 2 | | open"),
    ("two-faults-together", "tight-turn-binding | | 6 | calibrate-steering-angle renew-wheel-speed-sensor | open"),
    ("vehicle-put-right", "slipping | | 1 | | open"),
    ("verification-begun", "harsh-engagement | | 4 | | verifying renew-pressure-sensor"),
];

/// Every event of docs/jobs.md with each of its fields, and each of the words and truths that a field may have.
/// Beside them stand only `without` of `note`, for names that are lost, and `words` of `closed`, which this version
/// reads and never writes.
const HELD: &str = "
    opened format family vehicle knowledge knowledge.overlay ticket
    opened practice.exercise practice.draw practice.sealed=true practice.trainee
    opened shop.lacks shop.labour_rate shop.currency shop.first_looks
    complaint words
    symptom symptom present=true present=false
    no-symptom line
    vehicle vehicle readings
    in-place set_ups
    condition condition raw holds=true holds=false value unit
    reading measurement raw outcome weights value unit uncertainty instrument codes codes=[] why_not attempt
    reading counts=true counts=false values values.*.raw values.*.value values.*.unit values.*.uncertainty
    timed measurement phase=started phase=ended seconds cool_down
    set-aside measurement how=skipped how=not-possible why lacks
    taken-up measurement instrument
    note words
    advice advice=measure advice=repair advice=take-again advice=escalate measurement repairs cost asked=true
    back steps lines
    withdrawn reading
    repair repairs causes probability
    verification measurement raw outcome as_expected=true as_expected=false
    closed fixed=true fixed=false causes repairs found=stated found=only found=unknown among
    marked mark=hint mark=advice mark=suspects mark=prepared mark=unsafe mark=out-of-order mark=out-of-condition
    marked mark=unproved mark=handed-on about
    reopened words";

/// Records of practice: no job, and so refused where jobs are taken up.
const PRACTICE: [&str; 2] = ["drawn", "sealed"];

fn frozen(name: &str) -> PathBuf {
    let records = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/records");
    records.join(name).with_extension("jsonl")
}

/// A copy to work on: the program adds to a record.
fn copy(name: &str) -> (TempDir, PathBuf) {
    let place = TempDir::new().unwrap();
    let path = place.path().join("a.job.jsonl");
    fs::write(&path, fs::read(frozen(name)).unwrap()).unwrap();
    (place, path)
}

/// What the program shows of a record. It may tell on the error stream that the knowledge has changed since.
fn shown(arguments: &[&str], typed: &str, path: &Path) -> String {
    let arguments = [arguments, &["--job", path.to_str().unwrap()]].concat();
    let folder = path.parent().unwrap();
    let output = program(&arguments, typed, folder, &BTreeMap::new());
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(0), "{arguments:?}\n{said}");
    String::from_utf8(output.stdout).unwrap()
}

/// What a record amounts to, read without a lock.
fn state(path: &Path) -> State {
    State::of(Record::read(path).unwrap().history.entries()).unwrap()
}

#[test]
fn every_frozen_record_is_in_the_table_and_keeps_its_line_feeds() {
    let there = fs::read_dir(frozen("any").parent().unwrap()).unwrap();
    let there: BTreeSet<PathBuf> = there.map(|entry| entry.unwrap().path()).collect();
    assert_eq!(there, RECORDS.map(|row| frozen(row.0)).into());
    for file in there {
        let bytes = fs::read(&file).unwrap();
        assert!(
            bytes.ends_with(b"}\n") && !bytes.contains(&b'\r'),
            "{file:?}"
        );
    }
}

#[test]
fn every_frozen_record_is_resumed_and_what_it_held_stays_in_front() {
    for (name, finds) in RECORDS {
        let (place, path) = copy(name);
        let told = flat(&shown(&["diagnose"], "stop\n", &path));
        if finds.contains("| closed") {
            assert!(told.contains("Closed as fixed"), "{name}: {told}");
        } else {
            assert!(told.contains("Saved."), "{name}: {told}");
            shown(&["diagnose"], "note seen again\nstop\n", &path);
            assert_eq!(state(&path).notes.last().unwrap().what, "seen again");
        }
        let (before, after) = (fs::read(frozen(name)).unwrap(), fs::read(&path).unwrap());
        assert!(after.starts_with(&before), "{name}");
        // Nothing was set aside as torn.
        assert_eq!(fs::read_dir(place.path()).unwrap().count(), 1, "{name}");
    }
}

#[test]
fn what_to_do_next_is_told_from_every_open_frozen_record() {
    let open = |row: &(&str, &str)| !row.1.contains("| closed");
    for (name, finds) in RECORDS.into_iter().filter(open) {
        let (_place, path) = copy(name);
        let next: Value = serde_json::from_str(&shown(&["next", "--json"], "", &path)).unwrap();
        let names = |of: &str| next[of].to_string().replace(['[', ']', '"'], "");
        let (present, absent) = (names("symptoms"), names("absent"));
        let read = next["readings"].as_array().unwrap().len();
        let known = flat(&format!("{present} | {absent} | {read} |")).replace(',', " ");
        assert!(finds.starts_with(&known), "{name}: {known}");
        assert_eq!(fs::read(&path).unwrap(), fs::read(frozen(name)).unwrap());
    }
}

/// `event field`, `event field=value` and so on inwards, for all that a value holds.
fn names_in(at: &str, value: &Value, found: &mut BTreeSet<String>) {
    let text = value.to_string().replace('"', "");
    found.extend([at.to_owned(), format!("{at}={text}")]);
    for (field, inner) in value.as_object().into_iter().flatten() {
        let field = if at == "reading values" { "*" } else { field };
        names_in(&format!("{at}.{field}"), inner, found);
    }
}

#[test]
fn every_event_and_every_field_is_in_a_frozen_record() {
    let mut found = BTreeSet::new();
    let practice = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/practice");
    let practice = PRACTICE.map(|name| practice.join(name).with_extension("jsonl"));
    for file in RECORDS
        .map(|(name, _)| frozen(name))
        .into_iter()
        .chain(practice)
    {
        State::of(Record::read(&file).unwrap().history.entries()).unwrap();
        for line in fs::read_to_string(file).unwrap().lines() {
            let line: Value = serde_json::from_str(line).unwrap();
            let event = line["event"].as_str().unwrap();
            for (field, value) in line.as_object().unwrap() {
                names_in(&format!("{event} {field}"), value, &mut found);
            }
        }
    }
    let mut events = BTreeSet::new();
    for line in HELD.trim().lines() {
        let (event, fields) = line.trim().split_once(' ').unwrap();
        events.insert(event);
        for field in fields.split(' ') {
            let name = format!("{event} {field}");
            assert!(found.contains(&name), "no frozen record holds {name}");
        }
    }
    assert_eq!(events, BTreeSet::from(Event::NAMES));
}

#[test]
fn a_frozen_record_says_what_a_person_reads_in_it() {
    for (name, finds) in RECORDS {
        let state = state(&frozen(name));
        let repairs = state.repairs.iter().map(|done| &done.repair.repairs);
        let mut in_vain: Vec<String> = repairs.map(|names| names.join(" ")).collect();
        let last = state.verifying.then(|| in_vain.pop().unwrap());
        let stands = match (&state.closed, last) {
            (Some(closed), _) if closed.what.causes.is_empty() => {
                format!("closed for one of {}", closed.what.among.join(" "))
            }
            (Some(closed), _) => format!("closed for {}", closed.what.causes.join(" ")),
            (None, Some(repair)) => format!("verifying {repair}"),
            (None, None) => "open".to_owned(),
        };
        let (present, absent) = (state.present.join(" "), state.absent.join(" "));
        let (read, in_vain) = (state.counting().count(), in_vain.join(", "));
        let found = format!("{present} | {absent} | {read} | {in_vain} | {stands}");
        assert_eq!(flat(&found), finds, "{name}");
    }
}

/// The records end 2.758 s after the end of the stall, and at its start: of 60 s, and of 5 s and 60 s after them.
#[test]
fn a_frozen_stall_is_still_cooling_down_where_its_record_ends() {
    for (name, left, unfinished) in [
        ("stall-cooling-down", 57.242, false),
        ("power-lost-in-a-stall", 65.0, true),
    ] {
        let view = Record::read(&frozen(name)).unwrap();
        let state = State::of(view.history.entries()).unwrap();
        let ends = view.history.entries().last().unwrap().time;
        assert_eq!(state.cool_down_left(ends).unwrap().as_secs_f64(), left);
        assert!(state.cool_downs.keys().all(|key| key.1 == unfinished));
    }
}
