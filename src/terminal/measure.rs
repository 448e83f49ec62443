//! The cautions and steps of a measurement.

use std::io;

use crate::text::{Page, Tone};

/// The cautions, each before anything is done.
pub(super) fn cautions(page: &mut Page<'_>, cautions: &[String]) -> io::Result<()> {
    for caution in cautions {
        page.item(Tone::Caution, 2, "! CAUTION  ", caution)?;
    }
    Ok(())
}

/// The set-ups to enter first, the steps, and the remark.
pub(super) fn steps(
    page: &mut Page<'_>,
    first: &[String],
    steps: &[String],
    note: Option<&str>,
) -> io::Result<()> {
    if !first.is_empty() {
        let text = format!("First: {}.", first.join(", then "));
        page.text(Tone::Plain, 2, &text)?;
    }
    for (number, step) in (1..).zip(steps) {
        page.item(Tone::Plain, 2, &format!("{number}. "), step)?;
    }
    if let Some(note) = note {
        page.item(Tone::Plain, 2, "Note: ", note)?;
    }
    Ok(())
}
