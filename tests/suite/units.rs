//! Units: NIST SP 811 appendix B, and how people write them.

use halfsplit::units::{Dimension, System, Unit};

fn convert(value: f64, from: Unit, to: Unit) -> f64 {
    from.convert(value, to).unwrap()
}

#[track_caller]
fn near(found: f64, expected: f64, relative: f64) {
    assert!(
        (found - expected).abs() <= relative * expected.abs(),
        "{found} is not {expected}"
    );
}

/// Source, seen: NIST SP 811, appendix B.8.
///
/// The printed values have seven digits.
#[test]
fn pressures_convert_as_nist_sp_811_prints_them() {
    for (unit, exact, printed) in [
        (Unit::Psi, 6.894_757_293, 6.894_757),
        (Unit::Bar, 100.0, 100.0),
        (Unit::KgfPerSquareCentimetre, 98.066_5, 98.066_5),
        (Unit::InchOfMercury, 3.386_388_640, 3.386_389),
    ] {
        near(convert(1.0, unit, Unit::Kilopascal), exact, 1e-8);
        near(convert(1.0, unit, Unit::Kilopascal), printed, 2e-7);
    }
    near(
        convert(1.0, Unit::Megapascal, Unit::Psi),
        145.037_737_7,
        1e-8,
    );
    near(
        convert(1.0, Unit::Megapascal, Unit::KgfPerSquareCentimetre),
        10.197_162_13,
        1e-8,
    );
    near(convert(1.0, Unit::Millibar, Unit::Kilopascal), 0.1, 1e-15);
    // Mercury at 60 °F is another unit: 3.37685 kPa, 0.28 % less.
    let less = 1.0 - 3.376_85 / convert(1.0, Unit::InchOfMercury, Unit::Kilopascal);
    near(less, 0.0028, 0.01);
}

/// Source, seen: NIST SP 811, appendix B.8.
#[test]
fn torques_convert_as_nist_sp_811_prints_them() {
    near(
        convert(1.0, Unit::PoundForceFoot, Unit::NewtonMetre),
        1.355_817_948,
        1e-8,
    );
    near(
        convert(1.0, Unit::PoundForceInch, Unit::NewtonMetre),
        0.112_984_829_0,
        1e-8,
    );
    near(
        convert(1.0, Unit::KilogramForceMetre, Unit::NewtonMetre),
        9.806_65,
        1e-15,
    );
}

/// Source, seen: NIST SP 811, appendix B.8.
///
/// t/°C = (t/°F − 32)/1.8, and an interval of 18 °F is 10 K.
#[test]
fn temperatures_have_an_offset_and_their_differences_have_none() {
    for (fahrenheit, celsius) in [
        (-40.0, -40.0),
        (32.0, 0.0),
        (68.0, 20.0),
        (176.0, 80.0),
        (212.0, 100.0),
    ] {
        let found = convert(fahrenheit, Unit::Fahrenheit, Unit::Celsius);
        assert!((found - celsius).abs() < 1e-9);
        assert!((convert(celsius, Unit::Celsius, Unit::Fahrenheit) - fahrenheit).abs() < 1e-9);
    }
    let ten = convert(18.0, Unit::FahrenheitDifference, Unit::KelvinDifference);
    assert!((ten - 10.0).abs() < 1e-9);
    let uncertainty = Unit::Fahrenheit
        .convert_difference(18.0, Unit::Celsius)
        .unwrap();
    assert!((uncertainty - 10.0).abs() < 1e-9);
    assert!((convert(20.0, Unit::Celsius, Unit::Kelvin) - 293.15).abs() < 1e-9);
}

/// Source, seen: NIST SP 811, appendix B.8.
///
/// 2π/60, and the international mile of 1609.344 m over 3600 s.
#[test]
fn speeds_convert_by_definition() {
    near(
        convert(1.0, Unit::PerMinute, Unit::RadianPerSecond),
        0.104_719_755_1,
        1e-8,
    );
    near(
        convert(1.0, Unit::MilePerHour, Unit::MetrePerSecond),
        0.447_04,
        1e-8,
    );
}

/// Source, seen: NIST SP 811, appendix B.8.
///
/// The US gallon is 231 cubic inches, four quarts; a cubic centimetre is a millilitre.
#[test]
fn volumes_convert_by_definition() {
    near(
        convert(1.0, Unit::UsQuart, Unit::Litre),
        0.946_352_946,
        1e-9,
    );
    assert_eq!(
        Unit::read("cc", Some(Dimension::Volume)),
        [Unit::Millilitre]
    );
}

#[test]
fn a_unit_does_not_convert_into_another_dimension() {
    assert_eq!(Unit::Psi.convert(1.0, Unit::Celsius), None);
    assert_eq!(Unit::Celsius.convert(1.0, Unit::KelvinDifference), None);
    assert_eq!(Unit::Psi.convert_difference(1.0, Unit::Second), None);
}

#[test]
fn every_conversion_there_and_back_is_the_value() {
    for &from in Unit::ALL {
        for to in Unit::of(from.dimension()) {
            for value in [-40.0, 0.3, 1.0, 5200.0] {
                let back = convert(convert(value, from, to), to, from);
                assert!(
                    (back - value).abs() <= 1e-11 * value.abs().max(300.0),
                    "{from} {to}"
                );
            }
        }
    }
}

#[test]
fn every_spelling_means_one_unit_of_its_dimension() {
    for &unit in Unit::ALL {
        for spelling in unit.spelt() {
            assert_eq!(
                Unit::named(spelling, unit.dimension()),
                Some(unit),
                "{spelling}"
            );
        }
    }
}

#[test]
fn units_are_read_as_people_write_them() {
    use Dimension as D;
    for (text, dimension, unit) in [
        ("KPA", D::Pressure, Unit::Kilopascal),
        ("mpa", D::Pressure, Unit::Megapascal),
        ("kgf/cm2", D::Pressure, Unit::KgfPerSquareCentimetre),
        ("kg/cm^2", D::Pressure, Unit::KgfPerSquareCentimetre),
        ("in. Hg", D::Pressure, Unit::InchOfMercury),
        ("rpm", D::Speed, Unit::PerMinute),
        ("min⁻¹", D::Speed, Unit::PerMinute),
        ("f", D::Temperature, Unit::Fahrenheit),
        ("ºC", D::Temperature, Unit::Celsius),
        ("C", D::TemperatureDifference, Unit::KelvinDifference),
        ("Nm", D::Torque, Unit::NewtonMetre),
        ("N.m", D::Torque, Unit::NewtonMetre),
        ("ft-lb", D::Torque, Unit::PoundForceFoot),
        ("lbf in", D::Torque, Unit::PoundForceInch),
        ("kgf m", D::Torque, Unit::KilogramForceMetre),
        ("OHM", D::Resistance, Unit::Ohm),
        ("\u{2126}", D::Resistance, Unit::Ohm),
        ("k ohm", D::Resistance, Unit::Kiloohm),
        ("MΩ", D::Resistance, Unit::Megaohm),
        ("mΩ", D::Resistance, Unit::Milliohm),
        ("mph", D::RoadSpeed, Unit::MilePerHour),
        ("cm³", D::Volume, Unit::Millilitre),
        ("US quart", D::Volume, Unit::UsQuart),
    ] {
        assert_eq!(Unit::named(text, dimension), Some(unit), "{text}");
    }
    assert_eq!(
        Unit::read("MOHM", Some(D::Resistance)),
        [Unit::Megaohm, Unit::Milliohm],
        "in capitals it may be either"
    );
    assert_eq!(
        Unit::read("psi", Some(D::Temperature)),
        [Unit::Psi],
        "found, though not wanted"
    );
    assert!(Unit::read("furlong", None).is_empty());
}

#[test]
fn every_dimension_has_a_unit_in_both_systems() {
    for dimension in Dimension::ALL {
        assert_eq!(Dimension::named(dimension.id()), Some(dimension));
        for system in [System::Metric, System::Us] {
            assert_eq!(dimension.unit(system).dimension(), dimension);
        }
    }
    assert_eq!(Dimension::Pressure.unit(System::Us).symbol(), "psi");
    assert_eq!(Dimension::Temperature.unit(System::Us).symbol(), "°F");
    assert_eq!(Dimension::Torque.unit(System::Metric).symbol(), "N·m");
    assert_eq!(System::named("us"), Some(System::Us));
    assert_eq!(System::named("imperial"), None);
}
