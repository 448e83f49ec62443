//! A reading too close to a limit to call: what would settle it.

use super::measure::shown_in;
use crate::infer::{Taken, bands_on};
use crate::knowledge::{Family, MeasurementId, Vehicle};
use crate::text::figures::{percent, plain};
use crate::units::System;
use crate::units::conformity::{call, settling_uncertainty};

/// Words for a number too close to a limit to call; none where it is clear.
pub(super) fn too_close(
    family: &Family,
    vehicle: Option<&Vehicle>,
    id: MeasurementId,
    taken: &Taken,
    system: System,
) -> Option<String> {
    taken.value.as_ref()?;
    let called = call(&taken.evidence.weights).filter(|called| !called.clear)?;
    let mut words = format!(
        "Too close to a limit to call: {} with a probability of {}, so it moves the diagnosis only a little.",
        family.measurement(id).outcomes[called.outcome].name,
        percent(called.probability)
    );
    if let Some(better) = settling(family, vehicle, id, taken, system) {
        words.push(' ');
        words.push_str(&better);
    }
    Some(words)
}

/// What would settle a reading too close to a limit: the uncertainty it takes, and an instrument
/// that has it.
fn settling(
    family: &Family,
    vehicle: Option<&Vehicle>,
    id: MeasurementId,
    taken: &Taken,
    system: System,
) -> Option<String> {
    let measurement = family.measurement(id);
    let value = taken.value.as_ref()?;
    let bands = bands_on(measurement, vehicle?).ok()?;
    let now = value.uncertainty?;
    let Some(wanted) = settling_uncertainty(value.number, &bands).filter(|wanted| *wanted > 0.0)
    else {
        return Some(
            "It lies on the limit: no instrument would settle it, only another measurement."
                .to_owned(),
        );
    };
    let shown = shown_in(value.unit, system);
    let in_words = |u: f64| {
        let number = value.unit.convert_difference(u, shown).unwrap_or(u);
        format!("{} {}", plain(number), shown.symbol())
    };
    let finer = value.instrument.and_then(|used| {
        let used = family.instrument(used);
        family.instruments.iter().find(|other| {
            other.name != used.name
                && other.unit.dimension() == used.unit.dimension()
                && value
                    .unit
                    .convert(value.number, other.unit)
                    .is_some_and(|here| {
                        other.range.is_none_or(|range| range.holds(here))
                            && other
                                .unit
                                .convert_difference(
                                    other.accuracy.standard_uncertainty(here),
                                    value.unit,
                                )
                                .is_some_and(|u| u <= wanted)
                    })
        })
    });
    let mut words = format!(
        "Its standard uncertainty is {}; {} would settle it",
        in_words(now),
        in_words(wanted)
    );
    match finer {
        Some(finer) => {
            words = format!("{words}: {} has that (`with {}`).", finer.title, finer.name);
        }
        None => {
            words = format!(
                "{words}, which no instrument listed here has: repeat it, or let another measurement decide."
            );
        }
    }
    Some(words)
}
