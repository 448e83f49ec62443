//! What the figures rest on: learned figures, an invented sheet.

use std::io;

use crate::knowledge::{Family, Knowledge, LaidOver, Workshop};
use crate::text::figures::money;
use crate::text::{Page, Tone};

/// Says where learned figures come from; `None` where a family has none.
pub fn overlay_words(knowledge: &Knowledge, family: &Family) -> Option<String> {
    knowledge.overlay_of(family).map(laid_over_words)
}

/// Says where learned figures come from.
pub fn laid_over_words(overlay: &LaidOver) -> String {
    let jobs = match overlay.jobs {
        1 => "1 closed job".to_owned(),
        more => format!("{more} closed jobs"),
    };
    let dates = overlay.dates.as_ref();
    let dates = dates.map_or_else(String::new, |[from, to]| format!(", {from} to {to}"));
    let file = &overlay.file;
    format!("With figures learned from {jobs}{dates}: {file}.")
}

/// Says that learned figures are in use, where they are.
pub fn overlay(page: &mut Page<'_>, knowledge: &Knowledge, family: &Family) -> io::Result<()> {
    overlay_words(knowledge, family).map_or(Ok(()), |words| page.text(Tone::Plain, 0, &words))
}

/// Says what a shop is like, where it has said so.
pub fn workshop(page: &mut Page<'_>, workshop: &Workshop) -> io::Result<()> {
    let Workshop {
        lacks,
        labour_rate,
        currency,
        first_looks,
    } = workshop;
    let mut parts = Vec::new();
    let money_is = currency
        .as_deref()
        .map_or_else(String::new, |currency| format!(" {currency}"));
    match labour_rate {
        Some(rate) => parts.push(format!("labour {}{money_is} an hour", money(*rate))),
        None if currency.is_some() => parts.push(format!("costs in{money_is}")),
        None => {}
    }
    if !lacks.is_empty() {
        parts.push(format!("without {}", lacks.join(", ")));
    }
    if let Some(first) = first_looks.as_ref().filter(|first| !first.is_empty()) {
        parts.push(format!("first {}", first.join(", ")));
    }
    if parts.is_empty() {
        return Ok(());
    }
    page.text(Tone::Plain, 0, &format!("This shop: {}.", parts.join("; ")))
}

/// What is said of a vehicle whose sheet is invented.
pub(super) const INVENTED: &str =
    "The vehicle's sheet is invented for the demonstration: use it on no vehicle.";
