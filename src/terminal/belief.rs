//! The belief on the screen: what leads, what was ruled out, what to do.

use std::io;

use crate::infer::Model;
use crate::session::{Outlook, RepairOrder};
use crate::text::figures::{bar, money, percent};
use crate::text::{Page, Tone, wrapping};

/// How many repairs a screen shows before it sums up the rest.
const REPAIRS_SHOWN: usize = 5;
/// The width of a bar in marks.
const BAR: usize = 20;

/// The names of a candidate's causes, joined.
pub fn candidate_name(model: &Model<'_>, candidate: usize) -> String {
    let names: Vec<&str> = model.candidates[candidate]
        .causes
        .iter()
        .map(|cause| model.family.cause(*cause).name.as_str())
        .collect();
    names.join(" + ")
}

/// The repairs that would cure the vehicle, with their probabilities and bars, and the share of what is not listed.
pub(super) fn repairs(page: &mut Page<'_>, outlook: &Outlook) -> io::Result<()> {
    let shown = outlook
        .repairs
        .iter()
        .filter(|cure| cure.probability >= 0.005);
    let mut lines: Vec<(String, f64)> = shown
        .take(REPAIRS_SHOWN)
        .map(|cure| (cure.repairs.join(" + "), cure.probability))
        .collect();
    let rest = &outlook.repairs[lines.len()..];
    if !rest.is_empty() {
        let noun = if rest.len() == 1 {
            "other repair"
        } else {
            "other repairs"
        };
        let left = rest.iter().map(|cure| cure.probability).sum();
        lines.push((format!("{} {noun}", rest.len()), left));
    }
    lines.push(("none of the listed causes".to_owned(), outlook.unlisted));
    let name_width = page.width().saturating_sub(BAR + 14);
    for (name, p) in lines {
        let mut wrapped = textwrap::wrap(&name, wrapping(name_width)).into_iter();
        let first = wrapped.next().unwrap_or_default();
        let line = format!("{first:name_width$} {:>7}  {}", percent(p), bar(p, BAR));
        page.lines(2, &line)?;
        for further in wrapped {
            page.lines(4, &further)?;
        }
    }
    Ok(())
}

/// The cheapest way to end without measuring again, as a numbered order.
pub fn repair_order(page: &mut Page<'_>, now: &RepairOrder, most: usize) -> io::Result<()> {
    for (number, step) in (1..).zip(now.steps.iter().take(most)) {
        let text = format!(
            "{} ({} that it cures; {})",
            step.repairs.join(" + "),
            percent(step.probability),
            money(step.cost),
        );
        page.item(Tone::Plain, 4, &format!("{number}. "), &text)?;
    }
    if now.steps.len() > most {
        let text = format!("and {} more", now.steps.len() - most);
        page.text(Tone::Faint, 4, &text)?;
    }
    if let Some(p) = now.escalates {
        let text = format!(
            "then hand the job on ({} that it comes to that)",
            percent(p)
        );
        page.text(Tone::Plain, 4, &text)?;
    }
    if !now.exact {
        page.text(
            Tone::Faint,
            4,
            "Groups share repairs, and are too many to try every order: by probability over cost.",
        )?;
    }
    Ok(())
}
