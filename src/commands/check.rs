//! `check`: errors, lints and worked cases of a knowledge folder.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use super::{DONE, FINDINGS, Result, Streams};
use crate::cases::CaseRun;
use crate::lint::{self, Checked, Counts};
use crate::load::{self, Finding, Source};

/// Validate a knowledge folder: errors, lints, worked cases
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

/// The answer as other programs read it: docs/checking.md.
#[derive(Serialize)]
struct Answer<'a> {
    loads: bool,
    findings: Vec<Found<'a>>,
    cases: Vec<Case<'a>>,
    checked: Counts,
}

#[derive(Serialize)]
struct Found<'a> {
    code: &'a str,
    severity: String,
    file: &'a str,
    line: u32,
    column: u32,
    text: &'a str,
    words: &'a str,
    why: &'a str,
    help: Option<String>,
}

#[derive(Serialize)]
struct Case<'a> {
    #[serde(flatten)]
    run: &'a CaseRun,
    passes: bool,
    why: Vec<String>,
}

impl Check {
    pub(super) fn execute(&self, folder: Option<&Path>, streams: &mut Streams<'_>) -> Result {
        let source = match self.folder.as_deref().or(folder) {
            Some(folder) => Source::folder(folder)?,
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
            let answer = Answer {
                loads: knowledge.is_some(),
                findings: checked.findings.0.iter().map(found).collect(),
                cases: checked.cases.iter().map(case).collect(),
                checked: Counts::of(knowledge.as_ref(), &checked),
            };
            streams.json(&answer)?;
        } else {
            let mut page = streams.page();
            lint::report(&mut page, knowledge.as_ref(), &checked)?;
        }
        let fails = checked.findings.have_errors() || (self.deny && !checked.findings.is_empty());
        Ok(if fails { FINDINGS } else { DONE })
    }
}

fn found(finding: &Finding) -> Found<'_> {
    Found {
        code: finding.code.name(),
        severity: finding.severity.to_string(),
        file: &finding.place.file,
        line: finding.place.line,
        column: finding.place.column,
        text: &finding.line,
        words: &finding.words,
        why: finding.code.why(),
        help: finding.help(),
    }
}

fn case(run: &CaseRun) -> Case<'_> {
    Case {
        run,
        passes: run.passes(),
        why: run.faults.iter().map(ToString::to_string).collect(),
    }
}
