//! The names of one family, by kind.

use std::cell::Cell;

use super::names::Names;
use crate::knowledge::{
    CauseId, ConditionId, InstrumentId, MeasurementId, RepairId, SetUpId, SignalId, SymptomId,
};
use crate::load::folder::{FileKind, RawFamily};
use crate::load::ids::IdKind;
use crate::load::log::{Log, Spot, say};
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
    pub(super) vehicles: &'a Names<'a, usize>,
    /// Whether the files are the shipped ones, whose patterns need no check: a test loads them as a folder.
    pub(super) shipped: bool,
    /// How many bytes and parts the patterns have that were met so far.
    pub(super) patterns: Cell<(usize, usize)>,
}

impl<'a> Known<'a> {
    pub(super) fn new(
        raw: &RawFamily,
        vehicles: &'a Names<'a, usize>,
        shipped: bool,
        log: &'a Log<'a>,
    ) -> Self {
        let same = |place| place;
        let RawFamily { file, causes, .. } = raw;
        let symptoms = raw.trees.iter();
        let symptoms = symptoms.map(|tree| tree.symptom.listed(tree.unfinished));
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
            ($kind:ident, $at:expr, $whole:expr, $files:expr) => {
                names!($kind, $at, $whole, $files, |_| false)
            };
            ($kind:ident, $at:expr, $whole:expr, $files:expr, $unfinished:expr) => {
                of_files(IdKind::$kind, $at, $whole, $files, $unfinished, log)
            };
        }
        Self {
            log,
            causes: names!(Cause, CauseId::at, true, [&causes.causes], |cause| {
                cause.unfinished || waiting.contains(&cause.repair.value.as_str())
            }),
            repairs: names!(Repair, RepairId::at, true, [&causes.repairs], |repair| {
                repair.unfinished
            }),
            measurements: names!(
                Measurement,
                MeasurementId::at,
                measured_whole,
                measured,
                |measurement| measurement.unfinished
            ),
            symptoms: Names::new(IdKind::Symptom, SymptomId::at, trees_whole, symptoms, log),
            shared: names!(Shared, same, parts_whole, parts),
            set_ups: names!(SetUp, SetUpId::at, true, [&file.set_ups]),
            instruments: names!(Instrument, InstrumentId::at, true, [&file.instruments]),
            conditions: names!(Condition, ConditionId::at, true, [&file.conditions]),
            signals: names!(Signal, SignalId::at, true, [&file.signals]),
            cautions: names!(Caution, same, true, [&file.cautions]),
            care: names!(Care, same, true, [&file.care]),
            vehicles,
            shipped,
            patterns: Cell::new((0, 0)),
        }
    }
}

/// The names of entries; where some could not be read, no name is unknown.
fn of_files<'e, 'a, T: 'e, I: Copy + PartialEq>(
    kind: IdKind,
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
    Names::new(kind, at, whole, names, log)
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

/// What `build` makes of a file that is played, unless that is unfinished, or names something that is.
pub(super) fn finished<T>(
    unfinished: bool,
    what: &str,
    spot: Spot,
    log: &Log<'_>,
    build: impl FnOnce() -> Option<T>,
) -> Option<T> {
    if unfinished {
        say!(log, spot; Unfinished, "this {what} is unfinished, and not played" =>
            "fill it in and delete `unfinished: true`");
        return None;
    }
    log.left_out.set(false);
    build().filter(|_| !log.left_out.get())
}
