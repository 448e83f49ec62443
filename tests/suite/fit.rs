use std::collections::BTreeMap;

use halfsplit::decide::{Advice, FitSoFar, OrderBy, Parts, Point, Policy, Problem, Step, WhyAgain};
use halfsplit::infer::{
    Answer, Fit, Surprise, Taken, Typing, derive, foreseen_uncertainty, misread, understand,
    understand_part,
};
use halfsplit::knowledge::{Measurement, MeasurementId, Vehicle};
use halfsplit::session::{Outlook, RepairSheet};
use halfsplit::units::Probability;

use crate::by_name::{Job, chain_cvt, measurement, shipped};
use crate::family_text::{Test, Textbook};
use crate::planning::models::{textbook_parts, work};
use crate::shop::Shop;

#[track_caller]
fn close(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found}, not {expected}"
    );
}

/// A binary reading of probability q is `√((1 − q)/q)` standard deviations more surprising than expected where it is the
/// rarer one: q = 0.1 gives 3, and n such readings 3·√n. The likelier one gives −√(0.1/0.9).
#[test]
fn the_surprise_of_readings_adds_up() {
    let mut book = Textbook::hypotheses(&[("a", 1.0)]);
    for name in ["t1", "t2", "t3", "t4"] {
        book = book.test(Test::new(name, &["normal", "high"]).row("a", &[0.1, 0.9]));
    }
    let book = book.load();
    let mut job = Job::new(&book, &["complaint"]);
    let fit = |job: &Job<'_>| Fit::of(&job.model, &job.belief(), &job.readings);
    close(fit(&job).surprise.deviations(), 0.0, 0.0);
    let likely = job.after("t1", "high");
    close(
        fit(&likely).surprise.deviations(),
        -(1.0_f64 / 9.0).sqrt(),
        1e-9,
    );
    assert!(fit(&likely).worst.is_empty());
    for (place, name) in ["t1", "t2", "t3", "t4"].into_iter().enumerate() {
        job = job.after(name, "normal");
        let count = f64::from(u8::try_from(place).unwrap()) + 1.0;
        close(fit(&job).surprise.deviations(), 3.0 * count.sqrt(), 1e-9);
    }
    let fit = fit(&job);
    assert!(fit.is_poor());
    assert_eq!(fit.worst.len(), 4);
    // Of readings that fit as badly the earliest is named first.
    assert_eq!(fit.worst[0].0, measurement(job.model.family, "t1"));
    // −log2 0.1 less the entropy 0.469 bit.
    close(fit.worst[0].1, std::f64::consts::LOG2_10 - 0.468_996, 1e-6);
    // Before a repair or handing on, the three worst are to be taken again, once each, the worst first.
    let standing = job.standing(OrderBy::default());
    let mut taken_again = Vec::new();
    for (worst, _) in fit.worst.iter().take(3) {
        let Advice::TakeAgain(again) = standing.advise(&taken_again, false) else {
            panic!("not taken again");
        };
        assert_eq!(again.why, WhyAgain::FitsWorst);
        assert_eq!(again.measurement, *worst);
        taken_again.push(again.measurement);
    }
    assert!(!matches!(
        standing.advise(&taken_again, false),
        Advice::TakeAgain(_)
    ));
}

/// Of three outcomes `high` has 0.9, 0.1 and 0.1 under three causes of 0.5, 0.3 and 0.2. Read rightly it has 0.5; as another
/// reading taken wrongly 0.5/2. With one reading in 20 wrong that is 0.0125 of 0.4875, and then the causes stand at 0.05,
/// 0.27 and 0.18 of 0.5.
#[test]
fn how_probable_a_misread_reading_is_comes_from_what_the_others_say() {
    let mut book = Textbook::hypotheses(&[("a", 0.5), ("b", 0.3), ("c", 0.2)]);
    let outcomes = ["normal", "low", "high"];
    book.more = "misread: 0.05\n".to_owned();
    let book = book
        .test(
            Test::new("t1", &outcomes)
                .row("a", &[0.05, 0.05, 0.9])
                .row("b", &[0.45, 0.45, 0.1])
                .row("c", &[0.8, 0.1, 0.1]),
        )
        .load();
    let job = Job::new(&book, &["complaint"]).after("t1", "high");
    let [only] = &misread(&job.model, &job.readings)[..] else {
        panic!("one reading");
    };
    close(only.probability, 0.0125 / 0.4875, 1e-9);
    for (found, expected) in only.belief.posterior.iter().zip([0.1, 0.54, 0.36]) {
        close(*found, expected, 1e-9);
    }
}

/// Two equally probable causes, 0.9 and 0.1 for `high`, and repairs of 100. Read `high`, one reading in 20 wrong, the first repair
/// stands at 0.9; the reading is wrong with 0.05, and then the repair is in vain with 0.9: 4.5 are lost to that, on average.
#[test]
fn a_repair_that_hangs_on_one_reading_has_it_taken_twice_where_that_is_worth_it() {
    let again = |minutes: f64, misread: &str, with: &[&str], last: Option<&str>| {
        let mut book = Textbook::hypotheses(&[("a", 0.5), ("b", 0.5)]);
        book.more = format!("mistold: 0\n{misread}\n");
        let test = Test::new("t1", &["normal", "high"])
            .row("a", &[0.1, 0.9])
            .row("b", &[0.9, 0.1])
            .minutes(minutes);
        let test = with.iter().fold(test, |test, field| test.with(field));
        let other = Test::new("t2", &["normal", "loose"]).row("a", &[0.5, 0.5]);
        let book = book.test(test).test(other.row("b", &[0.5, 0.5])).load();
        let job = Job::new(&book, &["complaint"]).after("t1", "high");
        let job = last.map_or(job.clone(), |outcome| job.after("t2", outcome));
        let standing = job.standing(OrderBy::default());
        let t1 = measurement(job.model.family, "t1");
        let is_repair = |advice| matches!(advice, Advice::Repair { .. });
        // Taken a second time, it is not asked for again.
        assert!(is_repair(standing.advise(&[t1], false)));
        match standing.advise(&[], false) {
            Advice::TakeAgain(again) => {
                assert_eq!(again.measurement, t1);
                let WhyAgain::HangsOn { misread, cures, .. } = again.why else {
                    panic!("{:?}", again.why);
                };
                close(misread, 0.05, 1e-9);
                close(cures, 0.1, 1e-9);
                true
            }
            advice => {
                assert!(is_repair(advice));
                false
            }
        }
    };
    let often = "misread: 0.05";
    assert!(again(4.4, often, &[], None));
    assert!(!again(4.6, often, &[], None));
    assert!(!again(4.4, "", &[], None));
    assert!(!again(4.4, often, &["told_by: customer"], None));
    // What was read since forbids it.
    let unless = ["unless: {t2: [loose]}"];
    assert!(again(4.4, often, &unless, Some("normal")));
    assert!(!again(4.4, often, &unless, Some("loose")));
}

/// Facts of the trade (common practice): once the chain has jumped or the clamp has given way there is no further stall and no
/// full throttle, a second look at the same thing included. Asking the scan tool twice hurts nobody.
#[test]
fn a_reading_that_forbids_the_like_of_itself_is_not_taken_a_second_time() {
    let may = |name: &str, outcome: &str| {
        let job = Job::new(shipped(), &["slipping"]).after(name, outcome);
        let standing = job.standing(OrderBy::default());
        standing.may_be_read_again(measurement(job.model.family, name))
    };
    assert!(!may("gauge-secondary-stall", "low"));
    assert!(may("gauge-secondary-stall", "normal"));
    assert!(!may("ratio-trace", "jumps"));
    assert!(may("ratio-trace", "normal"));
    assert!(may("tcm-answers", "silent"));
    assert!(may("fluid-look", "foamy"));
    // Whatever a measurement under load read that closes another one under load.
    let family = chain_cvt();
    let loads = |of: &Measurement| {
        let mut cautions = of.cautions.iter();
        cautions.any(|id| ["stall", "under-load"].contains(&family.cautions[*id].name.as_str()))
    };
    for other in family.measurements.iter().filter(|of| loads(of)) {
        for (id, outcomes) in &other.unless.outcomes {
            let own = family.measurement(*id);
            for outcome in outcomes.iter().filter(|_| loads(own)) {
                let outcome = &own.outcomes[outcome.index()].name;
                assert!(!may(&own.name, outcome), "{}: {outcome}", own.name);
            }
        }
    }
}

/// Two causes with repairs of 10 and 20, 0.9 to 0.08, handing on 200. Ten bits above expectation with a variance of 4 are
/// five standard deviations: what opens the unit is not done, what does not still is.
#[test]
fn nothing_is_opened_while_the_readings_fit_nothing_well() {
    let step = |repair_from: f64, excess: f64, opening: &[usize]| {
        let fit = |weight| FitSoFar {
            weight,
            surprise: Surprise {
                excess,
                variance: 4.0,
            },
        };
        let problem = Problem::new(Parts {
            repair_from: Probability::new(repair_from).unwrap(),
            opening: opening.to_vec(),
            fits: vec![fit(0.9), fit(0.08)],
            escalation: work(0.0, 200.0),
            ..textbook_parts(&[10.0, 20.0], &[])
        })
        .unwrap();
        let at = Point::new(vec![0.9, 0.08, 0.02], halfsplit::decide::InPlace::NOTHING);
        Policy::new(&problem).decide(&at).step
    };
    // Also where a repair that is not sure enough would be tried rather than the job handed on.
    for repair_from in [0.0, 0.95] {
        assert_eq!(step(repair_from, 0.0, &[0, 1]), Step::Repair(0));
        assert_eq!(step(repair_from, 10.0, &[]), Step::Repair(0));
        assert_eq!(step(repair_from, 10.0, &[0, 1]), Step::Escalate);
        assert_eq!(step(repair_from, 10.0, &[1]), Step::Repair(0));
    }
}

/// On a branch that a plan looks at, what was read since the start counts: outcome 1 has 0.01 under the leading cause,
/// √99 = 9.9 standard deviations, outcome 0 has 0.99.
#[test]
fn a_plan_opens_nothing_on_a_branch_that_fits_badly() {
    let rows = vec![vec![0.99, 0.01], vec![0.99, 0.01]];
    let fit = |weight| FitSoFar {
        weight,
        ..FitSoFar::default()
    };
    let problem = Problem::new(Parts {
        opening: vec![0, 1],
        fits: vec![fit(0.9), fit(0.09)],
        escalation: work(0.0, 200.0),
        ..textbook_parts(&[10.0, 20.0], &[(1.0, rows)])
    })
    .unwrap();
    let at = Point::new(vec![0.9, 0.09, 0.01], halfsplit::decide::InPlace::NOTHING);
    let mut policy = Policy::new(&problem);
    let taking = policy.taking(&at, 0).unwrap();
    for (outcome, step) in [(0, Step::Repair(0)), (1, Step::Escalate)] {
        let next = policy.read(&at, 0, &taking, outcome).unwrap();
        assert_eq!(policy.decide(&next).step, step, "outcome {outcome}");
    }
}

fn named(name: &str) -> (MeasurementId, &'static Measurement, &'static Vehicle) {
    let family = chain_cvt();
    let id = measurement(family, name);
    let vehicle = shipped().vehicle("demo-estate").unwrap();
    (id, family.measurement(id), vehicle)
}

fn typed(name: &str, vehicle: Option<&Vehicle>, text: &str) -> Answer<Taken> {
    understand(
        chain_cvt(),
        vehicle,
        named(name).0,
        text,
        &Typing::default(),
    )
}

fn outcome(name: &str, taken: &Taken) -> String {
    let outcomes = &named(name).1.outcomes;
    outcomes[taken.evidence.outcome()].name.clone()
}

/// 4.5 Ω usually read at 40 °C: the ohmmeter's (0.5 % + 3 · 0.1 Ω)/√3 = 0.18620 Ω over 1 + 0.00393·20 = 1.0786, and
/// 1 K · 4.5 · 0.00393/1.0786² = 0.01520 Ω: together 0.17330 Ω.
#[test]
fn a_computed_number_is_as_uncertain_as_what_is_usually_read_makes_it() {
    let (_, coil, vehicle) = named("transfer-solenoid-at-20");
    let number = coil.number().unwrap();
    close(
        foreseen_uncertainty(chain_cvt(), number, &[]),
        0.173_30,
        1e-4,
    );
    // Within 3.8 to 4.8 Ω: half an ohm from each limit is 2.9 standard uncertainties.
    let taken = typed("transfer-solenoid-at-20", Some(vehicle), "4.3 ohm")
        .taken()
        .unwrap();
    assert_eq!(outcome("transfer-solenoid-at-20", &taken), "normal");
    assert!(taken.evidence.weights[taken.evidence.outcome()] > 0.99);
}

#[test]
fn a_coil_at_the_unit_is_proposed_where_the_circuit_is_in_question() {
    let job = Job::new(shipped(), &["no-rear-drive"])
        .after("tcm-answers", "normal")
        .after("dtc-group", "solenoid-circuit");
    let standing = job.standing(OrderBy::default());
    let coil = standing
        .rank_of(named("transfer-solenoid-at-20").0)
        .unwrap();
    assert!(coil.bits >= 0.001, "{}", coil.bits);
}

#[test]
fn a_ratio_typed_as_such_agrees_with_its_raw_values() {
    let name = "ratio-against-command";
    let (id, ratio, vehicle) = named(name);
    let family = chain_cvt();
    let parts: BTreeMap<_, _> = (ratio.number().unwrap().takes.iter())
        .map(|take| {
            // 2140/2500 is 0.856, 7 % above the desired 0.8.
            let text = match take.name.as_str() {
                "primary" => "2140",
                "secondary" => "2500",
                _ => "0.8",
            };
            let part = understand_part(family, take, text, &Typing::default())
                .taken()
                .unwrap();
            (take.name.clone(), part)
        })
        .collect();
    let computed = derive(family, Some(vehicle), id, parts, &Typing::default()).unwrap();
    let as_such = typed(name, Some(vehicle), "7").taken().unwrap();
    let value = |taken: &Taken| taken.value.clone().unwrap();
    close(value(&computed).number, 7.0, 1e-9);
    let (one, other) = (value(&computed).uncertainty, value(&as_such).uncertainty);
    let (one, other) = (one.unwrap(), other.unwrap());
    assert!((one / other - 1.0).abs() < 0.1, "{one} and {other}");
    for (one, other) in computed
        .evidence
        .weights
        .iter()
        .zip(&as_such.evidence.weights)
    {
        close(*one, *other, 0.02);
    }
}

/// 100 mV is a limit of the knowledge's own; the pressure has its limits in the sheet.
#[test]
fn without_a_sheet_a_number_is_judged_by_limits_of_the_knowledge_alone() {
    let taken = typed("tcm-ground-drop", None, "240 mV").taken().unwrap();
    assert_eq!(outcome("tcm-ground-drop", &taken), "high");
    let Answer::Refused(words) = typed("gauge-forward", None, "1080 kPa") else {
        panic!("taken");
    };
    assert!(words.starts_with("Without a vehicle's sheet"), "{words}");
    let taken = typed("gauge-forward", None, "low").taken().unwrap();
    assert_eq!(outcome("gauge-forward", &taken), "low");
}

/// The files of a book in a folder.
fn written(book: &Textbook) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in book.files() {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }
    folder
}

/// The figures are those of `when_nothing_fits_the_reading_in_the_way_is_named`: gauge 2 stands in the way. Where it also
/// rules out a test of the same danger, nobody is sent to it again.
#[test]
fn next_sends_nobody_to_a_reading_again_that_forbids_the_like_of_itself() {
    let next = |with: &str| {
        let mut book = Textbook::hypotheses(&[("a", 0.6), ("b", 0.4)]);
        book.more = "cautions: {risk: Take care.}\n".to_owned();
        (book.floor, book.unlisted) = (0.001, 0.02);
        for name in ["gauge-1", "gauge-2"] {
            let test = Test::new(name, &["normal", "high"]).row("a", &[0.0, 1.0]);
            let test = test.row("b", &[0.0, 1.0]).default_chance();
            book = book.test(test.with("cautions: [risk]"));
        }
        let third = Test::new("gauge-3", &["normal", "high"]).with("cautions: [risk]");
        let third = third.row("a", &[0.0, 1.0]).row("b", &[0.0, 1.0]).with(with);
        let folder = written(&book.test(third));
        let folder = folder.path().to_str().unwrap();
        let readings = ["--reading", "gauge-1=high", "--reading", "gauge-2=normal"];
        let next = ["next", "complaint", "--knowledge", folder].into_iter();
        let told = Shop::new().arguments(next.chain(readings)).run();
        told.says("Most in the way stands gauge-2").flat()
    };
    let again = "Take it again before anything is dismantled";
    assert!(next("unless: {gauge-1: [normal]}").contains(again));
    assert!(!next("unless: {gauge-2: [normal]}").contains(again));
}

#[test]
fn the_prompt_says_why_a_reading_is_taken_twice_and_asks_for_it_once() {
    let mut book = Textbook::hypotheses(&[("a", 0.5), ("b", 0.5)]);
    book.more = "misread: 0.05\n".to_owned();
    let test = Test::new("t1", &["normal", "high"]).row("a", &[0.1, 0.9]);
    let book = book.test(test.row("b", &[0.9, 0.1]).minutes(4.0));
    let folder = written(&book);
    let folder = folder.path().to_str().unwrap();
    let said = "Due: repair-a, 90 % that it cures. Take this reading a second time first: if it was wrong, it is 10 %.";
    let on = ["complaint", "--vehicle", "page", "--knowledge", folder];
    Shop::diagnose(on).types("high\n").run().says(said);
    let twice = Shop::diagnose(on).types("high\nhigh\n").run();
    assert_eq!(twice.flat().matches("a second time first").count(), 1);
    twice.says("Stop measuring.");
    let next = ["next"].into_iter().chain(on);
    let next = next.chain(["--reading", "t1=high"]);
    Shop::new().arguments(next).run().says(said);
}

/// Of two causes at 0.3 and 0.7 with repairs of 60 and 200 the cheaper order begins with the first, 200 against 218. Where a
/// shop repairs from 0.85 the likelier comes first, which the sheet says, and the other is what is repaired next.
#[test]
fn a_repair_that_comes_first_since_it_is_likelier_says_so() {
    for (repair_from, first, next) in [(0.85, "likely", "cheap"), (0.0, "cheap", "likely")] {
        let mut book = Textbook::new();
        book.max_order = 1;
        book.repair_from = repair_from;
        let prior = |p: f64| 1000.0 * p / (1.0 + p);
        let book = book
            .cause_put_right("a", prior(0.3), "cheap", 60.0)
            .cause_put_right("b", prior(0.7), "likely", 200.0)
            .symptom("complaint", "any: [a, b]")
            .load();
        let job = Job::new(&book, &["complaint"]);
        let standing = job.standing(OrderBy::default());
        let advice = standing.advise(&[], false);
        let now = standing.repairing(&advice).unwrap();
        let sheet = RepairSheet::of(&standing, &now, &advice);
        assert_eq!(sheet.repairs[0].repair, first);
        assert_eq!(sheet.likelier, first == "likely");
        let outlook = Outlook::of(&standing);
        assert_eq!(outlook.repair_now.order[0].repairs, ["cheap"]);
        assert_eq!(outlook.after(&sheet.repairs).unwrap().repairs, [next]);
    }
}
