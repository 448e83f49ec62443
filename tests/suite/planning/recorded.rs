//! Drives that are recorded once and answer several measurements.

use super::every_policy::{added_up, cost, least, point};
use super::models::{
    belief, entering, hard_model, minutes, money, sure, textbook_parts, with_a_drive,
};
use halfsplit::decide::{
    Drive, Effect, InPlace, Parts, Plan, PlanNode, Point, Policy, Problem, SetUp, SetUps, Step,
    Stop,
};

/// Four causes as likely as each other, two tests of 30 that halve them across each other, each on a set-up of 40. A drive
/// of so many minutes answers both.
fn two_tests(drive: f64) -> Parts {
    let tests = [
        (30.0, sure(&[0, 0, 1, 1], 2)),
        (30.0, sure(&[0, 1, 0, 1], 2)),
    ];
    let mut parts = textbook_parts(&[1000.0; 4], &tests);
    let set_up = SetUp {
        entering: entering(40.0, []),
        ..SetUp::default()
    };
    parts.set_ups = SetUps::new(vec![set_up], money(60.0), money(0.0)).unwrap();
    for test in &mut parts.measurements {
        test.needs = vec![0];
    }
    parts.drives = vec![Drive {
        minutes: minutes(drive),
        needs: vec![0],
        answers: vec![0, 1],
    }];
    parts
}

fn start() -> Point {
    Point::new(belief(&[0.25; 4]), InPlace::NOTHING)
}

/// By hand: 40 for the set-up, 60 for the tests, 1,000 for the repair. Recorded: 40, 34 and 1,000.
#[test]
fn a_drive_that_answers_two_tests_pays_its_set_up_and_its_minutes_once() {
    let problem = Problem::new(two_tests(34.0)).unwrap();
    let plan = Plan::new(&problem, &start(), 4, Stop::never());
    assert_eq!(plan.first, Step::Record { drive: 0, first: 1 });
    assert!((plan.outlook.cost - 1074.0).abs() < 1e-9, "{plan:?}");
    assert!((plan.outlook.testing_minutes - 74.0).abs() < 1e-9);
    assert!((added_up(&plan.tree).0 - 1074.0).abs() < 1e-9);
    let PlanNode::Measure(first) = &plan.tree else {
        panic!("{:?}", plan.tree)
    };
    assert_eq!(first.taking.recorded, [0, 1]);
    let PlanNode::Measure(second) = &first.branches[0].then else {
        panic!("{:?}", plan.tree)
    };
    assert!(second.taking.shown && second.taking.cost == 0.0);
    let by_hand = Plan::new(&problem.by_hand(), &start(), 4, Stop::never());
    assert!((by_hand.outlook.cost - 1100.0).abs() < 1e-9);
}

/// The first test costs 70 and tells one bit, a drive of 101 costs 141 and tells two: less than a bit for 70.
#[test]
fn a_drive_that_costs_more_than_its_tests_is_not_recorded() {
    let problem = Problem::new(two_tests(101.0)).unwrap();
    let plan = Plan::new(&problem, &start(), 4, Stop::never());
    assert!(matches!(plan.first, Step::Measure(_)), "{:?}", plan.first);
    assert!((plan.outlook.cost - 1100.0).abs() < 1e-9);
}

#[test]
fn what_a_drive_answers_waits_for_what_must_be_read_before_it() {
    let mut parts = two_tests(34.0);
    let mut look = parts.measurements[0].clone();
    (look.minutes, look.needs) = (minutes(1.0), vec![]);
    // It tells nothing by itself.
    look.rows = vec![0.5; 10];
    parts.measurements.push(look);
    parts.measurements[0].after = vec![2];
    let problem = Problem::new(parts).unwrap();
    let mut policy = Policy::new(&problem);
    assert!(
        policy
            .begin(&start(), Step::Record { drive: 0, first: 0 })
            .is_none()
    );
    let mut at = start();
    at.taken.push(2);
    let (_, taking) = policy
        .begin(&at, Step::Record { drive: 0, first: 0 })
        .unwrap();
    assert_eq!(taking.recorded, [0, 1]);
    assert!(matches!(policy.decide(&at).step, Step::Record { .. }));
}

#[test]
fn a_drive_leaves_out_what_another_of_its_readings_may_rule_out_until_that_is_read() {
    let mut parts = two_tests(34.0);
    let third = textbook_parts(&[1000.0; 4], &[(30.0, sure(&[0, 1, 1, 0], 2))]);
    let mut third = third.measurements[0].clone();
    third.needs = vec![0];
    parts.measurements.push(third);
    parts.drives[0].answers = vec![0, 1, 2];
    let closes = Effect {
        closes: vec![2],
        ..Effect::default()
    };
    parts.measurements[0].effects = vec![(1, closes)];
    let problem = Problem::new(parts).unwrap();
    let mut policy = Policy::new(&problem);
    let drive = Step::Record { drive: 0, first: 0 };
    assert_eq!(policy.begin(&start(), drive).unwrap().1.recorded, [0, 1]);
    let mut at = start();
    at.taken.push(0);
    assert_eq!(policy.begin(&at, drive).unwrap().1.recorded, [1, 2]);
}

#[test]
fn a_drive_is_not_recorded_where_its_set_up_would_spoil_what_tells_something() {
    let mut parts = two_tests(34.0);
    let mut look = parts.measurements[0].clone();
    (look.minutes, look.needs) = (minutes(300.0), vec![]);
    parts.measurements.push(look);
    parts.spoils = vec![vec![2]];
    let problem = Problem::new(parts).unwrap();
    let mut policy = Policy::new(&problem);
    assert!(
        policy
            .begin(&start(), Step::Record { drive: 0, first: 0 })
            .is_none()
    );
}

/// Beside every way of working, those that record the drive among them.
#[test]
fn with_drives_the_policy_stays_near_the_best_there_is() {
    let (mut excess, mut recorded, mut saved) = (Vec::new(), 0, 0.0);
    for seed in 0..150 {
        let model = with_a_drive(hard_model(seed), seed);
        let best = least(&model);
        let found = cost(&model.problem, &point(&model));
        assert!(found >= best * (1.0 - 1e-9), "seed {seed}: {found} {best}");
        excess.push(100.0 * (found / best - 1.0));
        let plan = Plan::new(&model.problem, &point(&model), 20, Stop::never());
        assert!(
            (added_up(&plan.tree).0 - found).abs() <= 1e-9 * found,
            "seed {seed}"
        );
        recorded += usize::from(matches!(plan.first, Step::Record { .. }));
        saved += 1.0 - found / cost(&model.problem.clone().by_hand(), &point(&model));
    }
    excess.sort_by(f64::total_cmp);
    let mean = excess.iter().sum::<f64>() / 150.0;
    println!(
        "mean {mean} %, 95th {} %, worst {} %",
        excess[142], excess[149]
    );
    println!("{recorded} begin with the drive, {} % saved", saved / 1.5);
    assert!(mean <= 0.2, "mean excess {mean} %");
    assert!(excess[142] <= 1.2, "95th percentile {} %", excess[142]);
    assert!(
        recorded >= 10 && saved > 0.0,
        "{recorded} begin with it, {saved}"
    );
}
