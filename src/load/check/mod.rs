//! From the files as written to knowledge: names become ids, figures become numbers of their kind, and
//! whatever does not fit becomes a finding.
//!
//! A check gives something also where it finds a mistake, so that the next can go on; the caller throws
//! the knowledge away when there is an error. So nothing here may look up an id it has just given out.

mod bands;
mod cases;
mod causes;
mod coverage;
mod family;
mod measurements;
pub(super) mod names;
mod reading;
mod set_ups;
mod shared;
mod trees;
mod values;
mod vehicles;

use std::collections::BTreeMap;

use crate::knowledge::{Family, Knowledge};
use crate::load::code::Code;
use crate::load::folder::{FileKind, Folder, RawFamily};
use crate::load::log::{Log, Report, Spot};
use crate::load::placed::{Caught, Entries, Entry};
use names::Names;

/// Checks a folder.
pub(super) fn check(folder: &Folder, log: &Log<'_>) -> Knowledge {
    let vehicle_names = vehicles::names(folder, log);
    let mut families = Vec::new();
    let mut vehicles = Vec::new();
    for (name, raw) in &folder.families {
        let known = Known::new(raw, log);
        let (family, uses) = family::family(name, raw, &known, log);
        let own = vehicles::of_family(name, folder, &uses, log);
        bands::check(&uses, &own, folder.vehicles_whole, log);
        let cases = cases::cases(raw, &known, &family, &own, &vehicle_names, log);
        families.push(Family { cases, ..family });
        vehicles.extend(own);
    }
    vehicles::of_no_family(folder, log);
    vehicles.sort_by(|one, other| one.name.cmp(&other.name));
    Knowledge {
        families,
        vehicles,
        fingerprints: BTreeMap::new(),
        overlay: None,
    }
}

/// The names of one family. Causes, repairs, measurements and all else stand in the order of their
/// names: ids sort as names do, and moving an entry to another file changes nothing.
struct Known {
    causes: Names,
    repairs: Names,
    measurements: Names,
    symptoms: Names,
    shared: Names,
    set_ups: Names,
    instruments: Names,
    conditions: Names,
    cautions: Names,
    care: Names,
}

impl Known {
    fn new(raw: &RawFamily, log: &Log<'_>) -> Self {
        let file = raw.file.as_ref();
        let whole = |kind| raw.whole(kind);
        let causes = raw.causes.as_ref().map(|file| &file.causes);
        let repairs = raw.causes.as_ref().map(|file| &file.repairs);
        let measurements = || raw.measurements.iter().map(|file| &file.measurements);
        let shared = || raw.shared.iter().map(|file| &file.shared);
        Self {
            causes: Names::new(
                "a cause",
                Code::UnknownCause,
                whole(FileKind::Causes) && read(causes),
                all(causes),
                log,
            ),
            repairs: Names::new(
                "a repair",
                Code::UnknownRepair,
                whole(FileKind::Causes) && read(repairs),
                all(repairs),
                log,
            ),
            measurements: Names::new(
                "a measurement",
                Code::UnknownMeasurement,
                whole(FileKind::Measurements) && measurements().all(|entries| entries.0.is_some()),
                measurements().flat_map(|entries| all(Some(entries))),
                log,
            ),
            symptoms: Names::new(
                "a symptom",
                Code::UnknownSymptom,
                whole(FileKind::Tree),
                raw.trees
                    .iter()
                    .map(|tree| (tree.symptom.value.as_str(), tree.symptom.spot)),
                log,
            ),
            shared: Names::new(
                "a shared part",
                Code::UnknownShared,
                whole(FileKind::Shared)
                    && whole(FileKind::Tree)
                    && shared().all(|entries| entries.0.is_some()),
                shared().flat_map(|entries| all(Some(entries))),
                log,
            ),
            set_ups: of_file(
                "a set-up",
                Code::UnknownSetUp,
                file.map(|file| &file.set_ups),
                log,
            ),
            instruments: of_file(
                "an instrument",
                Code::UnknownInstrument,
                file.map(|file| &file.instruments),
                log,
            ),
            conditions: of_file(
                "a condition",
                Code::UnknownCondition,
                file.map(|file| &file.conditions),
                log,
            ),
            cautions: of_file(
                "a caution",
                Code::UnknownCaution,
                file.map(|file| &file.cautions),
                log,
            ),
            care: of_file(
                "a kind of care",
                Code::UnknownCare,
                file.map(|file| &file.care),
                log,
            ),
        }
    }
}

/// Whether entries that a file must have could be read.
fn read<T>(entries: Option<&Caught<Entries<T>>>) -> bool {
    entries.is_some_and(|entries| entries.0.is_some())
}

/// The names of entries with their places.
fn all<T>(entries: Option<&Caught<Entries<T>>>) -> impl Iterator<Item = (&str, Spot)> {
    list(entries).map(|entry| (entry.name.as_str(), entry.spot))
}

/// The entries that could be read as such.
fn list<T>(entries: Option<&Caught<Entries<T>>>) -> impl Iterator<Item = &Entry<T>> {
    entries
        .and_then(|entries| entries.0.as_ref())
        .into_iter()
        .flat_map(|entries| &entries.0)
}

/// Names from family.yaml; where the file could not be read, no name is unknown.
fn of_file<T>(
    noun: &'static str,
    unknown: Code,
    entries: Option<&Option<Caught<Entries<T>>>>,
    log: &Log<'_>,
) -> Names {
    let whole =
        entries.is_some_and(|entries| entries.as_ref().is_none_or(|entries| entries.0.is_some()));
    Names::new(
        noun,
        unknown,
        whole,
        all(entries.and_then(Option::as_ref)),
        log,
    )
}

/// The entries of a list of files in the order of `names`, each name once; `build` makes each.
fn in_order<'e, T: 'e, K>(
    names: &Names,
    entries: impl Iterator<Item = &'e Entry<T>>,
    mut build: impl FnMut(&'e Entry<T>, &'e T) -> Option<K>,
) -> Vec<K> {
    let mut slots: Vec<Option<K>> = std::iter::repeat_with(|| None).take(names.len()).collect();
    for entry in entries {
        let (Some(place), Some(value)) = (names.place(&entry.name), &entry.value) else {
            continue;
        };
        if let Some(built) = build(entry, value) {
            slots[place].get_or_insert(built);
        }
    }
    slots.into_iter().flatten().collect()
}

/// A finding where a list needs at least so many items.
fn at_least(least: usize, count: usize, what: &str, spot: Spot, log: &Log<'_>) {
    if count < least {
        log.add(Report::new(
            Code::MissingField,
            spot,
            format!(
                "{least} or more {what} are needed here, there is {}",
                if count == 0 { "none" } else { "one" }
            ),
        ));
    }
}
