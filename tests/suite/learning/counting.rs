//! Which records count, and for what.

use std::fs;

use halfsplit::knowledge::{CauseId, SymptomId};
use halfsplit::learn::{FilesError, Tally, records};
use halfsplit::record::{Event, Found};

use super::{
    LOW, PRESSURE, PUMP, RESIDUE, Records, STRAINER, closed, closed_unseen, ending, family, jobs,
    outcomes, reading, reading_that, repaired, tally_of, unstated, verified, verified_as,
    with_cause,
};

/// The job's events: these, then an ending on which it counts.
fn then_fixed(events: Vec<Event>, causes: &[&str]) -> Vec<Event> {
    [events, ending(causes)].concat()
}

/// Jobs by outcome of the pressure with the pump alone.
fn pressures(records: &Records) -> Option<Vec<u64>> {
    outcomes(&records.tally(&family()), PRESSURE, PUMP)
}

#[test]
fn a_job_counts_for_its_cause_its_symptom_and_its_readings() {
    let family = family();
    let mut records = Records::new();
    let readings = vec![reading("pressure", "low"), reading("residue", "metal")];
    records.job(then_fixed(readings, &["pump-worn"]));
    let tally = records.tally(&family);
    assert_eq!(jobs(&tally), 1);
    assert_eq!(tally.with_symptom(SymptomId::at(0)), 1);
    assert_eq!(
        (with_cause(&tally, PUMP), with_cause(&tally, STRAINER)),
        (1, 0)
    );
    assert_eq!(outcomes(&tally, PRESSURE, PUMP).unwrap(), [1, 0, 0]);
    assert_eq!(outcomes(&tally, RESIDUE, PUMP).unwrap(), [0, 0, 1]);
    assert!(outcomes(&tally, PRESSURE, STRAINER).is_none());
    let days = tally.jobs().unwrap().dates.map(|day| day.to_string());
    assert_eq!(days, ["2026-01-01", "2026-01-01"]);
    assert!(tally.refused.is_empty());
}

#[test]
fn causes_found_together_count_each_and_leave_the_rows_alone() {
    let mut records = Records::new();
    let both = &["pump-worn", "strainer-clogged"];
    records.job(then_fixed(vec![reading("pressure", "low")], both));
    let tally = records.tally(&family());
    let causes = (with_cause(&tally, PUMP), with_cause(&tally, STRAINER));
    assert_eq!((jobs(&tally), causes), (1, (1, 1)));
    assert!(outcomes(&tally, PRESSURE, PUMP).is_none());
    assert!(outcomes(&tally, PRESSURE, STRAINER).is_none());
}

const SEALS: [CauseId; 2] = [CauseId::at(2), CauseId::at(3)];

#[test]
fn a_cause_that_nobody_saw_counts_for_its_repair_and_moves_no_row() {
    let (leak, torn) = ("seal-leak", "seal-torn");
    let mut records = Records::new();
    let mut job = |closing: Event| {
        records.job(vec![
            reading("pressure", "low"),
            repaired(&[leak]),
            verified(true),
            closing,
        ]);
    };
    job(closed_unseen(Some(Found::Unknown), &[], &[torn, leak]));
    // Of before it was asked: the likeliest, and the repair cures another.
    job(closed_unseen(None, &[leak], &[]));
    // The only one, and one that was seen.
    job(closed_unseen(Some(Found::Only), &[leak], &[]));
    job(closed_unseen(Some(Found::Stated), &[torn], &[]));
    // One for certain beside one of two.
    job(closed_unseen(
        Some(Found::Unknown),
        &["pump-worn"],
        &[leak, torn],
    ));
    // Of before it was asked, and no other cause has that repair.
    job(closed_unseen(None, &["pump-worn"], &[]));
    let tally = records.tally(&family());
    assert!(tally.refused.is_empty());
    let counts = SEALS.map(|seal| with_cause(&tally, seal));
    assert_eq!(
        (jobs(&tally), counts, with_cause(&tally, PUMP)),
        (6, [1, 1], 2)
    );
    assert_eq!(unstated(&tally), [(SEALS.to_vec(), 3)]);
    // Only where one cause alone is known the reading is a reading of that cause.
    let taken = |cause| outcomes(&tally, PRESSURE, cause).map(|jobs| jobs.iter().sum::<u64>());
    assert_eq!(taken(PUMP), Some(1));
    assert_eq!(SEALS.map(taken), [Some(1), Some(1)]);
}

#[test]
fn a_cause_that_cannot_bring_the_complaint_about_was_not_found() {
    let mut family = family();
    // Another complaint of one cause alone.
    let mut tree = halfsplit::fault_tree::Builder::new();
    let leaf = tree.leaf(SEALS[0], halfsplit::units::Probability::ONE);
    let top = tree
        .gate(halfsplit::fault_tree::Gate::Any, "Leaks", None, &[leaf])
        .unwrap();
    family.symptoms[0].tree = tree.finish(top);
    let mut records = Records::new();
    records.job(vec![
        repaired(&["seal-leak"]),
        verified(true),
        closed_unseen(None, &["seal-leak"], &[]),
    ]);
    let tally = records.tally(&family);
    assert_eq!(
        (with_cause(&tally, SEALS[0]), unstated(&tally).len()),
        (1, 0)
    );
}

#[test]
fn an_answer_taken_back_does_not_count() {
    let mut records = Records::new();
    let slip = vec![
        reading("pressure", "high"),
        Event::back(1),
        reading("pressure", "low"),
    ];
    records.job(then_fixed(slip, &["pump-worn"]));
    assert_eq!(pressures(&records), Some(vec![1, 0, 0]));

    // The whole ending taken back, and another cause found after all.
    let mut records = Records::new();
    let wrong = then_fixed(vec![], &["strainer-clogged"]);
    records.job([wrong, vec![Event::back(3)], ending(&["pump-worn"])].concat());
    let tally = records.tally(&family());
    assert_eq!(
        (with_cause(&tally, PUMP), with_cause(&tally, STRAINER)),
        (1, 0)
    );
}

#[test]
fn the_last_reading_that_counts_stands_for_its_measurement() {
    let mut records = Records::new();
    let again = vec![
        reading("pressure", "high"),
        reading("pressure", "low"),
        reading_that("pressure", "normal", false),
    ];
    records.job(then_fixed(again, &["pump-worn"]));
    assert_eq!(pressures(&records), Some(vec![1, 0, 0]));
}

#[test]
fn a_reading_after_the_repair_is_of_a_repaired_vehicle_and_does_not_count() {
    let mut records = Records::new();
    let after_repair = vec![
        reading("pressure", "low"),
        repaired(&["pump-worn"]),
        reading("pressure", "normal"),
        verified(true),
        closed(&["pump-worn"], true),
    ];
    records.job(after_repair);
    assert_eq!(pressures(&records), Some(vec![1, 0, 0]));
}

#[test]
fn a_reopened_job_counts_for_what_it_was_closed_with_last() {
    let mut records = Records::new();
    let reopened = Event::Reopened { words: None };
    let first = then_fixed(vec![], &["strainer-clogged"]);
    let second = then_fixed(vec![reading("pressure", "low")], &["pump-worn"]);
    records.job([first, vec![reopened], second].concat());
    let tally = records.tally(&family());
    let causes = (with_cause(&tally, PUMP), with_cause(&tally, STRAINER));
    assert_eq!((jobs(&tally), causes), (1, (1, 0)));
}

#[test]
fn a_verification_that_was_passed_over_is_no_bad_one() {
    let mut records = Records::new();
    let pump = &["pump-worn"];
    let passed_over = || vec![repaired(pump), verified_as("not-taken", false)];
    records.job([passed_over(), vec![verified(true), closed(pump, true)]].concat());
    records.job([passed_over(), vec![closed(pump, true)]].concat());
    let tally = records.tally(&family());
    assert_eq!(jobs(&tally), 1);
    assert_eq!(tally.refused[0].why.kind(), "not-verified");
}

#[test]
fn every_record_that_does_not_count_is_named_with_its_reason() {
    let pump = &["pump-worn"][..];
    let vain = || vec![repaired(pump), verified(true), closed(pump, false)];
    let jobs: Vec<(Vec<Event>, &str, &str)> = vec![
        (
            vec![reading("pressure", "low")],
            "not-closed",
            "the job is not closed as fixed",
        ),
        (vain(), "not-closed", "not closed as fixed"),
        (
            vec![closed(pump, true)],
            "no-repair",
            "the last repair before that did not cure it",
        ),
        (
            [vain(), vec![closed(pump, true)]].concat(),
            "no-repair",
            "the last repair before that did not cure it",
        ),
        (
            vec![repaired(pump), closed(pump, true)],
            "not-verified",
            "no reading verified its repair",
        ),
        (
            vec![
                repaired(pump),
                verified(true),
                verified(false),
                closed(pump, true),
            ],
            "not-as-expected",
            "“pressure” = “low”, which is not how a repaired vehicle reads",
        ),
        (ending(&[]), "no-cause", "closed without a cause"),
        (
            ending(&["pump-gone"]),
            "unknown-name",
            "today's knowledge has no cause “pump-gone”",
        ),
        (
            then_fixed(vec![reading("pressures", "low")], pump),
            "unknown-name",
            "today's knowledge has no measurement “pressures”",
        ),
        (
            then_fixed(vec![reading("pressure", "lowish")], pump),
            "unknown-name",
            "today's knowledge has no outcome “pressure: lowish”",
        ),
    ];
    for (events, kind, words) in jobs {
        let mut records = Records::new();
        let path = records.job(events);
        records.job(ending(pump));
        let tally = records.tally(&family());
        let [refused] = &tally.refused[..] else {
            panic!("{kind}: {:?}", tally.refused)
        };
        assert_eq!(refused.why.kind(), kind, "{words}");
        assert!(refused.why.to_string().contains(words), "{}", refused.why);
        assert_eq!(refused.file.file_name(), path.file_name());
        assert_eq!(super::jobs(&tally), 1, "the other job counts");
    }
}

#[test]
fn a_damaged_a_torn_and_a_foreign_record_are_named_and_the_rest_counts() {
    let mut records = Records::new();
    let [damaged, torn] = [0, 1].map(|_| records.job(ending(&["pump-worn"])));
    records.job_of("other-cvt", ending(&["pump-worn"]));
    records.job(ending(&["strainer-clogged"]));
    let text = fs::read_to_string(&damaged).unwrap();
    fs::write(
        &damaged,
        text.replacen("\"event\":\"symptom\"", "\"event\":\"sympton\"", 1),
    )
    .unwrap();
    let text = fs::read_to_string(&torn).unwrap();
    fs::write(&torn, text + "{\"time\":\"2026-").unwrap();
    fs::write(records.path().join("empty.job.jsonl"), "").unwrap();
    fs::write(records.path().join("readme.txt"), "no record").unwrap();

    let tally = records.tally(&family());
    assert_eq!((jobs(&tally), with_cause(&tally, STRAINER)), (1, 1));
    let expected = [
        ("000001.job.jsonl", "damaged", "line 2 is damaged"),
        ("000002.job.jsonl", "torn", "its last line, line 6,"),
        ("000003.job.jsonl", "other-family", "it is of another"),
        ("empty.job.jsonl", "unreadable", "the file is empty"),
    ];
    assert_eq!(tally.refused.len(), expected.len());
    for (refused, (name, kind, words)) in tally.refused.iter().zip(expected) {
        assert_eq!(refused.file.file_name().unwrap(), name);
        assert_eq!(refused.why.kind(), kind);
        let why = refused.why.to_string();
        assert!(why.starts_with(words), "{why}");
    }
}

#[test]
fn a_copy_of_a_job_counts_once() {
    let mut records = Records::new();
    let first = records.job(ending(&["pump-worn"]));
    fs::copy(&first, records.path().join("000001-copy.job.jsonl")).unwrap();
    let tally = records.tally(&family());
    assert_eq!(jobs(&tally), 1);
    let [refused] = &tally.refused[..] else {
        panic!()
    };
    // `-` comes before `.`: the copy is the first of the two.
    assert_eq!(
        (refused.why.kind(), &refused.file),
        ("counted-twice", &first)
    );
    assert!(refused.why.to_string().contains("000001-copy.job.jsonl"));
}

#[test]
fn the_order_of_the_files_and_a_file_named_twice_change_nothing() {
    let family = family();
    let mut records = Records::new();
    let files: Vec<_> = (0..6)
        .map(|job| {
            let cause = ["pump-worn", "strainer-clogged"][job % 2];
            records.job(then_fixed(vec![reading("pressure", "low")], &[cause]))
        })
        .collect();
    let mut turned = files.clone();
    turned.reverse();
    turned.push(records.path().to_owned());
    let counts = |tally: &Tally| {
        let causes: Vec<u64> = (0..4)
            .map(|place| with_cause(tally, CauseId::at(place)))
            .collect();
        let pressures = outcomes(tally, PRESSURE, PUMP);
        (tally.jobs(), causes, pressures)
    };
    let (one, other) = (tally_of(&family, &files), tally_of(&family, &turned));
    assert_eq!(counts(&one), counts(&other));
    let lows = outcomes(&one, PRESSURE, PUMP).unwrap()[LOW.index()];
    assert_eq!(lows, 3);
    assert!(one.refused.is_empty() && other.refused.is_empty());
}

#[test]
fn folders_are_read_to_the_bottom_in_order_and_what_is_missing_is_an_error() {
    let shop = Records::new();
    let below = shop.path().join("2026").join("11");
    fs::create_dir_all(&below).unwrap();
    let (a, b) = (shop.path().join("a.job.jsonl"), below.join("b.job.jsonl"));
    for path in [&b, &a, &below.join("c.jsonl")] {
        fs::write(path, "").unwrap();
    }
    assert_eq!(records(&[shop.path().to_owned()]).unwrap(), [b, a]);

    let missing = shop.path().join("none");
    assert!(matches!(
        records(&[missing]),
        Err(FilesError::System { .. })
    ));
    let empty = shop.path().join("empty");
    fs::create_dir(&empty).unwrap();
    assert!(matches!(records(&[empty]), Err(FilesError::NoRecords(_))));
}
