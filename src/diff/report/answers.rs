//! What the differences do to the answers.

use std::io;

use super::{count, of_family};
use crate::diff::{AnswerDiffers, CaseAnswer, CaseDiffers, CasesPut, First, RepairMoved, StandsIn};
use crate::text::figures::{percent, tenths_of_percent};
use crate::text::{Page, Tone};

/// So many of the largest moves are shown, and so many candidates; `--json` has all.
const LARGEST: usize = 5;
/// A smaller move of a repair's probability is counted and not shown.
const SHOWN: f64 = 0.005;

/// The complaints with another answer before any reading.
pub(super) fn answers(
    page: &mut Page<'_>,
    answers: &[AnswerDiffers],
    several: bool,
) -> io::Result<()> {
    page.heading("What it does to the answers, before any reading")?;
    if answers.is_empty() {
        let text = "Every complaint that both have keeps its candidates, the probabilities of its \
                    repairs and the first measurements of its ranking.";
        return page.text(Tone::Plain, 0, text);
    }
    for answer in answers {
        let name = of_family(&answer.symptom, Some(&answer.family), several);
        let on = match &answer.vehicle {
            Some(vehicle) => format!("{name}, on {vehicle}"),
            None => name,
        };
        page.text(Tone::Strong, 0, &on)?;
        for line in lines(answer) {
            page.item(Tone::Plain, 0, "- ", &line)?;
        }
    }
    Ok(())
}

fn lines(answer: &AnswerDiffers) -> Vec<String> {
    let mut lines = Vec::new();
    for (edition, fails) in ["older", "newer"].iter().zip(&answer.fails) {
        if let Some(words) = fails {
            lines.push(format!("the {edition} has no answer: {words}"));
        }
    }
    if !lines.is_empty() {
        return lines;
    }
    for (candidates, way) in [(&answer.came, "in"), (&answer.went, "out")] {
        if !candidates.is_empty() {
            let names: Vec<String> = candidates
                .iter()
                .take(LARGEST)
                .map(|causes| causes.join(" + "))
                .collect();
            let more = match candidates.len().saturating_sub(LARGEST) {
                0 => String::new(),
                more => format!(", and {more} more"),
            };
            lines.push(format!("candidates {way}: {}{more}", names.join(", ")));
        }
    }
    let large: Vec<&RepairMoved> = answer
        .repairs
        .iter()
        .filter(|moved| (moved.now - moved.was).abs() >= SHOWN)
        .take(LARGEST)
        .collect();
    for moved in &large {
        let (was, now) = apart(moved.was, moved.now);
        lines.push(format!("{}: {was} -> {now}", moved.repairs.join(" + ")));
    }
    match answer.repairs.len() - large.len() {
        0 => {}
        less if large.is_empty() => lines.push(format!(
            "{} by less than half a percent point",
            count(less, "repair moves", "repairs move")
        )),
        less => lines.push(count(less, "repair moves less", "repairs move less")),
    }
    if answer.ranks_otherwise() {
        let [was, now] = &answer.first;
        lines.push(format!(
            "first to measure: {} -> {}",
            names(was),
            names(now)
        ));
    }
    lines
}

fn names(first: &[First]) -> String {
    if first.is_empty() {
        return "nothing".to_owned();
    }
    let names: Vec<&str> = first
        .iter()
        .map(|first| first.measurement.as_str())
        .collect();
    names.join(", ")
}

/// Two probabilities that differ, with as many digits as it takes to see it.
fn apart(was: f64, now: f64) -> (String, String) {
    let short = (percent(was), percent(now));
    if short.0 == short.1 {
        (tenths_of_percent(was), tenths_of_percent(now))
    } else {
        short
    }
}

/// The worked cases with another answer.
pub(super) fn cases(page: &mut Page<'_>, cases: &CasesPut, several: bool) -> io::Result<()> {
    if cases.put == 0 {
        return Ok(());
    }
    page.heading("Worked cases")?;
    let put = count(cases.put, "case was", "cases were");
    if cases.differ.is_empty() {
        let text = format!("{put} put to both: the same repair leads, as probable as before.");
        return page.text(Tone::Plain, 0, &text);
    }
    let differ = count(cases.differ.len(), "answers", "answer");
    page.text(
        Tone::Plain,
        0,
        &format!("{put} put to both; {differ} otherwise."),
    )?;
    for case in &cases.differ {
        page.item(Tone::Plain, 0, "- ", &line(case, several))?;
    }
    Ok(())
}

fn line(case: &CaseDiffers, several: bool) -> String {
    let name = of_family(&case.case, Some(&case.family), several);
    let stands = match case.stands_in {
        StandsIn::Both => "",
        StandsIn::Old => " (as the older has it)",
        StandsIn::New => " (as the newer has it)",
    };
    let moved = match (&case.was, &case.now) {
        (Ok(was), Ok(now))
            if was.repairs == now.repairs && !was.nothing_fits && !now.nothing_fits =>
        {
            let (before, after) = apart(was.probability, now.probability);
            format!("{} {before} -> {after}", now.repairs.join(" + "))
        }
        (was, now) => format!("{} -> {}", led(was), led(now)),
    };
    format!("{name}{stands}: {moved}")
}

fn led(answer: &Result<CaseAnswer, String>) -> String {
    match answer {
        Err(words) => format!("no answer ({words})"),
        Ok(answer) if answer.nothing_fits => "nothing listed fits".to_owned(),
        Ok(answer) => format!(
            "{} {}",
            answer.repairs.join(" + "),
            percent(answer.probability)
        ),
    }
}
