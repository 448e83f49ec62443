use std::fs;
use std::path::Path;

use halfsplit::files::Readers;
use halfsplit::jobs::{Folder, Priced, Row, age};
use halfsplit::record::{
    Advice, AdviceKind, Clock, Event, Leading, Opened, Record, Repair, SetAside, SetAsideHow,
};
use halfsplit::sheet::Stage;
use jiff::Timestamp;
use tempfile::TempDir;

use crate::browser::{Page, only_record};
use crate::by_name::shipped;
use crate::shop::{FIRST_EDITION, Shop};

/// The kept records as a folder of jobs, with a file that is none and one that cannot be read.
fn folder() -> TempDir {
    let folder = TempDir::new().unwrap();
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/records");
    for entry in fs::read_dir(kept).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_stem().unwrap().to_str().unwrap();
        fs::copy(&path, folder.path().join(format!("{name}.job.jsonl"))).unwrap();
    }
    fs::write(folder.path().join("notes.txt"), "no record").unwrap();
    fs::write(folder.path().join("torn.job.jsonl"), "{").unwrap();
    folder
}

#[test]
fn a_folder_lists_its_jobs_the_open_ones_first() {
    let folder = folder();
    let mut jobs = Folder::new(folder.path());
    let knowledge = Priced::new(shipped().clone());
    jobs.look(&knowledge).unwrap();
    let rows = jobs.rows();
    assert_eq!(rows.len(), 17);
    assert!(rows.is_sorted_by_key(|row| row.stage));
    for row in &rows {
        assert_eq!(row.next.is_some(), row.stage != Stage::Closed, "{row:?}");
        assert_eq!(
            row.found.is_empty(),
            row.stage != Stage::Closed || row.file.starts_with("nobody"),
            "{row:?}"
        );
    }
    let unreadable = jobs.unreadable();
    assert_eq!(unreadable.len(), 1);
    assert_eq!(unreadable[0].file, "torn.job.jsonl");

    // Another look finds what has changed, and only that.
    let before: Vec<_> = rows.into_iter().cloned().collect();
    let gone = folder.path().join(&before[0].file);
    fs::remove_file(gone).unwrap();
    jobs.look(&knowledge).unwrap();
    assert_eq!(jobs.rows(), before[1..].iter().collect::<Vec<_>>());
}

/// What leads and what comes next of a record that nothing is worked out for are those of its last advice.
#[test]
fn a_record_tells_what_was_advised_last() {
    let folder = TempDir::new().unwrap();
    let page = Page::of(shipped(), folder.path(), None);
    let job = page.begins("vehicle demo-estate", "1187", "it slips");
    page.answers(&job, &[("pick", "slipping")]);
    let file = only_record(folder.path());
    let none = Row::read(&file, shipped()).unwrap().0;
    assert_eq!((none.leading, none.next), (None, None));
    let mut before = Record::read(&file).unwrap().history;
    for _ in 0..20 {
        page.answers(&job, &[("say", "1")]);
        let (row, history) = Row::read(&file, shipped()).unwrap();
        if let Some(leading) = row.leading {
            let mut worked_out = Row::read(&file, shipped()).unwrap().0;
            worked_out.work_out(&before, shipped());
            assert_eq!(leading, worked_out.leading.unwrap());
            let read = !history.state().readings.is_empty();
            assert_eq!(row.next, worked_out.next.filter(|_| !read));
            return;
        }
        before = history;
    }
    panic!("nothing was advised");
}

/// What was advised last is no next step once it was passed over, and nothing leads by it once a repair was done.
#[test]
fn a_record_that_has_gone_on_since_its_last_advice_does_not_repeat_it() {
    let folder = TempDir::new().unwrap();
    let opened = Opened::new("chain-cvt", shipped().fingerprints());
    let mut record =
        Record::create_in(folder.path(), &opened, &Clock::system(), Readers::Owner).unwrap();
    let measurement = "fluid-level".to_owned();
    let told = |record: &mut Record, event: Event| {
        record.append(event).unwrap();
        let row = Row::read(record.path(), shipped()).unwrap().0;
        (row.leading.is_some(), row.next.is_some())
    };
    let symptom = "slipping".to_owned();
    told(
        &mut record,
        Event::Symptom {
            symptom,
            present: true,
        },
    );
    let repairs = vec!["renew-pump".to_owned()];
    let advice = Advice {
        advice: AdviceKind::Measure,
        measurement: Some(measurement.clone()),
        repairs: Vec::new(),
        cost: None,
        leading: Some(Leading {
            repairs: repairs.clone(),
            probability: 0.4,
        }),
        asked: false,
    };
    assert_eq!(told(&mut record, Event::Advice(advice)), (true, true));
    let words = "tows a caravan".to_owned();
    let note = Event::note(words);
    assert_eq!(told(&mut record, note), (true, true));
    let skipped = SetAside {
        measurement,
        how: SetAsideHow::Skipped,
        why: None,
        lacks: None,
    };
    assert_eq!(told(&mut record, Event::SetAside(skipped)), (true, false));
    let repair = Repair {
        repairs,
        causes: Vec::new(),
        probability: 0.4,
    };
    assert_eq!(told(&mut record, Event::Repair(repair)), (false, false));
}

#[test]
fn a_job_whose_last_advice_was_to_hand_it_on_is_not_among_the_open_ones() {
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/records/handed-on.jsonl");
    let row = Row::read(&kept, shipped()).unwrap().0;
    assert_eq!(row.stage, Stage::ToHandOn);
    assert_eq!(row.next.as_deref(), Some("hand the job on"));
}

#[test]
fn jobs_are_listed_by_state_vehicle_and_order() {
    let folder = folder();
    let path = folder.path().to_str().unwrap();
    let list = |more: &[&str]| {
        let shop = Shop::new().arguments(["jobs", path, "--knowledge", FIRST_EDITION]);
        shop.arguments(more.iter().copied()).may_complain().run()
    };
    let all: serde_json::Value = serde_json::from_str(&list(&["--json"]).out).unwrap();
    assert_eq!(all["jobs"].as_array().unwrap().len(), 17);
    let closed: serde_json::Value =
        serde_json::from_str(&list(&["--json", "--closed"]).out).unwrap();
    let closed = closed["jobs"].as_array().unwrap();
    assert!(!closed.is_empty() && closed.iter().all(|job| job["stage"] == "closed"));
    list(&["--open"]).says("Next:").says_not("Found:");
    list(&["--closed"]).says("Found:").says_not("Next:");
    list(&["--vehicle", "no-such"]).says("No job is as asked for");
    list(&[])
        .says("Cannot be read: torn.job.jsonl")
        .says("waiting for proof");
}

#[test]
fn a_folder_that_is_not_there_is_refused() {
    let told = Shop::new()
        .arguments(["jobs", "no/such/folder"])
        .fails_with(2)
        .run();
    told.complains("the folder of jobs");
}

#[test]
fn the_age_of_a_job_is_told_in_one_unit() {
    let then: Timestamp = "2026-03-02T08:00:00Z".parse().unwrap();
    for (minutes, told) in [
        (-5, "0 min"),
        (90, "90 min"),
        (125, "2 h"),
        (2_880, "48 h"),
        (2_881, "2 d"),
    ] {
        let now = then + jiff::SignedDuration::from_mins(minutes);
        assert_eq!(age(then, now), told);
    }
}
