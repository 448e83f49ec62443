//! What a reading says about the bands of its true value: JCGM 106.

use halfsplit::units::conformity::{
    Band, CLEAR_AT, End, Known, SETTLED_AT, blur, call, settling_uncertainty, weights,
};
use halfsplit::units::uncertainty::Accuracy;
use proptest::prelude::*;

/// Bands by their limits: open at `below` and `above`, closed at the others.
trait Limits: Sized {
    fn between(from: Option<End>, to: Option<End>) -> Self;

    fn below(at: f64) -> Self {
        Self::between(None, Some(End { at, closed: false }))
    }
    fn above(at: f64) -> Self {
        Self::between(Some(End { at, closed: false }), None)
    }
    fn at_least(at: f64) -> Self {
        Self::between(Some(End { at, closed: true }), None)
    }
    fn at_most(at: f64) -> Self {
        Self::between(None, Some(End { at, closed: true }))
    }
    fn from_to(from: f64, to: f64) -> Self {
        let closed = |at| Some(End { at, closed: true });
        Self::between(closed(from), closed(to))
    }
    fn open_below(self) -> Self;
    fn open_above(self) -> Self;
}

impl Limits for Band {
    fn between(from: Option<End>, to: Option<End>) -> Self {
        Self { from, to }
    }
    fn open_below(mut self) -> Self {
        self.from = self.from.map(|end| End {
            closed: false,
            ..end
        });
        self
    }
    fn open_above(mut self) -> Self {
        self.to = self.to.map(|end| End {
            closed: false,
            ..end
        });
        self
    }
}

#[track_caller]
fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} is not {expected}"
    );
}

fn one(bands: &[Band]) -> Vec<Vec<Band>> {
    bands.iter().map(|&band| vec![band]).collect()
}

fn low_normal_high(low: f64, high: f64) -> Vec<Vec<Band>> {
    one(&[
        Band::below(low),
        Band::from_to(low, high),
        Band::above(high),
    ])
}

/// Source, from memory: JCGM 106, 7, the reference diode.
///
/// Conforming at or below −5.40 V.
#[test]
fn the_reference_diode_conforms_with_92_percent() {
    let outcomes = one(&[Band::at_most(-5.40), Band::above(-5.40)]);
    let found = weights(
        Known::Normal {
            value: -5.47,
            u: 0.05,
        },
        &outcomes,
    );
    near(found[0], 0.919_243_340_77, 1e-9);
    near(found[0] + found[1], 1.0, 1e-12);
}

/// Source, from memory: JCGM 106, 7, the viscosity of an oil.
///
/// 12.5 to 16.3 mm²/s.
#[test]
fn the_oil_has_three_weights_that_add_up_to_one() {
    let found = weights(
        Known::Normal {
            value: 13.6,
            u: 1.8,
        },
        &low_normal_high(12.5, 16.3),
    );
    near(found[0], 0.270_563_012_24, 1e-9);
    near(found[1], 0.662_629_786_50, 1e-9);
    near(found[2], 0.066_807_201_27, 1e-9);
    near(found.iter().sum(), 1.0, 1e-12);
}

/// Source, computed: JCGM 106, the normal distribution.
///
/// Its quantiles, and the intervals of 1, 2 and 3 u.
#[test]
fn the_normal_integral_is_accurate() {
    for (p, z) in [
        (0.80, 0.841_621_233_6),
        (0.90, 1.281_551_565_5),
        (0.95, 1.644_853_626_97),
        (0.99, 2.326_347_874_0),
        (0.999, 3.090_232_306_2),
    ] {
        // 1e-9 in z is at most 3e-10 in p.
        near(
            weights(
                Known::Normal { value: 0.0, u: 1.0 },
                &one(&[Band::below(z)]),
            )[0],
            p,
            1e-10,
        );
        near(
            weights(
                Known::Normal { value: 0.0, u: 1.0 },
                &one(&[Band::above(-z)]),
            )[0],
            p,
            1e-10,
        );
    }
    for (k, p) in [
        (1.0, 0.682_689_492_1),
        (2.0, 0.954_499_736_1),
        (3.0, 0.997_300_203_9),
    ] {
        near(
            weights(
                Known::Normal { value: 7.0, u: 2.0 },
                &one(&[Band::from_to(7.0 - 2.0 * k, 7.0 + 2.0 * k)]),
            )[0],
            p,
            1e-9,
        );
    }
}

/// Source, computed: JCGM 106.
///
/// Each side has one half, and the posterior is the prior.
#[test]
fn a_reading_on_the_only_limit_moves_nothing() {
    let found = weights(
        Known::Normal { value: 4.0, u: 0.1 },
        &one(&[Band::below(4.0), Band::at_least(4.0)]),
    );
    near(found[0], 0.5, 1e-12);
    near(found[1], 0.5, 1e-12);
    // Bayes with rows (0.9, 0.1) and (0.02, 0.98): both likelihoods are one half.
    let likelihood = |row: [f64; 2]| found[0] * row[0] + found[1] * row[1];
    near(likelihood([0.9, 0.1]), likelihood([0.02, 0.98]), 1e-12);
}

/// Source, computed: EN 837-1; JCGM 100, 4.3.7; JCGM 106.
///
/// A gauge of class 1.6, 0 to 10 `MPa`, at 4.1 `MPa`: number, uncertainty, weights, posterior.
#[test]
fn a_reading_near_its_limit_moves_the_diagnosis_only_a_little() {
    let u = Accuracy::Class {
        class: 1.6,
        span: 10.0,
    }
    .standard_uncertainty(4.1);
    let outcomes = low_normal_high(4.0, 5.0);
    let posterior_of_a = |w: &[f64]| {
        let (a, b) = (w[0] * 0.9 + w[1] * 0.1, w[0] * 0.02 + w[1] * 0.98);
        (a, b, 0.5 * a / (0.5 * a + 0.5 * b))
    };
    let found = weights(Known::Normal { value: 4.1, u }, &outcomes);
    near(found[0], 0.139_508_156_6, 1e-9);
    near(found[1], 0.860_491_843_4, 1e-9);
    near(found[2], 0.0, 1e-9);
    let (a, b, posterior) = posterior_of_a(&found);
    near(a, 0.211_606_525_3, 1e-9);
    near(b, 0.846_072_169_7, 1e-9);
    near(posterior, 0.200_066_926_1, 1e-9);
    let hard = weights(Known::Normal { value: 4.1, u: 0.0 }, &outcomes);
    assert_eq!(hard, [0.0, 1.0, 0.0]);
    near(posterior_of_a(&hard).2, 0.092_592_592_6, 1e-9);
}

#[test]
fn without_uncertainty_a_limit_belongs_where_its_band_says() {
    let outcomes = low_normal_high(4.0, 5.0);
    let hard = |value| weights(Known::Normal { value, u: 0.0 }, &outcomes);
    assert_eq!(hard(4.0), [0.0, 1.0, 0.0]);
    assert_eq!(hard(5.0), [0.0, 1.0, 0.0]);
    assert_eq!(hard(3.999), [1.0, 0.0, 0.0]);
    assert_eq!(hard(5.001), [0.0, 0.0, 1.0]);
    let open = one(&[
        Band::at_most(4.0),
        Band::from_to(4.0, 5.0).open_below().open_above(),
    ]);
    assert_eq!(
        weights(Known::Normal { value: 4.0, u: 0.0 }, &open),
        [1.0, 0.0]
    );
    assert_eq!(
        weights(Known::Normal { value: 5.0, u: 0.0 }, &open),
        [0.0, 0.0]
    );
}

/// An end stop says the side and no more: every outcome that reaches beyond it keeps weight 1.
#[test]
fn an_end_stop_leaves_every_outcome_beyond_it_in_play() {
    let outcomes = low_normal_high(5.2, 5.9);
    assert_eq!(weights(Known::Above(6.0), &outcomes), [0.0, 0.0, 1.0]);
    assert_eq!(weights(Known::Above(5.5), &outcomes), [0.0, 1.0, 1.0]);
    assert_eq!(weights(Known::Above(5.9), &outcomes), [0.0, 0.0, 1.0]);
    assert_eq!(weights(Known::Below(0.1), &outcomes), [1.0, 0.0, 0.0]);
    assert_eq!(weights(Known::Below(5.5), &outcomes), [1.0, 1.0, 0.0]);
}

/// A swing of 4.0 to 6.0 about the limit 5.5: three quarters below, one quarter above.
#[test]
fn a_swing_is_shared_out_by_its_parts() {
    let outcomes = one(&[Band::below(5.5), Band::at_least(5.5)]);
    let found = weights(
        Known::Swing {
            from: 4.0,
            to: 6.0,
            u: 0.0,
        },
        &outcomes,
    );
    near(found[0], 0.75, 1e-15);
    near(found[1], 0.25, 1e-15);
    // A swing within its band stays there; a swing of no width is a reading.
    assert_eq!(
        weights(
            Known::Swing {
                from: 4.0,
                to: 5.0,
                u: 0.0
            },
            &outcomes
        ),
        [1.0, 0.0]
    );
    let still = weights(
        Known::Swing {
            from: 5.4,
            to: 5.4,
            u: 0.1,
        },
        &outcomes,
    );
    assert_eq!(
        still,
        weights(Known::Normal { value: 5.4, u: 0.1 }, &outcomes)
    );
    // JCGM 100, 4.3.7: a half-width of 1 has u = 0.577; with 0.2 beside it, √(1/3 + 0.04).
    let (middle, u) = Known::Swing {
        from: 4.0,
        to: 6.0,
        u: 0.2,
    }
    .moments()
    .unwrap();
    near(middle, 5.0, 0.0);
    near(u, 0.611_010_092_6, 1e-9);
    assert_eq!(Known::Above(6.0).moments(), None);
}

#[test]
fn a_reading_is_clear_or_too_close_to_call() {
    let outcomes = low_normal_high(4.0, 5.0);
    let judged = |value| {
        call(&weights(
            Known::Normal {
                value,
                u: 0.092_376,
            },
            &outcomes,
        ))
        .unwrap()
    };
    let close = judged(4.1);
    assert_eq!((close.outcome, close.clear), (1, false));
    near(close.probability, 0.8605, 1e-4);
    assert!(judged(4.5).clear);
    assert!(close.probability < CLEAR_AT);
    assert_eq!(call(&[0.0, 0.0]), None);
    assert_eq!(call(&[]), None);
    // Against a stop that two outcomes reach beyond, neither is likelier.
    near(call(&[0.0, 1.0, 1.0]).unwrap().probability, 0.5, 0.0);
}

/// One-sided, 0.95 is 1.6448536270 u: 0.1 from the limit asks for u = 0.0607956832.
#[test]
fn the_uncertainty_that_would_settle_a_reading_is_known() {
    let found = settling_uncertainty(4.1, &low_normal_high(4.0, 5.0)).unwrap();
    near(found, 0.060_795_683_2, 1e-9);
    let check = weights(
        Known::Normal {
            value: 4.1,
            u: found,
        },
        &low_normal_high(4.0, 5.0),
    );
    near(check[1], SETTLED_AT, 1e-9);
    assert_eq!(
        settling_uncertainty(4.0, &low_normal_high(4.0, 5.0)),
        None,
        "on the limit"
    );
    assert_eq!(
        settling_uncertainty(4.0, &one(&[Band::default()])),
        Some(f64::INFINITY)
    );
    // 4.1 lies 0.9 from the end of its outcome, if that goes on where its first band ends.
    let joined = vec![
        vec![Band::below(4.0)],
        vec![Band::from_to(4.0, 4.2), Band::from_to(4.2, 5.0)],
        vec![Band::above(5.0)],
    ];
    near(
        settling_uncertainty(4.1, &joined).unwrap(),
        0.060_795_683_2,
        1e-9,
    );
}

#[test]
fn foresight_without_uncertainty_is_the_identity() {
    let found = blur(&low_normal_high(4.0, 5.0), 0.0, None);
    assert_eq!(found, [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]);
}

/// From a band of width w a reading leaves over one end with u/w · φ(0), where the far end is far:
/// ∫Φ(−x) over x ≥ 0 is φ(0) = 0.3989422804. Here u/w = 0.1; the other end adds less than 1e-20.
#[test]
fn foresight_loses_at_each_limit_what_the_integral_says() {
    let found = blur(&low_normal_high(4.0, 5.0), 0.1, None);
    let lost = 0.039_894_228_04;
    let expected = [
        [1.0 - lost, lost, 0.0],
        [lost, 1.0 - 2.0 * lost, lost],
        [0.0, lost, 1.0 - lost],
    ];
    for (row, wanted) in found.iter().zip(expected) {
        for (cell, want) in row.iter().zip(wanted) {
            near(*cell, want, 1e-10);
        }
    }
}

/// Two open bands and no bounded one: each is a fifth of the limit wide, 5/5 = 1, or as wide as is stated. With w = 1 and
/// u = 0.1 a reading leaves over the limit with 0.1·φ(0); with w = 2 with half of that.
#[test]
fn an_open_band_is_a_fifth_of_its_limit_wide_where_nothing_else_is_known() {
    let bands = one(&[Band::below(5.0), Band::at_least(5.0)]);
    for (open, lost) in [(None, 0.039_894_228_04), (Some(2.0), 0.019_947_114_02)] {
        let found = blur(&bands, 0.1, open);
        near(found[0][1], lost, 1e-10);
        near(found[1][0], lost, 1e-10);
    }
}

/// The width of no band depends on u, so every band keeps more of its own readings the finer the instrument is.
#[test]
fn a_finer_instrument_never_misreads_more() {
    let sets = [
        one(&[Band::below(5.0), Band::at_least(5.0)]),
        low_normal_high(4.0, 5.0),
        one(&[
            Band::below(2.0),
            Band::from_to(2.0, 3.0).open_above(),
            Band::from_to(3.0, 7.0).open_above(),
            Band::at_least(7.0),
        ]),
    ];
    for outcomes in sets {
        let mut coarser: Option<Vec<f64>> = None;
        for step in 0..60 {
            let u = 10.0 * 0.8_f64.powi(step);
            let found = blur(&outcomes, u, None);
            let right: Vec<f64> = (0..found.len()).map(|o| found[o][o]).collect();
            for (fine, coarse) in right.iter().zip(coarser.iter().flatten()) {
                assert!(*fine >= coarse - 1e-12, "u {u}: {fine} < {coarse}");
            }
            coarser = Some(right);
        }
    }
}

/// An outcome of two bands is the average of the two: `off` below and above `normal`.
#[test]
fn foresight_of_a_union_is_the_average_of_its_bands() {
    let apart = blur(&low_normal_high(-1.0, 1.0), 0.5, None);
    let off = vec![
        vec![Band::below(-1.0), Band::above(1.0)],
        vec![Band::from_to(-1.0, 1.0)],
    ];
    let joined = blur(&off, 0.5, None);
    near(joined[0][1], f64::midpoint(apart[0][1], apart[2][1]), 1e-12);
    near(joined[1][0], apart[1][0] + apart[1][2], 1e-12);
}

/// The slow way: the readings of ten thousand true values, evenly over the band.
#[test]
fn foresight_agrees_with_trying_many_true_values() {
    const STEPS: u32 = 10_000;
    let outcomes = one(&[
        Band::below(2.0),
        Band::from_to(2.0, 3.0).open_above(),
        Band::from_to(3.0, 7.0).open_above(),
        Band::at_least(7.0),
    ]);
    for u in [0.05, 0.4, 3.0] {
        let found = blur(&outcomes, u, None);
        // The open bands are as wide as the narrowest bounded one: 1.
        for (row, (from, to)) in found
            .iter()
            .zip([(1.0, 2.0), (2.0, 3.0), (3.0, 7.0), (7.0, 8.0)])
        {
            let mut slow = [0.0; 4];
            for step in 0..STEPS {
                let value = from + (to - from) * (f64::from(step) + 0.5) / f64::from(STEPS);
                for (sum, w) in slow
                    .iter_mut()
                    .zip(weights(Known::Normal { value, u }, &outcomes))
                {
                    *sum += w / f64::from(STEPS);
                }
            }
            for (cell, slow) in row.iter().zip(slow) {
                near(*cell, slow, 1e-6);
            }
        }
    }
}

proptest! {
    #[test]
    fn weights_of_bands_that_cover_every_value_add_up_to_one(
        low in -100.0..100.0_f64, width in 0.0..50.0_f64, at in -200.0..200.0_f64, u in 0.0..50.0_f64, swing in 0.0..20.0_f64,
    ) {
        let outcomes = low_normal_high(low, low + width);
        for known in [Known::Normal { value: at, u }, Known::Swing { from: at, to: at + swing, u }] {
            let found = weights(known, &outcomes);
            prop_assert!((found.iter().sum::<f64>() - 1.0).abs() < 1e-9, "{:?}", found);
            prop_assert!(found.iter().all(|w| (0.0..=1.0).contains(w)));
        }
    }

    #[test]
    fn every_row_of_foresight_adds_up_to_one(
        low in -100.0..100.0_f64, width in 1e-9..50.0_f64, exponent in -9.0..9.0_f64,
    ) {
        for row in blur(&low_normal_high(low, low + width), 10.0_f64.powf(exponent), None) {
            prop_assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-12);
            prop_assert!(row.iter().all(|cell| (0.0..=1.0).contains(cell)));
        }
    }
}
