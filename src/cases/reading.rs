//! What the readings of a case say, as they would be typed.

use std::collections::BTreeMap;

use super::{Fault, Read};
use crate::infer::{Answer, Evidence, Part, derive, understand, understand_part};
use crate::knowledge::{CaseReading, Family, Vehicle};

/// The evidence of a reading. A case answers no questions, so what would be asked back is a fault.
pub(super) fn evidence(
    family: &Family,
    vehicle: Option<&Vehicle>,
    place: usize,
    reading: &CaseReading,
) -> Result<(Read, Evidence), Fault> {
    let fault = |words: String| Fault::NotUnderstood {
        reading: place,
        words,
    };
    let id = reading.measurement;
    let measurement = family.measurement(id);
    let (typed, evidence) = if reading.parts.is_empty() {
        let taken = taken(understand(family, vehicle, id, &reading.value, None)).map_err(fault)?;
        (reading.value.clone(), taken.evidence)
    } else {
        let mut parts: BTreeMap<String, Part> = BTreeMap::new();
        for take in measurement.number().iter().flat_map(|number| &number.takes) {
            let text = reading.parts.get(&take.name).map_or("", String::as_str);
            let part = taken(understand_part(family, take, text, None))
                .map_err(|words| fault(format!("{}: {words}", take.name)))?;
            parts.insert(take.name.clone(), part);
        }
        let taken = derive(family, vehicle, id, parts).map_err(fault)?;
        (taken.raw, taken.evidence)
    };
    let read = Read {
        measurement: measurement.name.clone(),
        typed,
        outcome: measurement.outcomes[evidence.outcome()].name.clone(),
    };
    Ok((read, evidence))
}

fn taken<T>(answer: Answer<T>) -> Result<T, String> {
    match answer {
        Answer::Taken(taken) => Ok(*taken),
        Answer::Question { words, .. } | Answer::Refused(words) => Err(words),
    }
}
