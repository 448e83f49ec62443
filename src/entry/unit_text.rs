//! What the text of a unit can mean where one unit is expected.

use crate::text::{either, quoted};
use crate::units::Dimension;
use crate::units::{Unit, folded};

/// A unit, and by how much the number before it is multiplied: 1000 for the `k` of `2.1k`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Meaning {
    pub(super) unit: Unit,
    pub(super) times: f64,
}

const fn once(unit: Unit) -> Meaning {
    Meaning { unit, times: 1.0 }
}

const fn thousand(unit: Unit) -> Meaning {
    Meaning {
        unit,
        times: 1000.0,
    }
}

/// What a text can mean as a unit where `expected` is the measurement's, the likeliest first, and
/// whether the person is to be asked. No text is the expected unit.
///
/// # Errors
///
/// Words, where it means a unit of another kind, or none.
pub(super) fn meanings(text: &str, expected: Unit) -> Result<(Vec<Meaning>, bool), String> {
    if text.is_empty() {
        return Ok((vec![once(expected)], false));
    }
    let dimension = expected.dimension();
    if folded(text).eq_ignore_ascii_case("k") {
        return Ok(kilo(text, expected));
    }
    let found = Unit::read(text, Some(dimension));
    if found
        .first()
        .is_some_and(|unit| unit.dimension() == dimension)
    {
        let asked = found.len() > 1;
        return Ok((found.into_iter().map(once).collect(), asked));
    }
    let loosely = loose(&folded(text).to_lowercase(), dimension);
    if !loosely.is_empty() {
        return Ok((loosely.iter().copied().map(once).collect(), true));
    }
    // `2.1 krpm`: thousands of a unit that is never written so.
    if let Some(rest) = text.strip_prefix(['k', 'K'])
        && let [unit] = Unit::read(rest, Some(dimension)).as_slice()
        && unit.dimension() == dimension
    {
        return Ok((vec![thousand(*unit)], false));
    }
    let fits: Vec<String> = Unit::of(dimension).map(|unit| unit.to_string()).collect();
    let wanted = if dimension == Dimension::Ratio {
        "a ratio, without a unit".to_owned()
    } else {
        format!("{} in {}", dimension.with_article(), either(&fits))
    };
    if let Some(other) = found.first() {
        let is = other.dimension().with_article();
        return Err(format!(
            "{} is the unit of {is}; wanted is {wanted}.",
            quoted(text)
        ));
    }
    let near = nearest(text, dimension).map(|unit| format!(" {unit} is meant, perhaps."));
    Err(format!(
        "{} is no unit that is known here; wanted is {wanted}.{}",
        quoted(text),
        near.unwrap_or_default()
    ))
}

/// `2.1k`: thousands of ohms and of turns, as is usual; a temperature in kelvin with a capital;
/// for anything else a question.
fn kilo(text: &str, expected: Unit) -> (Vec<Meaning>, bool) {
    let capital = text.contains('K');
    match expected.dimension() {
        Dimension::Resistance => (vec![once(Unit::Kiloohm)], false),
        Dimension::Speed => (vec![thousand(Unit::PerMinute)], false),
        Dimension::Temperature if capital => (vec![once(Unit::Kelvin)], false),
        Dimension::TemperatureDifference if capital => (vec![once(Unit::KelvinDifference)], false),
        Dimension::Temperature => (vec![once(Unit::Kelvin), thousand(expected)], true),
        Dimension::TemperatureDifference => (
            vec![once(Unit::KelvinDifference), thousand(expected)],
            !capital,
        ),
        Dimension::Pressure if expected == Unit::Kilopascal => {
            (vec![once(Unit::Kilopascal), thousand(expected)], true)
        }
        Dimension::Pressure => (vec![thousand(expected), once(Unit::Kilopascal)], true),
        Dimension::RoadSpeed => (vec![once(Unit::KilometrePerHour), thousand(expected)], true),
        _ => (vec![thousand(expected)], true),
    }
}

/// What people say for a unit when everyone in the shop knows which is meant.
fn loose(lower: &str, dimension: Dimension) -> &'static [Unit] {
    match (dimension, lower) {
        (Dimension::Pressure, "lb" | "lbs" | "pound" | "pounds" | "#") => &[Unit::Psi],
        (Dimension::Pressure, "kg" | "kgf" | "kilo" | "kilos") => &[Unit::KgfPerSquareCentimetre],
        (Dimension::Pressure, "in" | "inches" | "\"") => &[Unit::InchOfMercury],
        (Dimension::Torque, "lb" | "lbs" | "lbf" | "pound" | "pounds" | "#") => {
            &[Unit::PoundForceFoot, Unit::PoundForceInch]
        }
        (Dimension::Torque, "ft" | "foot" | "feet") => &[Unit::PoundForceFoot],
        (Dimension::Torque, "in" | "inch" | "inches") => &[Unit::PoundForceInch],
        (Dimension::Torque, "kg" | "kgf" | "kilo" | "kilos") => &[Unit::KilogramForceMetre],
        (Dimension::Torque, "n") => &[Unit::NewtonMetre],
        (Dimension::Time, "m") => &[Unit::Minute],
        (Dimension::Temperature, "°" | "deg" | "degree" | "degrees") => {
            &[Unit::Celsius, Unit::Fahrenheit]
        }
        (Dimension::TemperatureDifference, "°" | "deg" | "degree" | "degrees") => {
            &[Unit::KelvinDifference, Unit::FahrenheitDifference]
        }
        (Dimension::Resistance, "m") => &[Unit::Milliohm, Unit::Megaohm],
        (Dimension::RoadSpeed, "km") => &[Unit::KilometrePerHour],
        (Dimension::RoadSpeed, "mile" | "miles" | "mi") => &[Unit::MilePerHour],
        (Dimension::Voltage | Dimension::Current, "m") => match dimension {
            Dimension::Voltage => &[Unit::Millivolt],
            _ => &[Unit::Milliampere],
        },
        _ => &[],
    }
}

/// The unit of the dimension whose spelling is nearest, if near at all.
fn nearest(text: &str, dimension: Dimension) -> Option<Unit> {
    let typed = folded(text).to_lowercase();
    let length = typed.chars().count();
    Unit::of(dimension)
        .flat_map(|unit| {
            unit.spelt()
                .map(move |spelling| (unit, folded(spelling).to_lowercase()))
        })
        .map(|(unit, spelling)| (strsim::damerau_levenshtein(&typed, &spelling), unit))
        .filter(|(distance, _)| *distance <= 2 && *distance < length)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, unit)| unit)
}
