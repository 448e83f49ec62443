use crate::by_name::{Job, close, complaint, evidence, measurement};
use crate::family_text::{Test, Textbook};
use halfsplit::decide::{Advice, Circumstances, OrderBy, Standing};
use halfsplit::infer::{Model, Unexplained, misfits, row_of_chance, row_of_unlisted, row_under};
use halfsplit::knowledge::Knowledge;

/// Odds 1/99 each. {a}: 0.001/99; {a, b}: 1/99². The pair: 1/(1 + 0.099).
#[test]
fn a_weak_leaf_does_not_hide_a_strong_pair() {
    let book = Textbook::new()
        .cause("a", 10.0)
        .cause("b", 10.0)
        .symptom(
            "s",
            "any: [{cause: a, strength: 0.001}, {event: both, all: [a, b]}]",
        )
        .load();
    let job = Job::new(&book, &["s"]);
    assert_eq!(job.candidates(), ["a", "a+b"]);
    close(job.of_candidate(&["a", "b"]), 1.0 / 1.099, 1e-12);
    close(job.of_candidate(&["a"]), 0.099 / 1.099, 1e-12);
}

/// {a}: 0.02/99; {a, b}: 1/99² is less than twice that, and more: kept. At 0.0102 against 1/99 it is not.
#[test]
fn a_superset_is_kept_where_it_outweighs_and_only_there() {
    for (strength, kept) in [(0.0100, true), (0.0102, false)] {
        let book = Textbook::new()
            .cause("a", 10.0)
            .cause("b", 10.0)
            .symptom(
                "s",
                &format!("any: [{{cause: a, strength: {strength}}}, {{event: both, all: [a, b]}}]"),
            )
            .load();
        let found = Job::new(&book, &["s"]).candidates();
        assert_eq!(found.contains(&"a+b".to_owned()), kept, "{strength}");
    }
}

/// Two causes that each suffice are two candidates: that both are there is a coincidence.
#[test]
fn an_ordinary_coincidence_is_no_candidate() {
    let book = Textbook::new()
        .cause("a", 100.0)
        .cause("b", 100.0)
        .symptom(
            "s",
            "any: [{cause: a, strength: 0.9}, {cause: b, strength: 0.8}]",
        )
        .load();
    assert_eq!(Job::new(&book, &["s"]).candidates(), ["a", "b"]);
}

/// Odds 1/9 each. {a}: 0.0001/9, {a, b, c}: 1/729; {a, b} and {a, c} are less than {a} and stay out, and
/// do not stand in the way. The triple: 1/(1 + 0.0081).
#[test]
fn a_superset_larger_by_two_causes_is_weighed_too() {
    let mut book = Textbook::new()
        .cause("a", 100.0)
        .cause("b", 100.0)
        .cause("c", 100.0)
        .symptom(
            "s",
            "any: [{cause: a, strength: 0.0001}, {event: all, all: [a, b, c]}]",
        );
    book.max_order = 3;
    let book = book.load();
    let job = Job::new(&book, &["s"]);
    assert_eq!(job.candidates(), ["a", "a+b+c"]);
    close(job.of_candidate(&["a", "b", "c"]), 1.0 / 1.0081, 1e-12);
}

fn three_symptoms(max_order: usize) -> Knowledge {
    let mut book = Textbook::new()
        .cause("a", 10.0)
        .cause("b", 10.0)
        .cause("c", 10.0)
        .cause("d", 10.0)
        .symptom("s1", "any: [a]")
        .symptom("s2", "any: [b]")
        .symptom("s3", "any: [b, c]")
        .symptom("s4", "any: [c]")
        .symptom("s5", "all: [a, b, c, d]");
    book.max_order = max_order;
    book.load()
}

#[test]
fn the_order_is_raised_until_something_fits_and_no_further() {
    let book = three_symptoms(1);
    // A pair explains all three, so the order stays at two: {a, b, c} is no candidate.
    assert_eq!(Job::new(&book, &["s1", "s2", "s3"]).candidates(), ["a+b"]);
    // Three symptoms of three causes need three.
    assert_eq!(Job::new(&book, &["s1", "s2", "s4"]).candidates(), ["a+b+c"]);
}

/// Fifteen causes of each of five complaints: 15⁵ sets of five would explain them together.
#[test]
fn more_sets_than_can_be_weighed_are_refused_before_they_are_formed() {
    let mut book = Textbook::new();
    let mut names = Vec::new();
    for complaint in 0..5 {
        let causes: Vec<String> = (0..15)
            .map(|cause| format!("c{complaint}-{cause}"))
            .collect();
        for cause in &causes {
            book = book.cause(cause, 5.0);
        }
        names.push(format!("s{complaint}"));
        book = book.symptom(&names[complaint], &format!("any: [{}]", causes.join(", ")));
    }
    let book = book.load();
    let family = &book.families[0];
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let error = Model::new(family, None, complaint(family, &names, &[]))
        .map(|_| ())
        .unwrap_err();
    assert!(matches!(error, Unexplained::TooMany { .. }), "{error}");
    assert!(error.to_string().contains("one by one"), "{error}");
    // Two of them are a job.
    assert_eq!(Job::new(&book, &["s0", "s1"]).candidates().len(), 225);
}

#[test]
fn symptoms_that_nothing_explains_together_are_named() {
    let book = three_symptoms(2);
    let family = &book.families[0];
    let refused = |present: &[&str]| {
        Model::new(family, None, complaint(family, present, &[]))
            .map(|model| model.candidates)
            .unwrap_err()
    };
    let by_no = |symptoms: &[&str], order| Unexplained::Together {
        symptoms: symptoms.iter().map(|name| (*name).to_owned()).collect(),
        order,
    };
    // One symptom of four causes: the order is raised to the number of symptoms at most, and stays at two.
    let error = refused(&["s5"]);
    assert_eq!(error, by_no(&["s5"], 2));
    let error = refused(&["s1", "s4", "s5"]);
    assert_eq!(error, by_no(&["s1", "s4", "s5"], 3));
    let words = error.to_string();
    for symptom in ["s1", "s4", "s5"] {
        assert!(words.contains(symptom), "{words}");
    }
    // Four symptoms reach four causes.
    let job = Job::new(&book, &["s1", "s2", "s4", "s5"]);
    assert_eq!(job.candidates(), ["a+b+c+d"]);
}

/// Both bring s about; a brings t about always, b 6 times in 10, c never. t is absent:
/// a : b : c = max(floor, 0) : 0.4 : 1.
#[test]
fn an_absent_symptom_counts_against_what_would_give_it() {
    for floor in [0.0, 0.001, 0.05] {
        let mut book = Textbook::new()
            .cause("a", 10.0)
            .cause("b", 10.0)
            .cause("c", 10.0)
            .symptom("s", "any: [a, b, c]")
            .symptom("t", "any: [a, {cause: b, strength: 0.6}]");
        book.floor = floor;
        let book = book.load();
        let job = Job::with_absent(&book, &["s"], &["t"]);
        let sum = floor + 0.4 + 1.0;
        close(job.of_cause("a"), floor / sum, 1e-12);
        close(job.of_cause("b"), 0.4 / sum, 1e-12);
        close(job.of_cause("c"), 1.0 / sum, 1e-12);
    }
}

#[test]
fn the_unlisted_share_stays_fixed_whatever_is_absent() {
    let mut book = Textbook::new()
        .cause("a", 10.0)
        .cause("b", 10.0)
        .symptom("s", "any: [a, b]")
        .symptom("t", "any: [a]")
        .symptom("u", "any: [a, {cause: b, strength: 0.99}]");
    book.unlisted = 0.02;
    book.floor = 0.001;
    let book = book.load();
    for absent in [&[][..], &["t"], &["u"], &["t", "u"]] {
        let belief = Job::with_absent(&book, &["s"], absent).belief();
        close(belief.unlisted, 0.02, 1e-15);
        close(belief.listed(), 0.98, 1e-12);
    }
}

/// Rows certain of one outcome, floor 0.001: 0.001/1.001 and 1/1.001. Each contradicting reading costs a
/// thousandfold, and three confirming ones win it back.
#[test]
fn the_floor_never_rules_a_cause_out_beyond_recall() {
    let mut book = Textbook::hypotheses(&[("a", 0.5), ("b", 0.5)]);
    for name in ["t1", "t2", "t3", "t4"] {
        book = book.test(
            Test::new(name, &["no", "yes"])
                .row("a", &[1.0, 0.0])
                .row("b", &[0.0, 1.0]),
        );
    }
    book.floor = 0.001;
    let book = book.load();
    let job = Job::new(&book, &["complaint"]);
    let row = job
        .model
        .table(measurement(job.model.family, "t1"))
        .row(0)
        .to_vec();
    close(row[0], 1.0 / 1.001, 1e-15);
    close(row[1], 0.001 / 1.001, 1e-15);
    let against = job.after("t1", "yes");
    close(against.of_cause("a"), 0.001 / 1.001, 1e-12);
    let back = against.after("t2", "no").after("t3", "no");
    close(back.of_cause("a"), 1000.0 / 1001.0, 1e-12);
    // With floor 0 the same reading is final.
    let mut book = Textbook::hypotheses(&[("a", 0.5), ("b", 0.5)]);
    book = book.test(
        Test::new("t1", &["no", "yes"])
            .row("a", &[1.0, 0.0])
            .row("b", &[0.0, 1.0]),
    );
    let book = book.load();
    assert_eq!(
        Job::new(&book, &["complaint"])
            .after("t1", "yes")
            .of_cause("a"),
        0.0
    );
}

fn four_outcomes(rest: &str) -> Knowledge {
    let mut test = Test::new("look", &["fine", "wet", "burnt", "odd"])
        .shows("wet", "a", 0.5)
        .chance("wet", 0.1)
        .chance("burnt", 0.2)
        .chance("odd", 0.1);
    if !rest.is_empty() {
        test = test.with(rest);
    }
    Textbook::new()
        .cause("a", 10.0)
        .cause("b", 10.0)
        .symptom("s", "any: [a, b]")
        .test(test)
        .load()
}

/// The row states wet 0.5 and leaves 0.5. To normal: 0.5. As chance: burnt 0.2·0.5, odd 0.1·0.5, normal the
/// rest, 0.35; what is stated stays as stated.
#[test]
fn what_a_row_leaves_goes_to_normal_or_is_spread_as_chance() {
    for (rest, expected) in [
        ("", [0.5, 0.5, 0.0, 0.0]),
        ("rest: normal", [0.5, 0.5, 0.0, 0.0]),
        ("rest: chance", [0.35, 0.5, 0.1, 0.05]),
    ] {
        let book = four_outcomes(rest);
        let family = &book.families[0];
        let a = crate::by_name::causes_named(family, &["a"]);
        let row = row_under(&family.measurements[0], &a);
        for (found, expected) in row.iter().zip(expected) {
            close(*found, expected, 1e-15);
        }
        let b = crate::by_name::causes_named(family, &["b"]);
        let row = row_under(&family.measurements[0], &b);
        for (found, expected) in row.iter().zip([0.6, 0.1, 0.2, 0.1]) {
            close(*found, expected, 1e-15);
        }
    }
}

/// Where nothing is said, each abnormal outcome has a chance of 0.02.
#[test]
fn an_outcome_that_is_not_stated_has_a_chance_of_two_per_cent() {
    let book = Textbook::new()
        .cause("a", 10.0)
        .symptom("s", "any: [a]")
        .test(
            Test::new("look", &["fine", "wet", "burnt"])
                .shows("wet", "a", 0.5)
                .default_chance(),
        )
        .load();
    let row = row_of_chance(&book.families[0].measurements[0]);
    for (found, expected) in row.iter().zip([0.96, 0.02, 0.02]) {
        close(*found, expected, 1e-15);
    }
}

/// A quarter uniform over four, three quarters chance: 0.0625 + 0.75·(0.6, 0.1, 0.2, 0.1).
#[test]
fn the_unlisted_cause_reacts_a_quarter() {
    let book = four_outcomes("");
    let row = row_of_unlisted(&book.families[0].measurements[0], 0.25);
    for (found, expected) in row.iter().zip([0.5125, 0.1375, 0.2125, 0.1375]) {
        close(*found, expected, 1e-15);
    }
    let mut book = Textbook::hypotheses(&[("a", 0.5), ("b", 0.5)]);
    book.unlisted = 0.02;
    let book = book
        .test(
            Test::new("t", &["no", "yes"])
                .row("a", &[0.0, 1.0])
                .row("b", &[1.0, 0.0]),
        )
        .load();
    let job = Job::new(&book, &["complaint"]);
    let table = job.model.table(measurement(job.model.family, "t"));
    // After the two causes: the unlisted cause that touches nothing, then the one that may touch anything.
    assert_eq!(table.row(2), [1.0, 0.0]);
    close(table.row(3)[0], 0.875, 1e-15);
    close(table.row(3)[1], 0.125, 1e-15);
}

/// Two causes that both read high on both gauges for certain; chance 0.02, floor 0.001, unlisted 0.02.
/// Gauge 1 high, gauge 2 normal. The unlisted cause that touches nothing: normal 0.98, high 0.02; the other: normal
/// 0.125 + 0.75·0.98 = 0.86, high 0.14. Listed: 0.98·(1/1.001)·(0.001/1.001) = 0.000978043; unlisted:
/// 0.01·0.02·0.98 + 0.01·0.14·0.86 = 0.0014. Without gauge 2: 0.979021/(0.979021 + 0.0016) = 0.998368; without
/// gauge 1: 0.000979021/(0.000979021 + 0.0184) = 0.050520.
#[test]
fn when_nothing_fits_the_reading_in_the_way_is_named() {
    let mut book = Textbook::hypotheses(&[("a", 0.6), ("b", 0.4)]);
    for name in ["gauge-1", "gauge-2"] {
        book = book.test(
            Test::new(name, &["normal", "high"])
                .row("a", &[0.0, 1.0])
                .row("b", &[0.0, 1.0])
                .default_chance(),
        );
    }
    book.floor = 0.001;
    book.unlisted = 0.02;
    let book = book.load();
    let fits = Job::new(&book, &["complaint"]).after("gauge-1", "high");
    assert!(!fits.belief().nothing_fits());
    assert_eq!(misfits(&fits.model, &fits.readings), []);
    let odd = fits.after("gauge-2", "normal");
    let belief = odd.belief();
    close(
        belief.unlisted,
        0.001_4 / (0.001_4 + 0.000_978_042_936),
        1e-9,
    );
    assert!(belief.nothing_fits());
    let in_the_way = misfits(&odd.model, &odd.readings);
    let found = &in_the_way[0];
    assert_eq!(found.measurement, measurement(odd.model.family, "gauge-2"));
    close(found.listed, 1.0 - belief.unlisted, 1e-12);
    close(
        found.without,
        0.979_020_979 / (0.979_020_979 + 0.001_6),
        1e-9,
    );
    // It is to be taken again before anything else; taken again alike, the job goes on. Without the other reading the listed
    // causes would stand no higher.
    assert_eq!(in_the_way.len(), 1);
    let standing = odd.standing(OrderBy::default());
    assert_eq!(
        standing.advise(&[], true),
        Advice::TakeAgain(found.clone().into())
    );
    assert!(!matches!(
        standing.advise(&[found.measurement], true),
        Advice::TakeAgain(_)
    ));
    // The other order of the readings names the same one.
    let turned = Job::new(&book, &["complaint"])
        .after("gauge-2", "normal")
        .after("gauge-1", "high");
    assert_eq!(
        misfits(&turned.model, &turned.readings)[0].measurement,
        found.measurement
    );
    // The reading taken again replaces the one in the way.
    assert!(!odd.after("gauge-2", "high").belief().nothing_fits());
}

/// A cause above the unlisted one is above it alone: two that share 0.7 do not make 0.3 lead.
#[test]
fn nothing_fits_where_the_unlisted_cause_is_above_every_single_candidate() {
    let mut book = Textbook::hypotheses(&[("a", 0.5), ("b", 0.5)]);
    book.unlisted = 0.34;
    let book = book.load();
    let belief = Job::new(&book, &["complaint"]).belief();
    close(belief.posterior[0], 0.33, 1e-12);
    assert!(belief.nothing_fits());
}

/// The two kinds of unlisted cause start with 0.025 each and are shown as one. Ten normal readings tell against the
/// one that may touch anything, 0.86 for each of them, and not against the other; a cause of none of them has 0.98 as
/// the first has: 0.95 : 0.025 : 0.025·(0.86/0.98)^10. Five high readings: 0.95 : 0.025 : 0.025·(0.14/0.02)^5.
#[test]
fn normal_readings_do_not_tell_against_a_fault_that_touches_nothing() {
    let mut book = Textbook::hypotheses(&[("a", 1.0)]);
    book.unlisted = 0.05;
    let names: Vec<String> = (0..10).map(|place| format!("t{place}")).collect();
    for name in &names {
        book = book.test(Test::new(name, &["normal", "high"]).default_chance());
    }
    let book = book.load();
    close(
        Job::new(&book, &["complaint"]).belief().unlisted,
        0.05,
        1e-12,
    );
    for (outcome, count, other) in [
        ("normal", 10, (0.86_f64 / 0.98).powi(10)),
        ("high", 5, (0.14_f64 / 0.02).powi(5)),
    ] {
        let job = names[..count]
            .iter()
            .fold(Job::new(&book, &["complaint"]), |job, name| {
                job.after(name, outcome)
            });
        let unlisted = 0.025 + 0.025 * other;
        close(job.belief().unlisted, unlisted / (0.95 + unlisted), 1e-9);
    }
}

/// a 0.9, b 0.1 of the listed 0.98; the repair of a was in vain: b 0.098, unlisted 0.02, of 0.118.
#[test]
fn a_repair_in_vain_rules_its_cause_out_and_speaks_for_the_unlisted_one() {
    let mut book = Textbook::hypotheses(&[("a", 0.9), ("b", 0.1)]);
    book.unlisted = 0.02;
    let book = book.load();
    let family = &book.families[0];
    let mut said = complaint(family, &["complaint"], &[]);
    said.repaired.extend(family.repair_named("repair-a"));
    let job = Job::of(&book, said);
    assert_eq!(job.candidates(), ["b"]);
    close(job.of_cause("b"), 0.098 / 0.118, 1e-12);
    close(job.belief().unlisted, 0.02 / 0.118, 1e-12);
}

/// A pair of which one repair is done stays, and only the other repair is still paid: 100, not 200.
#[test]
fn a_pair_stays_until_both_repairs_are_done_and_the_done_one_costs_nothing() {
    let book = Textbook::new()
        .cause("a", 100.0)
        .cause("b", 100.0)
        .symptom("s", "all: [a, b]")
        .load();
    let family = &book.families[0];
    let mut said = complaint(family, &["s"], &[]);
    let model = Model::new(family, None, said.clone()).unwrap();
    let cost = |model: &Model<'_>| {
        Standing::new(
            model,
            Vec::new(),
            &Circumstances::default(),
            OrderBy::default(),
        )
        .unwrap()
        .repair_now
        .cost
    };
    close(cost(&model), 200.0, 1e-9);
    said.repaired.extend(family.repair_named("repair-a"));
    let model = Model::new(family, None, said.clone()).unwrap();
    assert_eq!(model.candidates.len(), 1);
    close(cost(&model), 100.0, 1e-9);
    said.repaired.extend(family.repair_named("repair-b"));
    assert!(
        Model::new(family, None, said)
            .unwrap()
            .candidates
            .is_empty()
    );
}

/// A live candidate has at least a hundredth of the largest belief.
#[test]
fn a_candidate_is_live_from_one_per_cent_of_the_leader() {
    let book = Textbook::hypotheses(&[("a", 0.9), ("b", 0.009_1), ("c", 0.008_9)]).load();
    let job = Job::new(&book, &["complaint"]);
    let belief = job.belief();
    assert!(belief.is_live(0) && belief.is_live(1) && !belief.is_live(2));
}

/// What an instrument cannot tell apart is not foreseen as told apart: with bands of 10 kPa, a gauge of
/// u 0.01 kPa is foreseen to part them better than one of 10 kPa.
#[test]
fn a_coarse_instrument_foresees_fewer_bits() {
    let bits = |u: f64| {
        let book = Textbook::hypotheses(&[("a", 0.5), ("b", 0.5)])
            .instrument(
                "gauge",
                &format!("unit: kPa, range: {{from: 0, to: 1000}}, accuracy: {{standard: {u}}}"),
            )
            .test(
                Test::new("pressure", &["normal", "low", "high"])
                    .number(
                        "quantity: pressure, unit: kPa, instrument: gauge",
                        &["from: 495, to: 505", "below: 495", "above: 505"],
                    )
                    .row("a", &[0.0, 0.5, 0.5])
                    .row("b", &[1.0, 0.0, 0.0]),
            )
            .load();
        Job::new(&book, &["complaint"])
            .ranked("pressure")
            .unwrap()
            .bits
    };
    let (fine, coarse) = (bits(0.01), bits(10.0));
    assert!(
        coarse < 0.5 * fine && fine <= 1.0 + 1e-12,
        "{coarse} {fine}"
    );
}

/// Readings of two measurements are independent given the candidate: their factors multiply.
#[test]
fn readings_of_different_measurements_multiply() {
    let book = Textbook::hypotheses(&[("a", 0.5), ("b", 0.5)])
        .test(
            Test::new("t1", &["no", "yes"])
                .row("a", &[0.3, 0.7])
                .row("b", &[0.8, 0.2]),
        )
        .test(
            Test::new("t2", &["no", "yes"])
                .row("a", &[0.9, 0.1])
                .row("b", &[0.4, 0.6]),
        )
        .load();
    let mut job = Job::new(&book, &["complaint"]);
    let family = job.model.family;
    job.readings = vec![
        evidence(family, "t1", &[("yes", 1.0)]),
        evidence(family, "t2", &[("no", 1.0)]),
    ];
    // a: 0.7·0.9 = 0.63; b: 0.2·0.4 = 0.08.
    close(job.of_cause("a"), 0.63 / 0.71, 1e-12);
}
