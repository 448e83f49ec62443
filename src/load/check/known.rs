//! The names of one family, by kind.

use std::cell::Cell;

use super::names::Names;
use crate::knowledge::{
    CauseId, ConditionId, InstrumentId, MeasurementId, RepairId, SetUpId, SignalId, SymptomId,
};
use crate::load::code::Code;
use crate::load::folder::{FileKind, RawFamily};
use crate::load::log::Log;
use crate::load::value::{Caught, Entries, Entry};

/// The names of one family. Everything is in the order of its names: ids sort as names do, and moving an
/// entry to another file changes nothing.
pub(super) struct Known<'a> {
    /// Where findings go.
    pub(super) log: &'a Log<'a>,
    pub(super) causes: Names<'a, CauseId>,
    pub(super) repairs: Names<'a, RepairId>,
    pub(super) measurements: Names<'a, MeasurementId>,
    pub(super) symptoms: Names<'a, SymptomId>,
    pub(super) shared: Names<'a, usize>,
    pub(super) set_ups: Names<'a, SetUpId>,
    pub(super) instruments: Names<'a, InstrumentId>,
    pub(super) conditions: Names<'a, ConditionId>,
    pub(super) signals: Names<'a, SignalId>,
    pub(super) cautions: Names<'a, usize>,
    pub(super) care: Names<'a, usize>,
    /// Whether the files are the shipped ones, whose patterns need no check: a test loads them as a folder.
    pub(super) shipped: bool,
    /// How many bytes and parts the patterns have that were met so far.
    pub(super) patterns: Cell<(usize, usize)>,
}

impl<'a> Known<'a> {
    pub(super) fn new(raw: &RawFamily, shipped: bool, log: &'a Log<'a>) -> Self {
        let same = |place| place;
        let RawFamily { file, causes, .. } = raw;
        let symptoms = raw.trees.iter().map(|tree| {
            (
                tree.symptom.value.as_str(),
                tree.symptom.spot,
                tree.unfinished,
            )
        });
        let trees_whole = raw.whole(FileKind::Tree);
        let parts = raw.shared.iter().map(|file| &file.shared);
        let parts_whole = trees_whole && raw.whole(FileKind::Shared);
        let measured = raw.measurements.iter().map(|file| &file.measurements);
        let measured_whole = raw.whole(FileKind::Measurements);
        let repairs = causes.repairs.0.iter();
        let waiting: Vec<&str> = repairs
            .filter(|entry| entry.value.as_ref().is_some_and(|repair| repair.unfinished))
            .map(|entry| entry.name.as_str())
            .collect();
        macro_rules! names {
            ($unknown:ident, $at:expr, $whole:expr, $files:expr) => {
                names!($unknown, $at, $whole, $files, |_| false)
            };
            ($unknown:ident, $at:expr, $whole:expr, $files:expr, $unfinished:expr) => {
                of_files(Code::$unknown, $at, $whole, $files, $unfinished, log)
            };
        }
        Self {
            log,
            causes: names!(UnknownCause, CauseId::at, true, [&causes.causes], |cause| {
                cause.unfinished || waiting.contains(&cause.repair.value.as_str())
            }),
            repairs: names!(
                UnknownRepair,
                RepairId::at,
                true,
                [&causes.repairs],
                |repair| { repair.unfinished }
            ),
            measurements: names!(
                UnknownMeasurement,
                MeasurementId::at,
                measured_whole,
                measured,
                |measurement| measurement.unfinished
            ),
            symptoms: Names::new(
                Code::UnknownSymptom,
                SymptomId::at,
                trees_whole,
                symptoms,
                log,
            ),
            shared: names!(UnknownShared, same, parts_whole, parts),
            set_ups: names!(UnknownSetUp, SetUpId::at, true, [&file.set_ups]),
            instruments: names!(
                UnknownInstrument,
                InstrumentId::at,
                true,
                [&file.instruments]
            ),
            conditions: names!(UnknownCondition, ConditionId::at, true, [&file.conditions]),
            signals: names!(UnknownSignal, SignalId::at, true, [&file.signals]),
            cautions: names!(UnknownCaution, same, true, [&file.cautions]),
            care: names!(UnknownCare, same, true, [&file.care]),
            shipped,
            patterns: Cell::new((0, 0)),
        }
    }
}

/// The names of entries; where some could not be read, no name is unknown.
fn of_files<'e, 'a, T: 'e, I: Copy + PartialEq>(
    unknown: Code,
    at: fn(usize) -> I,
    whole: bool,
    files: impl IntoIterator<Item = &'e Caught<Entries<T>>>,
    unfinished: impl Fn(&T) -> bool,
    log: &'a Log<'a>,
) -> Names<'a, I> {
    let files: Vec<_> = files.into_iter().collect();
    let whole = whole && files.iter().all(|entries| entries.whole);
    let entries = files.iter().flat_map(|entries| &entries.0);
    let names = entries.map(|entry| {
        let unfinished = entry.value.as_ref().is_some_and(&unfinished);
        (entry.name.as_str(), entry.spot, unfinished)
    });
    Names::new(unknown, at, whole, names, log)
}

/// The entries of files in the order of `names`, each name once; `build` makes each.
pub(super) fn in_order<'e, T: 'e, K, I: Copy + PartialEq>(
    names: &Names<'_, I>,
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
