//! Worked cases.

use std::collections::BTreeMap;

use super::known::{Known, finished};
use super::{values, vehicles};
use crate::entry;
use crate::entry::{Answer, Expected, TroubleCode};
use crate::knowledge::{Case, CaseReading, Claim, Expect, Family, Measurement, Reading, Vehicle};
use crate::load::folder::{RawFamily, stem};
use crate::load::log::{Log, Spot, say};
use crate::load::raw::cases as raw;
use crate::load::value::{Placed, Scalar};

/// The cases of a family, in the order of their files.
pub(super) fn cases(
    raw: &RawFamily,
    known: &Known<'_>,
    family: &Family,
    vehicles: &[Vehicle],
) -> Vec<Case> {
    let cases = raw.cases.iter().filter_map(|(path, file)| {
        finished(file.unfinished, "case", file.case.spot, known.log, || {
            case(path, file, known, family, vehicles)
        })
    });
    cases.collect()
}

fn case(
    path: &str,
    file: &raw::CaseFile,
    known: &Known<'_>,
    family: &Family,
    vehicles: &[Vehicle],
) -> Option<Case> {
    let count = file.symptoms.0.len();
    values::at_least(1, count, "symptoms", file.case.spot, known.log);
    let symptoms = known.symptoms.ids(&file.symptoms);
    let mut absent = Vec::new();
    for name in file.absent.iter() {
        if let Some(id) = known.symptoms.find(name) {
            if symptoms.contains(&id) {
                say!(known.log, name.spot; DuplicateName,
                    "`{}` is present and absent at once", name.value);
            }
            absent.push(id);
        }
    }
    let vehicle = vehicles::named(file.vehicle.as_ref(), vehicles, known);
    let mut readings = Vec::new();
    let mut needs_a_sheet: Option<&Measurement> = None;
    for reading in file.readings.iter() {
        let Some(id) = known.measurements.find(&reading.measurement) else {
            continue;
        };
        let name = &reading.measurement.value;
        let measurement = family.measurements.iter().find(|of| of.name == *name);
        if let Some(measurement) = measurement {
            if let Some(value) = &reading.value {
                fits(measurement, value, family, known.log);
            }
            if file.vehicle.is_none() && measurement.is_judged_by_a_sheet() {
                needs_a_sheet.get_or_insert(measurement);
            }
        }
        let value = reading.value.as_ref().map(|value| value.value.0.trim());
        readings.push(CaseReading {
            measurement: id,
            value: value.unwrap_or_default().to_owned(),
            parts: parts(reading, measurement, family, known.log),
        });
    }
    if let Some(measurement) = needs_a_sheet {
        say!(known.log, file.case.spot; MissingField,
            "this case names no vehicle, and `{}` is judged by a sheet", measurement.name =>
            "add `vehicle:` to the case");
    }
    Some(Case {
        name: stem(path).to_owned(),
        title: file.case.value.clone(),
        file: path.to_owned(),
        complaint: file.complaint.clone(),
        symptoms,
        absent,
        vehicle,
        readings,
        not_before: known.repairs.keyed(&file.not_before, |_, names| {
            Some(known.measurements.ids(names))
        }),
        first: (file.first.as_ref()).and_then(|name| known.measurements.find(name)),
        expect: expect(&file.expect, known)?,
        found: file.found.clone(),
    })
}

/// The raw readings of a computed number, all of them.
fn parts(
    reading: &raw::CaseReading,
    measurement: Option<&Measurement>,
    family: &Family,
    log: &Log<'_>,
) -> BTreeMap<String, String> {
    let spot = reading.measurement.spot;
    let mut parts = BTreeMap::new();
    let Some(values) = &reading.values else {
        if reading.value.is_none() {
            say!(log, spot; MissingField, "`value` is missing here" =>
                "a reading has `value`, or `values` for the raw readings of a computed number");
        }
        return parts;
    };
    if reading.value.is_some() {
        say!(log, spot; BadValue, "a reading has `value` or `values`, not both");
    }
    let Some(measurement) = measurement else {
        return parts;
    };
    let takes = measurement.number().map_or(&[][..], |number| &number.takes);
    for given in &values.0 {
        let Some(take) = takes.iter().find(|take| take.name == given.name) else {
            say!(log, given.spot; BadValue,
                "`{}` takes no reading called `{}`", measurement.name, given.name =>
                "name what the measurement lists under `takes`";
                log.nearest(&given.name, takes.iter().map(|take| take.name.as_str())));
            continue;
        };
        if let Some(value) = &given.value {
            let expected = family.expected(take.unit, take.plausible, take.instrument);
            number(&given.name, value, &expected, log);
            parts.insert(given.name.clone(), value.value.0.trim().to_owned());
        }
    }
    for take in takes {
        if !values.0.iter().any(|entry| entry.name == take.name) {
            say!(log, spot; MissingField, "`{}` also takes `{}`", measurement.name, take.name);
        }
    }
    parts
}

fn expect(given: &Placed<raw::Expect>, known: &Known<'_>) -> Option<Expect> {
    let raw::Expect {
        repair,
        repairs,
        ambiguity,
        unlisted,
        leads,
        live,
        ruled_out,
        raised,
        lowered,
    } = &given.value;
    let stated = [
        (Claim::Leads, leads),
        (Claim::Live, live),
        (Claim::RuledOut, ruled_out),
        (Claim::Raised, raised),
        (Claim::Lowered, lowered),
    ];
    let stated = stated
        .into_iter()
        .filter_map(|(claim, causes)| Some((claim, causes.as_ref()?)));
    let states = stated.clone().any(|(_, causes)| !causes.0.is_empty());
    let claims = stated.flat_map(|(claim, causes)| {
        let causes = known.causes.ids(causes);
        causes.into_iter().map(move |cause| (claim, cause))
    });
    let refuse = |words: &str, spot: Spot| {
        say!(known.log, spot; ExpectShape, "{words}" =>
            "expect exactly one of: repair, repairs, ambiguity, and `unlisted: true`; or, of causes, any of: leads, \
             live, ruled_out, raised, lowered");
        None
    };
    let expects = [
        states,
        repair.is_some(),
        repairs.is_some(),
        ambiguity.is_some(),
        unlisted.is_some(),
    ];
    if expects.iter().filter(|given| **given).count() > 1 {
        return refuse("this case expects several things at once", given.spot);
    }
    if states {
        // A name that is nowhere is a finding already.
        return Some(Expect::Causes(claims.collect()));
    }
    match (repair, repairs, ambiguity) {
        (Some(repair), ..) => Some(Expect::Repairs(vec![known.repairs.find(repair)?])),
        (_, Some(repairs), _) if !repairs.0.is_empty() => {
            Some(Expect::Repairs(known.repairs.ids(repairs)))
        }
        (_, _, Some(causes)) if causes.0.len() > 1 => {
            Some(Expect::Ambiguity(known.causes.ids(causes)))
        }
        (_, _, Some(_)) => refuse("an ambiguity is between two causes or more", given.spot),
        _ if *unlisted == Some(true) => Some(Expect::Unlisted),
        _ => refuse("this case expects nothing", given.spot),
    }
}

/// A finding where a measurement cannot give a value.
fn fits(measurement: &Measurement, value: &Placed<Scalar>, family: &Family, log: &Log<'_>) {
    let text = value.value.0.trim();
    let outcome = measurement.outcome(text).is_some();
    match &measurement.reading {
        Reading::Number(number) => {
            // An outcome by its name is a number that somebody else judged.
            if !outcome {
                let expected = family.expected(number.unit, number.plausible, number.instrument);
                self::number(&measurement.name, value, &expected, log);
            }
        }
        Reading::Codes
            if TroubleCode::list(text).is_ok_and(|codes| {
                codes
                    .iter()
                    .all(|code| family.codes.contains_key(&code.to_string()))
            }) => {}
        Reading::Codes | Reading::Words if outcome => {}
        Reading::Codes | Reading::Words => {
            let names: Vec<&str> = measurement
                .outcomes
                .iter()
                .map(|outcome| outcome.name.as_str())
                .collect();
            say!(log, value.spot; UnknownOutcome, "`{}` has no outcome `{text}`", measurement.name =>
                "its outcomes are {}", names.join(", "); log.nearest(text, names.iter().copied()));
        }
    }
}

/// A finding where a text is no number as it would be typed at the prompt. What the prompt would ask back about is left
/// to the playing of the case, which knows the answer to no question.
fn number(name: &str, value: &Placed<Scalar>, expected: &Expected, log: &Log<'_>) {
    if let Answer::Refused(words) = entry::understand(value.value.0.trim(), expected) {
        say!(log, value.spot; BadValue, "`{name}`: {words}");
    }
}
