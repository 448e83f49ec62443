//! The job record.

mod damage;
mod fold;
mod keeping;
mod names;
mod paper;
mod random;

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::atomic::{AtomicI64, Ordering};

use halfsplit::record::{
    Clock, Closed, Event, Opened, Reading, Record, Repair, SetAside, SetAsideHow, Timed,
    Verification,
};
use jiff::Timestamp;
use tempfile::TempDir;

/// 2026-11-25 10:00:00 UTC: 20,782 days after 1970-01-01, and ten hours.
const TEN: i64 = 20_782 * 86_400 + 10 * 3_600;

/// Seconds after ten o'clock.
fn at(seconds: i64) -> Timestamp {
    Timestamp::from_second(TEN + seconds).unwrap()
}

/// A clock that goes on by a second each time it is looked at.
fn ticking() -> Clock {
    let seconds = AtomicI64::new(0);
    Clock::of(move || at(seconds.fetch_add(1, Ordering::Relaxed)))
}

fn opened() -> Opened {
    let knowledge = BTreeMap::from([(
        "chain-cvt/family.yaml".to_owned(),
        "90b1d27ce4a6f358".to_owned(),
    )]);
    Opened::new("chain-cvt", knowledge)
}

/// A folder that goes away, and the path of a record in it.
fn place() -> (TempDir, PathBuf) {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("a.job.jsonl");
    (folder, path)
}

/// A record with these events after its opening.
fn record_of(events: impl IntoIterator<Item = Event>) -> (TempDir, Record) {
    let (folder, path) = place();
    let mut record = Record::create(&path, opened(), ticking()).unwrap();
    for event in events {
        record.append(event).unwrap();
    }
    (folder, record)
}

fn complaint(words: &str) -> Event {
    Event::Complaint {
        words: words.to_owned(),
    }
}

fn symptom(symptom: &str, present: bool) -> Event {
    Event::Symptom {
        symptom: symptom.to_owned(),
        present,
    }
}

fn note(words: &str) -> Event {
    Event::note(words)
}

fn in_place(set_ups: &[&str]) -> Event {
    Event::InPlace {
        set_ups: ids(set_ups),
    }
}

fn ids(names: &[&str]) -> Vec<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

fn reading(measurement: &str, outcome: &str) -> Event {
    Event::Reading(Box::new(a_reading(measurement, outcome)))
}

pub(crate) fn a_reading(measurement: &str, outcome: &str) -> Reading {
    Reading {
        measurement: measurement.to_owned(),
        raw: outcome.to_owned(),
        outcome: outcome.to_owned(),
        weights: BTreeMap::from([(outcome.to_owned(), 1.0)]),
        value: None,
        unit: None,
        uncertainty: None,
        instrument: None,
        values: BTreeMap::new(),
        codes: None,
        counts: true,
        why_not: None,
        attempt: 1,
    }
}

fn set_aside(measurement: &str) -> Event {
    Event::SetAside(SetAside {
        measurement: measurement.to_owned(),
        how: SetAsideHow::NotPossible,
        why: Some("no gauge".to_owned()),
        lacks: None,
    })
}

fn timed(phase: halfsplit::record::Phase, seconds: f64, cool_down: f64) -> Event {
    Event::Timed(Timed {
        measurement: "stall-forward".to_owned(),
        phase,
        seconds,
        cool_down,
    })
}

fn repair(cause: &str) -> Event {
    Event::Repair(Repair {
        repairs: ids(&["equalise-tyres"]),
        causes: ids(&[cause]),
        probability: 0.94,
    })
}

fn verification(as_expected: bool) -> Event {
    Event::Verification(Verification {
        measurement: "front-only-turn".to_owned(),
        raw: "normal".to_owned(),
        outcome: "normal".to_owned(),
        as_expected,
    })
}

fn closed(fixed: bool, causes: &[&str]) -> Event {
    Event::Closed(Closed {
        fixed,
        causes: ids(causes),
        repairs: ids(&["equalise-tyres"]),
        found: None,
        among: Vec::new(),
        words: None,
    })
}

fn reopened() -> Event {
    Event::Reopened { words: None }
}
