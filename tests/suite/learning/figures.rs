//! Posteriors against hand sums and published figures.

use halfsplit::learn::{
    Alike, Moved, Overlay, Posterior, Prior, beta_quantile, gamma_quantile, learn, row_posterior,
};
use halfsplit::record::Found;

use halfsplit::knowledge::OutcomeId;

use super::{RESIDUE, Records, closed_unseen, ending, family, reading, repaired, shown, verified};

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

/// Readings of one outcome each, as often as that.
fn plain(counts: &[u32]) -> Vec<Alike> {
    let of_outcome = |place: usize| {
        let weights = (0..counts.len()).map(|other| f64::from(u8::from(other == place)));
        Alike {
            weights: weights.collect(),
            readings: f64::from(counts[place]),
        }
    };
    let seen = (0..counts.len()).filter(|place| counts[*place] > 0);
    seen.map(of_outcome).collect()
}

#[test]
fn a_row_is_the_mean_of_its_dirichlet() {
    // 0.8, 0.2, 0 worth 10 readings, and 3, 1, 1 more: (8+3)/15, (2+1)/15, (0+1)/15.
    let row = row_posterior(&[0.8, 0.2, 0.0], 10.0, &plain(&[3, 1, 1]));
    close(row[0].mean, 0.733_333_333_333_333_3, 1e-12);
    close(row[1].mean, 0.2, 1e-12);
    close(row[2].mean, 0.066_666_666_666_666_67, 1e-12);
    // And each interval is that of its beta: 11 and 4, 3 and 12.
    for (share, (a, b)) in row.iter().zip([(11.0, 4.0), (3.0, 12.0)]) {
        close(share.interval[0], beta_quantile(a, b, 0.025), 1e-9);
        close(share.interval[1], beta_quantile(a, b, 0.975), 1e-9);
    }
    // What was ruled out and not seen stays ruled out.
    let row = row_posterior(&[1.0, 0.0], 10.0, &plain(&[4, 0]));
    assert_eq!((row[0].mean, row[0].interval), (1.0, [1.0, 1.0]));
    assert_eq!((row[1].mean, row[1].interval), (0.0, [0.0, 0.0]));
}

#[test]
fn a_reading_near_a_limit_counts_for_each_outcome_by_its_share() {
    // p = (8 + 10·s)/20 with s = 0.7 p/(0.7 p + 0.3 (1 − p)): 0.4 p² + 0.3 p = 0.4·(0.4 p + 0.3) + 0.35 p, so
    // 0.4 p² − 0.21 p − 0.12 = 0 and p = (0.21 + √(0.0441 + 0.192))/0.8.
    let soft = Alike {
        weights: vec![0.7, 0.3],
        readings: 10.0,
    };
    let row = row_posterior(&[0.8, 0.2], 10.0, &[soft]);
    let p = (0.21 + 0.2361_f64.sqrt()) / 0.8;
    close(row[0].mean, p, 1e-12);
    // It is less sure than ten plain ones, and surer than none.
    let width = |row: &[Posterior]| row[0].interval[1] - row[0].interval[0];
    let none = row_posterior(&[0.8, 0.2], 10.0, &[]);
    let ten = row_posterior(&[0.8, 0.2], 10.0, &plain(&[9, 1]));
    assert!(width(&ten) < width(&row) && width(&row) < width(&none));
    // A reading that says nothing changes nothing.
    let nothing = Alike {
        weights: vec![0.5, 0.5],
        readings: 50.0,
    };
    let row = row_posterior(&[0.8, 0.2], 10.0, &[nothing]);
    close(row[0].mean, 0.8, 1e-9);
    close(row[0].interval[0], none[0].interval[0], 1e-6);
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
    let row = row_posterior(&[0.5, 0.5], 2.0, &plain(&[437, 543]));
    close(row[0].mean, 438.0 / 982.0, 1e-12);
    close(row[0].interval[0], 0.415, 5e-4);
    close(row[0].interval[1], 0.477, 5e-4);
}

#[test]
fn quantiles_of_the_gamma_are_those_of_exponential_and_chi_squared() {
    for p in [0.001, 0.025, 0.5, 0.975, 0.999_f64] {
        close(gamma_quantile(1.0, p), -(1.0 - p).ln(), 1e-9);
    }
    // Chi-squared with ten degrees of freedom: 3.2470 and 20.4832 (Abramowitz and Stegun, table 26.8), twice a gamma of 5.
    close(gamma_quantile(5.0, 0.025), 3.2470 / 2.0, 1e-4);
    close(gamma_quantile(5.0, 0.975), 20.4832 / 2.0, 1e-4);
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
    let learned = learn(&family, &records.tally(&family), Prior::default(), None);
    assert!(learned.rates.0.is_empty() && learned.shows.0.is_empty());
    assert_eq!((learned.jobs, learned.dates), (0, None));
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
    let learned = learn(&family, &records.tally(&family), prior, None);
    // W = 100: the leak weighs 100 · 0.06/0.94 + 1, the torn seal 100 · 0.02/0.98; the three jobs go by these.
    let [pump, strainer, leak, torn] = STATED.map(|rate| 100.0 * odds(rate));
    let share = (leak + 1.0) / (leak + 1.0 + torn);
    let expected = [
        (pump, 0, 0),
        (strainer + 5.0, 5, 0),
        (leak + 1.0 + 3.0 * share, 1, 3),
        (torn + 3.0 * (1.0 - share), 0, 3),
    ];
    for (figure, (count, seen, unstated)) in rates(&learned).iter().zip(expected) {
        assert_eq!(
            (figure.seen, figure.unstated, figure.jobs),
            (seen, unstated, 9)
        );
        close(odds(figure.now), held(count, 9.0), 1e-12);
    }
    assert_eq!(rates(&learned)[2].same_repair, ["seal-torn"]);
}

/// The stated rates, in the order of [`CAUSES`].
const STATED: [f64; 4] = [14.0, 30.0, 60.0, 20.0];

fn odds(rate: f64) -> f64 {
    rate / (1000.0 - rate)
}

/// The odds of a cause that counts for so many of all jobs, the prior's among them, where all odds together stay
/// as stated and W = 100.
fn held(count: f64, jobs: f64) -> f64 {
    let all: f64 = STATED.map(odds).iter().sum();
    all * count / (100.0 * all + jobs)
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
    let learned = learn(&family, &records.tally(&family), prior, None);

    // Λ · (W·λ + k)/(W·Λ + N) with W = 100, N = 6 and Λ the sum of the stated odds.
    for ((figure, was), seen) in rates(&learned).iter().zip(STATED).zip([0, 5, 1, 0]) {
        assert_eq!((figure.was, figure.seen, figure.jobs), (was, seen, 6));
        let count = 100.0 * odds(was) + seen as f64;
        close(odds(figure.now), held(count, 6.0), 1e-12);
        // The share is as sure as its count and the level as sure as it was: 1/count − 1/(WΛ + N) + 1/WΛ.
        let level: f64 = 100.0 * STATED.map(odds).iter().sum::<f64>();
        let shape = 1.0 / (1.0 / count - 1.0 / (level + 6.0) + 1.0 / level);
        for (end, p) in figure.interval.iter().zip([0.025, 0.975]) {
            let expected = odds(figure.now) / shape * gamma_quantile(shape, p);
            close(odds(*end), expected, 1e-9);
        }
    }

    // The seal's reading moves no row: the measurement does not name it.
    let shown = shown(&learned);
    let is = |at: [&str; 3], was: f64, now: f64, seen| {
        let figure = shown[&at];
        close(figure.was, was, 1e-15);
        close(figure.now, now, 1e-12);
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
    let learned = learn(&family, &records.tally(&family), prior, None);
    let shown = shown(&learned);
    let expected = [
        ["pressure", "high", "pump-worn"],
        ["pressure", "low", "pump-worn"],
        ["residue", "dark", "strainer-clogged"],
        ["residue", "metal", "strainer-clogged"],
    ];
    assert_eq!(shown.keys().copied().collect::<Vec<_>>(), expected);
    // Stated 0.8 low, nothing high: (8 + 0)/11 and (0 + 1)/11.
    close(shown[&expected[1]].now, 8.0 / 11.0, 1e-12);
    close(shown[&expected[0]].now, 1.0 / 11.0, 1e-12);
    // `rest: chance`: of the half that 0.5 dark leaves, 0.02 is metal: 0.01, worth 0.1 of 10.
    close(shown[&expected[3]].was, 0.01, 1e-15);
    close(shown[&expected[3]].now, 0.1 / 11.0, 1e-12);
}

#[test]
fn what_the_floor_a_mistold_answer_or_a_hidden_fault_explains_is_not_learned() {
    let mut family = family();
    let mut records = Records::new();
    for outcome in ["low", "low", "normal", "normal", "high"] {
        records.job([vec![reading("pressure", outcome)], ending(&["pump-worn"])].concat());
    }
    let prior = Prior::new(100.0, 10.0).unwrap();
    let tally = records.tally(&family);
    // A fifth of the answers may be any of the three. With p low and q high, v = 1/12 behind every weight, and 15 in all:
    // 15 p = 8 + 2 (1 + v) p/(p + v) + v p (2/(1 − p − q + v) + 1/(q + v)), and so on: found by going round.
    let (v, mut p, mut q) = (1.0 / 12.0, 0.6, 0.1);
    family.figures.mistold = super::p(0.2);
    family.measurements[0].told_by = Some(halfsplit::knowledge::ToldBy::Customer);
    for _ in 0..10_000 {
        let [low, normal, high] = [p + v, 1.0 - p - q + v, q + v];
        let of = |own: f64| v * (2.0 / low + 2.0 / normal + 1.0 / high) + own;
        let next = (8.0 + p * of(2.0 / low), q * of(1.0 / high));
        (p, q) = (next.0 / 15.0, next.1 / 15.0);
    }
    let learned = learn(&family, &tally, prior, None);
    let shown = shown(&learned);
    close(shown[&["pressure", "low", "pump-worn"]].now, p, 1e-9);
    // One of five is less than may be mistold of them: a share stated as 0 stays 0.
    assert!(q < 1e-9 && !shown.contains_key(&["pressure", "high", "pump-worn"]));
}

#[test]
fn a_reading_of_a_fault_that_does_not_show_says_little() {
    let mut family = family();
    family.measurements[0].only_then = true;
    family.fades = vec![(RESIDUE, vec![(OutcomeId::at(1), super::p(0.25))])];
    let mut records = Records::new();
    for _ in 0..4 {
        let readings = vec![reading("pressure", "normal"), reading("residue", "dark")];
        records.job([readings, ending(&["pump-worn"])].concat());
    }
    let prior = Prior::new(100.0, 10.0).unwrap();
    let learned = learn(&family, &records.tally(&family), prior, None);
    // A quarter is left: each normal reading has the likelihood 1 − p/4, so that 14 p = 8 + 4 · 3 p/(4 − p), where all shares
    // but p go to normal: 14 p² − 52 p + 32 = 0, and p = (52 − √(2704 − 1792))/28.
    let p = (52.0 - 912.0_f64.sqrt()) / 28.0;
    close(
        shown(&learned)[&["pressure", "low", "pump-worn"]].now,
        p,
        1e-9,
    );
}

#[test]
fn a_weight_must_be_above_zero() {
    let refused = [
        (0.0, 1.0),
        (1.0, 0.0),
        (-1.0, 1.0),
        (f64::NAN, 1.0),
        (1.0, f64::INFINITY),
        (1e15, 1.0),
    ];
    for (jobs, readings) in refused {
        assert_eq!(Prior::new(jobs, readings), None);
    }
}

#[test]
fn the_number_of_driveline_jobs_fixes_the_level() {
    let family = family();
    let mut records = Records::new();
    for _ in 0..5 {
        records.job(ending(&["strainer-clogged"]));
    }
    records.job(ending(&["seal-leak"]));
    let prior = Prior::new(100.0, 10.0).unwrap();
    let learned = learn(&family, &records.tally(&family), prior, Some(40));
    // Every cause brings about the one complaint: odds (W·λ + k)/(W + 40).
    for ((figure, was), seen) in rates(&learned).iter().zip(STATED).zip([0.0, 5.0, 1.0, 0.0]) {
        let count = 100.0 * odds(was) + seen;
        close(odds(figure.now), count / 140.0, 1e-12);
        let end = gamma_quantile(count, 0.975) / 140.0;
        close(odds(figure.interval[1]), end, 1e-9);
    }
}

/// Two causes were stated where one explains the complaint: both were seen, and neither is unsure.
#[test]
fn each_cause_that_was_stated_was_seen() {
    let family = family();
    let mut records = Records::new();
    records.job(ending(&["pump-worn", "strainer-clogged"]));
    records.job(ending(&["pump-worn"]));
    let prior = Prior::new(100.0, 10.0).unwrap();
    let learned = learn(&family, &records.tally(&family), prior, None);
    let told = |name: &str| {
        let moved = &learned.rates.0[name];
        (moved.seen, moved.unstated)
    };
    assert_eq!(told("pump-worn"), (2, 0));
    assert_eq!(told("strainer-clogged"), (1, 0));
    assert_eq!(told("seal-leak"), (0, 0));
}
