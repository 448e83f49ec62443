//! The belief on the screen: what leads, what was ruled out, what to do.

use std::io;

use crate::decide::Standing;
use crate::infer::Model;
use crate::text::figures::{bar, count, money, percent};
use crate::text::{Page, Tone, wrapping};

/// How many repairs a screen shows before it sums up the rest.
const REPAIRS_SHOWN: usize = 5;
/// How many candidates a screen names as ruled out before it counts the rest.
const RULED_OUT_SHOWN: usize = 6;
/// The width of a bar in marks.
const BAR: usize = 20;

/// The names of a candidate's causes, joined.
#[must_use]
pub fn candidate_name(model: &Model<'_>, candidate: usize) -> String {
    let names: Vec<&str> = model.candidates[candidate]
        .causes
        .iter()
        .map(|cause| model.family.cause(*cause).name.as_str())
        .collect();
    names.join(" + ")
}

/// The repairs that would cure the vehicle, with their probabilities and bars, and the share of
/// what is not listed.
///
/// # Errors
///
/// Whatever writing gives; so for every function of this file.
pub fn repairs(page: &mut Page<'_>, standing: &Standing<'_, '_>) -> io::Result<()> {
    let groups = standing.repairs_by_probability();
    let family = standing.model.family;
    let shown: Vec<_> = groups
        .iter()
        .filter(|(_, p)| *p >= 0.005)
        .take(REPAIRS_SHOWN)
        .collect();
    let mut lines: Vec<(String, f64)> = shown
        .iter()
        .map(|(repairs, p)| (family.repair_names(repairs), *p))
        .collect();
    let rest = groups.len() - shown.len();
    let left: f64 = standing.belief.listed() - shown.iter().map(|(_, p)| p).sum::<f64>();
    if rest > 0 {
        let noun = if rest == 1 {
            "other repair"
        } else {
            "other repairs"
        };
        lines.push((format!("{rest} {noun}"), left.max(0.0)));
    }
    lines.push((
        "none of the listed causes".to_owned(),
        standing.belief.unlisted,
    ));
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

/// What a reading changed: what is in play, what was ruled out, what leads.
#[allow(clippy::missing_errors_doc, reason = "said at `repairs`")]
pub fn change(
    page: &mut Page<'_>,
    before: &Standing<'_, '_>,
    after: &Standing<'_, '_>,
) -> io::Result<()> {
    page.text(
        Tone::Plain,
        2,
        &format!(
            "Candidates in play: {} before, {} now.",
            count(before.belief.in_play()),
            count(after.belief.in_play())
        ),
    )?;
    let model = after.model;
    let list = |was: &dyn Fn(usize) -> bool, now: &dyn Fn(usize) -> bool| -> Vec<String> {
        (0..model.candidates.len())
            .filter(|candidate| was(*candidate) && now(*candidate))
            .map(|candidate| candidate_name(model, candidate))
            .collect()
    };
    let gone = list(&|c| before.belief.is_live(c), &|c| !after.belief.is_live(c));
    let back = list(&|c| !before.belief.is_live(c), &|c| after.belief.is_live(c));
    if !gone.is_empty() {
        page.item(Tone::Plain, 2, "Ruled out: ", &few(&gone))?;
    }
    if !back.is_empty() {
        page.item(Tone::Plain, 2, "In question again: ", &few(&back))?;
    }
    repairs(page, after)
}

/// The first few of a list, and how many more there are.
fn few(names: &[String]) -> String {
    let shown = names.len().min(RULED_OUT_SHOWN);
    let more = names.len() - shown;
    let listed = names[..shown].join(", ");
    if more == 0 {
        format!("{listed}.")
    } else {
        format!("{listed} and {more} more.")
    }
}

/// The cheapest way to end without measuring again, as a numbered order.
#[allow(clippy::missing_errors_doc, reason = "said at `repairs`")]
pub fn repair_order(
    page: &mut Page<'_>,
    standing: &Standing<'_, '_>,
    most: usize,
) -> io::Result<()> {
    let family = standing.model.family;
    let now = &standing.repair_now;
    for (number, step) in now.steps.iter().enumerate().take(most) {
        let text = format!(
            "{} ({} that it cures; {})",
            family.repair_names(&standing.repairs(number)),
            percent(step.probability),
            money(step.cost),
        );
        page.item(Tone::Plain, 4, &format!("{}. ", number + 1), &text)?;
    }
    if now.steps.len() > most {
        page.text(
            Tone::Faint,
            4,
            &format!("and {} more", now.steps.len() - most),
        )?;
    }
    if let Some(p) = now.escalates {
        page.text(
            Tone::Plain,
            4,
            &format!(
                "then hand the job on ({} that it comes to that)",
                percent(p)
            ),
        )?;
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
