//! The figures of a study against sums done by hand.

use halfsplit::knowledge::{Knowledge, SymptomId};
use halfsplit::simulate::{Paired, Settings, Stress, Version, compare};

use super::{near, of};
use crate::family_text::{Test, Textbook};

/// Two causes, 65 to 35, repairs of 100 each, and nothing that tells them apart.
fn blind() -> Textbook {
    Textbook::hypotheses(&[("a", 0.65), ("b", 0.35)])
}

/// The same with a look that tells for certain and costs 1.
fn sighted() -> Textbook {
    blind()
        .test(Test::new("look", &["clean", "dusty", "wet"]).certain(&["a", "b"], |cause| cause + 1))
}

#[test]
fn without_a_measurement_the_likelier_repair_comes_first() {
    let study = of(&blind().load(), 10, &[]);
    // a: 100 at once. b: a's 100 in vain, then 100.
    near(study.listed.first, 0.65, 1e-12);
    near(study.listed.within_two, 1.0, 1e-12);
    near(study.listed.never, 0.0, 1e-12);
    near(study.listed.cost.mean, 0.65 * 100.0 + 0.35 * 200.0, 1e-9);
    near(study.listed.cost.ninth, 200.0, 1e-9);
    near(study.listed.readings, 0.0, 1e-12);
    // Every vehicle of a fault fares alike: nothing to be unsure of.
    near(study.listed.first_error, 0.0, 1e-12);
    assert_eq!(study.listed.jobs, 20);
    assert_eq!(
        study
            .faults
            .iter()
            .map(|fault| fault.name.as_str())
            .collect::<Vec<_>>(),
        ["a", "b"]
    );
    near(study.faults[1].summary.first, 0.0, 1e-12);
    // 65 % is said of a's repair and is so; then all is said of b's. 1 repair a vehicle, and 0.35 more.
    let classes = &study.calibration.classes;
    assert_eq!(classes.len(), 2);
    near(classes[0].said, 0.65, 1e-9);
    near(classes[0].was, 0.65, 1e-9);
    near(classes[0].share, 1.0 / 1.35, 1e-9);
    near(classes[1].said, 1.0, 1e-9);
    near(classes[1].was, 1.0, 1e-9);
    near(study.calibration.error, 0.0, 1e-9);
    // Ten vehicles of each: √(10·0.065² + 10·0.035²)·√(0.65·0.35) = 0.11135, of 1.35 repairs, times √(2/π).
    near(study.calibration.by_chance, 0.065_81, 1e-5);
    // Two repairs hold the belief, neither 95 % of it.
    near(study.isolation.one, 0.0, 1e-12);
    near(study.isolation.two, 1.0, 1e-12);
    // b's vehicles all had a's repair first, and nothing would have told.
    let [mistaken] = study.mistaken.as_slice() else {
        panic!("{:?}", study.mistaken);
    };
    assert_eq!(study.faults[1].name, mistaken.fault);
    near(mistaken.share, 1.0, 1e-12);
    near(mistaken.split.as_ref().unwrap().apart, 0.0, 1e-12);
}

#[test]
fn a_look_that_tells_for_certain_makes_every_first_repair_right() {
    let study = of(&sighted().load(), 10, &[]);
    near(study.listed.first, 1.0, 1e-12);
    near(study.listed.readings, 1.0, 1e-12);
    near(study.listed.cost.mean, 101.0, 1e-9);
    near(study.listed.minutes.mean, 1.0, 1e-9);
    near(study.isolation.one, 1.0, 1e-12);
    assert!(study.mistaken.is_empty());
}

#[test]
fn nine_in_ten_is_where_ninety_hundredths_of_the_probability_lie() {
    // 0.89 cost 100, the rest 200: the ninth tenth is in the rest. With 0.91 it is not.
    for (p, expected) in [(0.89, 200.0), (0.91, 100.0)] {
        let study = of(
            &Textbook::hypotheses(&[("a", p), ("b", 1.0 - p)]).load(),
            7,
            &[],
        );
        near(study.listed.cost.ninth, expected, 1e-9);
    }
}

#[test]
fn something_unlisted_is_handed_on_and_counts_apart() {
    let mut book = blind();
    book.unlisted = 0.1;
    // An unlisted cause reads as nothing does.
    book.reacts = 0.0;
    book.escalation = 1000.0;
    let study = of(&book.load(), 10, &[]);
    // Ten of each kind.
    assert_eq!(study.unlisted.jobs, 20);
    near(study.unlisted.first, 0.0, 1e-12);
    near(study.unlisted.never, 1.0, 1e-12);
    // Both repairs in vain, then the price of handing on.
    near(study.unlisted.cost.mean, 1200.0, 1e-9);
    // The listed ones are as before: shares are among themselves.
    near(study.listed.first, 0.65, 1e-12);
    // What is said leaves room for the unlisted one: 0.9 · 0.65, and it is so.
    near(study.calibration.classes[0].said, 0.585, 1e-9);
    near(study.calibration.error, 0.0, 1e-9);
}

#[test]
fn the_standard_error_is_that_of_a_stratified_sample() {
    // A look that is right three times in four: of n vehicles each, k_a and k_b are cured first. With
    // s² = k(n − k)/(n(n − 1)) the variance is Σ p² s²/n.
    let book = blind().test(
        Test::new("look", &["clean", "dusty", "wet"])
            .row("a", &[0.0, 0.75, 0.25])
            .row("b", &[0.0, 0.25, 0.75]),
    );
    let vehicles = 40;
    let study = of(&book.load(), vehicles, &[]);
    let n = f64::from(vehicles);
    let variance: f64 = study
        .faults
        .iter()
        .map(|fault| {
            let k = fault.summary.first * n;
            fault.probability.powi(2) * k * (n - k) / (n * n * (n - 1.0))
        })
        .sum();
    assert!(variance > 0.0);
    near(study.listed.first_error, variance.sqrt(), 1e-12);
}

#[test]
fn worlds_that_are_off_by_nothing_are_the_same_world() {
    let book = blind().test(
        Test::new("look", &["clean", "dusty", "wet"])
            .row("a", &[0.1, 0.7, 0.2])
            .row("b", &[0.1, 0.3, 0.6]),
    );
    let stresses = [Stress::Rates(1.0), Stress::Shows(0.0), Stress::Misread(0.0)];
    let study = of(&book.load(), 30, &stresses);
    for stressed in &study.stressed {
        assert_eq!(stressed.summary, study.listed, "{}", stressed.stress);
        near(stressed.calibration_error, study.calibration.error, 1e-12);
    }
}

#[test]
fn rates_that_are_off_change_how_often_a_fault_turns_up() {
    let book = Textbook::new()
        .cause("a", 10.0)
        .cause("b", 5.0)
        .symptom("complaint", "any: [a, b]");
    let mut book = book;
    book.max_order = 1;
    let study = of(&book.load(), 5, &[Stress::Rates(3.0)]);
    // First comes a's repair whatever the truth: the share is P(a) with each rate three times or a third.
    let odds = |rate: f64| rate / (1000.0 - rate);
    let possible: Vec<f64> = [
        (30.0, 15.0),
        (30.0, 5.0 / 3.0),
        (10.0 / 3.0, 15.0),
        (10.0 / 3.0, 5.0 / 3.0),
    ]
    .iter()
    .map(|(a, b)| odds(*a) / (odds(*a) + odds(*b)))
    .collect();
    let found = study.stressed[0].summary.first;
    assert!(
        possible.iter().any(|p| (p - found).abs() < 1e-9),
        "{found} of {possible:?}"
    );
}

#[test]
fn where_every_reading_is_wrong_the_first_repair_is_too() {
    let mut book = Textbook::hypotheses(&[("a", 0.65), ("b", 0.35)])
        .test(Test::new("look", &["clean", "dusty"]).certain(&["a", "b"], |cause| cause));
    // A reading must not rule a cause out for ever.
    book.floor = 0.001;
    let study = of(&book.load(), 10, &[Stress::Misread(1.0)]);
    let wrong = &study.stressed[0].summary;
    near(wrong.first, 0.0, 1e-12);
    near(wrong.within_two, 1.0, 1e-12);
    // All but certain was said and was not so, then the other was: half of the repairs.
    near(study.stressed[0].calibration_error, 0.5, 0.01);
}

/// Both on the vehicles of the first.
fn both(old: &Knowledge, new: &Knowledge) -> Paired {
    let settings = Settings {
        vehicles: 25,
        seed: 1,
    };
    let [old, new] = [old, new].map(|knowledge| Version {
        family: &knowledge.families[0],
        sheet: None,
    });
    let sides = compare(old, new, &[SymptomId::at(0)], &settings).unwrap();
    let paired = sides[0].run(&|| {}).unwrap();
    assert_eq!(paired.vehicles_of, "the old version");
    paired
}

#[test]
fn a_version_against_itself_shows_no_difference() {
    let knowledge = sighted().load();
    let paired = both(&knowledge, &knowledge);
    for figure in [paired.first, paired.within_two, paired.minutes, paired.cost] {
        near(figure.change(), 0.0, 1e-12);
        near(figure.within, 0.0, 1e-12);
        assert!(!figure.is_clear());
    }
}

#[test]
fn a_version_that_lost_its_measurement_is_clearly_worse_on_the_same_vehicles() {
    let paired = both(&sighted().load(), &blind().load());
    near(paired.first.old, 1.0, 1e-12);
    near(paired.first.new, 0.65, 1e-12);
    near(paired.cost.old, 101.0, 1e-9);
    near(paired.cost.new, 135.0, 1e-9);
    assert!(paired.cost.is_clear() && paired.first.is_clear());
    // 25 vehicles of a, of b, and of each kind of something unlisted.
    assert_eq!(paired.vehicles, 100);
}

#[test]
fn a_version_that_does_not_list_a_fault_hands_its_vehicles_on() {
    let full = Textbook::hypotheses(&[("a", 0.65), ("b", 0.35)]);
    let mut lacking = Textbook::hypotheses(&[("a", 1.0 - 1e-9)]);
    lacking.escalation = 500.0;
    lacking.unlisted = 0.02;
    let mut world = full;
    world.escalation = 500.0;
    let paired = both(&world.load(), &lacking.load());
    near(paired.within_two.old, 1.0, 1e-12);
    near(paired.within_two.new, 0.65, 1e-12);
    // b's vehicles: 200 with the full list; a's repair and the price of handing on without.
    near(
        paired.cost.new - paired.cost.old,
        0.35 * (600.0 - 200.0),
        1e-6,
    );
}
