//! Readings of stall tests, torque, wheel speeds and the transfer clutch's command, from tables written here.

use super::report;
use std::fmt::Write;

/// A table at ten samples a second for so many seconds: a name with its unit, and its value at a time.
fn table(seconds: u32, columns: &[(&str, &dyn Fn(f64) -> String)]) -> String {
    let mut text = "Time (s)".to_owned();
    for (name, _) in columns {
        write!(text, ",{name}").unwrap();
    }
    for row in 0..seconds * 10 {
        let time = f64::from(row) / 10.0;
        write!(text, "\n{time:.1}").unwrap();
        for (_, value) in columns {
            write!(text, ",{}", value(time)).unwrap();
        }
    }
    text + "\n"
}

fn number(value: f64) -> String {
    format!("{value:.1}")
}

/// A number that flickers by a tenth, so that the resolution of its column is known.
fn flickering(value: f64, time: f64) -> String {
    number(value + 0.1 * ((time * 10.0).round() % 3.0))
}

/// What a measurement read, as number and standard uncertainty or in words, or why it was not read.
fn read(table: &str, name: &str) -> Result<(Option<(f64, f64)>, String), String> {
    let report = report(table).unwrap();
    let row = report.readings.iter().find(|row| row.measurement == name);
    let row = row.unwrap();
    match &row.refused {
        Some(why) => Err(why.clone()),
        None => Ok((
            row.number.as_ref().map(|figure| (figure.value, figure.u)),
            row.says.clone().unwrap_or_default(),
        )),
    }
}

/// Full throttle from 10 s on for `held` seconds, the engine rising by `rise` a second up to `top`.
fn stall(selector: &str, held: f64, rise: f64, top: f64) -> String {
    let full = move |time: f64| (10.0..10.0 + held).contains(&time);
    let engine = move |time: f64| {
        if full(time) {
            flickering((700.0 + rise * (time - 10.0)).min(top), time)
        } else {
            flickering(700.0, time)
        }
    };
    table(
        30,
        &[
            ("Engine speed (rpm)", &engine),
            ("Secondary pulley speed (rpm)", &|_| number(0.0)),
            ("Throttle (%)", &|time| {
                number(if full(time) { 100.0 } else { 0.0 })
            }),
            ("Selector", &|_| selector.to_owned()),
            ("Fluid temperature (°C)", &|time| {
                number(80.0 + time / 30.0)
            }),
        ],
    )
}

#[test]
fn a_stall_speed_is_read_where_the_engine_was_held_steady() {
    let (figure, says) = read(&stall("D", 4.0, 2000.0, 2300.0), "stall-forward").unwrap();
    let (value, u) = figure.unwrap();
    assert!((value - 2300.0).abs() < 2.0, "{value}");
    // The scan tool's own 10 and nothing to speak of beside it.
    assert!((10.0..13.0).contains(&u), "{u} {says}");
    let (figure, _) = read(&stall("R", 4.0, 2000.0, 2250.0), "stall-reverse").unwrap();
    assert!((figure.unwrap().0 - 2250.0).abs() < 2.0);
    // The other direction was not tested.
    let why = read(&stall("R", 4.0, 2000.0, 2250.0), "stall-forward").unwrap_err();
    assert!(why.contains("never selector in D"), "{why}");
}

#[test]
fn a_stall_that_broke_the_five_seconds_or_never_settled_is_refused_and_told_why() {
    let why = read(&stall("D", 6.5, 2000.0, 2300.0), "stall-forward").unwrap_err();
    assert!(
        why.contains("held for 6.4 s, and 5 s are the most"),
        "{why}"
    );
    let why = read(&stall("D", 4.0, 400.0, 9000.0), "stall-forward").unwrap_err();
    assert!(why.contains("never holds together for 1 s"), "{why}");
    assert!(why.contains("changing by at most 100"), "{why}");
}

/// Straight ahead or at this steering angle, at these wheel speeds, command and throttle.
fn road(steering: f64, wheels: [f64; 4], command: f64, throttle: f64) -> String {
    let axle = |a: f64, b: f64| move |_: f64| number(f64::midpoint(a, b));
    let [fl, fr, rl, rr] = wheels;
    table(
        20,
        &[
            ("Selector", &|_| "D".to_owned()),
            ("Throttle (%)", &move |_| number(throttle)),
            ("Steering angle (degree)", &move |_| number(steering)),
            ("Front axle speed (km/h)", &axle(fl, fr)),
            ("Rear axle speed (km/h)", &axle(rl, rr)),
            ("Wheel speed front left (km/h)", &move |_| number(fl)),
            ("Wheel speed front right (km/h)", &move |_| number(fr)),
            ("Wheel speed rear left (km/h)", &move |_| number(rl)),
            ("Wheel speed rear right (km/h)", &move |_| number(rr)),
            ("Transfer clutch duty (%)", &move |_| number(command)),
            ("Secondary pulley speed (rpm)", &|_| number(1500.0)),
            ("Engine torque (N·m)", &|time| {
                flickering(if time > 10.0 { 180.0 } else { 90.0 }, time)
            }),
        ],
    )
}

/// The sheet of the demo estate: 0.8 km/h.
#[test]
fn four_wheel_speeds_are_judged_by_the_limit_of_the_sheet() {
    let says = |wheels| read(&road(0.0, wheels, 5.0, 10.0), "scan-wheel-speeds");
    let words = |wheels| says(wheels).unwrap().1;
    assert_eq!(words([60.0; 4]), "all four agree");
    assert_eq!(
        words([58.5, 60.0, 60.0, 60.0]),
        "one wheel differs from the other three"
    );
    assert_eq!(
        words([58.5, 58.5, 60.0, 60.0]),
        "front and rear pairs differ"
    );
    let why = says([60.0, 60.0, 60.0, 60.8]).unwrap_err();
    assert!(
        why.contains("too near to the limit of one-differs"),
        "{why}"
    );
    // Round a bend the wheels differ anyway.
    let why = read(&road(90.0, [60.0; 4], 5.0, 10.0), "scan-wheel-speeds").unwrap_err();
    assert!(why.contains("never steering angle"), "{why}");
}

/// The sheet of the demo estate: 12 %.
#[test]
fn the_command_of_the_transfer_clutch_is_read_in_a_tight_turn_and_when_pulling() {
    let turn = |command| {
        read(
            &road(450.0, [6.0; 4], command, 0.0),
            "scan-transfer-command",
        )
    };
    assert_eq!(turn(5.0).unwrap().1, "low, as for a tight turn");
    assert_eq!(turn(30.0).unwrap().1, "stays high in the turn");
    assert!(turn(12.0).unwrap_err().contains("too near"));
    let pull = |command| {
        read(
            &road(0.0, [12.0; 4], command, 35.0),
            "transfer-command-pull",
        )
    };
    assert_eq!(pull(40.0).unwrap().1, "yes, rises as the sheet says");
    assert_eq!(pull(0.0).unwrap().1, "stays near zero");
}

#[test]
fn the_highest_torque_of_a_full_throttle_pull_is_read() {
    let (figure, _) = read(&road(0.0, [60.0; 4], 5.0, 100.0), "scan-engine-torque").unwrap();
    let (value, u) = figure.unwrap();
    assert!(
        (value - 180.0).abs() < 0.5 && (4.0..5.0).contains(&u),
        "{value} {u}"
    );
    let why = read(&road(0.0, [60.0; 4], 5.0, 50.0), "scan-engine-torque").unwrap_err();
    assert!(why.contains("never throttle"), "{why}");
}
