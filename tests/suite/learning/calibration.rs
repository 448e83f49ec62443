//! Intervals mean what they say, and what was learned diagnoses better: on figures drawn from what is stated of them.

use halfsplit::infer::row_under;
use halfsplit::knowledge::{Family, SymptomId};
use halfsplit::learn::{Overlay, Prior, apply, learn};
use halfsplit::simulate::{Chance, Drawn, Mechanic, World};

use super::drawn::{Draws, SHIPPED, Shop, truth};
use super::shown;

/// How many true figures lie inside their intervals, and of how many: rates, then shares of rows.
#[derive(Debug, Default)]
struct Inside {
    rates: [usize; 2],
    shares: [usize; 2],
}

impl Inside {
    fn count(&mut self, truth: &Family, learned: &Overlay) {
        for cause in &truth.causes {
            if let Some(moved) = learned.rates.0.get(&cause.name) {
                let [low, high] = moved.interval;
                let rate = cause.rate.get();
                self.rates[0] += usize::from(low <= rate && rate <= high);
                self.rates[1] += 1;
            }
        }
        // A share of 0 is no guess: nothing else is drawn for it.
        for ([measurement, outcome, cause], moved) in shown(learned) {
            if moved.was <= 0.0 {
                continue;
            }
            let measurement = truth.measurement(truth.measurement_named(measurement).unwrap());
            let outcome = measurement.outcome(outcome).unwrap();
            let cause = truth.cause_named(cause).unwrap();
            let share = row_under(measurement, &[cause])[outcome.index()];
            let [low, high] = moved.interval;
            self.shares[0] += usize::from(low <= share && share <= high);
            self.shares[1] += 1;
        }
    }

    /// Of both, in percent.
    fn percent(&self) -> [f64; 2] {
        [self.rates, self.shares].map(|[inside, all]| 100.0 * inside as f64 / all as f64)
    }
}

/// Shops whose figures are drawn from the prior, each with so many jobs, of which a part is closed with the wrong cause.
fn shops(shops: u64, jobs: usize, wrong: f64) -> Inside {
    let stated = &SHIPPED.families[0];
    let prior = Prior::default();
    let mut inside = Inside::default();
    for seed in 1..=shops {
        let truth = truth(stated, prior, &mut Draws(seed * 1_000_003));
        let mut shop = Shop::new(&truth, seed);
        shop.wrong = wrong;
        let learned = learn(stated, &shop.tally(jobs), prior, None);
        inside.count(&truth, &learned);
    }
    inside
}

#[track_caller]
fn calibrated(inside: &Inside) {
    let ([rates, of_rates], [shares, of_shares]) = (inside.rates, inside.shares);
    let all = of_rates + of_shares;
    let share = 100.0 * (rates + shares) as f64 / all as f64;
    assert!(
        all >= 2000 && (93.0..=97.0).contains(&share),
        "{inside:?}: {share}"
    );
    // Of some hundred rates, 95 % are known to about one in a hundred.
    for share in inside.percent() {
        assert!((91.0..=99.0).contains(&share), "{inside:?}: {share}");
    }
}

#[test]
fn of_true_figures_95_percent_lie_in_their_intervals() {
    calibrated(&shops(7, 200, 0.0));
}

#[test]
#[ignore = "a minute or two: .ci/run runs it"]
fn of_true_figures_95_percent_lie_in_their_intervals_however_many_jobs() {
    for (number, jobs) in [(16, 200), (10, 2000), (4, 20_000)] {
        let inside = shops(number, jobs, 0.0);
        println!("{jobs} jobs: {:?} % of {inside:?}", inside.percent());
        calibrated(&inside);
    }
    for (number, jobs) in [(16, 200), (10, 2000), (4, 20_000)] {
        let inside = shops(number, jobs, 0.05);
        println!(
            "{jobs} jobs, 5 % of verdicts wrong: {:?} %",
            inside.percent()
        );
    }
}

#[test]
#[ignore = "a minute or two: .ci/run runs it"]
fn what_was_learned_diagnoses_as_well_as_what_is_stated_or_better() {
    const VEHICLES: u32 = 3;
    let stated = &SHIPPED.families[0];
    let sheet = SHIPPED.vehicles.first();
    let (mut better, mut variance, mut cheaper) = (0.0, 0.0, 0.0);
    let mut shops = 0.0;
    for seed in [1, 2] {
        let truth = truth(stated, Prior::default(), &mut Draws(seed * 7_000_003));
        let tally = Shop::new(&truth, seed).tally(2000);
        let mut learned = stated.clone();
        apply(&mut learned, &learn(stated, &tally, Prior::default(), None)).unwrap();
        for symptom in (0..stated.symptoms.len()).step_by(3).map(SymptomId::at) {
            let world = World::new(&truth, sheet, symptom, Chance::new(seed), 0.0).unwrap();
            let with = |family| Mechanic::new(family, sheet, symptom).unwrap();
            let [before, after] = [stated, &learned].map(with);
            for hypothesis in 0..world.listed() {
                let differences: Vec<[f64; 2]> = (0..VEHICLES)
                    .map(|number| {
                        let drawn = Drawn { hypothesis, number };
                        let [was, is] =
                            [&before, &after].map(|of| of.diagnose(&world, drawn).unwrap());
                        let first = |course: &halfsplit::simulate::Course| {
                            f64::from(u8::from(course.cured_by() == Some(1)))
                        };
                        [first(&is) - first(&was), was.cost - is.cost]
                    })
                    .collect();
                let mean = |of: usize| {
                    differences.iter().map(|pair| pair[of]).sum::<f64>() / f64::from(VEHICLES)
                };
                let spread = differences
                    .iter()
                    .map(|pair| (pair[0] - mean(0)).powi(2))
                    .sum::<f64>();
                let p = world.probability(hypothesis);
                better += p * mean(0);
                cheaper += p * mean(1);
                variance += p * p * spread / f64::from(VEHICLES * (VEHICLES - 1));
            }
            shops += 1.0;
        }
    }
    let within = 1.96 * variance.sqrt() / shops;
    let (better, cheaper) = (100.0 * better / shops, cheaper / shops);
    println!(
        "right first: {better:+.2} % ± {:.2}, cost saved {cheaper:.1}",
        100.0 * within
    );
    assert!(better > -100.0 * within && cheaper > 0.0);
}
