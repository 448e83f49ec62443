//! What comes before what: measurements, set-ups and repairs that wait for readings.

use petgraph::graphmap::DiGraphMap;

use super::circles::circles;
use super::known::Known;
use super::outcomes::outcome;
use crate::knowledge::{Measurement, OutcomeId, Unless};
use crate::load::folder::RawFamily;
use crate::load::log::say;
use crate::load::value::{Entries, Items, Name};

/// The key under which `unless` names symptoms.
const COMPLAINT: &str = "complaint";

/// What closes each measurement, and circles among those that wait for one another.
pub(super) fn measurements(measurements: &mut [Measurement], raw: &RawFamily, known: &Known<'_>) {
    let mut waits: DiGraphMap<usize, ()> = DiGraphMap::new();
    for entry in raw.measured() {
        let Some(given) = &entry.value else { continue };
        let unless = unless(&given.unless, measurements, known);
        if let Some(place) = known.measurements.place(&entry.name) {
            let after = given.after.iter();
            let first = after.filter_map(|name| known.measurements.place(&name.value));
            waits.extend(first.map(|first| (place, first)));
        }
        let measurement = measurements.iter_mut().find(|of| of.name == entry.name);
        if let Some(measurement) = measurement {
            measurement.unless = unless;
        }
    }
    for circle in circles(&waits) {
        let names = circle.iter().map(|place| known.measurements.at(*place).0);
        let (_, spot) = known.measurements.at(circle[0]);
        say!(known.log, spot; Cycle, "these wait for one another: {}", names.collect::<Vec<_>>().join(", ") =>
            "none of them could ever be taken: take one out of an `after`");
    }
}

/// When something is not offered.
pub(super) fn unless(
    entries: &Entries<Items<Name>>,
    measurements: &[Measurement],
    known: &Known<'_>,
) -> Unless {
    let mut unless = Unless::default();
    for entry in &entries.0 {
        let Some(names) = &entry.value else { continue };
        if entry.name == COMPLAINT {
            unless.symptoms = known.symptoms.ids(names);
            continue;
        }
        let id = known.measurements.find_at(&entry.name, entry.spot);
        let measurement = measurements.iter().find(|of| of.name == entry.name);
        let (Some(id), Some(measurement)) = (id, measurement) else {
            continue;
        };
        let outcomes: Vec<OutcomeId> = names
            .iter()
            .filter_map(|name| outcome(&measurement.outcomes, &name.value, name.spot, known.log))
            .collect();
        unless.outcomes.push((id, outcomes));
    }
    unless
}
