//! The cheapest way from what is in place to what is needed.

use super::models::{Dice, entering, money, random_set_ups};
use halfsplit::decide::{InPlace, SetUp, SetUps, WayMemory};

/// Title, minutes, group, needs, as the family states them.
const TRADE: [(&str, f64, &str, &[&str]); 25] = [
    ("scan-tool", 3.0, "", &[]),
    ("engine-off", 1.0, "engine", &[]),
    (
        "engine-running",
        1.0,
        "engine",
        &["tray-on", "valve-body-on"],
    ),
    ("on-ground", 3.0, "height", &["underbody-fitted"]),
    ("raised", 4.0, "height", &[]),
    ("fluid-warm", 15.0, "temperature", &["engine-running"]),
    ("fluid-cold", 20.0, "temperature", &["engine-off"]),
    ("chocked", 2.0, "", &["on-ground"]),
    ("secondary-gauge", 12.0, "high", &["raised", "engine-off"]),
    ("primary-gauge", 12.0, "high", &["raised", "engine-off"]),
    ("forward-gauge", 12.0, "low", &["raised", "engine-off"]),
    ("reverse-gauge", 12.0, "low", &["raised", "engine-off"]),
    ("transfer-gauge", 12.0, "low", &["underbody-clear"]),
    ("underbody-fitted", 40.0, "underbody", &["raised"]),
    (
        "underbody-clear",
        45.0,
        "underbody",
        &["raised", "engine-off"],
    ),
    ("tray-on", 35.0, "tray", &[]),
    ("tray-off", 40.0, "tray", &["raised", "engine-off"]),
    ("valve-body-on", 60.0, "valve body", &[]),
    ("valve-body-off", 60.0, "valve body", &["tray-off"]),
    ("normal-drive-mode", 2.0, "drive mode", &[]),
    ("front-only-mode", 3.0, "drive mode", &["engine-off"]),
    ("rear-shaft-on", 25.0, "rear shaft", &["raised"]),
    (
        "rear-shaft-off",
        30.0,
        "rear shaft",
        &["raised", "engine-off"],
    ),
    (
        "yard-test",
        5.0,
        "driving",
        &[
            "on-ground",
            "engine-running",
            "underbody-fitted",
            "tray-on",
            "valve-body-on",
        ],
    ),
    (
        "road-test",
        12.0,
        "driving",
        &[
            "on-ground",
            "engine-running",
            "underbody-fitted",
            "tray-on",
            "valve-body-on",
            "rear-shaft-on",
            "normal-drive-mode",
        ],
    ),
];

fn place(name: &str) -> usize {
    TRADE.iter().position(|row| row.0 == name).unwrap()
}

fn these(names: &[&str]) -> InPlace {
    names.iter().map(|name| place(name)).collect()
}

fn trade() -> SetUps {
    let mut groups: Vec<&str> = TRADE
        .iter()
        .map(|row| row.2)
        .filter(|g| !g.is_empty())
        .collect();
    groups.sort_unstable();
    groups.dedup();
    let listed = TRADE
        .iter()
        .map(|&(name, own, group, needs)| SetUp {
            entering: entering(own, needs.iter().map(|n| place(n))),
            group: groups.iter().position(|g| *g == group),
            place: place(name),
            // Raising the vehicle ends chocked, yard-test and road-test.
            ends: if name == "raised" {
                vec![place("chocked"), place("yard-test"), place("road-test")]
            } else {
                vec![]
            },
            ..SetUp::default()
        })
        .collect();
    SetUps::new(listed, money(60.0), money(0.0)).unwrap()
}

fn as_it_comes_in() -> InPlace {
    these(&[
        "underbody-fitted",
        "tray-on",
        "valve-body-on",
        "normal-drive-mode",
        "rear-shaft-on",
    ])
}

#[track_caller]
fn expect(from: InPlace, needed: &[&str], minutes: f64, order: &[&str]) -> InPlace {
    let way = trade()
        .cheapest(from, these(needed), InPlace::NOTHING)
        .unwrap();
    let names: Vec<&str> = way.order.iter().map(|&i| TRADE[i].0).collect();
    assert_eq!(names, order);
    assert!(
        (way.minutes - minutes).abs() < 1e-12,
        "{} minutes",
        way.minutes
    );
    way.leaves
}

#[test]
fn a_gauge_at_stall_is_fitted_on_the_lift_and_read_on_the_ground() {
    // engine off 1, raised 4, gauge 12, engine running 1, fluid warm 15, on ground 3, chocked 2: 38.
    let left = expect(
        as_it_comes_in(),
        &["secondary-gauge", "chocked", "engine-running", "fluid-warm"],
        38.0,
        &[
            "engine-off",
            "raised",
            "secondary-gauge",
            "engine-running",
            "on-ground",
            "fluid-warm",
            "chocked",
        ],
    );
    // The gauge stays: the idle reading with it costs no set-up.
    assert!(left.covers(these(&["secondary-gauge", "engine-running", "fluid-warm"])));
    assert!(!left.has(place("raised")));
    // From there the forward gauge: raised 4, engine off 1, gauge 12, running 1: 18; the fluid stays warm.
    let left = expect(
        left,
        &["forward-gauge", "engine-running", "fluid-warm"],
        18.0,
        &["engine-off", "raised", "forward-gauge", "engine-running"],
    );
    assert!(left.has(place("secondary-gauge")) && !left.has(place("chocked")));
    // The reverse gauge shares the low-range gauge: engine off 1, gauge 12, running 1 on the lift.
    let left = expect(
        left,
        &["reverse-gauge", "engine-running", "fluid-warm"],
        14.0,
        &["engine-off", "reverse-gauge", "engine-running"],
    );
    assert!(!left.has(place("forward-gauge")));
}

#[test]
fn a_road_test_from_the_lift_comes_down_first() {
    let lifted = trade()
        .cheapest(
            as_it_comes_in(),
            these(&["raised", "engine-off"]),
            InPlace::NOTHING,
        )
        .unwrap()
        .leaves;
    // running 1, ground 3, road test 12, warm 15, scan tool 3: 34.
    let left = expect(
        lifted,
        &["scan-tool", "road-test", "fluid-warm"],
        34.0,
        &[
            "scan-tool",
            "engine-running",
            "on-ground",
            "fluid-warm",
            "road-test",
        ],
    );
    // Raised again, the road test is over.
    let up = expect(left, &["raised"], 4.0, &["raised"]);
    assert!(!up.has(place("road-test")) && up.has(place("fluid-warm")));
}

#[test]
fn the_valve_body_comes_off_after_the_tray_and_both_go_back_for_a_running_engine() {
    // engine off 1, raised 4, tray off 40, valve body off 60: 105.
    let open = expect(
        as_it_comes_in(),
        &["valve-body-off"],
        105.0,
        &["engine-off", "raised", "tray-off", "valve-body-off"],
    );
    // tray on 35, valve body on 60, running 1: 96.
    expect(
        open,
        &["engine-running"],
        96.0,
        &["tray-on", "valve-body-on", "engine-running"],
    );
}

#[test]
fn the_transfer_gauge_stays_when_the_underbody_is_fitted_again() {
    // engine off 1, raised 4, underbody clear 45, gauge 12, running 1, warm 15: 78.
    let left = expect(
        as_it_comes_in(),
        &["transfer-gauge", "engine-running", "fluid-warm"],
        78.0,
        &[
            "engine-off",
            "raised",
            "underbody-clear",
            "engine-running",
            "fluid-warm",
            "transfer-gauge",
        ],
    );
    // Down again: underbody fitted 40, ground 3, chocked 2: 45.
    let down = expect(
        left,
        &["chocked"],
        45.0,
        &["underbody-fitted", "on-ground", "chocked"],
    );
    assert!(down.has(place("transfer-gauge")));
}

#[test]
fn two_of_one_group_cannot_be_had_at_once() {
    assert_eq!(
        trade().cheapest(
            as_it_comes_in(),
            these(&["raised", "on-ground"]),
            InPlace::NOTHING
        ),
        None
    );
    assert_eq!(
        trade().cheapest(
            as_it_comes_in(),
            these(&["raised", "chocked"]),
            InPlace::NOTHING
        ),
        None
    );
}

#[test]
fn what_is_in_place_costs_nothing() {
    let way = trade()
        .cheapest(as_it_comes_in(), these(&["tray-on"]), InPlace::NOTHING)
        .unwrap();
    assert_eq!(
        (way.minutes, way.order.len(), way.leaves),
        (0.0, 0, as_it_comes_in())
    );
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
