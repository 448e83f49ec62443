//! Ten thousand jobs that nobody would have.

use std::collections::BTreeMap;
use std::fs;

use halfsplit::record::{
    Advice, AdviceKind, Closed, Condition, Event, Found, History, Leading, Mark, Marked, Panel,
    PartReading, Phase, Picture, Reading, Record, Repair, SetAside, SetAsideHow, State, Timed,
    Trace, Verification,
};
use jiff::Timestamp;
use proptest::collection::{btree_map, vec};
use proptest::option;
use proptest::prelude::*;

use super::{opened, place, ticking};

fn id() -> impl Strategy<Value = String> {
    prop::sample::select(vec!["a", "b", "c", "d"]).prop_map(str::to_owned)
}

/// Words with every kind of character in them, control characters as well.
fn words() -> impl Strategy<Value = String> {
    vec(any::<char>(), 0..12).prop_map(|chars| chars.into_iter().collect())
}

fn number() -> impl Strategy<Value = f64> {
    use prop::num::f64::{NEGATIVE, NORMAL, POSITIVE, SUBNORMAL, ZERO};
    NORMAL | SUBNORMAL | ZERO | POSITIVE | NEGATIVE
}

/// Probabilities of outcomes, which add up to 1.
fn weights() -> impl Strategy<Value = BTreeMap<String, f64>> {
    btree_map(words(), 1e-6..1.0, 1..4).prop_map(|mut weights| {
        let sum: f64 = weights.values().sum();
        for weight in weights.values_mut() {
            *weight /= sum;
        }
        weights
    })
}

fn a_picture() -> impl Strategy<Value = Picture> {
    let marked = || {
        vec(
            (number(), number(), words()).prop_map(|(from, to, words)| Marked { from, to, words }),
            0..3,
        )
    };
    let points = vec((number(), option::of(number())), 0..4);
    let trace = (words(), points).prop_map(|(name, points)| Trace { name, points });
    let panel = (words(), vec(trace, 0..3), marked());
    let panel = panel.prop_map(|(unit, traces, limits)| Panel {
        unit,
        traces,
        limits,
    });
    (words(), number(), vec(panel, 0..3), marked(), marked()).prop_map(
        |(file, seconds, panels, events, windows)| Picture {
            file,
            seconds,
            panels,
            events,
            windows,
        },
    )
}

fn a_reading() -> impl Strategy<Value = Event> {
    let part = (words(), number(), option::of(words()), option::of(number())).prop_map(
        |(raw, value, unit, uncertainty)| PartReading {
            raw,
            value,
            unit,
            uncertainty,
        },
    );
    let what = (id(), words(), id(), weights());
    let quantity = (
        option::of(number()),
        option::of(words()),
        option::of(number()),
        option::of(id()),
    );
    let rest = (
        btree_map(words(), part, 0..3),
        option::of(vec(words(), 0..3)),
        any::<bool>(),
        option::of(words()),
        1..=u32::MAX,
    );
    (what, quantity, rest).prop_map(
        |(
            (measurement, raw, outcome, weights),
            (value, unit, uncertainty, instrument),
            (values, codes, counts, why_not, attempt),
        )| {
            Event::Reading(Box::new(Reading {
                measurement,
                raw,
                outcome,
                weights,
                value,
                unit,
                uncertainty,
                instrument,
                values,
                codes,
                counts,
                why_not,
                attempt,
            }))
        },
    )
}

fn a_statement() -> impl Strategy<Value = Event> {
    let condition = (
        id(),
        words(),
        any::<bool>(),
        option::of(number()),
        option::of(words()),
    )
        .prop_map(|(condition, raw, holds, value, unit)| {
            Event::Condition(Condition {
                condition,
                raw,
                holds,
                value,
                unit,
            })
        });
    let phase = prop::sample::select(vec![Phase::Started, Phase::Ended]);
    let timed =
        (id(), phase, number(), number()).prop_map(|(measurement, phase, seconds, cool_down)| {
            Event::Timed(Timed {
                measurement,
                phase,
                seconds,
                cool_down,
            })
        });
    let how = prop::sample::select(vec![SetAsideHow::Skipped, SetAsideHow::NotPossible]);
    let set_aside = (id(), how, option::of(words()), option::of(id()));
    let set_aside = set_aside.prop_map(|(measurement, how, why, lacks)| {
        Event::SetAside(SetAside {
            measurement,
            how,
            why,
            lacks,
        })
    });
    let kinds = vec![
        AdviceKind::Measure,
        AdviceKind::Repair,
        AdviceKind::TakeAgain,
        AdviceKind::Escalate,
    ];
    let advice = (
        prop::sample::select(kinds),
        option::of(id()),
        vec(id(), 0..3),
        option::of(number()),
    )
        .prop_map(|(advice, measurement, repairs, cost)| {
            Event::Advice(Advice {
                advice,
                measurement,
                repairs,
                cost,
                leading: cost.map(|cost| Leading {
                    repairs: vec!["renew-pump".to_owned()],
                    probability: cost.abs() / (1.0 + cost.abs()),
                }),
                asked: false,
            })
        });
    prop_oneof![
        words().prop_map(|words| Event::Complaint { words }),
        (id(), any::<bool>()).prop_map(|(symptom, present)| Event::Symptom { symptom, present }),
        vec(id(), 0..4).prop_map(|set_ups| Event::InPlace { set_ups }),
        condition,
        timed,
        set_aside,
        option::of(id()).prop_map(|vehicle| Event::Vehicle {
            vehicle,
            readings: Vec::new()
        }),
        (id(), option::of(id())).prop_map(|(measurement, instrument)| Event::TakenUp {
            measurement,
            instrument
        }),
        (words(), vec(id(), 0..3), option::of(a_picture())).prop_map(
            |(words, without, recording)| Event::Note {
                words,
                without,
                recording: recording.map(Box::new),
            }
        ),
        advice,
        option::of(id()).prop_map(|about| Event::Marked {
            mark: Mark::Hint,
            about
        }),
        Just(Event::Opened(opened())),
    ]
}

fn how_found() -> impl Strategy<Value = Option<Found>> {
    option::of(prop_oneof![
        Just(Found::Stated),
        Just(Found::Only),
        Just(Found::Unknown)
    ])
}

fn an_ending() -> impl Strategy<Value = Event> {
    prop_oneof![
        2 => (vec(id(), 0..3), vec(id(), 0..3), 0.0..=1.0).prop_map(|(repairs, causes, probability)| {
            Event::Repair(Repair { repairs, causes, probability })
        }),
        2 => (id(), words(), id(), any::<bool>()).prop_map(|(measurement, raw, outcome, as_expected)| {
            Event::Verification(Verification { measurement, raw, outcome, as_expected })
        }),
        2 => (any::<bool>(), vec(id(), 0..3), vec(id(), 0..3), how_found(), vec(id(), 0..3), option::of(words())).prop_map(
            |(fixed, causes, repairs, found, among, words)| {
                Event::Closed(Closed { fixed, causes, repairs, found, among, words })
            }
        ),
        1 => option::of(words()).prop_map(|words| Event::Reopened { words }),
    ]
}

fn an_event() -> impl Strategy<Value = Event> {
    prop_oneof![
        4 => a_reading(),
        4 => a_statement(),
        3 => an_ending(),
        3 => (0_u32..5).prop_map(Event::back),
    ]
}

/// What a state says, without the line numbers in it.
fn said(state: &State) -> String {
    let mut state = state.clone();
    state.answers.clear();
    state.taken_back.clear();
    state.symptom_lines.clear();
    state.in_place_line = None;
    let lines = state.conditions.values_mut().map(|dated| &mut dated.line);
    lines.for_each(|line| *line = 0);
    state
        .set_aside
        .values_mut()
        .for_each(|dated| dated.line = 0);
    state.notes.iter_mut().for_each(|dated| dated.line = 0);
    state
        .repairs
        .iter_mut()
        .for_each(|repaired| repaired.line = 0);
    state.closed.iter_mut().for_each(|dated| dated.line = 0);
    let readings: Vec<_> = state
        .readings
        .drain(..)
        .map(|taken| (taken.time, taken.reading, taken.replaced_by.is_some()))
        .collect();
    format!("{state:?} {readings:?}")
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 10_000,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn any_job_folds_the_same_after_writing_and_opening(
        events in vec((an_event(), -62_000_000_000_000_i64..250_000_000_000_000), 0..24),
    ) {
        let start = Timestamp::UNIX_EPOCH;
        let mut job = History::begin(opened(), start, "a.job.jsonl");
        // The referee: a plain list from which going back strikes the last answers.
        let mut list: Vec<(Event, Timestamp)> = Vec::new();
        for (event, millisecond) in events {
            let time = Timestamp::from_millisecond(millisecond).unwrap();
            let before = job.entries().len();
            match (job.add(event.clone(), time).is_ok(), event) {
                (false, _) => prop_assert_eq!(job.entries().len(), before),
                (true, Event::Back { steps, .. }) => {
                    for _ in 0..steps {
                        let at = list.iter().rposition(|(event, _)| event.is_answer()).unwrap();
                        list.remove(at);
                    }
                }
                (true, event) => list.push((event, time)),
            }
        }
        let mut straight = History::begin(opened(), start, "a.job.jsonl");
        for (event, time) in list {
            straight.add(event, time).unwrap();
        }
        prop_assert_eq!(said(job.state()), said(straight.state()));

        let (_folder, path) = place();
        let lines: Vec<u8> =
            job.entries().iter().flat_map(|entry| entry.to_line().unwrap()).collect();
        fs::write(&path, lines).unwrap();
        prop_assert_eq!(&Record::read(&path).unwrap().history, &job);
        let (record, torn) = Record::open(&path, ticking()).unwrap();
        prop_assert_eq!(torn, None);
        prop_assert_eq!(record.events(), job.entries());
        prop_assert_eq!(record.state(), job.state());
    }
}

#[test]
fn a_job_appended_event_by_event_folds_the_same_when_opened() {
    use proptest::strategy::ValueTree as _;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let jobs = vec(an_event(), 0..24);
    for _ in 0..50 {
        let (_folder, path) = place();
        let mut record = Record::create(&path, opened(), ticking()).unwrap();
        for event in jobs.new_tree(&mut runner).unwrap().current() {
            let _refused_or_kept = record.append(event);
        }
        let (events, state) = (record.events().to_vec(), record.state().clone());
        drop(record);
        let (record, _) = Record::open(&path, ticking()).unwrap();
        assert_eq!((record.events(), record.state()), (&events[..], &state));
    }
}

/// A weight that has no short decimal must come back to the last bit.
#[test]
fn numbers_come_back_to_the_last_bit() {
    let mut job = History::begin(opened(), Timestamp::UNIX_EPOCH, "");
    let weights: BTreeMap<String, f64> = [
        0.1 + 0.2,
        1.0 / 3.0,
        f64::MIN_POSITIVE,
        5e-324,
        0.7 - 1.0 / 3.0,
    ]
    .into_iter()
    .map(|weight| (format!("{weight:e}"), weight))
    .collect();
    let mut reading = super::a_reading("m", "o");
    reading.weights = weights.clone();
    let entry = job
        .add(Event::Reading(Box::new(reading)), Timestamp::UNIX_EPOCH)
        .unwrap();
    let line = entry.to_line().unwrap();
    let back = halfsplit::record::Entry::from_line(line.strip_suffix(b"\n").unwrap()).unwrap();
    let Event::Reading(back) = back.event else {
        panic!("a reading")
    };
    for ((_, expected), (_, found)) in weights.iter().zip(&back.weights) {
        assert_eq!(expected.to_bits(), found.to_bits());
    }
}
