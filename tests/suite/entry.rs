//! What a person types for a number.

use halfsplit::entry::{Answer, Entry, Expected, LONGEST, Span, understand};
use halfsplit::units::conformity::Known;
use halfsplit::units::{Interval, Unit};

pub(crate) fn expecting(unit: Unit) -> Expected {
    Expected {
        unit,
        plausible: None,
        range: None,
        limits: None,
    }
}

pub(crate) fn within(
    unit: Unit,
    plausible: Option<(f64, f64)>,
    range: Option<(f64, f64)>,
) -> Expected {
    let interval = |ends: Option<(f64, f64)>| ends.and_then(|(from, to)| Interval::new(from, to));
    Expected {
        unit,
        plausible: interval(plausible),
        range: interval(range),
        limits: None,
    }
}

#[track_caller]
fn value(text: &str, expected: Expected) -> Entry {
    match understand(text, &expected) {
        Answer::Taken(entry) => {
            assert_eq!(entry.raw, text, "nothing typed is lost");
            *entry
        }
        other => panic!("{text}: {other:?}"),
    }
}

#[track_caller]
fn question(text: &str, expected: Expected) -> (Vec<String>, String) {
    match understand(text, &expected) {
        Answer::Question {
            alternatives,
            words,
        } => (
            alternatives.iter().map(ToString::to_string).collect(),
            words,
        ),
        other => panic!("{text}: {other:?}"),
    }
}

#[track_caller]
fn refusal(text: &str, expected: Expected) -> String {
    match understand(text, &expected) {
        Answer::Refused(words) => words,
        other => panic!("{text}: {other:?}"),
    }
}

type Row = (&'static str, Unit, Span, Unit);

/// What people write, and what comes near: text, the measurement's unit; numbers, unit.
const VALUES: &[Row] = &[
    ("75 psi", Unit::Kilopascal, Span::Point(75.0), Unit::Psi),
    ("5,2 bar", Unit::Kilopascal, Span::Point(5.2), Unit::Bar),
    (
        "0.52MPa",
        Unit::Kilopascal,
        Span::Point(0.52),
        Unit::Megapascal,
    ),
    (
        "520",
        Unit::Kilopascal,
        Span::Point(520.0),
        Unit::Kilopascal,
    ),
    (
        "5.3 kgf/cm2",
        Unit::Kilopascal,
        Span::Point(5.3),
        Unit::KgfPerSquareCentimetre,
    ),
    ("38C", Unit::Celsius, Span::Point(38.0), Unit::Celsius),
    (
        "100 °F",
        Unit::Celsius,
        Span::Point(100.0),
        Unit::Fahrenheit,
    ),
    ("100F", Unit::Celsius, Span::Point(100.0), Unit::Fahrenheit),
    ("2.1k", Unit::Ohm, Span::Point(2.1), Unit::Kiloohm),
    (
        "2.1k",
        Unit::PerMinute,
        Span::Point(2100.0),
        Unit::PerMinute,
    ),
    (
        "2.1 krpm",
        Unit::PerMinute,
        Span::Point(2100.0),
        Unit::PerMinute,
    ),
    ("12 V", Unit::Volt, Span::Point(12.0), Unit::Volt),
    (
        "780 rpm",
        Unit::PerMinute,
        Span::Point(780.0),
        Unit::PerMinute,
    ),
    (
        "780 1/min",
        Unit::PerMinute,
        Span::Point(780.0),
        Unit::PerMinute,
    ),
    (
        "780 min-1",
        Unit::PerMinute,
        Span::Point(780.0),
        Unit::PerMinute,
    ),
    ("1.4 s", Unit::Second, Span::Point(1.4), Unit::Second),
    ("8 cc", Unit::Millilitre, Span::Point(8.0), Unit::Millilitre),
    (
        "95 lbf ft",
        Unit::NewtonMetre,
        Span::Point(95.0),
        Unit::PoundForceFoot,
    ),
    (
        "95 lb-ft",
        Unit::NewtonMetre,
        Span::Point(95.0),
        Unit::PoundForceFoot,
    ),
];

const SWINGS_AND_STOPS: &[Row] = &[
    (
        "480-560 kPa",
        Unit::Kilopascal,
        Span::Swing(480.0, 560.0),
        Unit::Kilopascal,
    ),
    (
        "480 – 560 kPa",
        Unit::Kilopascal,
        Span::Swing(480.0, 560.0),
        Unit::Kilopascal,
    ),
    (
        "480 to 560",
        Unit::Kilopascal,
        Span::Swing(480.0, 560.0),
        Unit::Kilopascal,
    ),
    (
        "480..560",
        Unit::Kilopascal,
        Span::Swing(480.0, 560.0),
        Unit::Kilopascal,
    ),
    (
        "560 kPa - 480 kPa",
        Unit::Kilopascal,
        Span::Swing(480.0, 560.0),
        Unit::Kilopascal,
    ),
    ("0-1", Unit::Bar, Span::Swing(0.0, 1.0), Unit::Bar),
    (
        "-5 - -3",
        Unit::Celsius,
        Span::Swing(-5.0, -3.0),
        Unit::Celsius,
    ),
    (
        "780-820 min-1",
        Unit::PerMinute,
        Span::Swing(780.0, 820.0),
        Unit::PerMinute,
    ),
    (
        ">6 MPa",
        Unit::Kilopascal,
        Span::Above(6.0),
        Unit::Megapascal,
    ),
    (
        "over 6 MPa",
        Unit::Kilopascal,
        Span::Above(6.0),
        Unit::Megapascal,
    ),
    ("<0.1", Unit::Kilopascal, Span::Below(0.1), Unit::Kilopascal),
    ("2.4:1", Unit::One, Span::Point(2.4), Unit::One),
    ("2.4 to 1", Unit::One, Span::Point(2.4), Unit::One),
    (
        "-40",
        Unit::Fahrenheit,
        Span::Point(-40.0),
        Unit::Fahrenheit,
    ),
    (
        "\u{2212}40 °C",
        Unit::Fahrenheit,
        Span::Point(-40.0),
        Unit::Celsius,
    ),
    (".5 bar", Unit::Bar, Span::Point(0.5), Unit::Bar),
    ("5.", Unit::Bar, Span::Point(5.0), Unit::Bar),
    (
        "5.2e3",
        Unit::Kilopascal,
        Span::Point(5200.0),
        Unit::Kilopascal,
    ),
    (
        "  520  ",
        Unit::Kilopascal,
        Span::Point(520.0),
        Unit::Kilopascal,
    ),
];

#[test]
fn readings_are_understood_as_people_write_them() {
    for &(text, expected, span, unit) in VALUES.iter().chain(SWINGS_AND_STOPS) {
        let found = value(text, expecting(expected));
        assert_eq!((found.span, found.unit), (span, unit), "{text}");
        assert_eq!(found.own_uncertainty, None, "{text}");
    }
}

#[test]
fn a_bare_number_has_the_unit_of_the_measurement_and_says_so() {
    let bare = value("520", expecting(Unit::Kilopascal));
    assert!(bare.assumed);
    assert_eq!(bare.to_string(), "520 kPa");
    let typed = value("520 kPa", expecting(Unit::Kilopascal));
    assert!(!typed.assumed);
}

/// NIST SP 811: 75 psi are 517.1068 kPa; 100 °F are 37.7778 °C, and ± 9 °F are ± 5 K.
#[test]
fn a_reading_converts_into_the_unit_of_the_measurement() {
    let pressure = value("75 psi", expecting(Unit::Kilopascal))
        .in_unit(Unit::Kilopascal)
        .unwrap();
    assert!((pressure.middle() - 517.106_797).abs() < 1e-5);
    let warm = value("100 ± 9 °F", expecting(Unit::Celsius))
        .in_unit(Unit::Celsius)
        .unwrap();
    assert!((warm.middle() - 37.777_777_8).abs() < 1e-6);
    assert!((warm.own_uncertainty.unwrap() - 5.0 / 3.0_f64.sqrt()).abs() < 1e-9);
    assert_eq!(warm.in_unit(Unit::Second), None);
}

/// ± is the most it may be out, spread evenly (JCGM 100, 4.3.7): 20/√3. `~` is the standard
/// uncertainty itself.
#[test]
fn an_own_uncertainty_is_understood() {
    let even = 11.547_005_383_8;
    for (text, u) in [
        ("520 ± 20 kPa", even),
        ("520 +- 20", even),
        ("520+/-20", even),
        ("520 kPa ± 20", even),
        ("520 kPa ± 20 kPa", even),
        ("520 kPa ± 0.2 bar", even),
        ("500 kPa ± 4 %", even),
        ("520~20", 20.0),
        ("520 ~ 20 kPa", 20.0),
    ] {
        let found = value(text, expecting(Unit::Kilopascal));
        assert!(
            (found.own_uncertainty.unwrap() - u).abs() < 1e-9,
            "{text}: {found:?}"
        );
    }
    let known = value("520 ± 20", expecting(Unit::Kilopascal)).known(Unit::Kilopascal, 90.0);
    assert!(matches!(known, Some(Known::Normal { value: 520.0, u }) if (u - even).abs() < 1e-9));
    let plain = value("0.52 MPa", expecting(Unit::Kilopascal)).known(Unit::Kilopascal, 90.0);
    assert!(matches!(plain, Some(Known::Normal { u: 90.0, .. })));
}

#[test]
fn a_number_that_can_be_two_is_asked_about_with_both() {
    let (ways, words) = question("1,200", expecting(Unit::PerMinute));
    assert_eq!(ways, ["1.2 rpm", "1200 rpm"]);
    assert_eq!(words, "“1,200” can mean 1.2 rpm or 1200 rpm. Which is it?");
    let (ways, _) = question("900-1,200 rpm", expecting(Unit::PerMinute));
    assert_eq!(ways, ["1.2 to 900 rpm", "900 to 1200 rpm"]);
    let (ways, words) = question("1 200 rpm", expecting(Unit::PerMinute));
    assert_eq!(ways, ["1200 rpm"]);
    assert!(words.contains("Is that meant?"), "{words}");
    // What cannot be is not offered: 1200 V are outside the meter.
    let found = value("1,200", within(Unit::Volt, None, Some((0.0, 20.0))));
    assert_eq!(found.span, Span::Point(1.2));
}

#[test]
fn a_decimal_point_is_one_unless_that_would_be_odd() {
    assert_eq!(value("1.200", expecting(Unit::Volt)).span, Span::Point(1.2));
    let (ways, _) = question(
        "1.200",
        within(Unit::PerMinute, Some((500.0, 6000.0)), None),
    );
    assert_eq!(ways, ["1200 rpm", "1.2 rpm"]);
    for (text, number) in [
        ("1,234,567", 1_234_567.0),
        ("1.234.567", 1_234_567.0),
        ("1,234.5", 1234.5),
        ("1.234,5", 1234.5),
        ("1'200", 1200.0),
        ("1\u{202f}200", 1200.0),
        ("1,23", 1.23),
        ("0,520", 0.52),
        ("1234,567", 1234.567),
    ] {
        assert_eq!(
            value(text, expecting(Unit::Ohm)).span,
            Span::Point(number),
            "{text}"
        );
    }
    for text in ["12,34,5", "1,2,3", "1.2.3", "1,200,5"] {
        let words = refusal(text, expecting(Unit::Kilopascal));
        assert!(
            words.contains("no way of writing a number"),
            "{text}: {words}"
        );
    }
}

#[test]
fn an_ambiguous_unit_is_asked_about_with_what_was_understood() {
    for (text, unit, ways) in [
        ("38 deg", Unit::Celsius, vec!["38 °C", "38 °F"]),
        ("95 lb", Unit::NewtonMetre, vec!["95 lbf·ft", "95 lbf·in"]),
        ("75 lbs", Unit::Kilopascal, vec!["75 psi"]),
        ("5.3 kg", Unit::Kilopascal, vec!["5.3 kgf/cm²"]),
        ("5k", Unit::Kilopascal, vec!["5 kPa", "5000 kPa"]),
        ("12k", Unit::Volt, vec!["12000 V"]),
        ("2 m", Unit::Second, vec!["2 min"]),
        ("300 k", Unit::Celsius, vec!["300 K"]),
        ("5 MOHM", Unit::Ohm, vec!["5 MΩ", "5 mΩ"]),
    ] {
        let found = understand(text, &expecting(unit));
        let alternatives = match &found {
            Answer::Question { alternatives, .. } => alternatives.clone(),
            Answer::Taken(entry) => vec![*entry.clone()],
            Answer::Refused(words) => panic!("{text}: {words}"),
        };
        let shown: Vec<_> = alternatives.iter().map(ToString::to_string).collect();
        assert_eq!(shown, ways, "{text}");
        // Only where the other meaning cannot be (300,000 °C) is nothing to ask.
        assert_eq!(matches!(found, Answer::Taken(_)), text == "300 k", "{text}");
    }
    assert_eq!(value("300 K", expecting(Unit::Celsius)).unit, Unit::Kelvin);
}

#[test]
fn a_wrong_dimension_is_refused_with_what_was_understood_and_what_would_fit() {
    let words = refusal("75 psi", expecting(Unit::Celsius));
    assert_eq!(
        words,
        "“psi” is the unit of a pressure; wanted is a temperature in °C, °F or K."
    );
    let words = refusal("520 kpq", expecting(Unit::Kilopascal));
    assert!(
        words.contains("“kpq” is no unit") && words.contains("kPa is meant"),
        "{words}"
    );
    let words = refusal("3 V", expecting(Unit::One));
    assert!(words.contains("a ratio, without a unit"), "{words}");
}

#[test]
fn an_impossible_value_is_refused() {
    for (text, unit, why) in [
        ("-300 C", Unit::Celsius, "below absolute zero"),
        ("-460 °F", Unit::Celsius, "below absolute zero"),
        ("-1 K", Unit::Celsius, "below absolute zero"),
        ("-102", Unit::Kilopascal, "below the vacuum"),
        ("-1.02 bar", Unit::Kilopascal, "below the vacuum"),
        ("-1 s", Unit::Second, "below 0"),
        ("-3 ohm", Unit::Ohm, "below 0"),
        ("-2", Unit::KilometrePerHour, "below 0"),
        ("1e30", Unit::Kilopascal, "far above"),
        ("1e999", Unit::Kilopascal, "too large"),
        ("-1-5 s", Unit::Second, "below 0"),
    ] {
        let words = refusal(text, expecting(unit));
        assert!(words.contains(why), "{text}: {words}");
    }
    assert_eq!(
        value("-101", expecting(Unit::Kilopascal)).span,
        Span::Point(-101.0)
    );
    assert_eq!(
        value("-459 °F", expecting(Unit::Celsius)).span,
        Span::Point(-459.0)
    );
    assert_eq!(value("-2.5", expecting(Unit::Volt)).span, Span::Point(-2.5));
    // A speed below nothing may be slip on overrun: that is asked, unless the knowledge expects it.
    question("-10 rpm", expecting(Unit::PerMinute));
    value(
        "-10 rpm",
        within(Unit::PerMinute, Some((-200.0, 200.0)), None),
    );
    value("-2 mm", within(Unit::Millimetre, Some((-20.0, 20.0)), None));
}

#[test]
fn an_implausible_value_is_questioned_with_the_units_that_would_fit() {
    let expected = within(
        Unit::Kilopascal,
        Some((3000.0, 9000.0)),
        Some((0.0, 10_000.0)),
    );
    let (ways, words) = question("5.2", expected);
    assert_eq!(ways, ["5.2 kPa", "5.2 MPa"]);
    assert_eq!(
        words,
        "5.2 kPa was understood; between 3000 and 9000 kPa would be plausible here. Is it meant so, or 5.2 MPa?"
    );
    let (ways, words) = question("5.2 kPa", expected);
    assert_eq!(ways, ["5.2 kPa"]);
    assert!(words.ends_with("Is it meant so?"), "{words}");
    assert_eq!(value("5.2 MPa", expected).span, Span::Point(5.2));
}

#[test]
fn a_value_outside_the_range_of_the_instrument_is_no_reading() {
    let gauge = within(Unit::Kilopascal, None, Some((0.0, 6000.0)));
    let words = refusal("7 MPa", gauge);
    assert!(
        words.contains("shows 0 to 6000 kPa") && words.contains("write >6000"),
        "{words}"
    );
    assert_eq!(value(">6 MPa", gauge).span, Span::Above(6.0));
    assert_eq!(value("6 MPa", gauge).span, Span::Point(6.0));
    refusal("5900-6100", gauge);
    refusal(">7 MPa", gauge);
    let meter = within(Unit::Ohm, None, Some((0.0, 2000.0)));
    assert_eq!(value("OL", meter).span, Span::Above(2000.0));
    refusal("OL", expecting(Unit::Ohm));
}

#[test]
fn what_is_no_reading_is_refused_with_what_would_fit() {
    for (text, words) in [
        ("", "Nothing was typed"),
        (" \t ", "Nothing was typed"),
        ("high", "a number was due"),
        ("-", "a number was due"),
        (">", "a number was due"),
        ("about 520", "how near"),
        ("~520", "how near"),
        ("3/8 in", "fraction"),
        ("480-560 ± 20", "mixes"),
        (">6 ± 1", "mixes"),
        ("520 ± 20 ± 3", "mixes"),
        ("520 ± -3", "uncertainty below 0"),
        ("520 kPa hot", "no unit"),
        ("520 ± 0.2 bar kPa", "no unit"),
        ("NaN", "a number was due"),
        ("inf", "a number was due"),
        ("٥٢٠", "a number was due"),
    ] {
        let found = refusal(text, expecting(Unit::Kilopascal));
        assert!(found.contains(words), "{text}: {found}");
    }
    let long = "1".repeat(LONGEST + 1);
    assert!(refusal(&long, expecting(Unit::Kilopascal)).contains("longer than 200"));
    let words = refusal("high", expecting(Unit::Kilopascal));
    assert!(words.contains("a pressure in kPa (also MPa"), "{words}");
}

#[test]
fn control_characters_are_kept_in_the_record_and_shown_as_codes() {
    let typed = "\u{1b}[31m520\u{202e}";
    let words = refusal(typed, expecting(Unit::Kilopascal));
    assert!(words.contains("\\u{1b}[31m520\\u{202e}"), "{words}");
    assert_eq!(value("520\r", expecting(Unit::Kilopascal)).raw, "520\r");
}
