//! What random bytes are given to: by the mutation runs here, and by libFuzzer through `tests/fuzz`. Each holds its own
//! checks; none of them may panic.

use std::path::Path;
use std::sync::OnceLock;

use halfsplit::entry::{Expected, understand};
use halfsplit::infer::{Complaint, Model};
use halfsplit::knowledge::{Knowledge, SymptomId};
use halfsplit::load::{Source, load, shop};
use halfsplit::record::{Clock, Entry, History, Opened, Record};
use halfsplit::session::{Answer, Session};
use halfsplit::units::Unit;
use jiff::Timestamp;

/// The shipped knowledge.
pub(crate) fn shipped() -> &'static Knowledge {
    static SHIPPED: OnceLock<Knowledge> = OnceLock::new();
    SHIPPED.get_or_init(|| {
        load(&Source::embedded()).map_or_else(|_| unreachable!(), |loaded| loaded.knowledge)
    })
}

/// Files of a knowledge folder: what loads can be diagnosed with, and no belief is anything but a probability.
pub(crate) fn knowledge(files: Vec<(String, Vec<u8>)>) {
    let Ok(loaded) = load(&Source::texts(files)) else {
        return;
    };
    for family in &loaded.knowledge.families {
        for symptom in 0..family.symptoms.len() {
            let complaint = Complaint {
                present: vec![SymptomId::at(symptom)],
                ..Complaint::default()
            };
            let vehicle = loaded.knowledge.vehicles.first();
            if let Ok(model) = Model::new(family, vehicle, complaint) {
                let beliefs = &model.prior().posterior;
                assert!(beliefs.iter().all(|belief| (0.0..=1.0).contains(belief)));
            }
        }
    }
}

/// One file, as each kind of file in turn.
pub(crate) fn knowledge_file(bytes: &[u8]) {
    for path in [
        "f/family.yaml",
        "f/causes.yaml",
        "f/codes.yaml",
        "f/measurements/m.yaml",
        "f/trees/t.yaml",
        "f/cases/c.yaml",
        "f/exercises/e.yaml",
        "vehicles/v.yaml",
    ] {
        knowledge(vec![(path.to_owned(), bytes.to_vec())]);
    }
    let _ = shop(Path::new("shop.yaml"), bytes.to_vec(), shipped());
}

/// What is typed for a number, in every unit: a reading is finite, and nothing that is said steers a terminal.
pub(crate) fn typed(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    for unit in Unit::ALL {
        let expected = Expected {
            unit: *unit,
            plausible: None,
            range: None,
            limits: None,
        };
        let answer = format!("{:?}", understand(&text, &expected));
        assert!(!answer.contains('\u{1b}'));
    }
}

/// A line of a record: what is read is written back, and reads the same.
pub(crate) fn record_line(bytes: &[u8]) {
    if let Ok(entry) = Entry::from_line(bytes)
        && let Ok(line) = entry.to_line()
    {
        let back = Entry::from_line(line.strip_suffix(b"\n").unwrap_or(&line));
        assert_eq!(back.ok(), Some(entry));
    }
}

/// A whole record: it is refused, or opens, and then takes an answer and opens again.
pub(crate) fn record(bytes: &[u8]) {
    let Ok(folder) = tempfile::tempdir() else {
        return;
    };
    let path = folder.path().join("a.job.jsonl");
    if std::fs::write(&path, bytes).is_err() {
        return;
    }
    let read = Record::read(&path);
    let opened = Record::open(&path, Clock::system());
    assert_eq!(read.is_ok(), opened.is_ok());
    let Ok((record, _)) = opened else {
        assert_eq!(
            std::fs::read(&path).ok().as_deref(),
            Some(bytes),
            "refused, and changed"
        );
        return;
    };
    let events = record.events().len();
    drop(record);
    let again = Record::open(&path, Clock::system());
    assert_eq!(
        again
            .ok()
            .map(|(record, torn)| (record.events().len(), torn)),
        Some((events, None))
    );
}

/// Lines typed into a session on the shipped knowledge: what is accepted can be recorded, and folds the same from the start.
pub(crate) fn session(bytes: &[u8]) {
    let knowledge = shipped();
    let mut opened = Opened::new(knowledge.families[0].name.clone(), knowledge.fingerprints());
    opened.vehicle = knowledge
        .vehicles
        .first()
        .map(|vehicle| vehicle.name.clone());
    let mut now = Timestamp::UNIX_EPOCH;
    let mut history = History::begin(opened, now, "a");
    for line in String::from_utf8_lossy(bytes).lines().take(40) {
        let Ok(session) = Session::new(knowledge, history.state(), None, None) else {
            return;
        };
        let prompt = session.next(&history, now);
        let step = session.take(&history, &prompt, Answer::Typed(line.to_owned()));
        for event in step.events {
            let _ = history.add(event, now);
        }
        now += jiff::SignedDuration::from_secs(60);
    }
    assert_eq!(
        History::of(history.entries().to_vec()).ok().as_ref(),
        Some(&history)
    );
}
