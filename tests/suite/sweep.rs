//! Everything that is shipped, looked at piece by piece.

use std::collections::BTreeSet;

use halfsplit::decide::OrderBy;
use halfsplit::knowledge::{CauseId, Measurement, Symptom, Timed};

use crate::by_name::{Job, chain_cvt, shipped};

/// The longest step that is read at a glance.
const STEP: usize = 110;

const GAUGES: [&str; 5] = [
    "secondary-gauge",
    "primary-gauge",
    "forward-gauge",
    "reverse-gauge",
    "transfer-gauge",
];

fn needs(measurement: &Measurement, set_up: &str) -> bool {
    measurement
        .set_ups
        .iter()
        .any(|id| chain_cvt().set_up(*id).name == set_up)
}

fn warns(measurement: &Measurement, caution: &str) -> bool {
    let mut named = measurement.cautions.iter();
    named.any(|place| chain_cvt().cautions[*place].name == caution)
}

/// The measurements where something holds, but a caution is missing.
fn unwarned(caution: &str, asks: impl Fn(&Measurement) -> bool) -> Vec<&'static str> {
    chain_cvt()
        .measurements
        .iter()
        .filter(|measurement| asks(measurement) && !warns(measurement, caution))
        .map(|measurement| measurement.name.as_str())
        .collect()
}

fn symptom(name: &str) -> &'static Symptom {
    chain_cvt().symptom(chain_cvt().symptom_named(name).unwrap())
}

fn no_names() -> Vec<&'static str> {
    Vec::new()
}

#[test]
fn every_shipped_vehicle_says_that_it_is_invented() {
    for vehicle in &shipped().vehicles {
        assert!(vehicle.invented, "{}", vehicle.name);
        assert!(vehicle.title.contains("invented"), "{}", vehicle.title);
        for (name, limit) in &vehicle.limits {
            assert!(
                limit.source.contains("invented"),
                "{}: {name}",
                vehicle.name
            );
        }
    }
}

#[test]
fn every_measurement_has_a_normal_outcome_a_source_a_step_and_takes_time() {
    for measurement in &chain_cvt().measurements {
        let name = &measurement.name;
        assert_eq!(
            measurement.outcomes[measurement.normal.index()].name,
            "normal",
            "{name}"
        );
        assert!(measurement.outcomes.len() >= 2, "{name}");
        assert!(!measurement.source.trim().is_empty(), "{name}");
        assert!(!measurement.steps.is_empty(), "{name}");
        assert!(
            measurement.steps.iter().all(|step| !step.trim().is_empty()),
            "{name}"
        );
        assert!(measurement.minutes.get() > 0.0, "{name}");
        assert!(!measurement.ask.trim().is_empty(), "{name}");
    }
}

#[test]
fn every_measurement_is_shown_by_some_cause_in_every_abnormal_outcome() {
    for measurement in &chain_cvt().measurements {
        for (place, outcome) in measurement.outcomes.iter().enumerate() {
            let shown = place == measurement.normal.index()
                || measurement
                    .shows
                    .values()
                    .any(|row| row.0.keys().any(|shown| shown.index() == place));
            // Fuel trim below its band is a finding that no listed cause gives.
            let exempt = measurement.name == "scan-fuel-trim" && outcome.name == "low";
            assert!(shown || exempt, "{}: {}", measurement.name, outcome.name);
        }
    }
}

#[test]
fn no_step_is_longer_than_can_be_read_at_a_glance() {
    for measurement in &chain_cvt().measurements {
        for step in &measurement.steps {
            let long = step.chars().count();
            assert!(long <= STEP, "{}: {long}: {step}", measurement.name);
        }
    }
}

#[test]
fn an_engine_running_on_the_lift_is_warned_of() {
    let found = unwarned("lift-running", |measurement| {
        needs(measurement, "raised") && needs(measurement, "engine-running")
    });
    assert_eq!(found, no_names());
}

#[test]
fn pressure_is_warned_of_wherever_a_gauge_is_fitted() {
    let found = unwarned("pressure", |measurement| {
        GAUGES.iter().any(|gauge| needs(measurement, gauge))
    });
    assert_eq!(found, no_names());
}

#[test]
fn pressure_is_warned_of_wherever_air_is_blown_in() {
    let found = unwarned("air", |measurement| {
        measurement.name.starts_with("air-test")
    });
    assert_eq!(found, no_names());
}

#[test]
fn the_road_is_warned_of_wherever_the_vehicle_is_driven() {
    let road = unwarned("road", |measurement| needs(measurement, "road-test"));
    assert_eq!(road, no_names());
    let yard = unwarned("yard", |measurement| needs(measurement, "yard-test"));
    assert_eq!(yard, no_names());
}

#[test]
fn a_stall_is_never_taken_without_the_wheels_chocked() {
    for measurement in &chain_cvt().measurements {
        if warns(measurement, "stall") {
            assert!(needs(measurement, "chocked"), "{}", measurement.name);
        }
    }
}

#[test]
fn a_vehicle_that_does_not_move_is_never_asked_to_drive() {
    let family = chain_cvt();
    let no_drive = family.symptom_named("no-drive").unwrap();
    for measurement in &family.measurements {
        let drives = needs(measurement, "road-test") || needs(measurement, "yard-test");
        assert!(
            !drives || !measurement.is_for(&[no_drive]),
            "{}",
            measurement.name
        );
    }
    for name in Job::new(shipped(), &["no-drive"]).order(OrderBy::Minutes) {
        let id = family.measurement_named(name).unwrap();
        let offered = family.measurement(id);
        assert!(
            !needs(offered, "road-test") && !needs(offered, "yard-test"),
            "{name}"
        );
    }
}

#[test]
fn every_cause_has_a_source_and_is_shown_by_something() {
    let family = chain_cvt();
    let shown: BTreeSet<CauseId> = family
        .measurements
        .iter()
        .flat_map(|measurement| measurement.shows.keys().copied())
        .collect();
    for (place, cause) in family.causes.iter().enumerate() {
        assert!(!cause.source.trim().is_empty(), "{}", cause.name);
        assert!(!cause.part.trim().is_empty(), "{}", cause.name);
        assert!(shown.contains(&CauseId::at(place)), "{}", cause.name);
    }
}

#[test]
fn every_cause_of_a_complaint_is_shown_by_something_offered_for_it() {
    let family = chain_cvt();
    for symptom in &family.symptoms {
        let id = family.symptom_named(&symptom.name).unwrap();
        for cause in symptom.tree.causes() {
            let offered = family.measurements.iter().any(|measurement| {
                measurement.is_for(&[id]) && measurement.shows.contains_key(&cause)
            });
            assert!(offered, "{}: {}", symptom.name, family.cause(cause).name);
        }
    }
}

#[test]
fn every_repair_puts_some_cause_right_and_can_be_verified() {
    let family = chain_cvt();
    let used: BTreeSet<&str> = family
        .causes
        .iter()
        .map(|cause| family.repair(cause.repair).name.as_str())
        .collect();
    for repair in &family.repairs {
        assert!(used.contains(repair.name.as_str()), "{}", repair.name);
        assert!(!repair.verify.trim().is_empty(), "{}", repair.name);
        assert!(repair.minutes.get() > 0.0, "{}", repair.name);
    }
}

#[test]
fn every_example_wording_matches_its_own_complaint_most() {
    for own in &chain_cvt().symptoms {
        assert!(own.examples.len() >= 2, "{}", own.name);
        for words in &own.examples {
            for other in &chain_cvt().symptoms {
                assert!(
                    other.name == own.name || own.matches(words) > other.matches(words),
                    "{words}: {} {}, {} {}",
                    own.name,
                    own.matches(words),
                    other.name,
                    other.matches(words)
                );
            }
        }
    }
}

#[test]
fn revs_alone_are_not_slipping() {
    for words in ["revs", "it only revs", "It just revs."] {
        assert_eq!(symptom("slipping").matches(words), 0, "{words}");
    }
    assert!(symptom("no-drive").matches("it only revs") > 0);
}

#[test]
fn a_clunk_on_full_lock_is_tight_turns() {
    let words = "clunk on full lock";
    let own = symptom("tight-turn-binding").matches(words);
    for other in ["slipping", "no-drive", "harsh-engagement"] {
        assert!(own > symptom(other).matches(words), "{other}");
    }
}

#[test]
fn a_handbrake_is_no_complaint_of_its_own() {
    for symptom in &chain_cvt().symptoms {
        for words in ["handbrake", "the hand brake is weak"] {
            assert_eq!(symptom.matches(words), 0, "{}: {words}", symptom.name);
        }
    }
    let words = "when I turn in a car park it feels as if the handbrake were on";
    assert!(symptom("tight-turn-binding").matches(words) > 0);
}

/// A stall is held for five seconds at the most, and the fluid cools for a minute at idle before the next.
#[test]
fn every_stall_carries_its_caution_and_its_times() {
    let times = Timed::Stall {
        limit: 5.0,
        warn: Some(4.0),
        cool_down: 60.0,
    };
    for measurement in &chain_cvt().measurements {
        let says = |words: &str| {
            measurement.ask.contains(words)
                || measurement.title.contains(words)
                || measurement.steps.iter().any(|step| step.contains(words))
        };
        let stalls = says("full throttle against the brakes") || says("Stall") || says("at stall");
        let timed = matches!(measurement.timed, Some(Timed::Stall { .. }));
        assert_eq!(timed, stalls, "{}", measurement.name);
        if timed {
            assert_eq!(measurement.timed, Some(times), "{}", measurement.name);
            assert!(warns(measurement, "stall"), "{}", measurement.name);
        }
    }
}

#[test]
fn every_repair_that_opens_the_valve_body_says_to_cover_the_opening_against_dirt() {
    for repair in chain_cvt()
        .repairs
        .iter()
        .filter(|repair| repair.opens_valve_body)
    {
        assert!(
            repair.care.iter().any(|place| chain_cvt().care[*place]
                .text
                .contains("opening covered against dirt")),
            "{}",
            repair.name
        );
    }
}
