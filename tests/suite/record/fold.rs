//! What events amount to.

use std::collections::BTreeSet;

use halfsplit::record::{Condition, Event, Opened, Phase, Record, RecordError, State, Taken, Why};
use jiff::{SignedDuration, Timestamp};

use super::{
    a_reading, at, closed, complaint, ids, in_place, note, opened, reading, record_of, reopened,
    repair, set_aside, symptom, ticking, timed, verification,
};

fn refusal(record: &mut Record, event: Event) -> Why {
    let before = (record.events().to_vec(), record.state().clone());
    let bytes = std::fs::read(record.path()).unwrap();
    let refused = record.append(event).unwrap_err();
    assert_eq!(
        (record.events(), record.state()),
        (&before.0[..], &before.1)
    );
    assert_eq!(std::fs::read(record.path()).unwrap(), bytes);
    match refused {
        RecordError::OutOfPlace(why) => why,
        other => panic!("{other}"),
    }
}

fn counting(state: &State) -> Vec<(&str, &str)> {
    state
        .counting()
        .map(|Taken { reading, .. }| (reading.measurement.as_str(), reading.outcome.as_str()))
        .collect()
}

/// When the last cool-down is over.
fn cool_down_ends(state: &State) -> Option<Timestamp> {
    state
        .cool_downs
        .values()
        .map(|cool_down| cool_down.ends)
        .max()
}

#[test]
fn the_last_word_on_a_symptom_holds() {
    let (_folder, record) = record_of([
        complaint("it slips and binds"),
        symptom("slipping", true),
        symptom("no-drive", false),
        symptom("tight-turn-binding", true),
        symptom("slipping", false),
        symptom("no-drive", false),
    ]);
    assert_eq!(record.state().present, ["tight-turn-binding"]);
    assert_eq!(record.state().absent, ["no-drive", "slipping"]);
    assert_eq!(record.state().opened_at, at(0));
}

#[test]
fn a_repeated_reading_replaces_the_earlier_one_which_stays_marked() {
    let (_folder, record) = record_of([
        reading("turn-noise", "scrub"),
        reading("front-only-turn", "vanishes"),
        reading("turn-noise", "groan"),
        reading("turn-noise", "clicking"),
    ]);
    let state = record.state();
    assert_eq!(
        counting(state),
        [("front-only-turn", "vanishes"), ("turn-noise", "clicking")]
    );
    let marks: Vec<_> = state
        .readings
        .iter()
        .map(|taken| (taken.line, taken.replaced_by))
        .collect();
    assert_eq!(marks, [(2, Some(4)), (3, None), (4, Some(5)), (5, None)]);
    assert_eq!(
        (
            state.next_attempt("turn-noise"),
            state.next_attempt("fluid-level")
        ),
        (4, 1)
    );
}

#[test]
fn a_reading_that_does_not_count_replaces_nothing() {
    let mut cold = a_reading("turn-noise", "normal");
    cold.counts = false;
    cold.why_not = Some("fluid at 12 °C".to_owned());
    let (_folder, record) = record_of([
        reading("turn-noise", "groan"),
        Event::Reading(Box::new(cold.clone())),
    ]);
    assert_eq!(counting(record.state()), [("turn-noise", "groan")]);
    assert_eq!(record.state().readings[1].reading, cold);
    assert_eq!(record.state().next_attempt("turn-noise"), 3);
}

#[test]
fn going_back_takes_back_the_last_answers_that_stand() {
    let (_folder, mut record) = record_of([
        complaint("it binds"),
        symptom("tight-turn-binding", true),
        reading("turn-noise", "scrub"),
        reading("turn-noise", "groan"),
    ]);
    record.append(Event::back(1)).unwrap();
    assert_eq!(
        counting(record.state()),
        [("turn-noise", "scrub")],
        "the earlier one stands again"
    );
    record.append(reading("front-only-turn", "stays")).unwrap();
    record.append(Event::back(2)).unwrap();
    assert_eq!(counting(record.state()), []);
    assert_eq!(record.state().present, ["tight-turn-binding"]);
    assert_eq!(record.state().answers, [2, 3]);
    assert_eq!(record.state().taken_back, BTreeSet::from([4, 5, 7]));
    let lines: Vec<Vec<u64>> = record
        .events()
        .iter()
        .filter_map(|entry| match &entry.event {
            Event::Back { lines, .. } => Some(lines.clone()),
            _ => None,
        })
        .collect();
    assert_eq!(
        lines,
        [vec![5], vec![7, 4]],
        "going back is itself in the record"
    );
}

#[test]
fn going_back_cannot_pass_the_opening() {
    let (_folder, mut record) = record_of([complaint("it binds"), symptom("slipping", true)]);
    let why = refusal(&mut record, Event::back(3));
    assert_eq!(
        why,
        Why::Steps {
            asked: 3,
            standing: 2
        }
    );
    assert_eq!(
        why.to_string(),
        "3 steps back asked for, and 2 answers can be taken back"
    );
    assert_eq!(
        refusal(&mut record, Event::back(0)),
        Why::Steps {
            asked: 0,
            standing: 2
        }
    );
    assert_eq!(
        refusal(&mut record, Event::back(u32::MAX)),
        Why::Steps {
            asked: u32::MAX,
            standing: 2
        }
    );
    record.append(Event::back(2)).unwrap();
    assert_eq!(
        refusal(&mut record, Event::back(1)),
        Why::Steps {
            asked: 1,
            standing: 0
        }
    );
    assert_eq!(record.state().opened, opened());
}

#[test]
fn going_back_undoes_no_fact_and_no_note() {
    let (_folder, mut record) = record_of([
        reading("turn-noise", "scrub"),
        in_place(&["raised"]),
        note("left front tyre is new"),
        timed(Phase::Ended, 4.0, 60.0),
    ]);
    record.append(Event::back(1)).unwrap();
    let state = record.state();
    assert_eq!(state.in_place, ["raised"]);
    assert_eq!(state.notes[0].what, "left front tyre is new");
    assert_eq!(cool_down_ends(state), Some(at(4 + 60)));
    assert_eq!(counting(state), []);
}

#[test]
fn a_condition_has_its_time_and_its_last_value_holds() {
    let warm = |raw: &str, holds, value| {
        Event::Condition(Condition {
            condition: "fluid-temperature".to_owned(),
            raw: raw.to_owned(),
            holds,
            value: Some(value),
            unit: Some("°C".to_owned()),
        })
    };
    let (_folder, mut record) = record_of([warm("12C", false, 12.0), warm("38C", true, 38.0)]);
    let found = &record.state().conditions["fluid-temperature"];
    assert_eq!(
        (found.time, found.what.value, found.what.holds),
        (at(2), Some(38.0), true)
    );
    record.append(Event::back(1)).unwrap();
    let found = &record.state().conditions["fluid-temperature"];
    assert_eq!((found.time, found.what.value), (at(1), Some(12.0)));
}

#[test]
fn a_measurement_set_aside_comes_back_when_taken_up_or_read() {
    let taken_up = Event::TakenUp {
        measurement: "b".to_owned(),
        instrument: None,
    };
    let (_folder, record) = record_of([
        set_aside("a"),
        set_aside("b"),
        set_aside("c"),
        taken_up,
        reading("c", "normal"),
    ]);
    let names: Vec<_> = record.state().set_aside.keys().collect();
    assert_eq!(names, ["a"]);
}

#[test]
fn a_repair_that_did_not_fix_it_rules_its_causes_out_and_the_job_goes_on() {
    let (_folder, mut record) = record_of([
        reading("turn-noise", "groan"),
        repair("tyre-mismatch-axles"),
        verification(false),
    ]);
    let waiting = record.state().under_verification().unwrap();
    assert_eq!((waiting.line, waiting.verifications.len()), (3, 1));
    record.append(closed(false, &["b", "a"])).unwrap();
    record
        .append(reading("rear-shaft-off-turn", "stays"))
        .unwrap();
    record.append(repair("c")).unwrap();
    record.append(closed(false, &["a", "b"])).unwrap();
    let state = record.state();
    assert_eq!(
        (state.under_verification(), state.closed.is_none()),
        (None, true)
    );
    assert_eq!(state.repairs.len(), 2);
    assert_eq!(counting(state).len(), 2);
}

#[test]
fn a_job_closed_as_fixed_takes_answers_again_once_reopened() {
    let (_folder, mut record) = record_of([repair("a"), verification(true), closed(true, &["a"])]);
    assert_eq!(
        record.state().closed.as_ref().unwrap().what.causes,
        ids(&["a"])
    );
    assert_eq!(record.state().under_verification(), None);
    for answer in [
        reading("m", "normal"),
        verification(true),
        closed(true, &["a"]),
        repair("a"),
    ] {
        let name = answer.name();
        assert_eq!(refusal(&mut record, answer), Why::Closed(name));
    }
    record.append(note("customer called: all well")).unwrap();
    record.append(reopened()).unwrap();
    assert_eq!(record.state().closed, None);
    assert_eq!(
        record.state().under_verification().unwrap().repair.causes,
        ids(&["a"])
    );
    record.append(closed(false, &["a"])).unwrap();
    assert_eq!(record.state().under_verification(), None);
    record.append(Event::back(2)).unwrap();
    assert!(record.state().closed.is_some(), "the closing stands again");
    record.append(Event::back(1)).unwrap();
    assert!(record.state().under_verification().is_some());
}

#[test]
fn events_out_of_place_are_refused() {
    let (_folder, mut record) = record_of([complaint("it binds")]);
    assert_eq!(
        refusal(&mut record, Event::Opened(opened())),
        Why::OpenedAgain
    );
    assert_eq!(refusal(&mut record, reopened()), Why::NotClosed);
    assert_eq!(
        refusal(&mut record, verification(true)),
        Why::NothingRepaired
    );
    assert_eq!(State::of(&[]).unwrap_err().why, Why::NotOpened);
}

#[test]
fn a_cool_down_survives_a_restart() {
    let (_folder, record) = record_of([timed(Phase::Ended, 4.2, 60.0)]);
    let path = record.path().to_owned();
    drop(record);
    let (record, _) = Record::open(&path, ticking()).unwrap();
    let state = record.state();
    // Ended at 1 s: over at 61 s.
    assert_eq!(cool_down_ends(state), Some(at(61)));
    assert_eq!(
        state.cool_down_left(at(20)),
        Some(SignedDuration::from_secs(41))
    );
    assert_eq!(state.cool_down_left(at(61)), None);
    let left = state.cool_down_left(at(-86_400)).unwrap();
    assert_eq!(
        left,
        SignedDuration::from_secs(60),
        "a clock set back makes it no longer"
    );
}

#[test]
fn a_test_whose_end_is_missing_is_taken_to_have_lasted_as_long_as_it_may() {
    let (_folder, mut record) = record_of([timed(Phase::Started, 5.0, 60.0)]);
    assert_eq!(cool_down_ends(record.state()), Some(at(1 + 5 + 60)));
    record.append(timed(Phase::Ended, 1.0, 60.0)).unwrap();
    assert_eq!(cool_down_ends(record.state()), Some(at(2 + 60)));
    record.append(timed(Phase::Ended, 1.0, 0.0)).unwrap();
    assert_eq!(
        cool_down_ends(record.state()),
        Some(at(2 + 60)),
        "a shorter one ends no longer one"
    );
    record.append(timed(Phase::Ended, 0.0, 1e300)).unwrap();
    assert!(
        record.state().cool_down_left(at(0)).is_some(),
        "an absurd length is no panic"
    );
    record.append(timed(Phase::Ended, -5.0, -5.0)).unwrap();
}

#[test]
fn an_opening_keeps_vehicle_and_ticket() {
    let mut with = opened();
    with.vehicle = Some("demo-estate".to_owned());
    with.ticket = Some("order 4711".to_owned());
    let (_folder, path) = super::place();
    let record = Record::create(&path, with.clone(), ticking()).unwrap();
    assert_eq!(record.state().opened, with);
    drop(record);
    let Opened {
        vehicle, ticket, ..
    } = &Record::read(&path).unwrap().history.state().opened.clone();
    assert_eq!(
        (vehicle.as_deref(), ticket.as_deref()),
        (Some("demo-estate"), Some("order 4711"))
    );
}
