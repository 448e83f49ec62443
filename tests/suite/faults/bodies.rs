//! The bytes of a record: cut, changed, and what is noticed of it.

use std::collections::BTreeMap;
use std::fs;

use halfsplit::record::{Clock, Record};

use super::Draws;
use super::targets::record;
use crate::shop::program;

/// The record of a job with two readings and a note.
fn job() -> Vec<u8> {
    let folder = tempfile::tempdir().unwrap();
    let arguments = [
        "diagnose",
        "slipping",
        "--vehicle",
        "none",
        "--record",
        "a.job.jsonl",
    ];
    let typed = "take recent-work\nnormal\nnote seen\ntake fluid-odour\nnormal\n";
    let output = program(&arguments, typed, folder.path(), &BTreeMap::new());
    assert_eq!(output.status.code(), Some(0));
    fs::read(folder.path().join("a.job.jsonl")).unwrap()
}

/// Each byte replaced by each of these values, and by those of `values` many draws.
fn noticed(values: usize) {
    let good = job();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.job.jsonl");
    fs::write(&path, &good).unwrap();
    let whole = Record::read(&path).unwrap().history;
    assert!(whole.entries().len() > 4);
    let mut draws = Draws(1);
    for at in 0..good.len() {
        for turn in 0..values {
            let mut bytes = good.clone();
            bytes[at] = match turn {
                0 => bytes[at] ^ 1,
                1 => bytes[at] ^ 0x20,
                _ => u8::try_from(draws.below(256)).unwrap(),
            };
            if bytes[at] == good[at] {
                continue;
            }
            fs::write(&path, &bytes).unwrap();
            if let Ok(view) = Record::read(&path) {
                // A torn last line is told of, and its bytes are kept.
                let told = view.torn.is_some();
                let lacks_its_end_alone = at + 1 == good.len() && view.history == whole;
                assert!(told || lacks_its_end_alone, "byte {at} as {}", bytes[at]);
            }
        }
    }
}

#[test]
fn each_byte_of_a_record_that_is_changed_is_noticed() {
    noticed(2);
}

#[test]
#[ignore = "the long form"]
fn each_byte_of_a_record_that_is_changed_to_sixty_values_is_noticed() {
    noticed(60);
}

#[test]
fn a_record_cut_at_any_byte_opens_with_its_whole_lines_or_says_why_not() {
    let good = job();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.job.jsonl");
    for length in 0..=good.len() {
        fs::write(&path, &good[..length]).unwrap();
        let lines = good[..length].split(|byte| *byte == b'\n').count() - 1;
        let lacks_its_end_alone = good.get(length) == Some(&b'\n');
        let expected = lines + usize::from(lacks_its_end_alone);
        match Record::open(&path, Clock::system()) {
            Ok((record, torn)) => {
                assert_eq!(record.events().len(), expected, "{length}");
                let torn = torn.map_or(0, |torn| torn.bytes.len());
                let rest = length
                    - good[..length]
                        .iter()
                        .rposition(|b| *b == b'\n')
                        .map_or(0, |at| at + 1);
                assert_eq!(torn, if lacks_its_end_alone { 0 } else { rest }, "{length}");
            }
            Err(_) => assert_eq!(expected, 0, "{length}"),
        }
        for entry in fs::read_dir(folder.path()).unwrap() {
            fs::remove_file(entry.unwrap().path()).unwrap();
        }
    }
}

/// Lines doubled, left out, swapped and mixed, and bytes put in and taken out.
fn mutated(times: usize) {
    let good = job();
    let mut draws = Draws(2);
    for _ in 0..times {
        let mut bytes = good.clone();
        super::mutated::mutate(&mut bytes, &mut draws);
        record(&bytes);
    }
}

#[test]
fn a_mutated_record_is_refused_untouched_or_opens() {
    mutated(300);
}

#[test]
#[ignore = "the long form"]
fn a_record_mutated_twenty_thousand_times_is_refused_untouched_or_opens() {
    mutated(20_000);
}
