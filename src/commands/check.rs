//! `check`: what is wrong with a knowledge folder, what is probably not meant, and whether its cases come out.

use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::{Value, json};

use super::{DONE, Error, FINDINGS, Streams};
use crate::cases::CaseRun;
use crate::knowledge::{Family, Knowledge};
use crate::lint;
use crate::lint::Checked;
use crate::load;
use crate::load::{Finding, Findings, Severity, Source};
use crate::text::Page;

/// Check knowledge: what is wrong, what is probably not meant, and whether the worked cases come out.
///
/// docs/findings.md explains every finding by its code.
#[derive(Debug, Args)]
pub(super) struct Check {
    /// The knowledge folder; without it that of --knowledge, or the knowledge in the program
    #[arg(value_name = "DIR", conflicts_with = "knowledge")]
    folder: Option<PathBuf>,
    /// Fail on warnings too
    #[arg(long)]
    deny: bool,
    /// Write the findings and the cases as JSON, at full precision
    #[arg(long)]
    json: bool,
}

impl Check {
    pub(super) fn execute(
        &self,
        folder: Option<&Path>,
        streams: &mut Streams<'_>,
    ) -> Result<u8, Error> {
        let source = match self.folder.as_deref().or(folder) {
            Some(folder) => {
                Source::folder(folder).map_err(|error| Error::Files(error.to_string()))?
            }
            None => Source::embedded(),
        };
        let (knowledge, checked) = match load::load(&source) {
            Ok(loaded) => {
                let checked = lint::check(&source, &loaded);
                (Some(loaded.knowledge), checked)
            }
            Err(findings) => {
                let cases = Vec::new();
                (None, Checked { findings, cases })
            }
        };
        if self.json {
            let answer = answer(knowledge.as_ref(), &checked)?;
            crate::text::json(streams.out, &answer)?;
        } else {
            let mut page = Page::new(streams.out, streams.width);
            lint::findings(&mut page, &checked.findings.0)?;
            for run in checked.cases.iter().filter(|run| !run.passes()) {
                lint::failing_case(&mut page, run)?;
            }
            lint::summary(
                &mut page,
                knowledge.as_ref(),
                &checked.cases,
                &checked.findings,
            )?;
        }
        let fails = checked.findings.have_errors() || (self.deny && !checked.findings.is_empty());
        Ok(if fails { FINDINGS } else { DONE })
    }
}

/// The answer as other programs read it: docs/checking.md.
fn answer(knowledge: Option<&Knowledge>, checked: &Checked) -> Result<Value, std::io::Error> {
    let cases: Vec<Value> = checked
        .cases
        .iter()
        .map(case)
        .collect::<Result<_, serde_json::Error>>()?;
    Ok(json!({
        "loads": knowledge.is_some(),
        "findings": checked.findings.0.iter().map(finding).collect::<Vec<_>>(),
        "cases": cases,
        "checked": counts(knowledge, checked),
    }))
}

fn finding(finding: &Finding) -> Value {
    json!({
        "code": finding.code.name(),
        "severity": finding.severity.to_string(),
        "file": finding.place.file,
        "line": finding.place.line,
        "column": finding.place.column,
        "text": finding.line,
        "words": finding.words,
        "why": finding.code.why(),
        "help": finding.help(),
    })
}

fn case(run: &CaseRun) -> Result<Value, serde_json::Error> {
    let mut value = serde_json::to_value(run)?;
    value["passes"] = json!(run.passes());
    value["why"] = json!(
        run.faults
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
    );
    Ok(value)
}

fn counts(knowledge: Option<&Knowledge>, checked: &Checked) -> Value {
    let families = knowledge.map_or(&[][..], |knowledge| &knowledge.families);
    let sum = |of: fn(&Family) -> usize| -> usize { families.iter().map(of).sum() };
    let Findings(found) = &checked.findings;
    let of = |severity| found.iter().filter(|one| one.severity == severity).count();
    json!({
        "families": families.len(),
        "symptoms": sum(|family| family.symptoms.len()),
        "causes": sum(|family| family.causes.len()),
        "repairs": sum(|family| family.repairs.len()),
        "measurements": sum(|family| family.measurements.len()),
        "vehicles": knowledge.map_or(0, |knowledge| knowledge.vehicles.len()),
        "cases": checked.cases.len(),
        "cases_failing": checked.cases.iter().filter(|run| !run.passes()).count(),
        "errors": of(Severity::Error),
        "warnings": of(Severity::Warning),
    })
}
