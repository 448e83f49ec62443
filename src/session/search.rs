//! Measurements, causes and repairs by the words of their titles.

use super::core::Session;
use crate::entry::folded;
use crate::knowledge::{Family, MeasurementId, RepairId};
use crate::text::quoted;

/// What a search found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hit {
    /// What it is: `measurement`, `cause` or `repair`.
    pub kind: &'static str,
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
}

impl Session<'_> {
    /// The measurements, causes and repairs with a word in their title or id for each word of the text, which may be the
    /// start of it.
    pub fn search(&self, text: &str) -> Vec<Hit> {
        let Family {
            measurements,
            causes,
            repairs,
            ..
        } = self.family;
        let measurements = measurements
            .iter()
            .map(|m| ("measurement", &m.name, &m.title));
        let causes = causes
            .iter()
            .map(|cause| ("cause", &cause.name, &cause.title));
        let repairs = repairs
            .iter()
            .map(|repair| ("repair", &repair.name, &repair.title));
        measurements
            .chain(causes)
            .chain(repairs)
            .filter(|(_, id, title)| called(text, id, title))
            .map(|(kind, id, title)| Hit {
                kind,
                id: id.clone(),
                title: title.clone(),
            })
            .collect()
    }
}

/// The measurements with a word in their title or id for each word of the text.
pub(super) fn measurements_called(family: &Family, text: &str) -> Vec<MeasurementId> {
    let all = (0..family.measurements.len()).map(MeasurementId::at);
    all.filter(|id| {
        let measurement = family.measurement(*id);
        called(text, &measurement.name, &measurement.title)
    })
    .collect()
}

/// The repairs with a word in their title or id for each word of the text.
pub(super) fn repairs_called(family: &Family, text: &str) -> Vec<RepairId> {
    let all = (0..family.repairs.len()).map(RepairId::at);
    all.filter(|id| {
        let repair = family.repair(*id);
        called(text, &repair.name, &repair.title)
    })
    .collect()
}

/// How many titles are named where several fit.
const MOST_NAMED: usize = 6;

/// Asks for more words where several titles have those of a text.
pub fn several_called<'t>(text: &str, titles: impl ExactSizeIterator<Item = &'t str>) -> String {
    let more = match titles.len().saturating_sub(MOST_NAMED) {
        0 => String::new(),
        more => format!("; and {more} more"),
    };
    let titles: Vec<&str> = titles.take(MOST_NAMED).collect();
    let (text, titles) = (quoted(text), titles.join("; "));
    format!("{text} can be: {titles}{more}. Say more of the title.")
}

/// Whether each word of the text begins a word of an id or a title.
pub fn called(text: &str, id: &str, title: &str) -> bool {
    let own = folded(&format!("{id} {title}"));
    let begun = |word: &str| own.split(' ').any(|own| own.starts_with(word));
    let text = folded(text);
    !text.is_empty() && text.split(' ').all(begun)
}
