//! What a check found: findings, the cases that fail with their beliefs, and what was checked.

use std::io;

use crate::cases::{CaseRun, Stage};
use crate::knowledge::Knowledge;
use crate::load::{Finding, Findings, Severity};
use crate::text::figures::percent;
use crate::text::table;
use crate::text::{Page, Tone};

/// Behind the first, repairs are shown that are at least so probable.
const LEAST: f64 = 0.01;

/// The findings one after the other, each with an empty line behind it.
///
/// # Errors
///
/// Whatever writing gives.
pub fn findings(page: &mut Page<'_>, findings: &[Finding]) -> io::Result<()> {
    for finding in findings {
        page.lines(0, &finding.explained().to_string())?;
        page.gap()?;
    }
    Ok(())
}

/// A case that fails: what is wrong with it, and the beliefs that led away from the expected answer.
///
/// # Errors
///
/// Whatever writing gives.
pub fn failing_case(page: &mut Page<'_>, run: &CaseRun) -> io::Result<()> {
    page.text(Tone::Strong, 0, &format!("{}: {}", run.file, run.title))?;
    page.item(Tone::Plain, 2, "expected: ", &run.expected.to_string())?;
    if let Some(first) = &run.expected_first {
        page.item(Tone::Plain, 2, "expected first: ", first)?;
    }
    for fault in &run.faults {
        page.item(Tone::Plain, 2, "but ", &format!("{fault}"))?;
    }
    if !run.chain.is_empty() {
        let rows: Vec<Vec<String>> = run
            .chain
            .iter()
            .enumerate()
            .flat_map(|(place, stage)| rows(stage, run.lost_most == Some(place)))
            .collect();
        let header = ["", "reading", "expected", "unlisted", "leading", "belief"];
        let width = page.width() - 2;
        page.lines(2, &table(&header, &rows, &[2, 3, 5], width))?;
        if run.lost_most.is_some() {
            page.text(
                Tone::Faint,
                2,
                "> here the expected answer lost most of its odds",
            )?;
        }
    }
    page.gap()
}

/// A row for each of the leading repairs that is worth a look; the first says what was read.
fn rows(stage: &Stage, lost_most: bool) -> Vec<Vec<String>> {
    let read = stage.reading.as_ref().map_or_else(
        || "before any".to_owned(),
        |read| {
            if read.typed == read.outcome {
                format!("{} = {}", read.measurement, read.typed)
            } else {
                format!("{} = {} ({})", read.measurement, read.typed, read.outcome)
            }
        },
    );
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
    let said = [
        if lost_most { ">" } else { "" }.to_owned(),
        read,
        percent(stage.expected),
        percent(stage.unlisted),
    ];
    for (cell, text) in rows[0].iter_mut().zip(said) {
        *cell = text;
    }
    rows
}

/// What was checked, and how it came out.
///
/// # Errors
///
/// Whatever writing gives.
pub fn summary(
    page: &mut Page<'_>,
    knowledge: Option<&Knowledge>,
    cases: &[CaseRun],
    found: &Findings,
) -> io::Result<()> {
    match knowledge {
        None => page.text(
            Tone::Plain,
            0,
            "The knowledge does not load: nothing was judged, and no case was run.",
        )?,
        Some(knowledge) => {
            let sum = |of: fn(&crate::knowledge::Family) -> usize| -> usize {
                knowledge.families.iter().map(of).sum()
            };
            let text = format!(
                "Checked: {}, {}, {}, {}, {}, {}, {}.",
                counted(knowledge.families.len(), "family", "families"),
                counted(sum(|family| family.symptoms.len()), "symptom", "symptoms"),
                counted(sum(|family| family.causes.len()), "cause", "causes"),
                counted(sum(|family| family.repairs.len()), "repair", "repairs"),
                counted(
                    sum(|family| family.measurements.len()),
                    "measurement",
                    "measurements"
                ),
                counted(knowledge.vehicles.len(), "vehicle", "vehicles"),
                counted(cases.len(), "case", "cases"),
            );
            page.text(Tone::Plain, 0, &text)?;
            let failing = cases.iter().filter(|run| !run.passes()).count();
            let text = match (cases.len(), failing) {
                (0, _) => "There is no worked case to hold the answers against.".to_owned(),
                (_, 0) => "Every case comes out as expected.".to_owned(),
                (_, failing) => format!(
                    "{} as expected.",
                    counted(failing, "case does not come out", "cases do not come out")
                ),
            };
            page.text(Tone::Plain, 0, &text)?;
        }
    }
    let text = if found.is_empty() {
        "No findings.".to_owned()
    } else {
        let of = |severity| {
            found
                .0
                .iter()
                .filter(|finding| finding.severity == severity)
                .count()
        };
        format!(
            "{}: {}, {}.",
            counted(found.len(), "finding", "findings"),
            counted(of(Severity::Error), "error", "errors"),
            counted(of(Severity::Warning), "warning", "warnings")
        )
    };
    page.text(Tone::Strong, 0, &text)
}

fn counted(count: usize, one: &str, more: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { more })
}
