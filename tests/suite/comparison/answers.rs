use halfsplit::diff::{Comparison, StandsIn};
use halfsplit::knowledge::Knowledge;
use halfsplit::load::{Source, load};

use super::{loaded, page};
use crate::family_text::{Test, Textbook};
use crate::textbook::Book;

/// Two hypotheses of these priors, and a test that reads `yes` with these probabilities under them;
/// a case in which it did.
fn family(priors: [f64; 2], yes: [f64; 2]) -> Knowledge {
    with_unlisted(0.0, priors, yes)
}

/// The same with a share of belief that no listed cause explains the complaint.
fn with_unlisted(unlisted: f64, priors: [f64; 2], yes: [f64; 2]) -> Knowledge {
    let mut textbook = Textbook::hypotheses(&[("a", priors[0]), ("b", priors[1])]);
    textbook.unlisted = unlisted;
    let mut files = textbook
        .test(
            Test::new("t", &["no", "yes"])
                .row("a", &[1.0 - yes[0], yes[0]])
                .row("b", &[1.0 - yes[1], yes[1]]),
        )
        .files();
    files.push((
        "textbook/cases/one.yaml".to_owned(),
        "case: it did\nsymptoms: [complaint]\nvehicle: page\nreadings: [{measurement: t, value: 'yes'}]\n\
         expect: {repair: repair-a}\n"
            .to_owned(),
    ));
    match load(&Source::texts(files)) {
        Ok(loaded) => loaded.knowledge,
        Err(findings) => panic!("{findings}"),
    }
}

/// 0.6 and 0.4 become 0.5 and 0.5: each repair moves by 0.1.
#[test]
fn the_priors_of_the_repairs_are_compared() {
    let comparison = Comparison::of(
        &family([0.6, 0.4], [0.8, 0.2]),
        &family([0.5, 0.5], [0.8, 0.2]),
    );
    let [answer] = comparison.answers.as_slice() else {
        panic!("{comparison:?}");
    };
    assert_eq!(answer.symptom, "complaint");
    assert_eq!(answer.vehicle.as_deref(), Some("page"));
    assert!(answer.candidates.came.is_empty() && answer.candidates.went.is_empty());
    let moved: Vec<(&str, f64, f64)> = answer
        .repairs
        .iter()
        .map(|moved| (moved.repairs[0].as_str(), moved.was, moved.now))
        .collect();
    for (name, was, now) in [("repair-a", 0.6, 0.5), ("repair-b", 0.4, 0.5)] {
        assert!(
            moved.iter().any(|(repair, before, after)| *repair == name
                && (before - was).abs() < 1e-9
                && (after - now).abs() < 1e-9),
            "{moved:?}"
        );
    }
}

/// Bayes: 0.5·0.8/(0.5·0.8 + 0.5·0.2) = 0.8; with 0.1 in place of 0.8, 0.5·0.2/(0.5·0.1 + 0.5·0.2)
/// = 2/3 for the other.
#[test]
fn a_case_that_another_repair_leads_in_is_listed() {
    let (old, new) = (
        family([0.5, 0.5], [0.8, 0.2]),
        family([0.5, 0.5], [0.1, 0.2]),
    );
    let comparison = Comparison::of(&old, &new);
    assert_eq!(comparison.cases.put, 1);
    let [case] = comparison.cases.differ.as_slice() else {
        panic!("{comparison:?}");
    };
    assert_eq!(
        (case.case.as_str(), case.stands_in),
        ("one", StandsIn::Both)
    );
    for (answer, repair, led, expected) in [
        (&case.was, "repair-a", "a", 0.8),
        (&case.now, "repair-b", "b", 2.0 / 3.0),
    ] {
        let answer = answer.as_ref().unwrap();
        assert_eq!(answer.repairs, [repair]);
        assert_eq!(answer.cause.as_deref(), Some(led));
        assert!((answer.probability - expected).abs() < 1e-12);
        assert!(!answer.nothing_fits);
    }
    assert!(
        page(&old, &new).contains("- one: repair-a 80 % -> repair-b 67 %"),
        "{}",
        page(&old, &new)
    );
}

/// 0.9 of the unlisted cause before the reading, and after it more than of a or b: whichever of these leads.
#[test]
fn a_case_that_nothing_fits_in_either_edition_has_one_answer() {
    let edition = |yes| with_unlisted(0.9, [0.5, 0.5], yes);
    let comparison = Comparison::of(&edition([0.3, 0.2]), &edition([0.2, 0.3]));
    assert_eq!(comparison.cases.put, 1);
    assert_eq!(comparison.cases.differ, []);
}

/// 0.8 and 0.6 of a, 0.2 of b: 4/5 and 3/4, 0.05 apart; 0.8 and 0.7: 4/5 and 7/9, 0.022 apart.
#[test]
fn a_case_counts_as_moved_from_a_twentieth_on() {
    let old = family([0.5, 0.5], [0.8, 0.2]);
    let moved = |yes: f64| {
        Comparison::of(&old, &family([0.5, 0.5], [yes, 0.2]))
            .cases
            .differ
            .len()
    };
    assert_eq!(moved(0.7), 0);
    assert_eq!(moved(0.59), 1);
}

#[test]
fn candidates_that_come_and_go_and_another_first_measurement_are_told() {
    let edited = Book::new()
        .edit(
            "bench/trees/no-light.yaml",
            "    - {shared: no-current, strength: 0.9}\n",
            "    - {shared: no-current, strength: 0.9}\n    - {cause: supply-low, strength: 0.5}\n",
        )
        .edit(
            "bench/measurements/all.yaml",
            "reading: {choices: {black: Black inside, whole: Clear}, normal: whole}\n    minutes: 1",
            "reading: {choices: {black: Black inside, whole: Clear}, normal: whole}\n    minutes: 200",
        );
    let comparison = Comparison::of(&loaded(&Book::new()), &loaded(&edited));
    let [answer] = comparison.answers.as_slice() else {
        panic!("{comparison:?}");
    };
    assert_eq!(answer.candidates.came, [["supply-low"]]);
    assert!(answer.ranks_otherwise(), "{answer:?}");
    assert!(
        answer.first.now.iter().all(|first| first.id != "lamp-look"),
        "{answer:?}"
    );
    let page = page(&loaded(&Book::new()), &loaded(&edited));
    assert!(page.contains("- candidates in: supply-low"), "{page}");
    assert!(page.contains("- first to measure: "), "{page}");
}

/// What a case states of a repair does not go along to an edition that has no such repair.
#[test]
fn a_case_with_a_repair_that_only_one_edition_has_is_put_to_both() {
    let edited = Book::new()
        .edit(
            "bench/causes.yaml",
            "causes:\n",
            "  weld-wire: {title: Weld the wire, minutes: 9, parts: 1, verify: it lights}\ncauses:\n",
        )
        .edit(
            "bench/cases/dark-lamp.yaml",
            "vehicle: trainer\n",
            "vehicle: trainer\nnot_before: {weld-wire: [supply]}\n",
        );
    // As either edition has it.
    let page = page(&loaded(&Book::new()), &loaded(&edited));
    assert!(
        page.contains("2 cases were put to both: the same repair leads"),
        "{page}"
    );
}

#[test]
fn a_case_that_an_edition_cannot_be_asked_says_why() {
    let edited = Book::new()
        .without("bench/cases/dark-lamp.yaml")
        .without("vehicles/trainer.yaml");
    let page = page(&loaded(&Book::new()), &loaded(&edited));
    assert!(page.contains("dark-lamp (as the older has it): "), "{page}");
    assert!(
        page.contains("-> no answer (there is no vehicle trainer)"),
        "{page}"
    );
}
