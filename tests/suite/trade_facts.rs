//! Facts of the trade on the shipped knowledge. Source of each, where no other is named: common practice.

use std::collections::BTreeMap;

use halfsplit::decide::OrderBy;
use halfsplit::infer::{Answer, Part, Taken, derive, understand, understand_part};
use halfsplit::knowledge::{ConditionKind, Measurement, Timed};

use crate::by_name::{Job, chain_cvt, close, measurement, shipped};

/// What makes the clamp too low, by the part that does it.
const LOW_PRESSURE: [&str; 7] = [
    "pump-worn",
    "strainer-clogged",
    "suction-air-leak",
    "secondary-valve-sticking-low",
    "secondary-solenoid-stuck-low",
    "secondary-seal-leak",
    "pressure-sensor-reads-far-high",
];

/// A cause of slipping that no clamp pressure speaks of: what others are compared with.
const NO_PRESSURE: &str = "forward-clutch-worn";

const TRANSFER_HYDRAULICS: [&str; 3] = [
    "transfer-solenoid-stuck-applied",
    "transfer-valve-sticking",
    "transfer-circuit-shorted",
];

/// What binds whatever the transfer clutch does.
const NOT_THE_TRANSFER_CLUTCH: [&str; 7] = [
    "front-differential-binding",
    "front-differential-oil-low",
    "cv-joint-outer-worn",
    "tyre-mismatch-one-axle",
    "brake-drag",
    "tyre-fouls-at-lock",
    "strut-bearing-stiff",
];

fn slipping() -> Job<'static> {
    Job::new(shipped(), &["slipping"])
}

fn binding() -> Job<'static> {
    Job::new(shipped(), &["tight-turn-binding"])
}

/// How many times the odds of a cause against one without pressure have grown.
fn against_the_clutch(after: &Job<'_>, before: &Job<'_>, cause: &str) -> f64 {
    after.factor(before, cause) / after.factor(before, NO_PRESSURE)
}

fn named(name: &str) -> &'static Measurement {
    chain_cvt().measurement(measurement(chain_cvt(), name))
}

fn live(job: &Job<'_>, cause: &str) -> bool {
    let place = job.place(&[cause]).unwrap();
    job.belief().is_live(place)
}

fn total(job: &Job<'_>, causes: &[&str]) -> f64 {
    causes.iter().map(|cause| job.of_cause(cause)).sum()
}

#[test]
fn a_secondary_pressure_right_on_the_scan_tool_leaves_the_low_pressure_causes_alive() {
    let after = slipping().after("scan-clamp-error", "normal");
    for cause in LOW_PRESSURE {
        assert!(
            live(&after, cause),
            "{cause} is ruled out by its own sensor"
        );
    }
}

#[test]
fn a_secondary_pressure_right_on_the_scan_tool_makes_a_sensor_that_misleads_likelier_among_them() {
    let before = slipping();
    let after = before.after("scan-clamp-error", "normal");
    let sensor = after.factor(&before, "pressure-sensor-reads-far-high");
    for cause in &LOW_PRESSURE[..6] {
        assert!(sensor > after.factor(&before, cause), "{cause}");
    }
}

#[test]
fn the_same_pressure_on_a_mechanical_gauge_clears_the_low_pressure_causes() {
    let before = slipping();
    let by_sensor = before.after("scan-clamp-error", "normal");
    let by_gauge = before
        .after("gauge-secondary-idle", "normal")
        .after("gauge-secondary-stall", "normal");
    for cause in LOW_PRESSURE {
        let sensor = against_the_clutch(&by_sensor, &before, cause);
        let gauge = against_the_clutch(&by_gauge, &before, cause);
        assert!(gauge < 0.2, "{cause}: the gauge leaves {gauge} of its odds");
        assert!(
            gauge < sensor * 0.6,
            "{cause}: gauge {gauge}, sensor {sensor}"
        );
    }
}

#[test]
fn each_gauge_reading_alone_says_more_than_the_sensor_of_the_sensor_itself() {
    let before = slipping();
    let sensor = against_the_clutch(
        &before.after("scan-clamp-error", "normal"),
        &before,
        "pressure-sensor-reads-far-high",
    );
    for gauge in ["gauge-secondary-idle", "gauge-secondary-stall"] {
        let found = against_the_clutch(
            &before.after(gauge, "normal"),
            &before,
            "pressure-sensor-reads-far-high",
        );
        assert!(found < sensor / 3.0, "{gauge}: {found}, sensor {sensor}");
    }
}

#[test]
fn binding_that_vanishes_in_front_wheel_only_mode_points_at_the_transfer_clutch_or_the_axles_tyres()
{
    let before = binding();
    let after = before.after("front-only-turn", "vanishes");
    for cause in [
        "transfer-solenoid-stuck-applied",
        "transfer-valve-sticking",
        "steering-angle-offset",
        "wheel-speed-distorted",
        "tyre-mismatch-axles",
    ] {
        assert!(after.factor(&before, cause) > 1.0, "{cause}");
    }
    for cause in NOT_THE_TRANSFER_CLUTCH {
        assert!(after.factor(&before, cause) < 0.1, "{cause}");
    }
}

#[test]
fn binding_that_stays_points_elsewhere_or_at_a_clutch_that_pressure_no_longer_governs() {
    let before = binding();
    let after = before.after("front-only-turn", "stays");
    for cause in NOT_THE_TRANSFER_CLUTCH
        .into_iter()
        .chain(["transfer-circuit-shorted"])
    {
        assert!(after.factor(&before, cause) > 1.0, "{cause}");
    }
    for cause in ["transfer-plates-dragging", "transfer-valve-sticking"] {
        assert!(live(&after, cause), "{cause}");
    }
    for cause in ["tyre-mismatch-axles", "fluid-degraded", "fluid-wrong-type"] {
        assert!(after.factor(&before, cause) < 0.1, "{cause}");
    }
}

#[test]
fn a_transfer_pressure_correct_on_the_gauge_moves_binding_from_hydraulics_to_the_pack() {
    let before = binding();
    let released = before.after("gauge-transfer-released", "normal");
    let both = released.after("gauge-transfer-applied", "normal");
    for after in [&released, &both] {
        assert!(after.factor(&before, "transfer-plates-dragging") > 1.0);
        for cause in TRANSFER_HYDRAULICS {
            assert!(after.factor(&before, cause) < 0.25, "{cause}");
        }
    }
    assert!(total(&before, &TRANSFER_HYDRAULICS) > before.of_cause("transfer-plates-dragging"));
    assert!(total(&both, &TRANSFER_HYDRAULICS) < both.of_cause("transfer-plates-dragging"));
}

/// The transfer port lies behind underbody parts, so that what is cheaper comes first. Cheaper is at
/// most half its time: what drains the fluid or takes the shaft off is dismantling as well. Less than
/// a twentieth of what is in play set apart is nothing.
#[test]
fn cheaper_measurements_come_before_the_transfer_gauge_unless_they_separate_nothing() {
    let mut late = Vec::new();
    for job in [
        binding(),
        binding().after("rear-shaft-off-turn", "vanishes"),
        binding().after("tyre-circumference", "normal"),
        binding().after("front-only-turn", "vanishes"),
    ] {
        let order = job.order(OrderBy::default());
        let gauge = job.ranked("gauge-transfer-released").unwrap();
        let after_it = order
            .iter()
            .skip_while(|name| **name != "gauge-transfer-released");
        for name in after_it {
            let other = job.ranked(name).unwrap();
            if other.minutes <= gauge.minutes / 2.0 && other.separates >= other.in_play / 20.0 {
                late.push(format!(
                    "{name} separates {:.2} of {:.1} in {} minutes; the gauge {:.2} in {}",
                    other.separates, other.in_play, other.minutes, gauge.separates, gauge.minutes
                ));
            }
        }
    }
    assert!(late.is_empty(), "{}", late.join("\n"));
}

#[test]
fn the_transfer_gauge_needs_underbody_parts_removed() {
    let ranked = binding().ranked("gauge-transfer-released").unwrap();
    let entered: Vec<&str> = ranked
        .way
        .order
        .iter()
        .map(|place| chain_cvt().set_ups[*place].name.as_str())
        .collect();
    assert!(entered.contains(&"underbody-clear"), "{entered:?}");
}

#[test]
fn a_stall_test_lasts_five_seconds_and_is_followed_by_a_minute_at_idle_in_p_or_n() {
    let stall = chain_cvt()
        .cautions
        .iter()
        .find(|caution| caution.name == "stall")
        .unwrap();
    for words in [
        "no longer than five seconds",
        "idle in P or N for at least 60 seconds",
        "do not switch it off",
    ] {
        assert!(stall.text.contains(words), "{words}: {}", stall.text);
    }
}

#[test]
fn every_stall_measurement_carries_that_caution_and_its_times() {
    let mut found = Vec::new();
    for measurement in &chain_cvt().measurements {
        let says = |words: &str| {
            measurement.ask.contains(words)
                || measurement.title.contains(words)
                || measurement.steps.iter().any(|step| step.contains(words))
        };
        let stalls = says("full throttle against the brakes") || says("Stall") || says("at stall");
        if !stalls {
            assert!(!matches!(measurement.timed, Some(Timed::Stall { .. })));
            continue;
        }
        found.push(measurement.name.as_str());
        assert!(
            measurement
                .caution_texts(chain_cvt())
                .any(|caution| caution.name == "stall"),
            "{}",
            measurement.name
        );
        assert_eq!(
            measurement.timed,
            Some(Timed::Stall {
                limit: 5.0,
                cool_down: 60.0
            }),
            "{}",
            measurement.name
        );
    }
    found.sort_unstable();
    assert_eq!(
        found,
        ["gauge-secondary-stall", "stall-forward", "stall-reverse"]
    );
}

#[test]
fn the_fluid_level_is_judged_warm_with_the_engine_running_after_p_to_d_to_p_by_what_runs_out() {
    let level = named("fluid-level");
    let text = format!("{} {}", level.note.clone().unwrap(), level.steps.join(" "));
    for words in [
        "engine running",
        "35 to 45 °C",
        "from P to D and back to P",
        "a little fluid runs from the filler opening",
        "With none running out it is low",
        "outside the window is not a level",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
    let gloss = |name: &str| {
        let outcome = level.outcome(name).unwrap();
        level.outcomes[outcome.index()].gloss.clone().unwrap()
    };
    assert_eq!(gloss("low"), "no fluid runs from the filler opening");
    assert_eq!(
        gloss("normal"),
        "a little fluid runs from the filler opening"
    );
    assert!(
        level
            .set_ups
            .iter()
            .any(|id| chain_cvt().set_up(*id).name == "engine-running")
    );
}

#[test]
fn a_fluid_level_counts_only_with_the_fluid_in_its_window_and_the_lever_moved() {
    let conditions: Vec<&str> = named("fluid-level")
        .conditions
        .iter()
        .map(|id| chain_cvt().condition(*id).name.as_str())
        .collect();
    assert!(conditions.contains(&"fluid-in-window"));
    assert!(conditions.contains(&"lever-through-all"));
}

/// Every sheet that is shipped gives 35 to 45 °C; its numbers may be in another unit.
#[test]
fn the_window_of_the_fluid_is_35_to_45_degrees_on_every_sheet() {
    let window = chain_cvt().condition_named("fluid-in-window").unwrap();
    let ConditionKind::Number { unit, holds, .. } = &chain_cvt().condition(window).kind else {
        panic!("the window is no number");
    };
    for vehicle in &shipped().vehicles {
        let band = holds.on(vehicle, *unit).unwrap();
        close(band.from.unwrap().at, 35.0, 0.6);
        close(band.to.unwrap().at, 45.0, 0.6);
    }
}

#[test]
fn a_few_cubic_centimetres_from_the_differential_overflow_prove_nothing() {
    let oil = named("front-differential-oil");
    let note = oil.note.clone().unwrap();
    for words in [
        "up to 8",
        "engine off",
        "prove nothing",
        "Full means that oil added at the filler runs from the overflow",
    ] {
        assert!(note.contains(words), "{words}: {note}");
    }
    let steps = oil.steps.join(" ");
    assert!(steps.contains("Engine off"));
    assert!(steps.contains("(up to 8) that run out prove nothing"));
    assert!(steps.contains("Add oil at the filler until it runs from the overflow"));
    assert!(
        oil.set_ups
            .iter()
            .any(|id| chain_cvt().set_up(*id).name == "engine-off")
    );
    for vehicle in &shipped().vehicles {
        let limit = &vehicle.limits["front-differential-level"];
        assert!(
            limit.words.clone().unwrap().contains("prove nothing"),
            "{}",
            vehicle.name
        );
    }
}

fn part(of: &str, take: &str, text: &str) -> Answer<Part> {
    let number = named(of).number().unwrap();
    let take = number
        .takes
        .iter()
        .find(|found| found.name == take)
        .unwrap();
    understand_part(chain_cvt(), take, text, None)
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
    derive(chain_cvt(), shipped().vehicles.first(), id, parts)
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

/// 2,000 by 4,000 is 0.5, as asked for.
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
        let answer = understand(chain_cvt(), shipped().vehicles.first(), id, typed, None);
        assert!(not_taken(&answer), "{typed}: {answer:?}");
    }
}

#[test]
fn the_span_of_the_pulley_ratio_is_stated_where_it_is_read() {
    for name in ["ratio-trace", "ratio-against-command"] {
        let note = named(name).note.clone().unwrap();
        assert!(note.contains("about 2.5 at pull-away"), "{note}");
        assert!(note.contains("about 0.4 at speed"), "{note}");
    }
}

#[test]
fn forward_locks_sun_and_carrier_and_reverse_holds_the_ring_gear_of_a_double_pinion_set() {
    let note = named("scan-forward-slip").note.clone().unwrap();
    for words in [
        "Forward drive locks sun and carrier together",
        "turbine and primary speeds are equal in D",
        "Reverse holds the ring gear of a double-pinion set",
        "turns the primary backwards at the set's ratio",
    ] {
        assert!(note.contains(words), "{words}: {note}");
    }
}

#[test]
fn equal_turbine_and_primary_speeds_in_d_mean_a_shut_forward_clutch() {
    let slip = named("scan-forward-slip");
    let weight = |primary: &str, outcome: &str| {
        let typed = [("turbine", "1500"), ("primary", primary)];
        let taken = computed("scan-forward-slip", &typed).unwrap();
        taken.evidence.weights[slip.outcome(outcome).unwrap().index()]
    };
    assert!(weight("1500", "normal") > 0.99);
    assert!(weight("1100", "slips") > 0.99);
}

/// The repairs that take off the tray or the valve body.
const OPENING: [&str; 11] = [
    "relink-manual-valve",
    "renew-clutch-solenoid",
    "renew-ratio-solenoids",
    "renew-secondary-solenoid",
    "renew-strainer",
    "renew-tcc-solenoid",
    "renew-temperature-sensor",
    "renew-transfer-solenoid",
    "renew-transfer-valve",
    "renew-valve-body",
    "reseal-suction",
];

#[test]
fn the_repairs_behind_the_tray_open_the_valve_body() {
    let mut found: Vec<&str> = chain_cvt()
        .repairs
        .iter()
        .filter(|repair| repair.opens_valve_body)
        .map(|repair| repair.name.as_str())
        .collect();
    found.sort_unstable();
    assert_eq!(found, OPENING);
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
