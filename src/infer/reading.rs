//! From what was typed to what it says: an outcome, a number with its uncertainty, trouble codes.

use std::collections::BTreeMap;

use super::instrument::standard_uncertainty;
use super::model::bands_on;
use super::update::Evidence;
use crate::entry;
use crate::entry::{Answer, Choice, Entry, NoChoice, TroubleCode, choose};
use crate::knowledge::{
    Family, InstrumentId, Measurement, MeasurementId, Number, Reading, Take, Vehicle,
};
use crate::text::{plain, quoted};
use crate::units::Unit;
use crate::units::conformity::{Band, Known, weights};
use crate::units::formula::Measured;

/// A reading that was understood.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// What it says.
    pub evidence: Evidence,
    /// What was typed.
    pub raw: String,
    /// The number, where it is one.
    pub value: Option<Value>,
    /// The raw readings the number was computed from, by name.
    pub parts: BTreeMap<String, Part>,
    /// The trouble codes, where the measurement reads them: empty for "no codes".
    pub codes: Option<Vec<TroubleCode>>,
    /// What to show back before it counts: how it was understood.
    pub echo: Option<String>,
}

/// A number with its unit and standard uncertainty.
#[derive(Clone, Debug, PartialEq)]
pub struct Value {
    /// The number in `unit`: the middle of a swing, the stop the needle is against.
    pub number: f64,
    /// Its unit.
    pub unit: Unit,
    /// Its standard uncertainty in `unit` (JCGM 100); `None` against an end stop.
    pub uncertainty: Option<f64>,
    /// What reads it, where one instrument does.
    pub instrument: Option<InstrumentId>,
}

/// One raw reading of a computed number.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// What was typed.
    pub raw: String,
    /// The number with its unit.
    pub value: Value,
    /// How it was understood.
    pub echo: String,
}

/// What a typed answer to a measurement says.
///
/// An outcome by its name, its number in the list, or the start of its name that no other has; for
/// a number also the number with its unit; for codes also the codes. `instrument` is the one really
/// used, where it is not the measurement's own.
pub fn understand(
    family: &Family,
    vehicle: Option<&Vehicle>,
    id: MeasurementId,
    text: &str,
    instrument: Option<InstrumentId>,
) -> Answer<Taken> {
    let measurement = family.measurement(id);
    let text = text.trim();
    match &measurement.reading {
        Reading::Words => words(measurement, id, text, true),
        Reading::Codes => match words(measurement, id, text, true) {
            taken @ Answer::Taken(_) => taken,
            other => codes(family, measurement, id, text).unwrap_or(other),
        },
        Reading::Number(number) => {
            // `low`, `normal`: somebody else judged the number. A digit is a number here, never a place.
            if let taken @ Answer::Taken(_) = words(measurement, id, text, false) {
                return taken;
            }
            let bands = match bands_of(measurement, vehicle) {
                Ok(bands) => bands,
                Err(words) => return Answer::Refused(words),
            };
            let instrument = instrument.or(number.instrument);
            let expected = family.expected(number.unit, number.plausible, instrument);
            entry::understand(text, &expected).map(|entry| {
                let u = uncertainty_of(family, number, &entry, instrument);
                from_number(id, number, &bands, &entry, u, instrument)
            })
        }
    }
}

/// What a typed raw reading of a computed number says.
pub fn understand_part(
    family: &Family,
    take: &Take,
    text: &str,
    instrument: Option<InstrumentId>,
) -> Answer<Part> {
    let instrument = instrument.or(take.instrument);
    let expected = family.expected(take.unit, take.plausible, instrument);
    entry::understand(text.trim(), &expected).map(|entry| {
        let here = entry
            .in_unit(take.unit)
            .ok_or_else(|| "That is another kind of quantity.".to_owned())?;
        let number = here.middle();
        let own = instrument.map_or(0.0, |id| {
            standard_uncertainty(family.instrument(id), number, take.unit)
        });
        let known = here.known(take.unit, own).and_then(Known::moments);
        let Some((number, u)) = known else {
            return Err(format!(
                "{} is only known to be beyond {}: no number can be computed from that.",
                take.name,
                plain(number)
            ));
        };
        Ok(Part {
            raw: entry.raw.clone(),
            value: Value {
                number,
                unit: take.unit,
                uncertainty: Some(u),
                instrument,
            },
            echo: format!("{entry}"),
        })
    })
}

/// The number computed from its raw readings, its uncertainty carried through to first order
/// (JCGM 100, 5.1.2), and what it says.
///
/// # Errors
///
/// Words where the formula has no value, or the vehicle's sheet lacks a limit.
pub fn derive(
    family: &Family,
    vehicle: Option<&Vehicle>,
    id: MeasurementId,
    parts: BTreeMap<String, Part>,
) -> Result<Taken, String> {
    let measurement = family.measurement(id);
    let Some(number) = measurement.number() else {
        return Err(format!("{} is no number.", measurement.name));
    };
    let Some(formula) = &number.formula else {
        return Err(format!("{} is not computed.", measurement.name));
    };
    let bands = bands_of(measurement, vehicle)?;
    let taken: BTreeMap<String, Measured> = parts
        .iter()
        .map(|(name, part)| {
            let u = part.value.uncertainty.unwrap_or(0.0);
            (
                name.clone(),
                Measured {
                    value: part.value.number,
                    u,
                },
            )
        })
        .collect();
    let computed = formula
        .evaluate(&taken)
        .map_err(|no_value| format!("{} has no value: {no_value}.", formula.text()))?;
    for check in &number.checks {
        let made = check
            .formula
            .evaluate(&taken)
            .map_err(|no_value| format!("{} has no value: {no_value}.", check.formula.text()))?;
        if !check.plausible.holds(made.value) {
            return Err(format!(
                "That makes the {} {}, outside {} to {}: read them again.",
                check.name.replace('-', " "),
                plain(made.value),
                plain(check.plausible.from()),
                plain(check.plausible.to())
            ));
        }
    }
    if let Some(plausible) = number.plausible
        && !plausible.holds(computed.value)
    {
        return Err(format!(
            "That makes {} {}, outside {} to {}: read both again.",
            plain(computed.value),
            number.unit.symbol(),
            plain(plausible.from()),
            plain(plausible.to())
        ));
    }
    let raw: Vec<String> = parts
        .iter()
        .map(|(name, part)| format!("{name}={}", part.raw))
        .collect();
    let known = Known::Normal {
        value: computed.value,
        u: computed.u,
    };
    Ok(Taken {
        evidence: Evidence {
            measurement: id,
            weights: weights(known, &bands),
        },
        raw: raw.join(", "),
        value: Some(Value {
            number: computed.value,
            unit: number.unit,
            uncertainty: Some(computed.u),
            instrument: None,
        }),
        parts,
        codes: None,
        echo: Some(format!(
            "{} = {} {}, standard uncertainty {}",
            formula.text(),
            plain(computed.value),
            number.unit.symbol(),
            plain(computed.u)
        )),
    })
}

/// An outcome by its name, by what else is typed for it, by a start that only it has, or by its place in the list.
fn words(
    measurement: &Measurement,
    id: MeasurementId,
    text: &str,
    by_place: bool,
) -> Answer<Taken> {
    let outcomes = &measurement.outcomes;
    let place = by_place.then(|| text.parse::<usize>().ok()).flatten();
    let by_number = place
        .filter(|place| (1..=outcomes.len()).contains(place))
        .map(|place| place - 1);
    let choices: Vec<Choice<'_>> = outcomes
        .iter()
        .map(|outcome| Choice {
            name: &outcome.name,
            words: &outcome.words,
        })
        .collect();
    let chosen = by_number.map_or_else(|| choose(text, &choices, &measurement.unclear), Ok);
    let outcome = match chosen {
        Ok(outcome) => outcome,
        Err(NoChoice::Unknown) => {
            let names = outcome_names(measurement);
            return Answer::Refused(format!("{} is none of: {}.", quoted(text), names));
        }
        Err(NoChoice::Unclear) => {
            let meant = outcomes.iter().map(|outcome| match &outcome.gloss {
                Some(gloss) if *gloss != outcome.name => format!("{} ({gloss})", outcome.name),
                _ => outcome.name.clone(),
            });
            let meant: Vec<String> = meant.collect();
            return Answer::Refused(format!(
                "{} does not say which of these: {}.",
                quoted(text),
                meant.join("; ")
            ));
        }
    };
    let name = &outcomes[outcome].name;
    Answer::Taken(Box::new(Taken {
        evidence: certain(measurement, id, outcome),
        raw: text.to_owned(),
        value: None,
        parts: BTreeMap::new(),
        codes: None,
        echo: (!name.eq_ignore_ascii_case(text)).then(|| format!("Taken as {name}.")),
    }))
}

/// Trouble codes as an outcome: the first known one decides. `None` where the text is no codes.
fn codes(
    family: &Family,
    measurement: &Measurement,
    id: MeasurementId,
    text: &str,
) -> Option<Answer<Taken>> {
    let codes = TroubleCode::list(text).ok()?;
    let mut said = Vec::new();
    let mut outcome = None;
    for code in &codes {
        match family.codes.get(&code.to_string()) {
            Some(meaning) => {
                said.push(format!("{code}: {} ({}).", meaning.means, meaning.kind));
                outcome = outcome.or_else(|| measurement.outcome(&meaning.kind));
            }
            None => said.push(format!(
                "{code}: not known here; kept in the record, not used."
            )),
        }
    }
    if codes.is_empty() {
        said.push("No codes.".to_owned());
    } else if outcome.is_none() {
        said.push("None of them is known: counted as no finding.".to_owned());
    }
    let outcome = outcome.unwrap_or(measurement.normal);
    Some(Answer::Taken(Box::new(Taken {
        evidence: certain(measurement, id, outcome.index()),
        raw: text.to_owned(),
        value: None,
        parts: BTreeMap::new(),
        codes: Some(codes),
        echo: Some(said.join(" ")),
    })))
}

fn outcome_names(measurement: &Measurement) -> String {
    let names: Vec<&str> = measurement
        .outcomes
        .iter()
        .map(|outcome| outcome.name.as_str())
        .collect();
    names.join(", ")
}

/// The evidence of an outcome that is certain.
fn certain(measurement: &Measurement, id: MeasurementId, outcome: usize) -> Evidence {
    let mut weights = vec![0.0; measurement.outcomes.len()];
    weights[outcome] = 1.0;
    Evidence {
        measurement: id,
        weights,
    }
}

/// The bands of a number on the vehicle.
fn bands_of(
    measurement: &Measurement,
    vehicle: Option<&Vehicle>,
) -> Result<Vec<Vec<Band>>, String> {
    let Some(vehicle) = vehicle else {
        let names = outcome_names(measurement);
        return Err(format!(
            "Without a vehicle's sheet a number cannot be judged: look the limits up and answer {names}."
        ));
    };
    bands_on(measurement, vehicle)
        .map_err(|missing| format!("The number cannot be judged: {missing}."))
}

/// The standard uncertainty of a number typed as such, in the unit of the measurement.
fn uncertainty_of(
    family: &Family,
    number: &Number,
    entry: &Entry,
    instrument: Option<InstrumentId>,
) -> f64 {
    let value = entry.in_unit(number.unit).map_or(0.0, |here| here.middle());
    match instrument {
        Some(id) => standard_uncertainty(family.instrument(id), value, number.unit),
        // A computed number typed as such: what its parts would have in their middle.
        None => super::instrument::foreseen_uncertainty(family, number, &[]),
    }
}

/// What a typed number says.
fn from_number(
    id: MeasurementId,
    number: &Number,
    bands: &[Vec<Band>],
    entry: &Entry,
    u: f64,
    instrument: Option<InstrumentId>,
) -> Result<Taken, String> {
    let known = entry
        .known(number.unit, u)
        .ok_or_else(|| "That is another kind of quantity.".to_owned())?;
    let (middle, uncertainty) = match known.moments() {
        Some((middle, u)) => (middle, Some(u)),
        None => (
            entry.in_unit(number.unit).map_or(0.0, |here| here.middle()),
            None,
        ),
    };
    let assumed = if entry.assumed {
        ", the unit of this measurement"
    } else {
        ""
    };
    let converted = if entry.unit == number.unit {
        String::new()
    } else {
        format!(" = {} {}", plain(middle), number.unit.symbol())
    };
    Ok(Taken {
        evidence: Evidence {
            measurement: id,
            weights: weights(known, bands),
        },
        raw: entry.raw.clone(),
        value: Some(Value {
            number: middle,
            unit: number.unit,
            uncertainty,
            instrument,
        }),
        parts: BTreeMap::new(),
        codes: None,
        echo: Some(format!("Taken as {entry}{converted}{assumed}.")),
    })
}
