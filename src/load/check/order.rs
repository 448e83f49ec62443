//! What comes before what: measurements, set-ups and repairs that wait for readings.

use petgraph::graphmap::DiGraphMap;

use super::circles::circles;
use super::known::Known;
use super::measurements::outcome;
use crate::knowledge::{Measurement, OutcomeId, Unless};
use crate::load::folder::RawFamily;
use crate::load::log::say;
use crate::load::value::{Entries, Items, Name};

/// The key under which `unless` names symptoms.
const COMPLAINT: &str = "complaint";

/// What closes each measurement, and circles among those that wait for one another.
pub(super) fn measurements(measurements: &mut [Measurement], raw: &RawFamily, known: &Known<'_>) {
    let entries = raw
        .measurements
        .iter()
        .flat_map(|file| &file.measurements.0);
    let entries: Vec<_> = entries
        .filter_map(|entry| Some((entry, entry.value.as_ref()?)))
        .collect();
    let mut waits: DiGraphMap<usize, ()> = DiGraphMap::new();
    for (entry, given) in &entries {
        let unless = unless(&given.unless, measurements, known);
        if let Some(place) = known.measurements.place(&entry.name) {
            for name in given.after.iter() {
                if let Some(first) = known.measurements.place(&name.value) {
                    waits.add_edge(place, first, ());
                }
            }
        }
        let measurement = measurements.iter_mut().find(|of| of.name == entry.name);
        if let Some(measurement) = measurement {
            measurement.unless = unless;
        }
    }
    for circle in circles(&waits) {
        let all: Vec<&str> = known.measurements.iter().collect();
        let names: Vec<&str> = circle.iter().map(|place| all[*place]).collect();
        let entry = entries.iter().find(|(entry, _)| entry.name == names[0]);
        if let Some((entry, _)) = entry {
            say!(known.log, entry.spot; Cycle, "these wait for one another: {}", names.join(", ") =>
                "none of them could ever be taken: take one out of an `after`");
        }
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
