//! The names of one family, by kind.

use std::cell::Cell;

use super::names::Names;
use crate::load::code::Code;
use crate::load::folder::{FileKind, RawFamily};
use crate::load::log::Log;
use crate::load::value::{Caught, Entries, Entry};

/// The names of one family. Everything is in the order of its names: ids sort as names do, and moving an
/// entry to another file changes nothing.
pub(super) struct Known {
    pub(super) causes: Names,
    pub(super) repairs: Names,
    pub(super) measurements: Names,
    pub(super) symptoms: Names,
    pub(super) shared: Names,
    pub(super) set_ups: Names,
    pub(super) instruments: Names,
    pub(super) conditions: Names,
    pub(super) cautions: Names,
    pub(super) care: Names,
    /// How many bytes of patterns were met so far.
    pub(super) pattern_bytes: Cell<usize>,
}

impl Known {
    pub(super) fn new(raw: &RawFamily, log: &Log<'_>) -> Self {
        let RawFamily { file, causes, .. } = raw;
        let symptoms = raw.trees.iter().map(|tree| &tree.symptom);
        let symptoms = symptoms.map(|name| (name.value.as_str(), name.spot));
        let trees_whole = raw.whole(FileKind::Tree);
        let parts = raw.shared.iter().map(|file| &file.shared);
        let parts_whole = trees_whole && raw.whole(FileKind::Shared);
        let measured = raw.measurements.iter().map(|file| &file.measurements);
        let measured_whole = raw.whole(FileKind::Measurements);
        Self {
            causes: of_files(Code::UnknownCause, true, [&causes.causes], log),
            repairs: of_files(Code::UnknownRepair, true, [&causes.repairs], log),
            measurements: of_files(Code::UnknownMeasurement, measured_whole, measured, log),
            symptoms: Names::new(Code::UnknownSymptom, trees_whole, symptoms, log),
            shared: of_files(Code::UnknownShared, parts_whole, parts, log),
            set_ups: of_files(Code::UnknownSetUp, true, [&file.set_ups], log),
            instruments: of_files(Code::UnknownInstrument, true, [&file.instruments], log),
            conditions: of_files(Code::UnknownCondition, true, [&file.conditions], log),
            cautions: of_files(Code::UnknownCaution, true, [&file.cautions], log),
            care: of_files(Code::UnknownCare, true, [&file.care], log),
            pattern_bytes: Cell::new(0),
        }
    }
}

/// The names of entries; where some could not be read, no name is unknown.
fn of_files<'e, T: 'e>(
    unknown: Code,
    whole: bool,
    files: impl IntoIterator<Item = &'e Caught<Entries<T>>>,
    log: &Log<'_>,
) -> Names {
    let files: Vec<_> = files.into_iter().collect();
    let whole = whole && files.iter().all(|entries| entries.whole);
    let entries = files.iter().flat_map(|entries| &entries.0);
    let names = entries.map(|entry| (entry.name.as_str(), entry.spot));
    Names::new(unknown, whole, names, log)
}

/// The entries of files in the order of `names`, each name once; `build` makes each.
pub(super) fn in_order<'e, T: 'e, K>(
    names: &Names,
    entries: impl IntoIterator<Item = &'e Entry<T>>,
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
