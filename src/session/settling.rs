//! A reading too close to a limit to call: what would settle it.

use super::core::Session;
use crate::infer::{Taken, bands_on};
use crate::knowledge::{Instrument, MeasurementId};
use crate::text::figures::{percent, rounded};
use crate::units::conformity::{call, settling_uncertainty};

/// Words for a number too close to a limit to call; none where it is clear.
pub(super) fn too_close(session: &Session<'_>, id: MeasurementId, taken: &Taken) -> Option<String> {
    taken.value.as_ref()?;
    let called = call(&taken.evidence.weights).filter(|called| !called.clear)?;
    let words = format!(
        "Too close to a limit to call: {} with a probability of {}, so it moves the diagnosis only a little.",
        session.family.measurement(id).outcomes[called.outcome].name,
        percent(called.probability)
    );
    Some(match settling(session, id, taken) {
        Some(settling) => format!("{words} {settling}"),
        None => words,
    })
}

/// What would settle a reading too close to a limit: the uncertainty it takes, and an instrument that has it.
fn settling(session: &Session<'_>, id: MeasurementId, taken: &Taken) -> Option<String> {
    let family = session.family;
    let value = taken.value.as_ref()?;
    let bands = bands_on(family.measurement(id), session.vehicle).ok()?;
    let now = value.uncertainty?;
    let wanted = settling_uncertainty(value.number, &bands).filter(|wanted| *wanted > 0.0);
    let Some(wanted) = wanted else {
        return Some(
            "It lies on the limit: no instrument would settle it, only another measurement."
                .to_owned(),
        );
    };
    let shown = value.unit.shown_in(session.system);
    let in_words = |u: f64| {
        let number = value.unit.convert_difference(u, shown).unwrap_or(u);
        format!("{} {}", rounded(number), shown.symbol())
    };
    // Whether an instrument reads this value, and closely enough.
    let settles = |other: &&Instrument| {
        let here = value.unit.convert(value.number, other.unit);
        here.is_some_and(|here| {
            let u = other.accuracy.standard_uncertainty(here);
            let u = other.unit.convert_difference(u, value.unit);
            other.range.is_none_or(|range| range.holds(here)) && u.is_some_and(|u| u <= wanted)
        })
    };
    let finer = value.instrument.and_then(|used| {
        let used = family.instrument(used);
        let same = |other: &&Instrument| other.unit.dimension() == used.unit.dimension();
        let mut others = family.instruments.iter().filter(same);
        others.find(|other| other.name != used.name && settles(other))
    });
    let (now, wanted) = (in_words(now), in_words(wanted));
    let words = format!("Its standard uncertainty is {now}; {wanted} would settle it");
    Some(match finer {
        Some(Instrument { title, name, .. }) => {
            format!("{words}: {title} has that (`with {name}`).")
        }
        None => format!(
            "{words}, which no instrument listed here has: repeat it, or let another measurement decide."
        ),
    })
}
