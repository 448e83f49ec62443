//! Published examples of belief, each through the files.
//!
//! docs/checks.md says what "seen", "computed" and "from memory" mean.

use std::collections::BTreeMap;

use crate::by_name::{Job, causes_named, close};
use crate::family_text::{Test, Textbook};
use halfsplit::decide::OrderBy;
use halfsplit::infer::{Answer, Typing, row_under, understand, weight};

/// Source, seen: Eddy 1982; Gigerenzer and Hoffrage 1995, whose wording it is.
///
/// Ill 1 %, positive 80 % of the ill and 9.6 % of the well. Positive: 0.008/(0.008 + 0.09504); negative:
/// 0.002/(0.002 + 0.89496).
#[test]
fn a_positive_screening_test_leaves_the_illness_at_eight_per_cent() {
    let book = Textbook::hypotheses(&[("well", 0.99), ("ill", 0.01)])
        .test(
            Test::new("screening", &["negative", "positive"])
                .row("well", &[0.904, 0.096])
                .row("ill", &[0.2, 0.8]),
        )
        .load();
    let job = Job::new(&book, &["complaint"]);
    close(job.of_cause("ill"), 0.01, 1e-12);
    close(
        job.after("screening", "positive").of_cause("ill"),
        0.077_639_751_55,
        1e-9,
    );
    close(
        job.after("screening", "negative").of_cause("ill"),
        0.002_229_753_84,
        1e-9,
    );
}

/// Source, from memory: Casscells et al. 1978; Bar-Hillel 1980.
///
/// First: 1 in 1,000, always positive when ill, 5 % false alarms. Then: 15 % of the cabs, a witness right
/// 80 % of the time.
#[test]
fn a_rare_thing_stays_unlikely_after_one_witness() {
    for (prior, hit, false_alarm, expected) in [
        (0.001, 1.0, 0.05, 0.019_627_085_38),
        (0.15, 0.8, 0.2, 0.413_793_103_45),
    ] {
        let book = Textbook::hypotheses(&[("other", 1.0 - prior), ("this", prior)])
            .test(
                Test::new("witness", &["denies", "affirms"])
                    .row("other", &[1.0 - false_alarm, false_alarm])
                    .row("this", &[1.0 - hit, hit]),
            )
            .load();
        let job = Job::new(&book, &["complaint"]).after("witness", "affirms");
        close(job.of_cause("this"), expected, 1e-9);
    }
}

const FEVER: [(&[&str], f64); 8] = [
    (&[], 0.0),
    (&["malaria"], 0.9),
    (&["flu"], 0.8),
    (&["flu", "malaria"], 0.98),
    (&["cold"], 0.4),
    (&["cold", "malaria"], 0.94),
    (&["cold", "flu"], 0.88),
    (&["cold", "flu", "malaria"], 0.988),
];

/// The fever of Russell and Norvig: cold 0.4, flu 0.8, malaria 0.9.
fn fever() -> Textbook {
    Textbook::new()
        .cause("cold", 100.0)
        .cause("flu", 100.0)
        .cause("malaria", 100.0)
        .symptom(
            "fever",
            "any: [{cause: cold, strength: 0.4}, {cause: flu, strength: 0.8}, {cause: malaria, strength: 0.9}]",
        )
        .test(
            Test::new("thermometer", &["normal", "high"])
                .row("cold", &[0.6, 0.4])
                .row("flu", &[0.2, 0.8])
                .row("malaria", &[0.1, 0.9]),
        )
}

/// Source, seen: Russell and Norvig 2010, ch. 14, fever.
#[test]
fn an_or_gate_of_leaves_with_strengths_is_a_noisy_or() {
    let book = fever().load();
    let family = &book.families[0];
    for (present, expected) in FEVER {
        let p = family.symptoms[0]
            .tree
            .probability(|cause| present.contains(&family.cause(cause).name.as_str()))
            .unwrap();
        close(p.get(), expected, 1e-12);
    }
}

/// Source, seen: Russell and Norvig 2010, ch. 14, fever.
#[test]
fn several_causes_on_a_measurement_of_two_outcomes_are_a_noisy_or() {
    let book = fever().load();
    let family = &book.families[0];
    for (present, expected) in FEVER {
        let row = row_under(&family.measurements[0], &causes_named(family, present));
        close(row[1], expected, 1e-12);
        close(row[0], 1.0 - expected, 1e-12);
    }
}

/// Several causes on three outcomes, hand sum: A gives low 0.5, high 0.2; B gives low 0.1, high 0.6.
/// n = 0.3·0.3 = 0.09; `u_low` = 1 − 0.5·0.9 = 0.55, `u_high` = 1 − 0.8·0.4 = 0.68; low = 0.91·0.55/1.23.
/// C is not named and changes nothing.
#[test]
fn several_causes_on_three_outcomes_share_what_is_not_normal() {
    let book = Textbook::new()
        .cause("a", 10.0)
        .cause("b", 10.0)
        .cause("c", 10.0)
        .symptom("complaint", "any: [a, b, c]")
        .test(
            Test::new("gauge", &["normal", "low", "high"])
                .row("a", &[0.3, 0.5, 0.2])
                .row("b", &[0.3, 0.1, 0.6]),
        )
        .load();
    let family = &book.families[0];
    for causes in [&["a", "b"][..], &["a", "b", "c"]] {
        let row = row_under(&family.measurements[0], &causes_named(family, causes));
        close(row[0], 0.09, 1e-12);
        close(row[1], 0.91 * 0.55 / 1.23, 1e-12);
        close(row[2], 0.91 * 0.68 / 1.23, 1e-12);
    }
}

fn explaining_away() -> Textbook {
    Textbook::new().cause("a", 100.0).cause("b", 100.0).symptom(
        "symptom",
        "any: [{cause: a, strength: 0.9}, {cause: b, strength: 0.8}]",
    )
}

/// Source, computed: Pearl 1988, after 4.3, explaining away.
///
/// Rates 0.1, strengths 0.9 and 0.8; odds 1/9.
/// The program's candidates are the singles: A : B = 0.9 : 0.8.
#[test]
fn single_causes_share_the_symptom_by_rate_and_strength() {
    let book = explaining_away().load();
    let job = Job::new(&book, &["symptom"]);
    assert_eq!(job.candidates(), ["a", "b"]);
    close(job.of_cause("a"), 0.529_411_764_7, 1e-9);
}

/// Source, computed: Pearl 1988, after 4.3, explaining away.
///
/// The prior weight of a set of causes, over all three that give the symptom, is the posterior of
/// full enumeration. A 0.9/9, B 0.8/9, both 0.98/81.
#[test]
fn explaining_away_agrees_with_enumerating_every_subset() {
    let book = explaining_away().load();
    let family = &book.families[0];
    let symptom = family.symptom_named("symptom").unwrap();
    let of = |causes: &[&str]| {
        weight(
            family,
            &causes_named(family, causes),
            &[symptom],
            &[],
            &mut 1_000,
        )
        .unwrap()
    };
    let (a, b, both) = (of(&["a"]), of(&["b"]), of(&["a", "b"]));
    let sum = a + b + both;
    close(a / sum, 0.497_542_997_5, 1e-9);
    close(b / sum, 0.442_260_442_3, 1e-9);
    close(both / sum, 0.060_196_560_2, 1e-9);
    close((a + both) / sum, 0.557_739_557_7, 1e-9);
    // Once B is known, A falls back almost to its rate.
    close(both / (b + both), 0.119_804_401_0, 1e-9);
}

/// Source, seen: Russell and Norvig 2010, ch. 14, burglary.
///
/// P(burglary) 0.001, P(earthquake) 0.002;
/// the alarm folded into the hypothesis; John calls 0.9 or 0.05, Mary 0.7 or 0.01.
#[test]
fn both_neighbours_calling_makes_a_burglary_three_in_ten() {
    let mut priors = BTreeMap::new();
    for (b, e, alarm) in [(1, 1, 0.95), (1, 0, 0.94), (0, 1, 0.29), (0, 0, 0.001)] {
        let quiet = (if b == 1 { 0.001 } else { 0.999 }) * (if e == 1 { 0.002 } else { 0.998 });
        priors.insert(format!("b{b}-e{e}-a1"), quiet * alarm);
        priors.insert(format!("b{b}-e{e}-a0"), quiet * (1.0 - alarm));
    }
    let list: Vec<(&str, f64)> = priors.iter().map(|(name, p)| (name.as_str(), *p)).collect();
    let mut john = Test::new("john", &["silent", "calls"]);
    let mut mary = Test::new("mary", &["silent", "calls"]);
    for name in priors.keys() {
        let alarm = name.ends_with("a1");
        let (j, m) = if alarm { (0.9, 0.7) } else { (0.05, 0.01) };
        john = john.row(name, &[1.0 - j, j]);
        mary = mary.row(name, &[1.0 - m, m]);
    }
    let book = Textbook::hypotheses(&list).test(john).test(mary).load();
    let job = Job::new(&book, &["complaint"]);
    let sum = |job: &Job<'_>, wanted: fn(&str) -> bool| -> f64 {
        priors
            .keys()
            .filter(|name| wanted(name))
            .map(|name| job.of_cause(name))
            .sum()
    };
    let after = job.after("john", "calls").after("mary", "calls");
    close(
        sum(&after, |name| name.starts_with("b1")),
        0.284_171_835_36,
        1e-9,
    );
    close(
        sum(&after, |name| name.ends_with("a1")),
        0.760_692_038_86,
        1e-9,
    );
    // How likely the readings were: Π of what each was foreseen with.
    let foreseen = |job: &Job<'_>, name: &str| {
        let family = job.model.family;
        let standing = job.standing(OrderBy::default());
        standing.prospects(family.measurement_named(name).unwrap())[1].probability
    };
    let both = foreseen(&job, "john") * foreseen(&job.after("john", "calls"), "mary");
    close(both, 0.002_084_100_239, 1e-9);
}

/// Table A: the chest clinic of Lauritzen and Spiegelhalter 1988 as one variable (confirmed). The causes are
/// named by tuberculosis, lung cancer and bronchitis. Prior; positive of asia, smoke, xray, dysp.
const CLINIC: [(&str, f64, [f64; 4]); 8] = [
    ("h111", 0.000_327_6, [5.0 / 104.0, 20.0 / 21.0, 0.98, 0.9]),
    ("h110", 0.000_244_4, [5.0 / 104.0, 40.0 / 47.0, 0.98, 0.7]),
    ("h101", 0.004_352_4, [5.0 / 104.0, 20.0 / 31.0, 0.98, 0.9]),
    ("h100", 0.005_475_6, [5.0 / 104.0, 40.0 / 117.0, 0.98, 0.7]),
    ("h011", 0.031_172_4, [95.0 / 9896.0, 20.0 / 21.0, 0.98, 0.9]),
    ("h010", 0.023_255_6, [95.0 / 9896.0, 40.0 / 47.0, 0.98, 0.7]),
    ("h001", 0.414_147_6, [95.0 / 9896.0, 20.0 / 31.0, 0.05, 0.8]),
    (
        "h000",
        0.521_024_4,
        [95.0 / 9896.0, 40.0 / 117.0, 0.05, 0.1],
    ),
];

fn clinic(field: &str) -> Textbook {
    let priors: Vec<(&str, f64)> = CLINIC.iter().map(|(name, p, _)| (*name, *p)).collect();
    let mut book = Textbook::hypotheses(&priors);
    for (place, name) in ["asia", "smoke", "xray", "dysp"].iter().enumerate() {
        let mut test = Test::new(name, &["negative", "positive"]);
        for (cause, _, positive) in CLINIC {
            test = test.row(cause, &[1.0 - positive[place], positive[place]]);
        }
        if !field.is_empty() {
            test = test.with(field);
        }
        book = book.test(test);
    }
    book
}

/// Tuberculosis, lung cancer, bronchitis.
fn clinic_marginals(job: &Job<'_>) -> [f64; 3] {
    [1, 2, 3].map(|digit| {
        CLINIC
            .iter()
            .filter(|(name, _, _)| name.as_bytes()[digit] == b'1')
            .map(|(name, _, _)| job.of_cause(name))
            .sum()
    })
}

#[track_caller]
fn clinic_is(job: &Job<'_>, expected: [f64; 3]) {
    for (found, expected) in clinic_marginals(job).iter().zip(expected) {
        close(*found, expected, 1e-6);
    }
}

/// Source, seen: Lauritzen and Spiegelhalter 1988.
#[test]
fn the_chest_clinic_foresees_its_outcomes_as_published() {
    let book = clinic("").load();
    let job = Job::new(&book, &["complaint"]);
    let [tuberculosis, lung, bronchitis] = clinic_marginals(&job);
    close(tuberculosis, 0.0104, 1e-9);
    close(lung, 0.055, 1e-9);
    close(bronchitis, 0.45, 1e-9);
    let family = job.model.family;
    let standing = job.standing(OrderBy::default());
    for (name, expected) in [("xray", 0.110_290_04), ("dysp", 0.435_970_6)] {
        let prospects = standing.prospects(family.measurement_named(name).unwrap());
        close(prospects[1].probability, expected, 1e-9);
    }
}

/// Source, seen: Lauritzen and Spiegelhalter 1988.
///
/// Reading after reading.
#[test]
fn the_chest_clinic_answers_as_published() {
    let book = clinic("").load();
    let job = Job::new(&book, &["complaint"]);
    let one = job.after("dysp", "positive");
    clinic_is(&one, [0.018_845, 0.102_759, 0.833_967]);
    let two = one.after("asia", "positive");
    clinic_is(&two, [0.087_751, 0.099_525, 0.811_402]);
    clinic_is(
        &two.after("xray", "positive"),
        [0.391_712, 0.444_271, 0.628_822],
    );
    let apart = job
        .after("asia", "positive")
        .after("dysp", "positive")
        .after("smoke", "negative");
    clinic_is(&apart, [0.112_835, 0.022_567, 0.717_942]);
}

/// Source, seen: Lauritzen and Spiegelhalter 1988.
#[test]
fn readings_in_any_order_leave_the_same_belief() {
    let book = clinic("").load();
    let job = Job::new(&book, &["complaint"]);
    let names = ["dysp", "asia", "xray"];
    for order in [
        [0, 1, 2],
        [0, 2, 1],
        [1, 0, 2],
        [1, 2, 0],
        [2, 0, 1],
        [2, 1, 0],
    ] {
        let after = order
            .iter()
            .fold(job.clone(), |job, at| job.after(names[*at], "positive"));
        clinic_is(&after, [0.391_712, 0.444_271, 0.628_822]);
    }
}

/// Source, seen: Lauritzen and Spiegelhalter 1988.
#[test]
fn a_repeated_reading_replaces_the_earlier_one() {
    let book = clinic("").load();
    let job = Job::new(&book, &["complaint"]);
    let after = job
        .after("dysp", "negative")
        .after("asia", "positive")
        .after("dysp", "positive");
    clinic_is(&after, [0.087_751, 0.099_525, 0.811_402]);
    assert_eq!(
        after.belief(),
        job.after("asia", "positive")
            .after("dysp", "positive")
            .belief()
    );
}

/// Source, computed: Eddy 1982, the same figures.
///
/// With `repeat: true` both count: 0.01·0.64/(0.01·0.64 + 0.99·0.009216).
#[test]
fn a_reading_that_adds_up_counts_twice() {
    let book = Textbook::hypotheses(&[("well", 0.99), ("ill", 0.01)])
        .test(
            Test::new("screening", &["negative", "positive"])
                .row("well", &[0.904, 0.096])
                .row("ill", &[0.2, 0.8])
                .with("repeat: true"),
        )
        .load();
    let job = Job::new(&book, &["complaint"])
        .after("screening", "positive")
        .after("screening", "positive");
    close(job.of_cause("ill"), 0.0064 / (0.0064 + 0.009_123_84), 1e-12);
}

fn burglary() -> Textbook {
    Textbook::hypotheses(&[("quiet", 0.9999), ("burglary", 1e-4)]).test(
        Test::new("alarm", &["silent", "rings"])
            .row("quiet", &[0.99, 0.01])
            .row("burglary", &[0.05, 0.95]),
    )
}

/// Source, from memory: Pearl 1988, 2.1 and 2.2, the alarm and the unsure neighbour.
///
/// An alarm heard for certain, or reported by a neighbour whose word is worth 4 to 1.
#[test]
fn an_unsure_reading_counts_by_the_ratio_of_its_weights() {
    let book = burglary().load();
    let job = Job::new(&book, &["complaint"]);
    let sure = job.after("alarm", "rings").of_cause("burglary");
    close(sure, 0.009_411_531_60, 1e-9 * 0.0094);
    for (rings, silent) in [(4.0, 1.0), (0.8, 0.2), (40.0, 10.0)] {
        let told = job.after_weights("alarm", &[("rings", rings), ("silent", silent)]);
        close(
            told.of_cause("burglary"),
            0.000_373_684_098,
            1e-9 * 0.000_374,
        );
    }
}

/// Source, from memory: Chan and Darwiche 2005, Jeffrey's cloth.
///
/// P(sold) 0.56, colours green, blue,
/// violet 3/14, 3/14, 8/14 if sold, 9/22, 9/22, 4/22 if not. By candle light the cloth is green 0.7, blue
/// 0.25, violet 0.05: Jeffrey's rule gives 0.42, weights of new over old probability give it too, and the
/// numbers taken as weights give 0.4262.
#[test]
fn weights_are_virtual_evidence_and_not_jeffreys_rule() {
    let book = Textbook::hypotheses(&[("sold", 0.56), ("kept", 0.44)])
        .test(
            Test::new("colour", &["green", "blue", "violet"])
                .row("sold", &[3.0 / 14.0, 3.0 / 14.0, 8.0 / 14.0])
                .row("kept", &[9.0 / 22.0, 9.0 / 22.0, 4.0 / 22.0]),
        )
        .load();
    let job = Job::new(&book, &["complaint"]);
    let with = |green, blue, violet| {
        job.after_weights(
            "colour",
            &[("green", green), ("blue", blue), ("violet", violet)],
        )
        .of_cause("sold")
    };
    close(with(7.0 / 3.0, 5.0 / 6.0, 1.0 / 8.0), 0.42, 1e-9);
    close(with(0.7, 0.25, 0.05), 0.426_229_508_20, 1e-9);
}

/// Source, computed: EN 837-1; JCGM 100, 4.3.7; JCGM 106.
///
/// The whole way of a number: a class 1.6 gauge of 0 to 10 `MPa` (±0.16 `MPa`, so u = 0.16/√3) reads 4.1 `MPa`; low
/// below 4.0, high above 5.0. Causes A and B 0.5 each; low, normal: A 0.9, 0.1; B 0.02, 0.98.
#[test]
fn a_gauge_reading_near_its_limit_becomes_weights_and_belief() {
    let book = Textbook::hypotheses(&[("a", 0.5), ("b", 0.5)])
        .instrument(
            "gauge",
            "unit: MPa, range: {from: 0, to: 10}, accuracy: {class: 1.6}",
        )
        .test(
            Test::new("pressure", &["normal", "low", "high"])
                .number(
                    "quantity: pressure, unit: MPa, instrument: gauge",
                    &["from: 4, to: 5", "below: 4", "above: 5"],
                )
                .row("a", &[0.1, 0.9, 0.0])
                .row("b", &[0.98, 0.02, 0.0]),
        )
        .load();
    let mut job = Job::new(&book, &["complaint"]);
    let family = &book.families[0];
    let id = family.measurement_named("pressure").unwrap();
    for typed in ["4.1", "4.1 MPa", "4100 kPa", "41 bar"] {
        let Answer::Taken(taken) =
            understand(family, book.vehicles.first(), id, typed, &Typing::default())
        else {
            panic!("{typed} is not understood")
        };
        for (found, expected) in
            taken
                .evidence
                .weights
                .iter()
                .zip([0.860_491_843_4, 0.139_508_156_6, 0.0])
        {
            close(*found, expected, 1e-9);
        }
        let table = job.model.table(id);
        close(
            taken.evidence.likelihood(table.row(0)),
            0.211_606_525_3,
            1e-9,
        );
        close(
            taken.evidence.likelihood(table.row(1)),
            0.846_072_169_7,
            1e-9,
        );
        job.readings = vec![taken.evidence];
        close(job.of_cause("a"), 0.200_066_926_1, 1e-9);
    }
    job.readings.clear();
    close(
        job.after("pressure", "normal").of_cause("a"),
        0.092_592_592_6,
        1e-9,
    );
}
