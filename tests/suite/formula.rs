//! Derived quantities: driveline mechanics as formulas, and the uncertainty carried through.

use halfsplit::units::formula::{
    DEEPEST, Formula, LONGEST, MOST_NAMES, MOST_OPERATORS, Measured, NoValue,
};
use proptest::prelude::*;
use std::collections::BTreeMap;

type Readings = BTreeMap<String, Measured>;

fn readings(given: &[(&str, f64, f64)]) -> Readings {
    given
        .iter()
        .map(|&(name, value, u)| (name.to_owned(), Measured { value, u }))
        .collect()
}

fn evaluate(text: &str, given: &[(&str, f64, f64)]) -> Measured {
    Formula::parse(text)
        .unwrap()
        .evaluate(&readings(given))
        .unwrap()
}

fn value(text: &str, given: &[(&str, f64)]) -> f64 {
    let exact: Vec<_> = given
        .iter()
        .map(|&(name, value)| (name, value, 0.0))
        .collect();
    evaluate(text, &exact).value
}

#[track_caller]
fn near(found: f64, expected: f64, relative: f64) {
    assert!(
        (found - expected).abs() <= relative * expected.abs(),
        "{found} is not {expected}"
    );
}

/// Source, from memory: Budynas and Nisbett 2011, planetary example.
///
/// Sun 20, ring 80 held, sun at 100 rpm.
#[test]
fn a_single_pinion_train_with_the_ring_held_turns_its_carrier_at_a_fifth() {
    let carrier = "sun_speed / (1 + ring / sun)";
    near(
        value(
            carrier,
            &[("sun_speed", 100.0), ("ring", 80.0), ("sun", 20.0)],
        ),
        20.0,
        1e-9,
    );
}

/// Source, computed: Budynas and Nisbett 2011, the equation of Willis.
///
/// (ws − wc)/(wr − wc) = Zr/Zs for a double pinion train.
#[test]
fn a_double_pinion_train_with_the_ring_held_turns_backwards() {
    let carrier = "1 / (1 - ring / sun)";
    near(value(carrier, &[("ring", 72.0), ("sun", 36.0)]), -1.0, 1e-9);
    near(
        value(carrier, &[("ring", 78.0), ("sun", 42.0)]),
        -1.166_666_666_7,
        1e-9,
    );
    // Locked: with sun and carrier at one speed the ring has it too.
    let ring = "carrier + (sun_speed - carrier) * sun / ring";
    let locked = [
        ("carrier", 700.0),
        ("sun_speed", 700.0),
        ("sun", 36.0),
        ("ring", 72.0),
    ];
    near(value(ring, &locked), 700.0, 1e-9);
}

/// Source, computed: definitions.
#[test]
fn ratios_and_slip_follow_their_definitions() {
    near(
        value("low / high", &[("low", 2.40), ("high", 0.40)]),
        6.0,
        1e-12,
    );
    let converter = [("turbine", 1850.0), ("pump", 2000.0)];
    near(value("turbine / pump", &converter), 0.925, 1e-12);
    near(
        value("100 * (pump - turbine) / pump", &converter),
        7.5,
        1e-12,
    );
    near(value("pump - turbine", &converter), 150.0, 1e-12);
    near(
        value("input / output", &[("input", 2000.0), ("output", 1250.0)]),
        1.6,
        1e-12,
    );
}

const BELT: &str = "2*c*cos(asin((a-b)/c)) + pi*(a+b) + 2*asin((a-b)/c)*(a-b)";

/// Source, seen: definitions, the length of an open belt.
///
/// 2C·cos α + π(R + r) + 2α(R − r), sin α = (R − r)/C.
#[test]
fn an_open_belt_is_as_long_as_its_geometry_says() {
    near(
        value(BELT, &[("c", 13.0), ("a", 6.0), ("b", 1.0)]),
        49.939_059_772_1,
        1e-8,
    );
    near(
        value(
            "2*c + pi*(a+b) + (a-b)^2/c",
            &[("c", 13.0), ("a", 6.0), ("b", 1.0)],
        ),
        49.914_225_498_2,
        1e-8,
    );
    let wide = [("c", 96.0), ("a", 9.0), ("b", 3.0)];
    near(value(BELT, &wide), 230.074_234_056_7, 1e-8);
    near(value("pi - 2*asin((a-b)/c)", &wide), 3.016_511_130_0, 1e-8);
}

/// Source, computed: definitions, the length of an open belt.
///
/// Constant over C 155 mm; the stated radii all give that length.
#[test]
fn a_variator_keeps_the_length_of_its_belt() {
    let length = 641.894_315_955_3;
    for (a, b) in [
        (72.0, 30.0),
        (52.822_620_968_1, 52.822_620_968_1),
        (60.0, 45.194_756_766_1),
        (30.0, 72.0),
    ] {
        near(
            value(BELT, &[("c", 155.0), ("a", a), ("b", b)]),
            length,
            1e-8,
        );
    }
    let ratio = "driven / driving";
    near(
        value(ratio, &[("driven", 45.194_756_766_1), ("driving", 60.0)]),
        0.753_245_946_1,
        1e-8,
    );
    near(
        value(
            "(big / small) / (small / big)",
            &[("big", 72.0), ("small", 30.0)],
        ),
        5.76,
        1e-8,
    );
}

/// Source, computed: definitions, rolling.
///
/// 50 km/h over the circumference in metres.
#[test]
fn unequal_tyres_force_slip_on_a_locked_coupling() {
    let turns = "speed / 3.6 * 60 / circumference";
    let (front, rear) = (
        value(turns, &[("speed", 50.0), ("circumference", 2.000)]),
        value(turns, &[("speed", 50.0), ("circumference", 1.980)]),
    );
    near(front, 416.666_666_7, 1e-7);
    near(rear, 420.875_420_9, 1e-7);
    near(rear - front, 4.208_754_2, 1e-7);
    let across = "final_drive * abs(front - rear)";
    near(
        value(
            across,
            &[("final_drive", 4.1), ("front", front), ("rear", rear)],
        ),
        17.255_892_3,
        1e-7,
    );
    let mismatch = "100 * (larger - smaller) / smaller";
    near(
        value(mismatch, &[("larger", 2000.0), ("smaller", 1980.0)]),
        1.010_101_0,
        1e-7,
    );
}

/// Source, seen: IEC 60028.
///
/// Annealed copper, 0.00393 per K at 20 °C, and Ohm's law.
#[test]
fn a_solenoid_is_brought_to_twenty_degrees() {
    for (degrees, ohms, amperes) in [
        (-20.0, 4.214, 2.847_650_688),
        (80.0, 6.179, 1.942_061_822),
        (120.0, 6.965, 1.722_900_215),
    ] {
        let warm = value(
            "r * (1 + 0.00393 * (t - 20))",
            &[("r", 5.0), ("t", degrees)],
        );
        near(warm, ohms, 1e-8);
        near(value("u / r", &[("u", 12.0), ("r", warm)]), amperes, 1e-8);
        let back = value(
            "r / (1 + 0.00393 * (t - 20))",
            &[("r", ohms), ("t", degrees)],
        );
        near(back, 5.0, 1e-8);
        let inverse = (ohms / 5.0 - 1.0) / 0.003_93 + 20.0;
        let found = value(
            "(r / r_20 - 1) / 0.00393 + 20",
            &[("r", ohms), ("r_20", 5.0)],
        );
        near(found, inverse, 1e-12);
    }
    near(
        value("(r / 5 - 1) / 0.00393 + 20", &[("r", 6.179)]),
        80.0,
        1e-8,
    );
}

/// Source, computed: JCGM 100, 5.1.2.
///
/// Sums add in quadrature, products in relative terms; both by hand.
#[test]
fn uncertainty_is_carried_through_to_first_order() {
    let difference = evaluate(
        "gauge - sensor",
        &[("gauge", 5200.0, 90.0), ("sensor", 5000.0, 30.0)],
    );
    near(difference.value, 200.0, 1e-12);
    near(difference.u, (90.0_f64 * 90.0 + 30.0 * 30.0).sqrt(), 1e-12);
    // 1.6 · √((10/2000)² + (10/1250)²) = 1.6 · 0.0094339811
    let ratio = evaluate(
        "input / output",
        &[("input", 2000.0, 10.0), ("output", 1250.0, 10.0)],
    );
    near(ratio.u, 0.015_094_369_8, 1e-8);
    // The same reading twice is no two readings: x − x is 0 ± 0, and x·x moves by 2x.
    assert_eq!(
        evaluate("x - x", &[("x", 3.0, 0.1)]),
        Measured { value: 0.0, u: 0.0 }
    );
    near(evaluate("x * x", &[("x", 3.0, 0.1)]).u, 0.6, 1e-12);
    near(
        evaluate("max(a, b)", &[("a", 3.0, 0.1), ("b", 2.0, 0.5)]).u,
        0.1,
        1e-12,
    );
    near(
        evaluate("min(a, b)", &[("a", 3.0, 0.1), ("b", 2.0, 0.5)]).u,
        0.5,
        1e-12,
    );
    near(evaluate("abs(a)", &[("a", -3.0, 0.1)]).u, 0.1, 1e-12);
}

/// The derivatives by a, b and c, by hand.
#[test]
fn derivatives_agree_with_those_by_hand() {
    let (a, b, c) = (0.7_f64, 1.3_f64, 2.9_f64);
    let root = (1.0 - a * a / (c * c)).sqrt();
    let other_root = (1.0 - b * b / (c * c)).sqrt();
    let (cos, sin) = ((a / c).cos(), f64::sin);
    for (text, by_a, by_b, by_c) in [
        ("a + b*c", 1.0, c, b),
        ("a - b - c", 1.0, -1.0, -1.0),
        (
            "a / b / c",
            1.0 / (b * c),
            -a / (b * b * c),
            -a / (b * c * c),
        ),
        ("a^2 * b", 2.0 * a * b, a * a, 0.0),
        ("a^b", b * a.powf(b - 1.0), a.powf(b) * a.ln(), 0.0),
        ("sqrt(a*b)", 0.5 * (b / a).sqrt(), 0.5 * (a / b).sqrt(), 0.0),
        (
            "exp(a/b)",
            (a / b).exp() / b,
            -(a / b).exp() * a / (b * b),
            0.0,
        ),
        ("ln(a+c)", 1.0 / (a + c), 0.0, 1.0 / (a + c)),
        ("sin(a)*cos(b)", a.cos() * b.cos(), -sin(a) * sin(b), 0.0),
        (
            "tan(a/c)",
            1.0 / (cos * cos * c),
            0.0,
            -a / (cos * cos * c * c),
        ),
        ("asin(a/c)", 1.0 / (root * c), 0.0, -a / (root * c * c)),
        (
            "acos(b/c)",
            0.0,
            -1.0 / (other_root * c),
            b / (other_root * c * c),
        ),
        (
            "atan(a*b)",
            b / (1.0 + a * a * b * b),
            a / (1.0 + a * a * b * b),
            0.0,
        ),
        // (a² − b²)/(c − a) by a: (2a(c − a) + a² − b²)/(c − a)²
        (
            "(a-b)*(a+b)/(c-a)",
            (2.0 * a * (c - a) + a * a - b * b) / ((c - a) * (c - a)),
            -2.0 * b / (c - a),
            (b * b - a * a) / ((c - a) * (c - a)),
        ),
        (
            "c^(a-b)",
            c.powf(a - b) * c.ln(),
            -c.powf(a - b) * c.ln(),
            (a - b) * c.powf(a - b - 1.0),
        ),
    ] {
        for (varied, expected) in [("a", by_a), ("b", by_b), ("c", by_c)] {
            let given: Vec<_> = [("a", a), ("b", b), ("c", c)]
                .map(|(name, value)| (name, value, f64::from(u8::from(name == varied))))
                .into();
            near(evaluate(text, &given).u, expected.abs(), 1e-12);
        }
    }
}

#[test]
fn arithmetic_is_read_as_it_is_taught() {
    for (text, expected) in [
        ("2 + 3 * 4", 14.0),
        ("(2 + 3) * 4", 20.0),
        ("10 - 4 - 3", 3.0),
        ("10 - 4 + 3", 9.0),
        ("24 / 4 / 3", 2.0),
        ("24 / 4 * 3", 18.0),
        ("-2^2", -4.0),
        ("2^3^2", 512.0),
        ("2^-1", 0.5),
        ("--2", 2.0),
        ("3 * -2", -6.0),
        ("min(max(1, 2), 3) + max(4, min(5, 6))", 7.0),
        ("abs(1 - 3) * 2", 4.0),
        ("sqrt(9)", 3.0),
        (" .5 + 1. ", 1.5),
        ("ln(exp(2))", 2.0),
    ] {
        near(value(text, &[]), expected, 1e-12);
    }
    // Names close to those of functions and constants.
    near(
        value("e * sin_ + tau", &[("e", 2.0), ("sin_", 3.0), ("tau", 4.0)]),
        10.0,
        1e-12,
    );
}

#[test]
fn a_fault_is_reported_with_its_column() {
    for (text, column, words) in [
        ("", 1, "ends where a number or a name was due"),
        ("   ", 4, "ends where"),
        ("a + ", 5, "ends where"),
        ("a b", 3, "out of place"),
        ("2a", 2, "out of place"),
        ("(a", 3, "ends where ')'"),
        ("a)", 2, "out of place"),
        ("a + * b", 5, "where a number or a name was due"),
        ("sqrt a", 6, "wants a bracket"),
        ("root(a)", 1, "no function"),
        ("a + min(b)", 10, "where ',' was due"),
        ("abs(a, b)", 6, "where ')' was due"),
        ("1.2.3", 1, "no number"),
        ("99999999999999", 1, "no number"),
        ("Ä + 1", 1, "where a number or a name was due"),
        ("a ** b", 4, "where a number or a name was due"),
        ("a + {b}", 5, "where a number or a name was due"),
    ] {
        let fault = Formula::parse(text).unwrap_err();
        assert_eq!(fault.column, column, "{text}: {fault}");
        assert!(fault.reason.contains(words), "{text}: {fault}");
    }
}

#[test]
fn an_unknown_name_is_reported_with_its_column() {
    let formula = Formula::parse("engine - turbin / engine").unwrap();
    let names: Vec<_> = formula
        .names()
        .iter()
        .map(|n| (n.name.as_str(), n.column))
        .collect();
    assert_eq!(names, [("engine", 1), ("turbin", 10)]);
    let unknown: Vec<_> = formula
        .unknown(|name| ["engine", "turbine"].contains(&name))
        .collect();
    assert_eq!(unknown.len(), 1);
    assert_eq!(
        (unknown[0].name.as_str(), unknown[0].column),
        ("turbin", 10)
    );
    let refusal = formula
        .evaluate(&readings(&[("engine", 1.0, 0.0)]))
        .unwrap_err();
    assert_eq!(refusal, NoValue::Missing("turbin".to_owned()));
}

#[test]
fn a_result_that_is_not_finite_is_an_error() {
    for text in [
        "1 / a",
        "ln(a)",
        "sqrt(a - 1)",
        "asin(a + 2)",
        "1 / 0",
        "exp(exp(exp(9)))",
        "a^(0-1)",
    ] {
        let formula = Formula::parse(text).unwrap();
        let refusal = formula.evaluate(&readings(&[("a", 0.0, 0.1)])).unwrap_err();
        assert!(matches!(refusal, NoValue::NotFinite(_)), "{text}");
    }
    // sqrt has no slope at 0: with an uncertainty there is no first order, without one there is a value.
    let root = Formula::parse("sqrt(a)").unwrap();
    assert!(root.evaluate(&readings(&[("a", 0.0, 0.1)])).is_err());
    assert_eq!(
        root.evaluate(&readings(&[("a", 0.0, 0.0)])),
        Ok(Measured { value: 0.0, u: 0.0 })
    );
}

#[test]
fn a_formula_has_bounds() {
    let nested = |depth: usize| format!("{}1{}", "(".repeat(depth), ")".repeat(depth));
    assert!(Formula::parse(&nested(DEEPEST)).is_ok());
    assert!(
        Formula::parse(&nested(DEEPEST + 1))
            .unwrap_err()
            .reason
            .contains("nested")
    );
    assert!(
        Formula::parse(&"-".repeat(DEEPEST + 2))
            .unwrap_err()
            .reason
            .contains("nested")
    );
    assert!(Formula::parse(&format!("1{}", "+1".repeat(MOST_OPERATORS))).is_ok());
    let many = format!("1{}", "+1".repeat(MOST_OPERATORS + 1));
    assert!(
        Formula::parse(&many)
            .unwrap_err()
            .reason
            .contains("operators")
    );
    let long = "1".repeat(LONGEST + 1);
    assert!(Formula::parse(&long).unwrap_err().reason.contains("longer"));
    let names: Vec<_> = (0..=MOST_NAMES).map(|n| format!("x{n}")).collect();
    assert!(
        Formula::parse(&names.join("+"))
            .unwrap_err()
            .reason
            .contains("names")
    );
}

fn try_out(text: &str) -> Result<(), TestCaseError> {
    if let Ok(formula) = Formula::parse(text) {
        let given = formula
            .names()
            .iter()
            .map(|n| (n.name.clone(), Measured { value: 1.5, u: 0.1 }))
            .collect();
        if let Ok(found) = formula.evaluate(&given) {
            prop_assert!(found.value.is_finite() && found.u.is_finite() && found.u >= 0.0);
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4_000))]

    #[test]
    fn no_text_makes_the_formula_reader_panic(text in "\\PC{0,210}") {
        try_out(&text)?;
    }

    #[test]
    fn no_arithmetic_makes_the_formula_reader_panic(
        parts in prop::collection::vec(prop::sample::select(vec![
            "a", "b_1", "e", "pi", "1", "0", "2.5", ".", "+", "-", "*", "/", "^", "(", ")", ",", " ", "abs(", "min(",
            "max(", "sqrt(", "ln(", "sin(", "acos(", "{", "}", "atan2", "PI",
        ]), 0..60),
    ) {
        try_out(&parts.concat())?;
    }

    #[test]
    fn a_formula_that_is_well_formed_is_read(text in well_formed()) {
        prop_assert!(Formula::parse(&text).is_ok(), "{}", text);
        try_out(&text)?;
    }
}

fn well_formed() -> impl Strategy<Value = String> {
    let leaf = prop::sample::select(vec!["a", "b", "2", "0.5", "pi"]).prop_map(str::to_owned);
    leaf.prop_recursive(4, 16, 2, |inner| {
        (inner.clone(), inner, 0..7).prop_map(|(a, b, form)| match form {
            0 => format!("{a} + {b}"),
            1 => format!("{a} - ({b})"),
            2 => format!("({a})*({b})"),
            3 => format!("({a})/{b}"),
            4 => format!("({a})^2"),
            5 => format!("min({a}, {b})"),
            _ => format!("-abs({a})"),
        })
    })
    .prop_filter("short enough", |text| {
        text.len() <= LONGEST && text.matches('(').count() < 16
    })
}
