//! `check`: errors, lints and worked cases of a knowledge folder.

use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use super::basis::{self, Basis};
use super::{DONE, Error, FINDINGS, Result, Streams};
use crate::cases::CaseRun;
use crate::lint::{self, Checked, Counts};
use crate::load::{self, Finding, Source};
use crate::terminal;
use crate::text::Tone;

/// Validate a knowledge folder: errors, lints, worked cases
///
/// docs/findings.md explains every finding by its code.
#[derive(Debug, Args)]
pub(super) struct Check {
    /// The knowledge folder; without it that of --knowledge, or the knowledge in the program
    #[arg(value_name = "DIR")]
    folder: Option<PathBuf>,
    /// Fail on warnings too
    #[arg(long)]
    deny: bool,
    /// Write the findings and the cases as JSON, at full precision
    #[arg(long)]
    json: bool,
}

impl Check {
    pub(super) fn execute(&self, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result {
        // The argument parser cannot say so: each section of the manual page is rendered without the options of all.
        let source = match (self.folder.as_deref(), basis.folder) {
            (Some(_), Some(_)) => {
                return Err(Error::Usage(
                    "name the folder once: behind `check`, or with --knowledge".to_owned(),
                ));
            }
            (Some(folder), None) | (None, Some(folder)) => Source::folder(folder)?,
            (None, None) => Source::embedded(),
        };
        let (knowledge, checked) = match load::load(&source) {
            Ok(mut loaded) => {
                if let Some(path) = basis.overlay {
                    basis::lay_over(&mut loaded.knowledge, path, streams)?;
                }
                let checked = lint::check(&source, &loaded);
                (Some(loaded.knowledge), checked)
            }
            Err(findings) => {
                let cases = Vec::new();
                (None, Checked { findings, cases })
            }
        };
        let overlay = knowledge
            .as_ref()
            .and_then(|knowledge| knowledge.overlay.clone());
        if self.json {
            let findings = checked.findings.0.iter().map(found);
            // As other programs read it: docs/checking.md.
            let mut answer = json!({
                "loads": knowledge.is_some(),
                "findings": findings.collect::<Vec<_>>(),
                "cases": checked.cases.iter().map(case).collect::<Vec<_>>(),
                "checked": Counts::of(knowledge.as_ref(), &checked),
            });
            if let Some(overlay) = &overlay {
                answer["overlay"] = json!(overlay);
            }
            streams.json(&answer)?;
        } else {
            let mut page = streams.page();
            if let Some(overlay) = &overlay {
                page.text(Tone::Plain, 0, &terminal::laid_over_words(overlay))?;
            }
            lint::report(&mut page, knowledge.as_ref(), &checked)?;
        }
        let fails = checked.findings.have_errors() || (self.deny && !checked.findings.is_empty());
        Ok(if fails { FINDINGS } else { DONE })
    }
}

fn found(finding: &Finding) -> Value {
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
        "at": finding.at,
    })
}

fn case(run: &CaseRun) -> Value {
    let mut case = json!(run);
    case["passes"] = json!(run.passes());
    case["why"] = run.faults.iter().map(ToString::to_string).collect();
    case
}
