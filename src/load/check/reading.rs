//! What an answer looks like: words, or a number with its bands, or a number from a formula.

use std::collections::{BTreeMap, BTreeSet};

use super::bands::Use;
use super::coverage::Claim;
use super::instruments::Instruments;
use super::known::Known;
use super::names::is_id;
use super::{names, values};
use crate::entry::TroubleCode;
use crate::knowledge::{
    Bound, Check, CodeMeaning, Limit, LimitBand, Measurement, Number, Outcome, Reading, Take,
};
use crate::load::folder::RawFamily;
use crate::load::log::{Log, Spot, say};
use crate::load::raw::measurements as raw;
use crate::load::value::{Entries, Name, Placed};
use crate::units::Unit;
use crate::units::formula::Formula;

/// The keys a limit of a sheet may have.
const LIMIT_KEYS: [&str; 3] = ["min", "max", "far"];

/// A reading with its outcomes in order.
pub(super) struct Answer {
    pub(super) reading: Reading,
    pub(super) outcomes: Vec<Outcome>,
}

/// The reading of a measurement.
pub(super) fn answer<'r>(
    name: &str,
    measurement: &'r raw::Measurement,
    known: &Known<'_>,
    instruments: &mut Instruments,
    uses: &mut Vec<Use<'r>>,
) -> Option<Answer> {
    let Placed {
        value: reading,
        spot,
    } = &measurement.reading;
    let numeric = [
        ("quantity", reading.quantity.is_some()),
        ("unit", reading.unit.is_some()),
        ("instrument", reading.instrument.is_some()),
        ("plausible", reading.plausible.is_some()),
        ("open", reading.open.is_some()),
        ("value", reading.value.is_some()),
        ("takes", reading.takes.is_some()),
        ("checks", reading.checks.is_some()),
    ];
    let shape = |words: String| {
        say!(known.log, *spot; ReadingShape, "{words}" =>
            "words have choices here; a number has quantity and unit here, and its bands under outcomes");
        None
    };
    match (&reading.choices, &reading.quantity, &reading.unit) {
        (Some(choices), None, None) => {
            if let Some((field, _)) = numeric.iter().find(|(_, given)| *given) {
                return shape(format!("a reading of words has no `{field}`"));
            }
            if measurement.outcomes.is_some() {
                return shape(
                    "a reading of words has its outcomes as its choices, not under `outcomes`"
                        .to_owned(),
                );
            }
            let outcomes = choice_outcomes(choices, known.log);
            let reading = if reading.codes {
                Reading::Codes
            } else {
                Reading::Words
            };
            Some(Answer { reading, outcomes })
        }
        (None, Some(quantity), Some(unit)) => {
            if reading.codes {
                return shape("trouble codes stand for choices, and a number has none".to_owned());
            }
            let Some(entries) = &measurement.outcomes else {
                return shape("a number needs its bands under `outcomes`".to_owned());
            };
            let (unit, instrument) =
                instruments.reads(quantity, unit, reading.instrument.as_ref(), known)?;
            let (takes, formula) = computed(reading, *spot, known, instruments)?;
            let number = Number {
                unit,
                instrument,
                plausible: values::interval(reading.plausible.as_ref(), known.log),
                open: reading.open.and_then(|open| width(open, known.log)),
                checks: checks(reading, *spot, known.log),
                takes,
                formula,
            };
            let outcomes = band_outcomes(name, entries, unit, uses, known.log)?;
            if number.open.is_none() && opens_at_zero(&outcomes) {
                say!(known.log, *spot; BadBand, "an open band whose limit is 0 has no size to go by" =>
                    "state `open`: how wide it is taken, in the unit of the reading");
            }
            Some(Answer {
                reading: Reading::Number(number),
                outcomes,
            })
        }
        (None, None, None) => shape("this reading is neither of words nor a number".to_owned()),
        (None, quantity, _) => {
            let lacks = if quantity.is_some() {
                "unit"
            } else {
                "quantity"
            };
            say!(known.log, *spot; MissingField, "`{lacks}` is missing here");
            None
        }
        (Some(_), ..) => shape("this reading is of words and a number at once".to_owned()),
    }
}

/// How wide an open band is taken.
fn width(open: Placed<f64>, log: &Log<'_>) -> Option<f64> {
    let width = Some(open.value).filter(|width| width.is_finite() && *width > 0.0);
    if width.is_none() {
        say!(log, open.spot; BadNumber, "a width of {} is not possible", open.value =>
            "it is above 0");
    }
    width
}

/// Whether a band has 0 as its only limit where no band is bounded.
fn opens_at_zero(outcomes: &[Outcome]) -> bool {
    let bands = || outcomes.iter().flat_map(|outcome| &outcome.bands);
    let at_zero = |band: &LimitBand| band.limits().all(|limit| *limit == Limit::Number(0.0));
    bands().all(|band| band.limits().count() < 2) && bands().any(at_zero)
}

fn choice_outcomes(choices: &raw::Choices, log: &Log<'_>) -> Vec<Outcome> {
    let plain = |name: &str, gloss: Option<String>| Outcome {
        name: name.to_owned(),
        gloss,
        ..Outcome::default()
    };
    match choices {
        raw::Choices::Plain(items) => {
            let mut outcomes: Vec<Outcome> = Vec::new();
            let mut seen = BTreeSet::new();
            for name in items.iter() {
                names::id(&name.value, name.spot, log);
                if seen.insert(name.value.as_str()) {
                    outcomes.push(plain(&name.value, None));
                } else {
                    say!(log, name.spot; DuplicateName,
                        "the outcome `{}` stands twice", name.value);
                }
            }
            outcomes
        }
        raw::Choices::Glossed(entries) => entries
            .0
            .iter()
            .map(|entry| {
                names::id(&entry.name, entry.spot, log);
                plain(&entry.name, entry.value.clone())
            })
            .collect(),
    }
}

fn band_outcomes<'r>(
    measurement: &str,
    entries: &'r Entries<raw::Bands>,
    unit: Unit,
    uses: &mut Vec<Use<'r>>,
    log: &Log<'_>,
) -> Option<Vec<Outcome>> {
    let mut outcomes = Vec::new();
    let mut claims = Vec::new();
    let mut well = true;
    for entry in &entries.0 {
        names::id(&entry.name, entry.spot, log);
        if let Some(raw::Bands::One(one)) = &entry.value
            && let Some(words) = &one.value.words
        {
            well &= alone(&one.value, one.spot, log);
            outcomes.push(Outcome {
                name: entry.name.clone(),
                gloss: Some(words.clone()),
                ..Outcome::default()
            });
            continue;
        }
        let items: Vec<&Placed<raw::Band>> = match &entry.value {
            Some(raw::Bands::One(one)) => vec![one],
            Some(raw::Bands::Several(several)) => {
                well &= several.0.iter().all(Option::is_some);
                if several.0.is_empty() {
                    say!(log, entry.spot; BadBand, "this outcome stands for no values");
                }
                several.iter().collect()
            }
            None => Vec::new(),
        };
        well &= !items.is_empty();
        let mut bands = Vec::new();
        for item in items {
            if let Some(band) = band(&item.value, item.spot, log) {
                claims.push(Claim {
                    outcome: &entry.name,
                    spot: entry.spot,
                    band: band.clone(),
                    raw: &item.value,
                });
                bands.push(band);
            } else {
                well = false;
            }
        }
        outcomes.push(Outcome {
            name: entry.name.clone(),
            bands,
            ..Outcome::default()
        });
    }
    if !well {
        return None;
    }
    uses.push(Use::new(measurement, Some(unit), claims, true));
    Some(outcomes)
}

/// Whether words stand alone, without the ends of a band.
fn alone(band: &raw::Band, spot: Spot, log: &Log<'_>) -> bool {
    let ends = [&band.from, &band.above, &band.to, &band.below];
    let alone = ends.iter().all(|end| end.is_none());
    if !alone {
        say!(log, spot; BadBand, "an outcome in words has no limits");
    }
    alone
}

/// A band with at most one end on each side and one at all.
pub(super) fn band(band: &raw::Band, spot: Spot, log: &Log<'_>) -> Option<LimitBand> {
    let end = |inside: &Option<Placed<raw::Limit>>,
               outside: &Option<Placed<raw::Limit>>,
               words: &str| match (inside, outside) {
        (Some(_), Some(outside)) => {
            say!(log, outside.spot; BadBand, "a band has one {words}, not both");
            Err(())
        }
        (Some(given), None) => Ok(Some(Bound {
            limit: limit(given, log).ok_or(())?,
            inside: true,
        })),
        (None, Some(given)) => Ok(Some(Bound {
            limit: limit(given, log).ok_or(())?,
            inside: false,
        })),
        (None, None) => Ok(None),
    };
    let lower = end(&band.from, &band.above, "lower end, `from` or `above`");
    let upper = end(&band.to, &band.below, "upper end, `to` or `below`");
    let (lower, upper) = (lower.ok()?, upper.ok()?);
    if lower.is_none() && upper.is_none() {
        say!(log, spot; BadBand, "this band has no end: give `from` or `above`, `to` or `below`");
        return None;
    }
    Some(LimitBand { lower, upper })
}

fn limit(given: &Placed<raw::Limit>, log: &Log<'_>) -> Option<Limit> {
    match &given.value {
        raw::Limit::Number(number) => values::finite(
            Placed {
                value: *number,
                spot: given.spot,
            },
            log,
        )
        .map(Limit::Number),
        raw::Limit::Named(Name { value: name, spot }) => {
            let advice = "name a limit of the vehicle's sheet and its key: `stall.max`";
            let Some((sheet, key)) = name.rsplit_once('.') else {
                say!(log, *spot; BadLimit, "`{name}` is no limit: it has no key" =>
                    "{advice}");
                return None;
            };
            if !is_id(sheet) || !LIMIT_KEYS.contains(&key) {
                let nearest = log
                    .nearest(key, LIMIT_KEYS)
                    .map(|key| format!("{sheet}.{key}"));
                say!(log, *spot; BadLimit, "`{name}` is no limit of a sheet" =>
                    "it is an id, a dot, and min, max or far"; nearest.filter(|_| is_id(sheet)));
                return None;
            }
            Some(Limit::Named {
                sheet: sheet.to_owned(),
                key: key.to_owned(),
            })
        }
    }
}

/// The raw readings and the formula of a computed number; both are empty for a number that is read.
fn computed(
    reading: &raw::Reading,
    spot: Spot,
    known: &Known<'_>,
    instruments: &mut Instruments,
) -> Option<(Vec<Take>, Option<Box<Formula>>)> {
    let (entries, value) = match (&reading.takes, &reading.value) {
        (None, None) => return Some((Vec::new(), None)),
        (Some(entries), Some(value)) => (entries, value),
        (takes, _) => {
            let (lacks, has) = if takes.is_some() {
                ("value", "takes")
            } else {
                ("takes", "value")
            };
            say!(known.log, spot; ReadingShape, "`{has}` needs `{lacks}` beside it" =>
                "`takes` lists what is read, `value` is the formula over it");
            return None;
        }
    };
    let mut takes = Vec::new();
    for entry in &entries.0 {
        let fits = entry
            .name
            .starts_with(|first: char| first.is_ascii_lowercase())
            && entry
                .name
                .chars()
                .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
        if !fits {
            say!(known.log, entry.spot; BadId, "`{}` is no name for a formula", entry.name =>
                "such a name has small letters, digits and `_`, a letter first");
        }
        let Some(take) = &entry.value else { continue };
        let (unit, instrument) =
            instruments.reads(&take.quantity, &take.unit, take.instrument.as_ref(), known)?;
        takes.push(Take {
            name: entry.name.clone(),
            ask: take.ask.clone(),
            unit,
            instrument,
            plausible: values::interval(take.plausible.as_ref(), known.log),
            typical: take
                .typical
                .and_then(|typical| values::finite(typical, known.log)),
        });
    }
    let formula = parsed(value, known.log)?;
    let well = uses_only(&formula, value, entries, known.log);
    for entry in &entries.0 {
        if well && !formula.names().iter().any(|name| name.name == entry.name) {
            say!(known.log, entry.spot; BadFormula,
                "`{}` is taken, but the formula does not use it", entry.name =>
                "use it in the formula, or do not take it");
        }
    }
    Some((takes, Some(Box::new(formula))))
}

/// A formula, where it can be read.
pub(super) fn parsed(value: &Name, log: &Log<'_>) -> Option<Formula> {
    match Formula::parse(&value.value) {
        Ok(formula) => Some(formula),
        Err(bad) => {
            let at = log.inside(value.spot, &value.value, bad.column);
            say!(log, at; BadFormula, "this formula cannot be read: {}", bad.reason);
            None
        }
    }
}

/// Whether a formula uses nothing but the raw readings; says what else it uses.
fn uses_only(formula: &Formula, value: &Name, entries: &Entries<raw::Take>, log: &Log<'_>) -> bool {
    let is_given = |name: &str| entries.0.iter().any(|entry| entry.name == name);
    let mut well = true;
    for unknown in formula.unknown(is_given) {
        well = false;
        say!(log, log.inside(value.spot, &value.value, unknown.column); BadFormula,
            "the formula uses `{}`, which `takes` does not give", unknown.name =>
            "take that reading, or leave it out of the formula";
            log.nearest(&unknown.name, entries.0.iter().map(|entry| entry.name.as_str())));
    }
    well
}

/// What else the raw readings of a computed number must make plausible.
fn checks(reading: &raw::Reading, spot: Spot, log: &Log<'_>) -> Vec<Check> {
    let (Some(checks), Some(takes)) = (&reading.checks, &reading.takes) else {
        if reading.checks.is_some() {
            say!(log, spot; ReadingShape, "`checks` needs `takes` beside it");
        }
        return Vec::new();
    };
    checks
        .0
        .iter()
        .filter_map(|entry| {
            let check = entry.value.as_ref()?;
            let formula = parsed(&check.value, log)?;
            uses_only(&formula, &check.value, takes, log);
            Some(Check {
                name: entry.name.clone(),
                formula: Box::new(formula),
                plausible: values::interval(Some(&check.plausible), log)?,
            })
        })
        .collect()
}

/// The trouble codes that are known.
pub(super) fn codes(
    raw: &RawFamily,
    measurements: &[Measurement],
    log: &Log<'_>,
) -> BTreeMap<String, CodeMeaning> {
    let kinds: BTreeSet<&str> = measurements
        .iter()
        .filter(|measurement| matches!(measurement.reading, Reading::Codes))
        .flat_map(|measurement| {
            measurement
                .outcomes
                .iter()
                .map(|outcome| outcome.name.as_str())
        })
        .collect();
    let mut codes = BTreeMap::new();
    for entry in &raw.codes.codes.0 {
        let code = match entry.name.parse::<TroubleCode>() {
            Ok(code) if code.to_string() == entry.name => code,
            _ => {
                say!(log, entry.spot; BadCode, "`{}` is no trouble code", entry.name =>
                    "a code is P, C, B or U, a digit 0 to 3, and three digits or letters A to F, as in P0841");
                continue;
            }
        };
        let Some(meaning) = &entry.value else {
            continue;
        };
        let Name { value: kind, spot } = &meaning.kind;
        if !kinds.is_empty() && !kinds.contains(kind.as_str()) {
            say!(log, *spot; UnknownOutcome, "no measurement of codes has the outcome `{kind}`" =>
                "a code stands for an outcome of the measurement that reads codes";
                log.nearest(kind, kinds.iter().copied()));
        }
        codes.insert(
            code.to_string(),
            CodeMeaning {
                means: meaning.means.clone(),
                kind: kind.clone(),
                source: meaning.source.clone(),
            },
        );
    }
    codes
}
