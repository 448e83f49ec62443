//! Published examples of choosing a test, each through the files.
//!
//! docs/checks.md says what "seen", "computed" and "from memory" mean.

use crate::by_name::{Job, close};
use crate::family_text::{Test, Textbook};
use halfsplit::decide::OrderBy;

/// Source, computed: Shannon 1948.
///
/// A test whose outcome is certain has no bits.
#[test]
fn entropy_is_shannons() {
    let even: Vec<(String, f64)> = (0..24).map(|i| (format!("h{i}"), 1.0 / 24.0)).collect();
    let even: Vec<(&str, f64)> = even.iter().map(|(name, p)| (name.as_str(), *p)).collect();
    let cases: [(&[(&str, f64)], f64); 3] = [
        (&[("a", 0.5), ("b", 0.25), ("c", 0.125), ("d", 0.125)], 1.75),
        (
            &[("a", 0.5), ("b", 1.0 / 3.0), ("c", 1.0 / 6.0)],
            1.459_147_917_03,
        ),
        (&even, 4.584_962_500_72),
    ];
    for (priors, expected) in cases {
        let first = priors[0].0;
        let book = Textbook::hypotheses(priors)
            .test(Test::new("same", &["no", "yes"]).row(first, &[1.0, 0.0]))
            .load();
        let job = Job::new(&book, &["complaint"]);
        close(job.belief().entropy(), expected, 1e-10);
        close(job.belief().in_play(), expected.exp2(), 1e-8);
        assert_eq!(job.ranked("same"), None, "a certain outcome has no bits");
    }
}

/// Source, seen: `MacKay` 2003, ex. 8.6; Cover and Thomas 2006, ex. 2.2.1.
///
/// 0.375 bits, from 1.75 to 1.375.
#[test]
fn mutual_information_of_four_by_four_is_three_eighths_of_a_bit() {
    let book = Textbook::hypotheses(&[("x1", 0.5), ("x2", 0.25), ("x3", 0.125), ("x4", 0.125)])
        .test(
            Test::new("y", &["y1", "y2", "y3", "y4"])
                .row("x1", &[0.25, 0.125, 0.125, 0.5])
                .row("x2", &[0.25, 0.5, 0.25, 0.0])
                .row("x3", &[0.25, 0.25, 0.5, 0.0])
                .row("x4", &[0.25, 0.25, 0.5, 0.0]),
        )
        .load();
    let job = Job::new(&book, &["complaint"]);
    close(job.belief().entropy(), 1.75, 1e-12);
    close(job.ranked("y").unwrap().bits, 0.375, 1e-12);
    let family = job.model.family;
    let standing = job.standing(OrderBy::default());
    let after: f64 = standing
        .prospects(family.measurement_named("y").unwrap())
        .iter()
        .map(|prospect| prospect.probability * prospect.belief.entropy())
        .sum();
    close(after, 1.375, 1e-12);
}

/// Source, from memory: `MacKay` 2003, ch. 9, noisy channels.
#[test]
fn an_imperfect_test_says_as_much_as_a_noisy_channel() {
    let channel = |one: f64, flip_zero: f64, flip_one: f64| {
        Textbook::hypotheses(&[("zero", 1.0 - one), ("one", one)])
            .test(
                Test::new("read", &["reads-0", "reads-1"])
                    .row("zero", &[1.0 - flip_zero, flip_zero])
                    .row("one", &[flip_one, 1.0 - flip_one]),
            )
            .load()
    };
    for (one, flip_zero, flip_one, bits) in [
        (0.1, 0.15, 0.15, 0.150_327_198_25),
        (0.1, 0.0, 0.15, 0.358_572_465_77),
        (0.5, 0.1, 0.1, 0.531_004_406_41),
    ] {
        let book = channel(one, flip_zero, flip_one);
        let job = Job::new(&book, &["complaint"]);
        close(job.ranked("read").unwrap().bits, bits, 1e-9);
    }
    let book = channel(0.1, 0.15, 0.15);
    let read = Job::new(&book, &["complaint"]).after("read", "reads-1");
    close(read.of_cause("one"), 0.386_363_636_36, 1e-9);
}

/// Source, computed: Shannon 1948, half-splitting.
///
/// Eight equal causes in a row, test k tells "before or after k".
/// `separates` is 8·(1 − 2^−bits): the even split sets apart exactly half.
#[test]
fn the_even_split_of_eight_sets_four_apart_and_leads_the_ranking() {
    let names: Vec<String> = (1..=8).map(|i| format!("s{i}")).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let priors: Vec<(&str, f64)> = names.iter().map(|name| (*name, 0.125)).collect();
    let mut book = Textbook::hypotheses(&priors);
    for k in 1..=4 {
        book = book.test(
            Test::new(&format!("after-{k}"), &["good", "bad"])
                .certain(&names, |place| usize::from(place >= k)),
        );
    }
    let book = book.load();
    let job = Job::new(&book, &["complaint"]);
    for (k, bits, separates) in [
        (1, 0.543_564_443, 2.511_410_06),
        (2, 0.811_278_124, 3.440_985_89),
        (3, 0.954_434_003, 3.871_647_97),
        (4, 1.0, 4.0),
    ] {
        let ranked = job.ranked(&format!("after-{k}")).unwrap();
        close(ranked.bits, bits, 1e-9);
        close(ranked.separates, separates, 1e-8);
        close(ranked.separates, 8.0 * (1.0 - (-bits).exp2()), 1e-8);
        close(ranked.in_play, 8.0, 1e-9);
        close(ranked.minutes, 1.0, 0.0);
    }
}

/// Source, seen: de Kleer and Williams 1987, two adders and three multipliers.
///
/// Each part faulty 0.01. Both
/// outputs are wrong: A1 or M1 alone, or a pair; the odds 1/99 make the singles 0.495 each, pairs 0.005.
/// Probe X reads 4 for M1, else 6; Y 4 for both pairs, else 6; Z 8 for M2 with M3, else 6.
#[test]
fn the_two_adder_circuit_is_probed_at_x_first() {
    let mut book = Textbook::new();
    for part in ["a1", "a2", "m1", "m2", "m3"] {
        book = book.cause(part, 10.0);
    }
    // The published example gives each hypothesis a value of its own: F and G stand as the AND of both.
    let book = book
        .symptom("f-wrong", "any: [a1, m1, m2]")
        .symptom("g-wrong", "any: [a1, a2, m1, m3]")
        .test(
            Test::new("probe-x", &["six", "four"])
                .row("m1", &[0.0, 1.0])
                .row("a1", &[1.0, 0.0]),
        )
        .test(Test::new("probe-y", &["six", "four"]).row("m2", &[0.0, 1.0]))
        .test(Test::new("probe-z", &["six", "eight"]).row("m3", &[0.0, 1.0]))
        .load();
    let job = Job::new(&book, &["f-wrong", "g-wrong"]);
    assert_eq!(job.candidates(), ["a1", "a2+m2", "m1", "m2+m3"]);
    close(job.of_candidate(&["a1"]), 0.495, 1e-9);
    close(job.of_candidate(&["m1"]), 0.495, 1e-9);
    close(job.of_candidate(&["a2", "m2"]), 0.005, 1e-9);
    close(job.of_candidate(&["m2", "m3"]), 0.005, 1e-9);
    for (probe, bits) in [
        ("probe-x", 0.999_927_864),
        ("probe-y", 0.080_793_136),
        ("probe-z", 0.045_414_692),
    ] {
        close(job.ranked(probe).unwrap().bits, bits, 1e-9);
    }
}
