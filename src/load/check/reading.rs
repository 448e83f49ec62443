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
    let Placed { value: given, spot } = &measurement.reading;
    let numeric = [
        ("quantity", given.quantity.is_some()),
        ("unit", given.unit.is_some()),
        ("instrument", given.instrument.is_some()),
        ("plausible", given.plausible.is_some()),
        ("open", given.open.is_some()),
        ("value", given.value.is_some()),
        ("takes", given.takes.is_some()),
        ("checks", given.checks.is_some()),
    ];
    let shape = |words: &str| {
        say!(known.log, *spot; ReadingShape, "{words}" =>
            "words have choices here; a number has quantity and unit here, and its bands under outcomes");
        None
    };
    let (quantity, unit) = match (&given.choices, &given.quantity, &given.unit) {
        (Some(choices), None, None) => {
            if let Some((field, _)) = numeric.iter().find(|(_, given)| *given) {
                return shape(&format!("a reading of words has no `{field}`"));
            }
            if measurement.outcomes.is_some() {
                return shape(
                    "a reading of words has its outcomes as its choices, not under `outcomes`",
                );
            }
            let outcomes = choice_outcomes(choices, known.log);
            let reading = if given.codes {
                Reading::Codes
            } else {
                Reading::Words
            };
            return Some(Answer { reading, outcomes });
        }
        (None, Some(quantity), Some(unit)) => (quantity, unit),
        (None, None, None) => return shape("this reading is neither of words nor a number"),
        (None, quantity, _) => {
            let lacks = quantity.as_ref().map_or("quantity", |_| "unit");
            say!(known.log, *spot; MissingField, "`{lacks}` is missing here");
            return None;
        }
        (Some(_), ..) => return shape("this reading is of words and a number at once"),
    };
    if given.codes {
        return shape("trouble codes stand for choices, and a number has none");
    }
    let Some(entries) = &measurement.outcomes else {
        return shape("a number needs its bands under `outcomes`");
    };
    let (unit, instrument) = instruments.reads(quantity, unit, given.instrument.as_ref(), known)?;
    let (takes, formula) = computed(given, *spot, known, instruments)?;
    let number = Number {
        unit,
        instrument,
        plausible: values::interval(given.plausible.as_ref(), known.log),
        open: given.open.and_then(|open| width(open, known.log)),
        checks: checks(given, *spot, known.log),
        takes,
        formula,
    };
    let outcomes = band_outcomes(name, entries, unit, uses, known.log)?;
    if number.open.is_none() && opens_at_zero(&outcomes) {
        say!(known.log, *spot; BadBand, "an open band whose limit is 0 has no size to go by" =>
            "state `open`: how wide it is taken, in the unit of the reading");
    }
    let reading = Reading::Number(number);
    Some(Answer { reading, outcomes })
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
    let listed: Vec<(&str, Spot, Option<&String>)> = match choices {
        raw::Choices::Plain(items) => {
            let items = items.iter();
            items.map(|name| (&*name.value, name.spot, None)).collect()
        }
        raw::Choices::Glossed(entries) => {
            let entries = entries.0.iter();
            entries
                .map(|entry| (&*entry.name, entry.spot, entry.value.as_ref()))
                .collect()
        }
    };
    let mut seen = BTreeSet::new();
    let outcomes = listed.into_iter().filter_map(|(name, spot, gloss)| {
        names::id(name, spot, log);
        if !seen.insert(name) {
            say!(log, spot; DuplicateName, "the outcome `{name}` stands twice");
            return None;
        }
        Some(Outcome {
            name: name.to_owned(),
            gloss: gloss.cloned(),
            ..Outcome::default()
        })
    });
    outcomes.collect()
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
        let mut outcome = Outcome {
            name: entry.name.clone(),
            ..Outcome::default()
        };
        let items: Vec<&Placed<raw::Band>> = match &entry.value {
            Some(raw::Bands::One(one)) => {
                outcome.gloss.clone_from(&one.value.words);
                vec![one]
            }
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
        for item in items {
            if outcome.gloss.is_some() {
                well &= alone(&item.value, item.spot, log);
            } else if let Some(band) = band(&item.value, item.spot, log) {
                claims.push(Claim {
                    outcome: &entry.name,
                    spot: entry.spot,
                    band: band.clone(),
                    raw: &item.value,
                });
                outcome.bands.push(band);
            } else {
                well = false;
            }
        }
        outcomes.push(outcome);
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
    let end =
        |inside: &Option<Placed<raw::Limit>>, outside: &Option<Placed<raw::Limit>>, words: &str| {
            if let (Some(_), Some(outside)) = (inside, outside) {
                say!(log, outside.spot; BadBand, "a band has one {words}, not both");
                return None;
            }
            let Some(given) = inside.as_ref().or(outside.as_ref()) else {
                return Some(None);
            };
            let inside = inside.is_some();
            limit(given, log).map(|limit| Some(Bound { limit, inside }))
        };
    let lower = end(&band.from, &band.above, "lower end, `from` or `above`");
    let upper = end(&band.to, &band.below, "upper end, `to` or `below`");
    let (lower, upper) = (lower?, upper?);
    if lower.is_none() && upper.is_none() {
        say!(log, spot; BadBand, "this band has no end: give `from` or `above`, `to` or `below`");
        return None;
    }
    Some(LimitBand { lower, upper })
}

fn limit(given: &Placed<raw::Limit>, log: &Log<'_>) -> Option<Limit> {
    let spot = given.spot;
    let name = match &given.value {
        raw::Limit::Number(value) => {
            return values::finite(
                Placed {
                    value: *value,
                    spot,
                },
                log,
            )
            .map(Limit::Number);
        }
        raw::Limit::Named(name) => &name.value,
    };
    let Some((sheet, key)) = name.rsplit_once('.') else {
        say!(log, spot; BadLimit, "`{name}` is no limit: it has no key" =>
            "name a limit of the vehicle's sheet and its key: `stall.max`");
        return None;
    };
    if !is_id(sheet) || !LIMIT_KEYS.contains(&key) {
        let nearest = log.nearest(key, LIMIT_KEYS).filter(|_| is_id(sheet));
        say!(log, spot; BadLimit, "`{name}` is no limit of a sheet" =>
            "it is an id, a dot, and min, max or far"; nearest.map(|key| format!("{sheet}.{key}")));
        return None;
    }
    Some(Limit::Named {
        sheet: sheet.to_owned(),
        key: key.to_owned(),
    })
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
            let (lacks, has) = takes
                .as_ref()
                .map_or(("takes", "value"), |_| ("value", "takes"));
            say!(known.log, spot; ReadingShape, "`{has}` needs `{lacks}` beside it" =>
                "`takes` lists what is read, `value` is the formula over it");
            return None;
        }
    };
    let mut takes = Vec::new();
    for entry in &entries.0 {
        let mut letters = entry.name.chars();
        let fits = letters
            .next()
            .is_some_and(|first| first.is_ascii_lowercase())
            && letters.all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
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
    let well = uses_only(&formula, value, &entries.names(), "takes", known.log);
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

/// Whether a formula uses nothing but some names, those that `field` gives; says what else it uses.
pub(super) fn uses_only<'n>(
    formula: &Formula,
    value: &Name,
    names: &(impl Iterator<Item = &'n str> + Clone),
    field: &str,
    log: &Log<'_>,
) -> bool {
    let mut well = true;
    for unknown in formula.unknown(|name| names.clone().any(|known| known == name)) {
        well = false;
        say!(log, log.inside(value.spot, &value.value, unknown.column); BadFormula,
            "the formula uses `{}`, which `{field}` does not give", unknown.name =>
            "take that reading, or leave it out of the formula";
            log.nearest(&unknown.name, names.clone()));
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
    let checks = checks.0.iter().filter_map(|entry| {
        let check = entry.value.as_ref()?;
        let formula = parsed(&check.value, log)?;
        uses_only(&formula, &check.value, &takes.names(), "takes", log);
        Some(Check {
            name: entry.name.clone(),
            formula: Box::new(formula),
            plausible: values::interval(Some(&check.plausible), log)?,
        })
    });
    checks.collect()
}

/// The trouble codes that are known.
pub(super) fn codes(
    raw: &RawFamily,
    measurements: &[Measurement],
    log: &Log<'_>,
) -> BTreeMap<String, CodeMeaning> {
    let of_codes = |of: &&Measurement| matches!(of.reading, Reading::Codes);
    let measured = measurements.iter().filter(of_codes);
    let kinds = measured.flat_map(|of| of.outcomes.iter().map(|outcome| outcome.name.as_str()));
    let kinds: BTreeSet<&str> = kinds.collect();
    let mut codes = BTreeMap::new();
    for entry in &raw.codes.codes.0 {
        let code = entry.name.parse::<TroubleCode>();
        if !code.is_ok_and(|code| code.to_string() == entry.name) {
            say!(log, entry.spot; BadCode, "`{}` is no trouble code", entry.name =>
                "a code is P, C, B or U, a digit 0 to 3, and three digits or letters A to F, as in P0841");
            continue;
        }
        let Some(meaning) = &entry.value else {
            continue;
        };
        let Name { value: kind, spot } = &meaning.kind;
        if !kinds.is_empty() && !kinds.contains(kind.as_str()) {
            say!(log, *spot; UnknownOutcome, "no measurement of codes has the outcome `{kind}`" =>
                "a code stands for an outcome of the measurement that reads codes";
                log.nearest(kind, kinds.iter().copied()));
        }
        let meaning = CodeMeaning {
            means: meaning.means.clone(),
            kind: kind.clone(),
            source: meaning.source.clone(),
        };
        codes.insert(entry.name.clone(), meaning);
    }
    codes
}
