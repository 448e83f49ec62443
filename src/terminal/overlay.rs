//! That learned figures are in use.

use std::io;

use crate::knowledge::{Family, Knowledge};
use crate::text::{Page, Tone};

/// What is said of learned figures where they are used; `None` where there are none.
#[must_use]
pub fn overlay_words(knowledge: &Knowledge, family: &Family) -> Option<String> {
    let overlay = knowledge.overlay_of(family)?;
    let jobs = match overlay.jobs {
        1 => "1 closed job".to_owned(),
        more => format!("{more} closed jobs"),
    };
    let dates = overlay
        .dates
        .as_ref()
        .map_or_else(String::new, |[from, to]| format!(", {from} to {to}"));
    Some(format!(
        "With figures learned from {jobs}{dates}: {}.",
        overlay.file
    ))
}

/// Says that learned figures are in use, where they are.
///
/// # Errors
///
/// Whatever writing gives.
pub fn overlay(page: &mut Page<'_>, knowledge: &Knowledge, family: &Family) -> io::Result<()> {
    match overlay_words(knowledge, family) {
        Some(words) => page.text(Tone::Plain, 0, &words),
        None => Ok(()),
    }
}
