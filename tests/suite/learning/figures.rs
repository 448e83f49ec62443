//! Posteriors against hand sums and published figures.

use halfsplit::learn::{
    Moved, Overlay, Prior, beta_quantile, learn, rate_posterior, row_posterior,
};
use halfsplit::units::Rate;

use halfsplit::record::Found;

use super::{Records, closed_unseen, ending, family, reading, repaired, shown, verified};

/// The causes of the family, in its order.
const CAUSES: [&str; 4] = ["pump-worn", "strainer-clogged", "seal-leak", "seal-torn"];

/// The rates that moved, in the order of [`CAUSES`].
fn rates(learned: &Overlay) -> Vec<&Moved> {
    assert_eq!(learned.rates.0.len(), CAUSES.len());
    CAUSES
        .iter()
        .map(|cause| &learned.rates.0[*cause])
        .collect()
}

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} is not {expected}"
    );
}

fn rate(number: f64) -> Rate {
    Rate::per_thousand(number).unwrap()
}

#[test]
fn a_rate_is_the_mean_of_its_beta() {
    // 14 of 1,000, worth 200 jobs: 2.8 of 200. 30 of 400 more: 32.8 of 600 = 0.054666…
    let posterior = rate_posterior(rate(14.0), 200.0, 30.0, 400);
    close(posterior.mean, 0.054_666_666_666_666_67, 1e-15);
    // None found in 400: 2.8 of 600.
    let posterior = rate_posterior(rate(14.0), 200.0, 0.0, 400);
    close(posterior.mean, 0.004_666_666_666_666_667, 1e-15);
}

#[test]
fn a_row_is_the_mean_of_its_dirichlet() {
    // 0.8, 0.2, 0 worth 10 readings, and 3, 1, 1 more: (8+3)/15, (2+1)/15, (0+1)/15.
    let row = row_posterior(&[0.8, 0.2, 0.0], 10.0, &[3, 1, 1]);
    close(row[0].mean, 0.733_333_333_333_333_3, 1e-15);
    close(row[1].mean, 0.2, 1e-15);
    close(row[2].mean, 0.066_666_666_666_666_67, 1e-15);
    close(row.iter().map(|share| share.mean).sum(), 1.0, 1e-15);
    // What was ruled out and not seen stays ruled out.
    let row = row_posterior(&[1.0, 0.0], 10.0, &[4, 0]);
    assert_eq!((row[0].mean, row[0].interval), (1.0, [1.0, 1.0]));
    assert_eq!((row[1].mean, row[1].interval), (0.0, [0.0, 0.0]));
}

#[test]
fn quantiles_have_their_closed_forms() {
    for p in [0.001, 0.025, 0.3, 0.5, 0.975, 0.999_f64] {
        // Beta(1, 1) is uniform; Beta(a, 1): x^a; Beta(1, b): 1 − (1 − x)^b; Beta(½, ½): arcsine.
        close(beta_quantile(1.0, 1.0, p), p, 1e-12);
        close(beta_quantile(2.0, 1.0, p), p.sqrt(), 1e-12);
        close(beta_quantile(1.0, 3.0, p), 1.0 - (1.0 - p).cbrt(), 1e-12);
        let x = 1.0 - (1.0 - p).powf(1.0 / 500.0);
        close(beta_quantile(1.0, 500.0, p), x, 1e-12);
        close(beta_quantile(0.05, 1.0, p), p.powi(20), 1e-12);
        let arcsine = (std::f64::consts::FRAC_PI_2 * p).sin().powi(2);
        close(beta_quantile(0.5, 0.5, p), arcsine, 1e-12);
        // Beta(2, 2): I_x = 3x² − 2x³.
        let x = beta_quantile(2.0, 2.0, p);
        close(3.0 * x * x - 2.0 * x * x * x, p, 1e-12);
    }
}

#[test]
fn an_interval_agrees_with_the_published_one_of_placenta_previa() {
    // Gelman et al., Bayesian Data Analysis, 3rd ed., 2.4: 437 girls of 980 births, uniform prior:
    // the posterior is Beta(438, 544), its mean 0.446, its central 95 % interval [0.415, 0.477].
    let posterior = rate_posterior(rate(500.0), 2.0, 437.0, 980);
    close(posterior.mean, 438.0 / 982.0, 1e-15);
    close(posterior.interval[0], 0.415, 5e-4);
    close(posterior.interval[1], 0.477, 5e-4);
}

#[test]
fn an_interval_agrees_with_the_published_one_of_clopper_and_pearson() {
    // Ten of a hundred, exact 95 % limits: 0.04900 and 0.17622, the quantiles of Beta(10, 91) and
    // Beta(11, 90).
    close(beta_quantile(10.0, 91.0, 0.025), 0.049_00, 1e-5);
    close(beta_quantile(11.0, 90.0, 0.975), 0.176_22, 1e-5);
}

#[test]
fn nothing_is_learned_from_no_job() {
    let family = family();
    let mut records = Records::new();
    records.job([reading("pressure", "low")]);
    let learned = learn(&family, &records.tally(&family), Prior::default());
    assert!(learned.rates.0.is_empty() && learned.shows.0.is_empty());
    assert_eq!((learned.jobs, learned.dates), (0, None));
    assert_eq!(rate_posterior(rate(500.0), 200.0, 0.0, 0).mean, 0.5);
}

#[test]
fn jobs_whose_cause_nobody_saw_are_shared_out_by_the_rates() {
    let family = family();
    let mut records = Records::new();
    for _ in 0..5 {
        records.job(ending(&["strainer-clogged"]));
    }
    records.job(ending(&["seal-leak"]));
    for _ in 0..3 {
        let unseen = closed_unseen(Some(Found::Unknown), &[], &["seal-leak", "seal-torn"]);
        records.job([repaired(&["seal-leak"]), verified(true), unseen]);
    }
    let prior = Prior::new(100.0, 10.0).unwrap();
    let learned = learn(&family, &records.tally(&family), prior);
    // W = 100: the leak weighs 6 + 1, the torn seal 2. Of 3 jobs 7/9 and 2/9: 7/3 and 2/3.
    let expected = [
        (1.4, 0, 0),
        (8.0, 5, 0),
        (7.0 + 7.0 / 3.0, 1, 3),
        (2.0 + 2.0 / 3.0, 0, 3),
    ];
    for (figure, (of_109, seen, unstated)) in rates(&learned).iter().zip(expected) {
        assert_eq!(
            (figure.seen, figure.unstated, figure.jobs),
            (seen, unstated, 9)
        );
        close(figure.now, 1000.0 * of_109 / 109.0, 1e-12);
    }
    // Together they are as sure as if every cause had been seen: 8 stated, 4 found, of 109.
    let seals = learned.rates.0["seal-leak"].now + learned.rates.0["seal-torn"].now;
    close(seals, 1000.0 * 12.0 / 109.0, 1e-12);
}

#[test]
fn what_was_learned_is_the_hand_sum_and_rests_on_its_own_jobs() {
    let family = family();
    let mut records = Records::new();
    for outcome in ["low", "low", "high", "normal"] {
        let readings = vec![reading("pressure", outcome)];
        records.job([readings, ending(&["strainer-clogged"])].concat());
    }
    records.job(ending(&["strainer-clogged"]));
    records.job([vec![reading("pressure", "low")], ending(&["seal-leak"])].concat());
    let prior = Prior::new(100.0, 10.0).unwrap();
    let learned = learn(&family, &records.tally(&family), prior);

    // (W·r + k)/(W + N) with W = 100, N = 6: 1.4, 3 + 5, 6 + 1 and 2 of 106, in 1,000.
    let expected = [
        (14.0, 1.4, 0),
        (30.0, 8.0, 5),
        (60.0, 7.0, 1),
        (20.0, 2.0, 0),
    ];
    for (figure, (was, of_106, seen)) in rates(&learned).iter().zip(expected) {
        assert_eq!((figure.was, figure.seen, figure.jobs), (was, seen, 6));
        close(figure.now, 1000.0 * of_106 / 106.0, 1e-12);
    }

    // The seal's reading moves no row: the measurement does not name it.
    let shown = shown(&learned);
    let is = |at: [&str; 3], was: f64, now: f64, seen| {
        let figure = shown[&at];
        close(figure.was, was, 1e-15);
        close(figure.now, now, 1e-15);
        assert_eq!((figure.seen, figure.jobs), (seen, 4));
        let days = figure.dates.map(|day| day.to_string());
        assert_eq!(days, ["2026-01-01", "2026-01-04"]);
    };
    assert_eq!(shown.len(), 2);
    // 0.6 worth 10: (6 + 2)/14 low; 0.1: (1 + 1)/14 high.
    is(["pressure", "low", "strainer-clogged"], 0.6, 8.0 / 14.0, 2);
    is(["pressure", "high", "strainer-clogged"], 0.1, 2.0 / 14.0, 1);
}

#[test]
fn an_outcome_that_was_not_stated_is_learned_when_it_is_seen() {
    let family = family();
    let mut records = Records::new();
    let readings = vec![reading("pressure", "high"), reading("residue", "metal")];
    records.job([readings, ending(&["pump-worn"])].concat());
    let readings = vec![reading("residue", "clean")];
    records.job([readings, ending(&["strainer-clogged"])].concat());
    let prior = Prior::new(100.0, 10.0).unwrap();
    let learned = learn(&family, &records.tally(&family), prior);
    let shown = shown(&learned);
    let expected = [
        ["pressure", "high", "pump-worn"],
        ["pressure", "low", "pump-worn"],
        ["residue", "dark", "strainer-clogged"],
        ["residue", "metal", "strainer-clogged"],
    ];
    assert_eq!(shown.keys().copied().collect::<Vec<_>>(), expected);
    // Stated 0.8 low, nothing high: (8 + 0)/11 and (0 + 1)/11.
    close(shown[&expected[1]].now, 8.0 / 11.0, 1e-15);
    close(shown[&expected[0]].now, 1.0 / 11.0, 1e-15);
    // `rest: chance`: of the half that 0.5 dark leaves, 0.02 is metal: 0.01, worth 0.1 of 10.
    close(shown[&expected[3]].was, 0.01, 1e-15);
    close(shown[&expected[3]].now, 0.1 / 11.0, 1e-15);
}

#[test]
fn a_weight_must_be_above_zero() {
    let refused = [
        (0.0, 1.0),
        (1.0, 0.0),
        (-1.0, 1.0),
        (f64::NAN, 1.0),
        (1.0, f64::INFINITY),
    ];
    for (jobs, readings) in refused {
        assert_eq!(Prior::new(jobs, readings), None);
    }
}
