//! What a check found: findings, the cases that fail with their beliefs, and what was checked.

use std::io;

use super::check::{Checked, Counts};
use crate::cases::{CaseRun, Stage};
use crate::knowledge::Knowledge;
use crate::text::figures::percent;
use crate::text::{Page, Tone, counted, table};

/// Behind the first, repairs are shown that are at least so probable.
const LEAST: f64 = 0.01;

/// Everything a check found.
pub fn report(
    page: &mut Page<'_>,
    knowledge: Option<&Knowledge>,
    checked: &Checked,
) -> io::Result<()> {
    for finding in &checked.findings.0 {
        page.lines(0, &finding.explained())?;
        page.gap()?;
    }
    for run in checked.cases.iter().filter(|run| !run.passes()) {
        failing_case(page, run)?;
    }
    summary(page, knowledge.is_some(), &Counts::of(knowledge, checked))
}

/// A case that fails: what is wrong with it, and the beliefs that led away from the expected answer.
fn failing_case(page: &mut Page<'_>, run: &CaseRun) -> io::Result<()> {
    page.text(Tone::Strong, 0, &format!("{}: {}", run.file, run.title))?;
    page.item(Tone::Plain, 2, "expected: ", &run.expected.to_string())?;
    if let Some(first) = &run.expected_first {
        page.item(Tone::Plain, 2, "expected first: ", first)?;
    }
    for fault in &run.faults {
        page.item(Tone::Plain, 2, "but ", &fault.to_string())?;
    }
    if !run.chain.is_empty() {
        let stages = run.chain.iter().enumerate();
        let rows: Vec<Vec<String>> = stages
            .flat_map(|(place, stage)| rows(stage, run.lost_most == Some(place)))
            .collect();
        let header = ["", "reading", "expected", "unlisted", "leading", "belief"];
        let width = page.width() - 2;
        page.lines(2, &table(&header, &rows, &[2, 3, 5], width))?;
        if run.lost_most.is_some() {
            let text = "> here the expected answer lost most of its odds";
            page.text(Tone::Faint, 2, text)?;
        }
    }
    page.gap()
}

/// A row for each of the leading repairs that is worth a look; the first says what was read.
fn rows(stage: &Stage, lost_most: bool) -> Vec<Vec<String>> {
    let read = match &stage.reading {
        None => "before any".to_owned(),
        Some(read) if read.typed == read.outcome => {
            format!("{} = {}", read.measurement, read.typed)
        }
        Some(read) => format!("{} = {} ({})", read.measurement, read.typed, read.outcome),
    };
    let mut rows: Vec<Vec<String>> = stage
        .leading
        .iter()
        .enumerate()
        .filter(|(place, leads)| *place == 0 || leads.probability >= LEAST)
        .map(|(_, leads)| {
            let mut row = vec![String::new(); 4];
            row.extend([leads.names.join(" + "), percent(leads.probability)]);
            row
        })
        .collect();
    if rows.is_empty() {
        rows.push(vec![String::new(); 6]);
    }
    let mark = if lost_most { ">" } else { "" };
    let first = [
        mark.to_owned(),
        read,
        percent(stage.expected),
        percent(stage.unlisted),
    ];
    for (cell, text) in rows[0].iter_mut().zip(first) {
        *cell = text;
    }
    rows
}

/// What was checked, and how it came out.
fn summary(page: &mut Page<'_>, loads: bool, counts: &Counts) -> io::Result<()> {
    if loads {
        let text = format!(
            "Checked: {}, {}, {}, {}, {}, {}, {}.",
            counted(counts.families, "family", "families"),
            counted(counts.symptoms, "symptom", "symptoms"),
            counted(counts.causes, "cause", "causes"),
            counted(counts.repairs, "repair", "repairs"),
            counted(counts.measurements, "measurement", "measurements"),
            counted(counts.vehicles, "vehicle", "vehicles"),
            counted(counts.cases, "case", "cases"),
        );
        page.text(Tone::Plain, 0, &text)?;
        let text = match (counts.cases, counts.cases_failing) {
            (0, _) => "There is no worked case to hold the answers against.".to_owned(),
            (_, 0) => "Every case comes out as expected.".to_owned(),
            (_, failing) => format!(
                "{} as expected.",
                counted(failing, "case does not come out", "cases do not come out")
            ),
        };
        page.text(Tone::Plain, 0, &text)?;
    } else {
        let text = "The knowledge does not load: nothing was judged, and no case was run.";
        page.text(Tone::Plain, 0, text)?;
    }
    let text = match counts.errors + counts.warnings {
        0 => "No findings.".to_owned(),
        found => format!(
            "{}: {}, {}.",
            counted(found, "finding", "findings"),
            counted(counts.errors, "error", "errors"),
            counted(counts.warnings, "warning", "warnings")
        ),
    };
    page.text(Tone::Strong, 0, &text)
}
