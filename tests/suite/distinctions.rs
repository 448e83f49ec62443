//! Distinctions on the shipped knowledge that no worked case can state: of trees, of ambiguities, of
//! what is offered when, and of slips of the pen. What readings do to causes is in `knowledge/*/cases`.

use std::collections::BTreeMap;

use halfsplit::decide::OrderBy;
use halfsplit::infer::{
    Answer, Part, Taken, Typing, derive, row_under, understand, understand_part,
};
use halfsplit::knowledge::{CauseId, Measurement, Rest};

use crate::by_name::{Job, causes_named, chain_cvt, close, measurement, shipped};

/// Rows no further apart than this in any outcome do not part two causes. The widest that the table
/// of known ambiguities bears is a burnt drop of fluid, .45 with a worn lining against .08 by chance.
const ALIKE: f64 = 0.4;

fn job(symptom: &str) -> Job<'static> {
    Job::new(shipped(), &[symptom])
}

fn named(name: &str) -> &'static Measurement {
    chain_cvt().measurement(measurement(chain_cvt(), name))
}

fn has_cut_set(symptom: &str, causes: &[&str]) -> bool {
    let id = chain_cvt().symptom_named(symptom).unwrap();
    let wanted = causes_named(chain_cvt(), causes);
    chain_cvt().symptom(id).tree.cut_sets(2).contains(&wanted)
}

/// Whatever is read beside it.
#[test]
fn a_jump_of_the_ratio_never_lets_ratio_control_lead_nor_a_drift_the_scored_chain() {
    let slipping = chain_cvt().symptom_named("slipping").unwrap();
    for (trace, never) in [
        ("jumps", "ratio-down-solenoid-stuck"),
        ("drifts", "chain-pulley-scored"),
    ] {
        let before = job("slipping").after("ratio-trace", trace);
        assert_ne!(before.leader(), [never]);
        for other in &chain_cvt().measurements {
            if other.name == "ratio-trace" || !other.is_for(&[slipping]) {
                continue;
            }
            for outcome in &other.outcomes {
                let after = before.after(&other.name, &outcome.name);
                assert_ne!(
                    after.leader(),
                    [never],
                    "{trace}, {} {}",
                    other.name,
                    outcome.name
                );
            }
        }
    }
}

#[test]
fn a_broken_front_axle_shaft_alone_leaves_the_rear_axle_to_drive() {
    assert!(!has_cut_set("no-drive", &["front-axle-shaft-broken"]));
    assert!(has_cut_set(
        "no-drive",
        &["front-axle-shaft-broken", "front-only-mode-left-on"]
    ));
    assert!(
        job("no-drive")
            .place(&["front-axle-shaft-broken"])
            .is_none()
    );
}

#[test]
fn one_lost_speed_signal_is_reckoned_from_the_others_and_two_are_not() {
    let signals = [
        "turbine-speed-signal-lost",
        "primary-speed-signal-lost",
        "secondary-speed-signal-lost",
    ];
    for (place, first) in signals.iter().enumerate() {
        assert!(!has_cut_set("harsh-engagement", &[first]), "{first}");
        for second in &signals[place + 1..] {
            assert!(
                has_cut_set("harsh-engagement", &[first, second]),
                "{first}, {second}"
            );
        }
    }
}

#[test]
fn fluid_that_leaves_without_a_wet_outside_is_looked_for_in_the_front_differential() {
    let dry = job("slipping")
        .after("fluid-level", "low")
        .after("leak-look", "normal");
    let order = dry.order(OrderBy::default());
    let place = order
        .iter()
        .position(|name| *name == "front-differential-oil");
    assert!(place.is_some_and(|place| place < 5), "{order:?}");
}

/// A row leaves `1 − stated` of chance, so no answer that has nothing to do with a cause takes it down
/// to a hundredth.
#[test]
fn an_unrelated_answer_lowers_a_named_cause_only_mildly() {
    for measurement in &chain_cvt().measurements {
        if measurement.rest != Rest::Chance {
            continue;
        }
        for (cause, row) in &measurement.shows {
            let full = row_under(measurement, &[*cause]);
            for (place, found) in full.iter().enumerate() {
                let stated = row.0.keys().any(|outcome| outcome.index() == place);
                if stated || place == measurement.normal.index() {
                    continue;
                }
                let chance = measurement.chance.0[place].get();
                assert!(
                    *found > 0.02 * chance,
                    "{} {}: {}",
                    measurement.name,
                    measurement.outcomes[place].name,
                    chain_cvt().cause(*cause).name
                );
            }
        }
    }
}

/// The largest difference of an outcome's probability under two causes.
fn apart(measurement: &Measurement, first: CauseId, second: CauseId) -> f64 {
    let [first, second] = [first, second].map(|cause| row_under(measurement, &[cause]));
    first
        .iter()
        .zip(&second)
        .map(|(first, second)| (first - second).abs())
        .fold(0.0, f64::max)
}

#[test]
fn each_stated_ambiguity_is_parted_by_a_measurement_that_it_names() {
    let family = chain_cvt();
    let mut wrong = Vec::new();
    for ambiguity in &family.ambiguities {
        for (place, first) in ambiguity.causes.iter().enumerate() {
            for second in &ambiguity.causes[place + 1..] {
                // One repair puts both right: they need not be parted.
                if family.cause(*first).repair == family.cause(*second).repair {
                    continue;
                }
                let names = [first, second].map(|cause| family.cause(*cause).name.as_str());
                let by = |id| apart(family.measurement(id), *first, *second);
                let most = ambiguity.parted_by.iter().map(|id| by(*id));
                if most.fold(0.0, f64::max) <= ALIKE {
                    wrong.push(format!("{names:?}: by none"));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Pairs that leave the same part with the same symptom: what else tells them apart was forgotten in the list.
#[test]
fn a_solenoid_and_its_valve_are_parted_only_by_what_the_ambiguity_names() {
    let family = chain_cvt();
    let mut wrong = Vec::new();
    for ambiguity in &family.ambiguities {
        let [first, second] = ambiguity.causes[..] else {
            continue;
        };
        let of = |cause: CauseId, kind: &str| family.cause(cause).name.contains(kind);
        if !of(first, "solenoid") || !of(second, "valve") {
            continue;
        }
        for measurement in &family.measurements {
            let id = family.measurement_named(&measurement.name).unwrap();
            let apart = apart(measurement, first, second);
            if !ambiguity.parted_by.contains(&id) && apart > ALIKE {
                wrong.push(format!(
                    "{}: {} by {apart:.2}",
                    family.cause(first).name,
                    measurement.name
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn part(of: &str, take: &str, text: &str) -> Answer<Part> {
    let number = named(of).number().unwrap();
    let take = number
        .takes
        .iter()
        .find(|found| found.name == take)
        .unwrap();
    understand_part(chain_cvt(), take, text, &Typing::default())
}

fn computed(of: &str, typed: &[(&str, &str)]) -> Result<Taken, String> {
    let parts: BTreeMap<String, Part> = typed
        .iter()
        .map(|(name, text)| match part(of, name, text) {
            Answer::Taken(part) => ((*name).to_owned(), *part),
            other => panic!("{name}={text} is {other:?}"),
        })
        .collect();
    let id = measurement(chain_cvt(), of);
    derive(
        chain_cvt(),
        shipped().vehicles.first(),
        id,
        parts,
        &Typing::default(),
    )
}

fn not_taken<T>(answer: &Answer<T>) -> bool {
    !matches!(answer, Answer::Taken(_))
}

#[test]
fn a_desired_pulley_ratio_outside_what_pulleys_reach_is_questioned() {
    for typed in ["0.05", "0.1", "5", "25", "250"] {
        let answer = part("ratio-against-command", "desired", typed);
        assert!(not_taken(&answer), "{typed}: {answer:?}");
    }
    for typed in ["0.4", "0.5", "1", "2.5"] {
        let answer = part("ratio-against-command", "desired", typed);
        assert!(!not_taken(&answer), "{typed}: {answer:?}");
    }
}

#[test]
fn pulley_speeds_that_no_vehicle_reaches_are_questioned() {
    for (take, typed) in [
        ("primary", "50000"),
        ("secondary", "90000"),
        ("primary", "-1500"),
    ] {
        let answer = part("ratio-against-command", take, typed);
        assert!(not_taken(&answer), "{take}={typed}: {answer:?}");
    }
}

/// 4,000 by 1,000 is a ratio of 4, where cruising asks for 0.5: 700 % above it, a slip of the pen.
#[test]
fn a_ratio_computed_far_outside_the_span_is_refused_not_used() {
    let typed = [
        ("primary", "4000"),
        ("secondary", "1000"),
        ("desired", "0.5"),
    ];
    assert!(computed("ratio-against-command", &typed).is_err());
    let typed = [
        ("primary", "600"),
        ("secondary", "4000"),
        ("desired", "0.5"),
    ];
    assert!(computed("ratio-against-command", &typed).is_err());
}

/// 8,000 by 1,000 is a ratio of 8, and 800 by 4,000 one of 0.2: no chain reaches either, whatever is
/// desired.
#[test]
fn a_pulley_ratio_that_no_chain_reaches_is_refused_whatever_is_desired() {
    for (primary, secondary, desired) in [("8000", "1000", "2.5"), ("800", "4000", "0.4")] {
        let typed = [
            ("primary", primary),
            ("secondary", secondary),
            ("desired", desired),
        ];
        let refused = computed("ratio-against-command", &typed).unwrap_err();
        assert!(refused.contains("pulley ratio"), "{refused}");
    }
}

/// 2,000 by 4,000 is 0.5, as asked for.
#[test]
fn a_ratio_inside_the_span_is_used() {
    let typed = [
        ("primary", "2000"),
        ("secondary", "4000"),
        ("desired", "0.5"),
    ];
    let taken = computed("ratio-against-command", &typed).unwrap();
    close(taken.value.unwrap().number, 0.0, 1e-9);
}

#[test]
fn a_ratio_error_typed_as_a_number_outside_the_span_is_questioned() {
    for typed in ["1500", "-95"] {
        let id = measurement(chain_cvt(), "ratio-against-command");
        let answer = understand(
            chain_cvt(),
            shipped().vehicles.first(),
            id,
            typed,
            &Typing::default(),
        );
        assert!(not_taken(&answer), "{typed}: {answer:?}");
    }
}
