//! What the figures rest on: learned figures, an invented sheet.

use std::io;

use crate::knowledge::{Family, Knowledge, Vehicle};
use crate::text::{Page, Tone};

/// Says where learned figures come from; `None` where a family has none.
pub fn overlay_words(knowledge: &Knowledge, family: &Family) -> Option<String> {
    let overlay = knowledge.overlay_of(family)?;
    let jobs = match overlay.jobs {
        1 => "1 closed job".to_owned(),
        more => format!("{more} closed jobs"),
    };
    let dates = overlay.dates.as_ref();
    let dates = dates.map_or_else(String::new, |[from, to]| format!(", {from} to {to}"));
    let file = &overlay.file;
    Some(format!("With figures learned from {jobs}{dates}: {file}."))
}

/// Says that learned figures are in use, where they are.
pub fn overlay(page: &mut Page<'_>, knowledge: &Knowledge, family: &Family) -> io::Result<()> {
    overlay_words(knowledge, family).map_or(Ok(()), |words| page.text(Tone::Plain, 0, &words))
}

/// Says that a vehicle's sheet is invented.
pub(super) fn invented(vehicle: &Vehicle) -> String {
    let name = &vehicle.name;
    format!("Limits from the sheet {name}, invented for the demonstration: use it on no vehicle.")
}
