//! The cheapest way from what is in place to what is needed: on the shipped family, as a technician would go, and
//! on small made-up ones against trying every sequence.

use super::models::{Dice, random_set_ups};
use crate::by_name::{chain_cvt, shipped};
use halfsplit::decide::{Circumstances, InPlace, OrderBy, SetUps, Standing, WayMemory, set_ups};
use halfsplit::infer::{Complaint, Model};
use halfsplit::knowledge::SetUpId;

/// What must be in place for a measurement or repair, or that set-up alone.
fn needed(goal: &str) -> InPlace {
    let family = chain_cvt();
    let asked = (family
        .measurement_named(goal)
        .map(|id| &family.measurement(id).set_ups))
    .or_else(|| {
        family
            .repair_named(goal)
            .map(|id| &family.repair(id).set_ups)
    });
    asked.map_or_else(
        || InPlace::NOTHING.with(family.set_up_named(goal).unwrap().index()),
        |ids| ids.iter().map(|id| id.index()).collect(),
    )
}

/// Walks to a goal; what is entered on the way must be this.
#[track_caller]
fn walk(from: InPlace, goal: &str, order: &[&str]) -> InPlace {
    let set_ups = set_ups(chain_cvt()).unwrap();
    let way = set_ups
        .cheapest(from, needed(goal), InPlace::NOTHING)
        .unwrap();
    let names: Vec<&str> = (way.order.iter())
        .map(|&i| chain_cvt().set_ups[i].name.as_str())
        .collect();
    assert_eq!(names, order, "to {goal}");
    assert!((way.minutes_of.iter().sum::<f64>() - way.minutes).abs() < 1e-9);
    way.leaves
}

/// The needle at idle is read on the way to the stall, where the vehicle stands: it is not lifted for it.
#[test]
fn what_is_read_in_the_same_go_takes_no_time_and_no_way() {
    let family = chain_cvt();
    let measurement = |name| family.measurement_named(name).unwrap();
    let idle = measurement("gauge-secondary-idle");
    let complaint = Complaint {
        present: vec![family.symptom_named("slipping").unwrap()],
        ..Complaint::default()
    };
    let model = Model::new(family, shipped().vehicle("demo-estate"), complaint).unwrap();
    let taken = |last| {
        let circumstances = Circumstances {
            in_place: gauge_at_stall().indices().map(SetUpId::at).collect(),
            last,
            ..Circumstances::default()
        };
        let standing = Standing::new(&model, Vec::new(), &circumstances, OrderBy::default());
        let standing = standing.unwrap();
        let taking = standing.taking(idle).unwrap();
        (
            standing.is_in_the_same_go(idle),
            taking.minutes,
            taking.way.order.is_empty(),
        )
    };
    assert_eq!(
        taken(Some(measurement("gauge-secondary-stall"))),
        (true, 0.0, true)
    );
    let (along, minutes, no_way) = taken(None);
    assert!(!along && minutes > 4.0 && !no_way);
}

/// By hand, from the family: 20 minutes from cold, 12 from the window in which the level is read.
#[test]
fn a_step_of_the_way_takes_what_it_takes_from_what_is_left() {
    let set_ups = set_ups(chain_cvt()).unwrap();
    let minutes = |from: InPlace| {
        let way = set_ups.cheapest(from, needed("fluid-hot"), InPlace::NOTHING);
        way.unwrap().minutes_of.last().copied()
    };
    assert_eq!(minutes(arrival()), Some(20.0));
    assert_eq!(minutes(level_right()), Some(12.0));
}

fn arrival() -> InPlace {
    Circumstances::on_arrival(chain_cvt()).standing()
}

/// The level was read and is right, the vehicle on the lift with its engine idling.
fn level_read(there: InPlace) -> InPlace {
    there.joined(needed("level-right"))
}

fn level_right() -> InPlace {
    level_read(walk(
        arrival(),
        "fluid-level",
        &["raised", "engine-running", "fluid-window"],
    ))
}

fn after_repair(repair: &str, there: InPlace) -> InPlace {
    let mut circumstances = Circumstances {
        in_place: there
            .indices()
            .map(halfsplit::knowledge::SetUpId::at)
            .collect(),
        ..Circumstances::default()
    };
    circumstances.repaired(chain_cvt(), &[chain_cvt().repair_named(repair).unwrap()]);
    circumstances.standing()
}

const TO_THE_GAUGE_AT_STALL: [&str; 6] = [
    "engine-off",
    "secondary-gauge",
    "on-ground",
    "chocked",
    "engine-running",
    "fluid-hot",
];

fn gauge_at_stall() -> InPlace {
    walk(
        level_right(),
        "gauge-secondary-stall",
        &TO_THE_GAUGE_AT_STALL,
    )
}

#[test]
fn the_exhaust_is_open_for_the_transfer_gauge_alone() {
    let gauge_on = walk(
        level_right(),
        "gauge-transfer-released",
        &[
            "engine-off",
            "underbody-clear",
            "transfer-gauge",
            "scan-tool",
            "engine-open-exhaust",
        ],
    );
    walk(
        gauge_on,
        "turn-noise",
        &[
            "engine-off",
            "low-ports-closed",
            "underbody-fitted",
            "on-ground",
            "engine-driving",
            "yard-test",
        ],
    );
    walk(
        gauge_on,
        "gauge-forward",
        &[
            "engine-off",
            "low-ports-closed",
            "underbody-fitted",
            "forward-gauge",
            "engine-running",
            "fluid-hot",
        ],
    );
}

/// The level set with the engine running, then what a stall needs.
const LEVEL_AND_STALL: [&str; 7] = [
    "engine-running",
    "fluid-window",
    "level-right",
    "on-ground",
    "chocked",
    "engine-running",
    "fluid-hot",
];

#[test]
fn what_was_opened_is_closed_and_the_level_set_before_a_stall() {
    let open = walk(
        level_right(),
        "valves-by-hand",
        &["engine-off", "fluid-out", "tray-off", "valve-body-off"],
    );
    walk(
        open,
        "stall-forward",
        &[
            &["valve-body-on", "tray-on", "fluid-in"][..],
            &LEVEL_AND_STALL,
        ]
        .concat(),
    );
}

#[test]
fn the_gauge_is_off_before_the_road_and_the_level_waits_for_cooler_fluid() {
    let driven = walk(
        gauge_at_stall(),
        "scan-converter-slip",
        &[
            "raised",
            "high-ports-closed",
            "on-ground",
            "scan-tool",
            "engine-driving",
            "road-test",
        ],
    );
    walk(
        driven,
        "fluid-level",
        &["raised", "fluid-window", "engine-running"],
    );
}

#[test]
fn chocks_go_a_pace_away_for_rolling_by_hand() {
    walk(
        gauge_at_stall(),
        "roll-by-hand",
        &["engine-off", "chocks-clear"],
    );
}

#[test]
fn the_rear_shaft_is_fitted_again_before_the_next_turn() {
    let without = walk(
        level_right(),
        "rear-shaft-off-turn",
        &[
            "engine-off",
            "rear-shaft-off",
            "on-ground",
            "engine-driving",
            "yard-test",
        ],
    );
    walk(
        without,
        "front-only-turn",
        &[
            "raised",
            "rear-shaft-on",
            "on-ground",
            "engine-driving",
            "yard-test",
            "front-only-mode",
        ],
    );
}

#[test]
fn nobody_looks_for_leaks_under_a_running_engine() {
    let idling = walk(arrival(), "unit-noise", &["raised", "engine-running"]);
    walk(idling, "leak-look", &["engine-off"]);
}

#[test]
fn after_a_repair_the_level_comes_before_the_stall() {
    let open = walk(
        gauge_at_stall(),
        "renew-strainer",
        &["raised", "fluid-out", "tray-off"],
    );
    let repaired = after_repair("renew-strainer", open);
    let level = walk(repaired, "fluid-level", &["engine-running", "fluid-window"]);
    walk(
        level_read(level),
        "gauge-secondary-stall",
        &TO_THE_GAUGE_AT_STALL,
    );
    walk(
        repaired,
        "gauge-secondary-stall",
        &[&["secondary-gauge"][..], &LEVEL_AND_STALL].concat(),
    );
}

#[test]
fn the_battery_is_back_before_the_scan_tool() {
    let codes_read = walk(arrival(), "scan-tool", &["scan-tool"]);
    let off = walk(codes_read, "bus-resistance", &["battery-off"]);
    walk(off, "scan-adaptation", &["battery-on", "scan-tool"]);
}

#[test]
fn chocks_are_placed_with_the_engine_off() {
    let watched = walk(
        arrival(),
        "where-rotation-stops",
        &["chocks-near", "scan-tool", "engine-running"],
    );
    walk(
        watched,
        "complaint-direction",
        &["engine-off", "chocked", "engine-running"],
    );
}

#[test]
fn pan_and_fluid_are_in_before_the_engine_is_cranked() {
    let open = walk(
        level_right(),
        "tray-off",
        &["engine-off", "fluid-out", "tray-off"],
    );
    walk(open, "tcm-answers", &["tray-on", "fluid-in", "scan-tool"]);
}

#[test]
fn two_of_one_group_cannot_be_had_at_once() {
    let set_ups = set_ups(chain_cvt()).unwrap();
    for other in ["on-ground", "chocked"] {
        let both = needed("raised").joined(needed(other));
        assert_eq!(
            set_ups.cheapest(arrival(), both, InPlace::NOTHING),
            None,
            "{other}"
        );
    }
}

#[test]
fn what_is_in_place_costs_nothing() {
    assert_eq!(walk(arrival(), "tray-on", &[]), arrival());
}

/// Every sequence up to a length, tried one by one.
fn by_trial(set_ups: &SetUps, from: InPlace, needed: InPlace, left: usize) -> f64 {
    if from.covers(needed) {
        return 0.0;
    }
    if left == 0 {
        return f64::INFINITY;
    }
    (0..set_ups.len())
        .filter_map(|i| {
            let there = set_ups.enter(from, i)?;
            Some(
                set_ups.listed()[i].entering.minutes.get()
                    + by_trial(set_ups, there, needed, left - 1),
            )
        })
        .fold(f64::INFINITY, f64::min)
}

#[test]
fn the_cheapest_way_matches_trying_every_sequence() {
    let mut reached = 0;
    for seed in 0..400 {
        let dice = &mut Dice::new(seed);
        let set_ups = random_set_ups(dice, 4);
        let from: InPlace = (0..4).filter(|_| dice.below(3) == 0).collect();
        let needed: InPlace = (0..4).filter(|_| dice.below(2) == 0).collect();
        let expected = by_trial(&set_ups, from, needed, 7);
        let way = set_ups.cheapest(from, needed, InPlace::NOTHING);
        assert_eq!(
            WayMemory::default().cheapest(&set_ups, from, needed, InPlace::NOTHING),
            way,
            "seed {seed}"
        );
        let Some(way) = way else {
            assert!(expected.is_infinite(), "seed {seed}: {expected}");
            continue;
        };
        reached += 1;
        assert!(
            (way.minutes - expected).abs() < 1e-9,
            "seed {seed}: {way:?}, {expected}"
        );
        // The order can be walked, and ends where it says.
        let end = way
            .order
            .iter()
            .try_fold(from, |at, &i| set_ups.enter(at, i));
        assert_eq!(end, Some(way.leaves), "seed {seed}");
        assert!(way.leaves.covers(needed), "seed {seed}");
    }
    assert!(
        reached > 150,
        "only {reached} of the goals could be reached"
    );
}
