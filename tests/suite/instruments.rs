//! What an instrument's data sheet makes of a reading: JCGM 100 and EN 837-1.

use halfsplit::units::Interval;
use halfsplit::units::uncertainty::{Accuracy, uniform};

#[track_caller]
fn near(found: f64, expected: f64, relative: f64) {
    assert!(
        (found - expected).abs() <= relative * expected.abs(),
        "{found} is not {expected}"
    );
}

/// Source, seen: JCGM 100, 4.3.7.
///
/// The example of 0.40e-6 is from memory.
#[test]
fn a_half_width_becomes_a_standard_uncertainty() {
    near(uniform(1.0), 0.577_350_269_2, 1e-8);
    near(uniform(0.40e-6), 2.309_401_077e-7, 1e-8);
}

/// Source, from memory: JCGM 100, 4.3.7, the voltmeter.
///
/// ±(14e-6 of reading + 2e-6 of the range of 1 V) at
/// 0.928571 V, and a scatter of 12e-6 V.
#[test]
fn percent_of_reading_and_digits_follow_the_voltmeter_example() {
    let voltmeter = Accuracy::PercentDigits {
        percent: 14e-4,
        digits: 2.0,
        digit: 1e-6,
    };
    let u = voltmeter.standard_uncertainty(0.928_571);
    near(u * 3.0_f64.sqrt(), 14.999_994e-6, 1e-6);
    near(u, 8.660_250_6e-6, 1e-6);
    near(u.hypot(12e-6), 14.798_647e-6, 1e-6);
}

/// Source, computed: JCGM 100, 4.3.7, the same rule.
///
/// 12.40 V, ±(0.5 % + 2 digits of 0.01 V): a = 0.062 + 0.02.
#[test]
fn a_multimeter_is_worth_its_percent_and_its_digits() {
    let multimeter = Accuracy::PercentDigits {
        percent: 0.5,
        digits: 2.0,
        digit: 0.01,
    };
    near(
        multimeter.standard_uncertainty(12.40) * 3.0_f64.sqrt(),
        0.082,
        1e-6,
    );
    near(
        multimeter.standard_uncertainty(12.40),
        0.047_342_722_1,
        1e-8,
    );
    near(
        multimeter.standard_uncertainty(-12.40),
        0.047_342_722_1,
        1e-8,
    );
}

/// Source, seen: EN 837-1, the largest errors by class.
///
/// The class is in percent of the span.
#[test]
fn the_class_of_a_gauge_counts_from_its_span() {
    for (class, from, to, error, u) in [
        (1.6, 0.0, 10.0, 0.16, 0.092_376_043_1),
        (1.0, 0.0, 25.0, 0.25, 0.144_337_567_3),
        (1.0, -1.0, 5.0, 0.06, 0.034_641_016_2),
        (2.5, 0.0, 2.5, 0.0625, 0.036_084_391_8),
    ] {
        let span = Interval::new(from, to).unwrap().span();
        let gauge = Accuracy::Class { class, span };
        near(gauge.standard_uncertainty(0.0), u, 1e-8);
        near(gauge.standard_uncertainty(to) * 3.0_f64.sqrt(), error, 1e-8);
    }
}

/// Source, computed: JCGM 100, F.2.2.1.
///
/// d/√12; and a gauge of class 1.6, 0 to 10 `MPa`, read to the nearest 0.1 `MPa`.
#[test]
fn a_resolution_adds_in_quadrature() {
    let step = Accuracy::Resolution(1.0);
    near(step.standard_uncertainty(0.0), 0.288_675_134_6, 1e-8);
    let gauge = Accuracy::Class {
        class: 1.6,
        span: 10.0,
    };
    let pointer = Accuracy::Resolution(0.1);
    let both = gauge
        .standard_uncertainty(4.1)
        .hypot(pointer.standard_uncertainty(4.1));
    near(both, 0.096_781_540_9, 1e-8);
}

/// Judged: the gauge of 10 `MPa`, class 1.6, is taken at 90 kPa, that of 3 `MPa` at 28.
#[test]
fn the_judged_figures_of_the_gauges_are_their_class_rounded() {
    near(
        Accuracy::Class {
            class: 1.6,
            span: 10_000.0,
        }
        .standard_uncertainty(0.0),
        90.0,
        0.03,
    );
    near(
        Accuracy::Class {
            class: 1.6,
            span: 3_000.0,
        }
        .standard_uncertainty(0.0),
        28.0,
        0.02,
    );
    near(
        Accuracy::Standard(90.0).standard_uncertainty(5_000.0),
        90.0,
        0.0,
    );
}

#[test]
fn a_value_outside_the_range_is_no_value() {
    let range = Interval::new(0.0, 10_000.0).unwrap();
    assert!(range.holds(0.0) && range.holds(10_000.0));
    assert!(!range.holds(10_001.0) && !range.holds(-1.0) && !range.holds(f64::NAN));
    assert_eq!(Interval::new(1.0, 0.0), None);
    assert_eq!(Interval::new(0.0, f64::INFINITY), None);
}

#[test]
fn an_accuracy_without_a_meaning_is_not_sound() {
    for sound in [
        Accuracy::Standard(0.0),
        Accuracy::Class {
            class: 1.6,
            span: 6.0,
        },
        Accuracy::PercentDigits {
            percent: 0.5,
            digits: 0.0,
            digit: 0.0,
        },
        Accuracy::Resolution(0.1),
    ] {
        assert!(sound.is_sound(), "{sound:?}");
    }
    for unsound in [
        Accuracy::Standard(-1.0),
        Accuracy::Standard(f64::NAN),
        Accuracy::Class {
            class: 1.6,
            span: 0.0,
        },
        Accuracy::PercentDigits {
            percent: 0.0,
            digits: 2.0,
            digit: 0.0,
        },
        Accuracy::Resolution(0.0),
    ] {
        assert!(!unsound.is_sound(), "{unsound:?}");
    }
}
