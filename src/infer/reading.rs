//! From what was typed to what it says: an outcome, a number with its uncertainty, trouble codes.

use std::collections::BTreeMap;

use super::instrument::standard_uncertainty;
use super::model::bands_on;
use super::update::Evidence;
use super::verdict::verdict;
use crate::entry;
use crate::entry::{Answer, Entry, Expected, NoChoice, TroubleCode, folded};
use crate::knowledge::{
    Family, InstrumentId, Measurement, MeasurementId, Number, Outcome, OutcomeId, Reading, Take,
    Timed, Vehicle,
};
use crate::text::figures::rounded;
use crate::text::{plain, quoted};
use crate::units::conformity::{Band, Known, weights};
use crate::units::formula::{Formula, Measured};
use crate::units::{System, Unit};

/// How a reading is typed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Typing {
    /// The instrument really used, where it is not the measurement's own.
    pub instrument: Option<InstrumentId>,
    /// The units on the screen: a bare number counts in them, and one that fits the limits in another unit only is
    /// asked about. None for a file, in which a bare number counts in the measurement's own unit.
    pub system: Option<System>,
}

impl Typing {
    /// The unit of a bare number, where `unit` is the measurement's.
    fn shown(&self, unit: Unit) -> Unit {
        self.system.map_or(unit, |system| unit.shown_in(system))
    }

    /// The instrument in use, where it measures what `unit` counts.
    fn on(&self, family: &Family, unit: Unit) -> Option<InstrumentId> {
        let same = |id: &InstrumentId| family.instrument(*id).unit.dimension() == unit.dimension();
        self.instrument.filter(same)
    }
}

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

impl Taken {
    /// A reading without a number.
    fn of(
        measurement: MeasurementId,
        weights: Vec<f64>,
        raw: String,
        echo: Option<String>,
    ) -> Self {
        Self {
            evidence: Evidence {
                measurement,
                weights,
            },
            raw,
            value: None,
            parts: BTreeMap::new(),
            codes: None,
            echo,
        }
    }

    /// A reading whose outcome is certain.
    fn certain(measurement: &Measurement, id: MeasurementId, outcome: usize, raw: &str) -> Self {
        let mut weights = vec![0.0; measurement.outcomes.len()];
        weights[outcome] = 1.0;
        Self::of(id, weights, raw.to_owned(), None)
    }
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
/// An outcome by its name, its gloss, its words, its number in the list, or a start that no other has; for a number also
/// the number with its unit, several tries of it where it is timed so; for codes also the codes.
pub fn understand(
    family: &Family,
    vehicle: Option<&Vehicle>,
    id: MeasurementId,
    text: &str,
    typing: &Typing,
) -> Answer<Taken> {
    let measurement = family.measurement(id);
    let text = text.trim();
    let number = match &measurement.reading {
        Reading::Words => return words(measurement, id, text, true),
        Reading::Codes => {
            return match words(measurement, id, text, true) {
                taken @ Answer::Taken(_) => taken,
                other => codes(family, measurement, id, text).unwrap_or(other),
            };
        }
        Reading::Number(number) => number,
    };
    // `low`, `normal`: somebody else judged the number. A digit is a number here, never a place.
    match words(measurement, id, text, false) {
        Answer::Refused(_) => {}
        Answer::Question { .. } if text.contains(|c: char| c.is_ascii_digit()) => {}
        answer => return answer,
    }
    let bands = match bands_of(measurement, vehicle) {
        Ok(bands) => bands,
        Err(words) => return Answer::Refused(words),
    };
    let instrument = typing.on(family, number.unit).or(number.instrument);
    let shown = typing.shown(number.unit);
    let limits = match bands[measurement.normal.index()].as_slice() {
        [only] => typing.system.map(|_| *only),
        _ => None,
    };
    let expected = Expected {
        limits,
        ..family.expected(number.unit, number.plausible, instrument)
    };
    let expected = expected.in_unit(shown);
    let tries = match measurement.timed {
        Some(Timed::Lag { .. }) => entry::understand_tries(text, &expected),
        _ => None,
    };
    let entry = tries.unwrap_or_else(|| entry::understand(text, &expected));
    entry.map(|entry| {
        let u = uncertainty_of(family, number, &entry, instrument);
        let known = entry
            .known(number.unit, u)
            .ok_or_else(|| "That is another kind of quantity.".to_owned())?;
        let here = entry.in_unit(number.unit).map_or(0.0, |here| here.middle());
        let (middle, uncertainty) = match known.moments() {
            Some((middle, u)) => (middle, Some(u)),
            None => (here, None),
        };
        let weights = weights(known, &bands);
        let written = written(&entry, number.unit, u, shown);
        let says = verdict(measurement, &written, here, &bands, &weights, shown);
        Ok(Taken {
            value: Some(Value {
                number: middle,
                unit: number.unit,
                uncertainty,
                instrument,
            }),
            ..Taken::of(id, weights, entry.raw.clone(), Some(says))
        })
    })
}

/// What a typed raw reading of a computed number says.
pub fn understand_part(family: &Family, take: &Take, text: &str, typing: &Typing) -> Answer<Part> {
    let instrument = typing.on(family, take.unit).or(take.instrument);
    let shown = typing.shown(take.unit);
    let expected = family.expected(take.unit, take.plausible, instrument);
    entry::understand(text.trim(), &expected.in_unit(shown)).map(|entry| {
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
            echo: format!("Taken: {}.", written(&entry, take.unit, u, shown)),
        })
    })
}

/// A reading as it is shown back: as it was typed, and in the unit on the screen. `u` is its standard uncertainty in
/// `unit`.
fn written(entry: &Entry, unit: Unit, u: f64, shown: Unit) -> String {
    if entry.unit == shown {
        return entry.to_string();
    }
    format!("{entry} = {}", converted(entry, unit, u, shown))
}

/// A reading in the unit on the screen, to as many digits as were read.
fn converted(entry: &Entry, unit: Unit, u: f64, shown: Unit) -> String {
    let u = unit.convert_difference(u, shown).unwrap_or(0.0);
    let here = entry.as_read_in(shown, u);
    here.map_or_else(|| entry.to_string(), |here| here.to_string())
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
    typing: &Typing,
) -> Result<Taken, String> {
    let measurement = family.measurement(id);
    let Some(number) = measurement.number() else {
        return Err(format!("{} is no number.", measurement.name));
    };
    let Some(formula) = &number.formula else {
        return Err(format!("{} is not computed.", measurement.name));
    };
    let bands = bands_of(measurement, vehicle)?;
    let measured = |part: &Part| Measured {
        value: part.value.number,
        u: part.value.uncertainty.unwrap_or(0.0),
    };
    let taken = parts
        .iter()
        .map(|(name, part)| (name.clone(), measured(part)));
    let taken: BTreeMap<String, Measured> = taken.collect();
    let evaluate = |formula: &Formula| {
        let computed = formula.evaluate(&taken);
        computed.map_err(|no_value| format!("{} has no value: {no_value}.", formula.text()))
    };
    let computed = evaluate(formula)?;
    for check in &number.checks {
        let made = evaluate(&check.formula)?;
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
    let shown = typing.shown(number.unit);
    let entry = Entry::point(computed.value, number.unit);
    let written = converted(&entry, number.unit, computed.u, shown);
    if let Some(plausible) = number.plausible
        && !plausible.holds(computed.value)
        && let Some(plausible) = number.unit.convert_interval(plausible, shown)
    {
        return Err(format!(
            "That makes {written}, outside {} to {}: read both again.",
            rounded(plausible.from()),
            rounded(plausible.to())
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
    let weights = weights(known, &bands);
    let written = format!("{}: {written}", measurement.title);
    let says = verdict(
        measurement,
        &written,
        computed.value,
        &bands,
        &weights,
        shown,
    );
    Ok(Taken {
        value: Some(Value {
            number: computed.value,
            unit: number.unit,
            uncertainty: Some(computed.u),
            instrument: None,
        }),
        parts,
        ..Taken::of(id, weights, raw.join(", "), Some(says))
    })
}

/// An outcome as it is typed, or by its place in the list.
fn words(
    measurement: &Measurement,
    id: MeasurementId,
    text: &str,
    by_place: bool,
) -> Answer<Taken> {
    let outcomes = &measurement.outcomes;
    let place = text.trim_end_matches(['.', ')']).parse::<usize>().ok();
    let by_number = place
        .filter(|place| by_place && (1..=outcomes.len()).contains(place))
        .map(|place| place - 1);
    let by_words = || measurement.choose(text).map(OutcomeId::index);
    let chosen = by_number.map_or_else(by_words, Ok);
    let taken = |outcome: usize| {
        let words = outcomes[outcome].words();
        Taken {
            echo: (folded(&words) != folded(text)).then(|| format!("Taken: {words}.")),
            ..Taken::certain(measurement, id, outcome, text)
        }
    };
    let why = match chosen {
        Ok(outcome) => return Answer::Taken(Box::new(taken(outcome))),
        Err(NoChoice::Near(outcome)) => {
            return Answer::Question {
                alternatives: vec![taken(outcome)],
                words: format!("Did you mean {}?", quoted(&outcomes[outcome].words())),
            };
        }
        Err(NoChoice::Unclear) => "does not say which of these",
        Err(NoChoice::Unknown) => "is none of these",
    };
    let meant: Vec<String> = outcomes.iter().map(Outcome::words).collect();
    Answer::Refused(format!("{} {why}: {}.", quoted(text), meant.join("; ")))
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
        codes: Some(codes),
        echo: Some(said.join(" ")),
        ..Taken::certain(measurement, id, outcome.index(), text)
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

/// The bands of a number on the vehicle.
fn bands_of(
    measurement: &Measurement,
    vehicle: Option<&Vehicle>,
) -> Result<Vec<Vec<Band>>, String> {
    bands_on(measurement, vehicle).map_err(|missing| match vehicle {
        Some(_) => format!("The number cannot be judged: {missing}."),
        None => format!(
            "Without a vehicle's sheet a number cannot be judged: look the limits up and answer {}.",
            outcome_names(measurement)
        ),
    })
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
        // A computed number typed as such is as uncertain as it is from what is usually read.
        None => super::instrument::foreseen_uncertainty(family, number, &[]),
    }
}
