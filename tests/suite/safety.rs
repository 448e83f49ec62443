//! What must never be done with a vehicle, by rules over the names of set-ups that know nothing of the planner.
//!
//! Two things are held against the rules: every set-up that the shipped family lets be entered, in every state
//! that can be reached, and every way that the planner chooses from a sample of these states.

use crate::by_name::{chain_cvt, shipped};
use crate::job::Job;
use crate::record::a_reading;
use crate::technician::holding;
use halfsplit::decide::{
    Circumstances, InPlace, Point, Policy, Problem, SetUps, Step, problem, set_ups, way_out,
    way_to, way_to_repair,
};
use halfsplit::infer::{Complaint, Evidence, Model};
use halfsplit::knowledge::{MeasurementId, OutcomeId, RepairId, SetUpId, SymptomId, Workshop};
use halfsplit::record::{Event, History, Opened};
use halfsplit::session::{Answer, Ask, recorded_case};
use std::collections::{BTreeMap, BTreeSet, HashSet, VecDeque};

/// What is always in exactly one state. The temperature is not known on arrival, so it is not among these.
const ALWAYS_ONE: [&[&str]; 12] = [
    &[
        "engine-off",
        "engine-running",
        "engine-open-exhaust",
        "engine-driving",
    ],
    &["on-ground", "raised", "yard-test", "road-test"],
    &["chocked", "chocks-near", "chocks-clear"],
    &["high-ports-closed", "secondary-gauge", "primary-gauge"],
    &[
        "low-ports-closed",
        "forward-gauge",
        "reverse-gauge",
        "transfer-gauge",
    ],
    &["underbody-fitted", "underbody-clear"],
    &["fluid-in", "fluid-out"],
    &["tray-on", "tray-off"],
    &["valve-body-on", "valve-body-off"],
    &["rear-shaft-on", "rear-shaft-off"],
    &["battery-on", "battery-off"],
    &["normal-drive-mode", "front-only-mode"],
];

/// While the first is in place, all of the others are.
const WHILE: [(&str, &[&str]); 17] = [
    (
        "engine-running",
        &[
            "tray-on",
            "valve-body-on",
            "fluid-in",
            "battery-on",
            "underbody-fitted",
        ],
    ),
    (
        "engine-open-exhaust",
        &[
            "tray-on",
            "valve-body-on",
            "fluid-in",
            "battery-on",
            "raised",
            "underbody-clear",
        ],
    ),
    (
        "engine-driving",
        &[
            "tray-on",
            "valve-body-on",
            "fluid-in",
            "battery-on",
            "underbody-fitted",
        ],
    ),
    (
        "engine-driving",
        &[
            "level-right",
            "high-ports-closed",
            "low-ports-closed",
            "chocks-clear",
        ],
    ),
    ("yard-test", &["engine-driving"]),
    (
        "road-test",
        &["engine-driving", "rear-shaft-on", "normal-drive-mode"],
    ),
    (
        "on-ground",
        &["underbody-fitted", "tray-on", "valve-body-on"],
    ),
    ("underbody-clear", &["raised"]),
    ("transfer-gauge", &["raised", "underbody-clear"]),
    ("tray-off", &["raised", "engine-off", "fluid-out"]),
    ("valve-body-off", &["raised", "engine-off", "tray-off"]),
    ("fluid-out", &["engine-off"]),
    ("level-right", &["fluid-in"]),
    ("battery-off", &["engine-off"]),
    ("scan-tool", &["battery-on"]),
    ("chocked", &["on-ground"]),
    ("chocks-near", &["on-ground"]),
];

/// At the moment the first is entered, all of the others are in place.
const ON_ENTERING: [(&str, &[&str]); 24] = [
    ("microphones-on", &["raised", "engine-off"]),
    ("high-ports-closed", &["raised", "engine-off"]),
    ("secondary-gauge", &["raised", "engine-off"]),
    ("primary-gauge", &["raised", "engine-off"]),
    ("low-ports-closed", &["raised", "engine-off"]),
    ("forward-gauge", &["raised", "engine-off"]),
    ("reverse-gauge", &["raised", "engine-off"]),
    (
        "transfer-gauge",
        &["raised", "engine-off", "underbody-clear"],
    ),
    ("underbody-fitted", &["raised", "engine-off"]),
    ("underbody-clear", &["raised", "engine-off"]),
    ("fluid-out", &["raised", "engine-off"]),
    (
        "fluid-in",
        &["raised", "engine-off", "tray-on", "valve-body-on"],
    ),
    ("tray-off", &["raised", "engine-off", "fluid-out"]),
    ("tray-on", &["raised", "engine-off", "valve-body-on"]),
    ("valve-body-off", &["raised", "engine-off", "tray-off"]),
    ("valve-body-on", &["raised", "engine-off", "tray-off"]),
    ("rear-shaft-on", &["raised", "engine-off"]),
    ("rear-shaft-off", &["raised", "engine-off"]),
    ("chocked", &["on-ground", "engine-off"]),
    ("chocks-near", &["on-ground", "engine-off"]),
    ("chocks-clear", &["on-ground", "engine-off"]),
    ("battery-off", &["engine-off"]),
    ("battery-on", &["engine-off"]),
    ("fluid-cold", &["engine-off"]),
];

type Names = BTreeSet<&'static str>;

fn names(state: InPlace) -> Names {
    let all = &chain_cvt().set_ups;
    state.indices().map(|i| all[i].name.as_str()).collect()
}

/// The rules of a state that it breaks.
fn wrong_with(state: &Names) -> Vec<String> {
    let mut wrong = Vec::new();
    for group in ALWAYS_ONE {
        let count = group.iter().filter(|name| state.contains(*name)).count();
        if count != 1 {
            wrong.push(format!("{count} of {group:?}"));
        }
    }
    for (name, others) in WHILE {
        for other in others.iter().filter(|_| state.contains(name)) {
            if !state.contains(other) {
                wrong.push(format!("{name} without {other}"));
            }
        }
    }
    wrong
}

/// The rules that entering a set-up breaks, and those that what is in place then breaks.
fn wrong_to_enter(before: &Names, entered: &str, after: &Names) -> Vec<String> {
    let mut wrong = wrong_with(after);
    let mut rule = |kept: bool, text: &str| {
        if !kept {
            wrong.push(format!("{entered}: {text}"));
        }
    };
    for (_, others) in ON_ENTERING.iter().filter(|(name, _)| *name == entered) {
        for other in *others {
            rule(before.contains(other), other);
        }
    }
    let away = before.contains("yard-test") || before.contains("road-test");
    let idling = before.contains("engine-running");
    match entered {
        "raised" | "on-ground" => rule(after.contains("engine-off"), "the engine still runs"),
        "yard-test" | "road-test" => {
            rule(before.contains("engine-driving"), "not ready to drive off");
        }
        "engine-driving" => rule(before.contains("on-ground") || away, "not on the wheels"),
        "engine-off" | "engine-running" => rule(!away, "not back in the bay"),
        "underbody-fitted" => rule(!before.contains("transfer-gauge"), "the gauge is on"),
        "fluid-window" => rule(
            idling || before.contains("engine-off"),
            "neither idling nor cooling",
        ),
        "fluid-hot" => rule(idling, "not idling with the exhaust fitted"),
        "level-right" => {
            rule(
                before.contains("raised") && idling,
                "not idling on the lift",
            );
            rule(before.contains("fluid-window"), "not in the window");
        }
        "front-only-mode" => rule(before.contains("yard-test"), "not in the yard"),
        _ => (),
    }
    wrong
}

/// The states reachable by entering whatever may be entered, breadth first, and the first rules broken on the way.
fn reachable(set_ups: &SetUps) -> (Vec<InPlace>, Option<String>) {
    let arrival = Circumstances::on_arrival(chain_cvt()).standing();
    let mut seen = HashSet::from([arrival]);
    let mut found = vec![arrival];
    let mut queue = VecDeque::from([arrival]);
    while let Some(here) = queue.pop_front() {
        let before = names(here);
        for entered in 0..set_ups.len() {
            let Some(next) = set_ups.enter(here, entered) else {
                continue;
            };
            let name = &chain_cvt().set_ups[entered].name;
            let wrong = wrong_to_enter(&before, name, &names(next));
            if !wrong.is_empty() {
                return (found, Some(format!("{name} from {before:?}: {wrong:?}")));
            }
            if seen.insert(next) {
                found.push(next);
                queue.push_back(next);
            }
        }
    }
    (found, None)
}

/// At least this many states, spread over all that can be reached, and those after each repair.
const SAMPLE: usize = 2000;

fn sample(all: &[InPlace]) -> Vec<InPlace> {
    let mut sample: BTreeSet<InPlace> =
        (all.iter().step_by((all.len() / SAMPLE).max(1)).copied()).collect();
    for repair in 0..chain_cvt().repairs.len() {
        for from in all.iter().step_by((all.len() / 10).max(1)) {
            let mut circumstances = Circumstances {
                in_place: from.indices().map(SetUpId::at).collect(),
                ..Circumstances::default()
            };
            circumstances.repaired(chain_cvt(), &[RepairId::at(repair)]);
            sample.insert(circumstances.standing());
        }
    }
    sample.into_iter().collect()
}

/// What must be in place, by each measurement or repair that asks for it.
fn goals() -> BTreeMap<InPlace, &'static str> {
    let family = chain_cvt();
    let measured = (family.measurements.iter()).map(|m| (&m.set_ups, m.name.as_str()));
    let repaired = (family.repairs.iter()).map(|r| (&r.set_ups, r.name.as_str()));
    let recorder = &family.recorder.as_ref().unwrap().set_ups;
    let recorded = family.measurements.iter().filter(|m| m.recording.is_some());
    let recorded: Vec<_> = recorded
        .map(|m| ([&m.set_ups[..], recorder].concat(), m.name.as_str()))
        .collect();
    let recorded = recorded.iter().map(|(needed, name)| (needed, *name));
    measured
        .chain(repaired)
        .chain(recorded)
        .map(|(needed, name)| (needed.iter().map(|id| id.index()).collect(), name))
        .collect()
}

/// A reading whose outcome is certain.
fn certain(id: MeasurementId, outcome: OutcomeId) -> Evidence {
    let outcomes = &chain_cvt().measurement(id).outcomes;
    let mut weights = vec![0.0; outcomes.len()];
    weights[outcome.index()] = 1.0;
    Evidence {
        measurement: id,
        weights,
    }
}

#[test]
fn whatever_may_be_entered_is_safe_to_enter() {
    let (all, wrong) = reachable(&set_ups(chain_cvt()).unwrap());
    assert_eq!(wrong, None);
    println!("{} states", all.len());
    assert!(all.len() >= SAMPLE);
}

/// What is in place once some set-ups are entered one after the other, each of which must be safe to enter.
fn safely(set_ups: &SetUps, from: InPlace, order: &[usize], goal: &str) -> InPlace {
    let mut here = from;
    for &entered in order {
        let name = &chain_cvt().set_ups[entered].name;
        let next = set_ups
            .enter(here, entered)
            .unwrap_or_else(|| panic!("to {goal}, {name} lacks its needs in {:?}", names(here)));
        let wrong = wrong_to_enter(&names(here), name, &names(next));
        assert!(
            wrong.is_empty(),
            "to {goal}, {name} from {:?}: {wrong:?}",
            names(here)
        );
        here = next;
    }
    here
}

/// From wherever the vehicle is when a repair begins, through all that proves it, in the order in which it is asked.
#[test]
fn every_way_to_what_proves_a_repair_is_safe() {
    let family = chain_cvt();
    let set_ups = set_ups(family).unwrap();
    let (all, _) = reachable(&set_ups);
    for (place, repair) in family.repairs.iter().enumerate() {
        for from in all.iter().step_by(all.len() / 10) {
            let mut now = Circumstances {
                in_place: from.indices().map(SetUpId::at).collect(),
                ..Circumstances::default()
            };
            let done = [RepairId::at(place)];
            now.repaired(family, &done);
            for id in repair.verifying() {
                let measurement = family.measurement(id);
                let goal = format!("{} after {}", measurement.name, repair.name);
                let way = way_to(family, &[], &[], &now, id, &done);
                let way = way.unwrap_or_else(|| panic!("no way to {goal}"));
                let here = safely(&set_ups, now.standing(), &way.order, &goal);
                now.in_place = here.indices().map(SetUpId::at).collect();
                now.read(family, &certain(id, measurement.normal));
            }
        }
    }
}

/// From wherever the vehicle is: what a repair page lists, and what is put back before the vehicle is handed over.
#[test]
fn every_way_to_a_repair_and_out_of_the_shop_is_safe() {
    let family = chain_cvt();
    let set_ups = set_ups(family).unwrap();
    let (all, _) = reachable(&set_ups);
    for from in sample(&all).into_iter().step_by(20) {
        for (place, repair) in family.repairs.iter().enumerate() {
            let goal = format!("begin {}", repair.name);
            let way = way_to_repair(family, from, RepairId::at(place), InPlace::NOTHING);
            let way = way.unwrap_or_else(|| panic!("no way to {goal} from {:?}", names(from)));
            let here = safely(&set_ups, from, &way.order, &goal);
            assert!(
                repair.set_ups.iter().all(|id| here.has(id.index())),
                "{goal}"
            );
            let here = names(here);
            let runs = repair
                .set_ups
                .iter()
                .any(|id| family.set_up(*id).group.as_deref() == Some("engine"));
            assert!(runs || here.contains("engine-off"), "{goal}: {here:?}");
            assert!(here.contains("high-ports-closed"), "{goal}: {here:?}");
            assert!(here.contains("low-ports-closed"), "{goal}: {here:?}");
        }
        let way = way_out(family, from);
        let way = way.unwrap_or_else(|| panic!("no way out from {:?}", names(from)));
        let here = names(safely(&set_ups, from, &way.order, "hand it over"));
        for name in family.names_of(&family.in_place) {
            // How the chocks lie is nobody's concern then.
            assert!(
                name == "chocks-clear" || here.contains(name.as_str()),
                "{name}: {here:?}"
            );
        }
    }
}

/// Repairs that are done together are prepared one after the other, and what was read closes what it closes.
#[test]
fn repairs_of_one_candidate_are_prepared_in_turn_and_what_was_read_closes_a_set_up() {
    let family = chain_cvt();
    let set_ups = set_ups(family).unwrap();
    let mut pairs = BTreeSet::new();
    for (symptom, _) in family.symptoms.iter().enumerate() {
        let complaint = Complaint {
            present: vec![SymptomId::at(symptom)],
            ..Complaint::default()
        };
        for candidate in Model::new(family, None, complaint).unwrap().candidates {
            let repairs = candidate.causes.iter().map(|id| family.cause(*id).repair);
            let repairs: BTreeSet<RepairId> = repairs.collect();
            pairs.extend((repairs.len() > 1).then_some(repairs));
        }
    }
    assert!(pairs.len() > 20);
    let arrived: InPlace = family.in_place.iter().map(|id| id.index()).collect();
    for pair in &pairs {
        let mut here = arrived;
        for repair in pair {
            let goal = &family.repair(*repair).name;
            let way = way_to_repair(family, here, *repair, InPlace::NOTHING);
            let way = way.unwrap_or_else(|| panic!("no way to {goal} after another of its kind"));
            here = safely(&set_ups, here, &way.order, goal);
            let own = &family.repair(*repair).set_ups;
            assert!(own.iter().all(|id| here.has(id.index())), "{goal}");
        }
    }
    // Fluid like milk: the engine is not run, so the level is not set by it.
    let engine = family.set_up_named("engine-running").unwrap();
    let level = family.repair_named("set-fluid-level").unwrap();
    let closed = InPlace::NOTHING.with(engine.index());
    assert!(way_to_repair(family, arrived, level, InPlace::NOTHING).is_some());
    assert!(way_to_repair(family, arrived, level, closed).is_none());
}

/// Nobody knows how warm the fluid is after a repair, but for one that leaves it in a window.
#[test]
fn after_a_repair_the_fluid_is_as_warm_as_the_repair_left_it() {
    let family = chain_cvt();
    let hot = family.set_up_named("fluid-hot").unwrap();
    let window = family.set_up_named("fluid-window").unwrap();
    let after = |repair: &str, warm: SetUpId| {
        let mut now = Circumstances::on_arrival(family);
        now.enter(family, warm);
        now.repaired(family, &[family.repair_named(repair).unwrap()]);
        now.in_place.contains(&warm)
    };
    assert!(!after("renew-cooler-and-flush", hot));
    assert!(!after("renew-pump", window));
    assert!(!after("set-fluid-level", hot));
}

/// Coolant in the fluid keeps the vehicle off the road until that is put right, whatever else is repaired.
#[test]
fn what_was_read_still_forbids_what_would_prove_another_repair() {
    let family = chain_cvt();
    let look = family.measurement_named("fluid-look").unwrap();
    let milky = family.measurement(look).outcome("milky").unwrap();
    let milky = [certain(look, milky)];
    let binding = [family.symptom_named("tight-turn-binding").unwrap()];
    let mut now = Circumstances::on_arrival(family);
    now.repaired(family, &[]);
    let drive = family.measurement_named("front-only-turn").unwrap();
    let way = |evidence: &[Evidence], repair: &str| {
        let repair = family.repair_named(repair).unwrap();
        way_to(family, &binding, evidence, &now, drive, &[repair])
    };
    assert!(way(&[], "renew-mount").is_some());
    assert!(way(&milky, "renew-mount").is_none());
    let coolant = family.cause_named("coolant-in-fluid").unwrap();
    let cure = &family.repair(family.cause(coolant).repair).name;
    assert!(way(&milky, cure).is_some());
    // A vehicle that does not drive is driven once that is repaired, and not once something else is.
    let still = [family.symptom_named("no-drive").unwrap()];
    let after = |repair: &str| {
        let repair = family.repair_named(repair).unwrap();
        way_to(family, &still, &[], &now, drive, &[repair])
    };
    assert!(after("renew-forward-clutch").is_some());
    assert!(after("balance-wheels").is_none());
}

/// A complaint like none: the looks that bear on any, as the prompts ask them.
#[test]
fn every_way_to_the_general_looks_is_safe() {
    let family = chain_cvt();
    let set_ups = set_ups(family).unwrap();
    let mut job = Job::on(shipped(), "demo-estate");
    job.adds(Event::Complaint {
        words: "it glows".to_owned(),
    });
    job.adds(Event::NoSymptom {});
    let mut here = Circumstances::on_arrival(family).standing();
    let mut looks = 0;
    loop {
        let prompt = job.prompt();
        let Some(measure) = prompt.measure.as_ref() else {
            assert!(matches!(prompt.ask, Ask::NoSymptom { .. }));
            break;
        };
        let order = measure.set_ups.iter();
        let order = order.map(|of| family.set_up_named(&of.set_up).unwrap().index());
        let id = family.measurement_named(&measure.measurement).unwrap();
        let known = family.measurement(id);
        if matches!(prompt.ask, Ask::Reading(_)) {
            here = safely(&set_ups, here, &order.collect::<Vec<_>>(), &known.name);
            assert!(known.set_ups.iter().all(|id| here.has(id.index())));
            looks += 1;
            job.says(
                &prompt,
                Answer::Typed(known.outcomes[known.normal.index()].name.clone()),
            );
            let mut now = Circumstances {
                in_place: here.indices().map(SetUpId::at).collect(),
                ..Circumstances::default()
            };
            now.read(family, &certain(id, known.normal));
            here = now.standing();
        } else {
            here = safely(&set_ups, here, &order.collect::<Vec<_>>(), &known.name);
            let Ask::Condition { condition, .. } = &prompt.ask else {
                panic!("{:?}", prompt.ask);
            };
            let condition = family.conditions.iter().find(|of| of.name == *condition);
            let typed = holding(
                condition.unwrap(),
                shipped().vehicle("demo-estate").unwrap(),
            );
            job.says(&prompt, Answer::Typed(typed));
        }
    }
    assert!(looks > 3, "{looks}");
}

#[test]
fn every_way_of_the_planner_is_safe() {
    let set_ups = set_ups(chain_cvt()).unwrap();
    let (all, _) = reachable(&set_ups);
    let mut ways = 0;
    for from in sample(&all) {
        assert_eq!(wrong_with(&names(from)), [""; 0]);
        for (&needed, goal) in &goals() {
            let way = set_ups.cheapest(from, needed, InPlace::NOTHING);
            let way = way.unwrap_or_else(|| panic!("no way from {:?} to {goal}", names(from)));
            let here = safely(&set_ups, from, &way.order, goal);
            assert!(here.covers(needed), "{goal}");
            ways += 1;
        }
    }
    println!("{ways} ways");
}

/// Each shipped complaint on a vehicle that just came in: the problem, and where it stands.
fn on_arrival() -> Vec<(Problem, Point)> {
    let family = chain_cvt();
    let arrival = Circumstances::on_arrival(family);
    let symptoms = (0..family.symptoms.len()).map(SymptomId::at);
    let each = symptoms.map(|symptom| {
        let complaint = Complaint {
            present: vec![symptom],
            ..Complaint::default()
        };
        let model = Model::new(family, shipped().vehicle("demo-estate"), complaint).unwrap();
        let problem = problem(&model, &[], model.prior(), &arrival).unwrap();
        let at = Point::new(model.prior().weights(), arrival.standing());
        (problem, at)
    });
    each.collect()
}

/// What all that a recorded drive answers needs is in place for it, and a stall is never part of one.
#[test]
fn a_recorded_drive_has_the_set_ups_of_all_that_it_answers_and_no_stall() {
    let family = chain_cvt();
    let mut drives = 0;
    for (problem, _) in on_arrival() {
        for drive in &problem.parts().drives {
            for answer in &drive.answers {
                let of = &problem.parts().measurements[*answer];
                let known = family.measurement(MeasurementId::at(of.id));
                assert!(known.recording.is_some(), "{}", known.name);
                assert!(!known.name.contains("stall"), "{}", known.name);
                assert!(drive.minutes.get() > of.minutes.get(), "{}", known.name);
                for set_up in &known.set_ups {
                    assert!(drive.needs.contains(&set_up.index()), "{}", known.name);
                }
            }
            let needs = drive.needs.iter();
            let mut needs = needs.map(|of| family.set_ups[*of].name.as_str());
            assert!(needs.any(|name| name == "scan-tool"));
            drives += 1;
        }
    }
    assert!(drives > 20, "{drives}");
}

/// What a reading rules out must not be driven before it is read, and a recording is read when the drive is over: where the
/// chain may jump, no full throttle in the same drive.
#[test]
fn a_recorded_drive_holds_nothing_that_another_reading_of_it_may_rule_out() {
    let mut pairs = 0;
    for (problem, mut at) in on_arrival() {
        let parts = problem.parts();
        // Everything is read that something waits for, so that the drives hold as much as they ever can.
        let waited_for = parts.measurements.iter().flat_map(|of| &of.after);
        at.taken
            .extend(waited_for.copied().collect::<BTreeSet<_>>());
        let mut policy = Policy::new(&problem);
        for (drive, of) in parts.drives.iter().enumerate() {
            let first = of.answers[0];
            let Some((_, taking)) = policy.begin(&at, Step::Record { drive, first }) else {
                continue;
            };
            let recorded = taking.recorded.iter();
            let recorded: Vec<MeasurementId> = recorded
                .map(|place| MeasurementId::at(parts.measurements[*place].id))
                .collect();
            pairs += is_driven_together(&recorded);
        }
    }
    assert!(pairs > 20, "{pairs}");
}

/// Holds each measurement of a drive against the others; how many pairs that is.
fn is_driven_together(recorded: &[MeasurementId]) -> usize {
    let family = chain_cvt();
    let mut pairs = 0;
    for one in recorded {
        for other in recorded.iter().filter(|other| *other != one) {
            let known = family.measurement(*other);
            let set_ups = known.set_ups.iter().map(|id| &family.set_up(*id).unless);
            for unless in set_ups.chain([&known.unless]) {
                let ruled_out = unless.outcomes.iter().any(|(id, _)| id == one);
                let one = &family.measurement(*one).name;
                assert!(!ruled_out, "{one} may rule out {}", known.name);
            }
            pairs += 1;
        }
    }
    pairs
}

/// Before a drive stands what can hurt in anything that it answers.
#[test]
fn the_prompt_of_a_recorded_drive_warns_of_all_that_it_answers() {
    let family = chain_cvt();
    let mut job = Job::on(shipped(), "demo-estate").with("slipping");
    for (measurement, outcome) in [
        ("present-today", "normal"),
        ("flare-when", "at-steady-speed"),
        ("slip-direction", "normal"),
        ("recent-work", "normal"),
        ("tcm-answers", "normal"),
        ("dtc-group", "normal"),
        ("leak-look", "normal"),
        ("fluid-level", "normal"),
        ("fluid-look", "normal"),
        ("solenoid-click", "normal"),
        ("unit-noise", "normal"),
        ("front-wheels-by-hand", "normal"),
    ] {
        job.adds(Event::Reading(Box::new(a_reading(measurement, outcome))));
    }
    let mut measure = job.prompt().measure.unwrap();
    for _ in 0..10 {
        if measure.recorded.is_some() {
            break;
        }
        let known = family.measurement_named(&measure.measurement).unwrap();
        let known = family.measurement(known);
        let normal = &known.outcomes[known.normal.index()].name;
        job.adds(Event::Reading(Box::new(a_reading(&known.name, normal))));
        measure = job.prompt().measure.unwrap();
    }
    let with = measure.recorded.as_ref().unwrap();
    let driven = with.measurements.iter().chain([&measure.measurement]);
    let driven = driven.map(|name| family.measurement_named(name).unwrap());
    assert!(is_driven_together(&driven.collect::<Vec<_>>()) > 0);
    for name in with.measurements.iter().chain([&measure.measurement]) {
        let known = family.measurement(family.measurement_named(name).unwrap());
        for caution in family.caution_texts(&known.cautions) {
            assert!(measure.cautions.contains(&caution), "{name}: {caution}");
        }
    }
    let entered = measure.set_ups.iter().map(|of| of.set_up.as_str());
    assert!(entered.clone().any(|name| name == "road-test"));
    assert!(entered.clone().any(|name| name == "scan-tool"));
    // In practice nothing is recorded, nor in a shop that cannot.
    let mut lacking = Opened::new("chain-cvt", shipped().fingerprints());
    lacking.shop = Some(Workshop {
        lacks: vec!["recorder".to_owned()],
        ..Workshop::default()
    });
    let case = recorded_case(family, History::begin(lacking, job.now, "test").state());
    assert!(case.circumstances.by_hand);
}

#[test]
fn a_measurement_is_taken_where_it_is_safe() {
    for measurement in &chain_cvt().measurements {
        let stand: BTreeSet<&str> = (measurement.set_ups.iter())
            .map(|id| chain_cvt().set_up(*id).name.as_str())
            .collect();
        let name = &measurement.name;
        if name.starts_with("stall-") || name.ends_with("-stall") {
            for needed in ["chocked", "engine-running", "level-right", "fluid-hot"] {
                assert!(stand.contains(needed), "{name} without {needed}");
            }
        }
        if stand.contains("engine-open-exhaust") {
            assert!(
                name.starts_with("gauge-transfer-"),
                "{name} with the exhaust open"
            );
        }
    }
}

/// Needs that follow from other needs: leaving one of them out lets nothing more be entered.
const FOLLOW: [(&str, &str); 17] = [
    ("engine-driving", "tray-on"),
    ("engine-driving", "valve-body-on"),
    ("engine-driving", "fluid-in"),
    ("engine-driving", "underbody-fitted"),
    ("engine-open-exhaust", "raised"),
    ("engine-open-exhaust", "tray-on"),
    ("engine-open-exhaust", "valve-body-on"),
    ("engine-running", "tray-on"),
    ("engine-running", "valve-body-on"),
    ("fluid-in", "valve-body-on"),
    ("on-ground", "valve-body-on"),
    ("transfer-gauge", "raised"),
    ("tray-off", "engine-off"),
    ("valve-body-off", "raised"),
    ("valve-body-off", "engine-off"),
    ("valve-body-on", "raised"),
    ("valve-body-on", "engine-off"),
];

#[test]
fn a_need_left_out_is_found() {
    let family = chain_cvt();
    let whole = set_ups(family).unwrap();
    let mut unfound = Vec::new();
    for (place, set_up) in whole.listed().iter().enumerate() {
        for (at, need) in set_up.entering.needs.iter().enumerate() {
            let mut listed = whole.listed().to_vec();
            listed[place].entering.needs.remove(at);
            let broken =
                SetUps::new(listed, family.shop.labour_rate, family.shop.waiting_rate).unwrap();
            if reachable(&broken).1.is_none() {
                unfound.push((
                    family.set_ups[place].name.as_str(),
                    family.set_ups[*need].name.as_str(),
                ));
            }
        }
    }
    assert_eq!(unfound, FOLLOW);
}

#[test]
fn an_engine_that_may_stop_away_from_the_bay_is_found() {
    let family = chain_cvt();
    let whole = set_ups(family).unwrap();
    for name in ["engine-off", "engine-running"] {
        let mut listed = whole.listed().to_vec();
        let place = family.set_up_named(name).unwrap().index();
        listed[place].from.clear();
        let broken =
            SetUps::new(listed, family.shop.labour_rate, family.shop.waiting_rate).unwrap();
        let found = reachable(&broken).1;
        assert!(
            found.is_some_and(|wrong| wrong.contains("not back in the bay")),
            "{name}"
        );
    }
}
