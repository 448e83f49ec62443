//! `learn`: what closed jobs say about the knowledge's figures.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use super::args::FamilyArgument;
use super::basis;
use super::progress::bar;
use super::take_over;
use super::{DONE, Error, FINDINGS, Result, Streams};
use crate::learn;
use crate::learn::{Overlay, PRIOR_JOBS, PRIOR_READINGS, Prior, Tally};
use crate::text::Tone;

/// Learn from closed jobs with a verified repair how common causes are and how they read.
///
/// What moved is written to a file of its own for a person to review. The knowledge changes only with --apply.
#[derive(Debug, Args)]
pub(super) struct Learn {
    /// Job records, or folders of them: every *.job.jsonl in a folder and below it
    #[arg(value_name = "JOBS", required_unless_present_any = ["counts", "apply"])]
    jobs: Vec<PathBuf>,
    /// Counts of jobs that were made elsewhere, as CSV, instead of records or beside records of other jobs
    #[arg(long, value_name = "FILE")]
    counts: Vec<PathBuf>,
    #[command(flatten)]
    family: FamilyArgument,
    /// The file to write what was learned to
    #[arg(long, value_name = "FILE", default_value = "learned.yaml")]
    out: PathBuf,
    /// Write over an earlier file of learned figures
    #[arg(long)]
    force: bool,
    /// How many driveline jobs the records were among, those without a record too: fixes the level of all rates
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=1_000_000_000))]
    driveline_jobs: Option<u64>,
    /// How many jobs a stated rate counts for
    #[arg(long, value_name = "N", default_value_t = PRIOR_JOBS)]
    prior_jobs: f64,
    /// How many readings a stated row of `shows` counts for
    #[arg(long, value_name = "N", default_value_t = PRIOR_READINGS)]
    prior_readings: f64,
    /// Write the reviewed figures of this file into the folder of --knowledge, with comments and order kept
    #[arg(long, value_name = "FILE", conflicts_with_all = ["jobs", "counts", "json"])]
    apply: Option<PathBuf>,
    /// With --apply: leave figures that rest on fewer jobs as they are
    #[arg(long, value_name = "N", default_value_t = 20, requires = "apply")]
    least_jobs: u64,
    /// With --apply: write without asking
    #[arg(long, requires = "apply")]
    yes: bool,
    /// Write the answer as JSON, at full precision
    #[arg(long)]
    json: bool,
}

/// As other programs read it: docs/learning.md.
#[derive(Serialize)]
struct Answer<'a> {
    overlay: &'a Overlay,
    refused: Vec<NotCounted>,
    written: Option<String>,
}

#[derive(Serialize)]
struct NotCounted {
    file: String,
    kind: &'static str,
    why: String,
}

impl Learn {
    pub(super) fn execute(&self, folder: Option<&Path>, streams: &mut Streams<'_>) -> Result {
        if let Some(learned) = &self.apply {
            let folder = folder.ok_or_else(|| {
                Error::Usage("name the folder to write to with --knowledge".to_owned())
            })?;
            return take_over::apply(learned, folder, self.least_jobs, self.yes, streams);
        }
        let prior = Prior::new(self.prior_jobs, self.prior_readings).ok_or_else(|| {
            Error::Usage(
                "--prior-jobs and --prior-readings must be above 0 and at most 1e9".to_owned(),
            )
        })?;
        // Before the counting, so that nobody waits for nothing.
        Overlay::may_write(&self.out, self.force)?;
        let knowledge = basis::knowledge(folder, streams)?;
        let family = self.family.of(&knowledge)?;
        let files = learn::records(&self.jobs)?;

        let total = files.len().try_into().unwrap_or(u64::MAX);
        let bar = bar(total, "records", streams.interactive);
        let mut tally = Tally::of(family, &files, &mut |read| {
            bar.set_position(read.try_into().unwrap_or(u64::MAX));
        });
        bar.finish_and_clear();
        for file in &self.counts {
            tally.read_counts(family, file)?;
        }

        let overlay = learn::learn(family, &tally, prior, self.driveline_jobs);
        let any = overlay.jobs > 0;
        if any {
            overlay.write(&self.out, self.force)?;
        }
        if self.json {
            let refused = tally.refused.iter().map(|refused| NotCounted {
                file: refused.file.display().to_string(),
                kind: refused.why.kind(),
                why: refused.why.to_string(),
            });
            streams.json(&Answer {
                overlay: &overlay,
                refused: refused.collect(),
                written: any.then(|| self.out.display().to_string()),
            })?;
        } else {
            let mut page = streams.page();
            learn::learned(&mut page, family, &tally, &overlay)?;
            if any {
                page.gap()?;
                let text = format!("Written to {}, for a person to review.", self.out.display());
                page.text(Tone::Strong, 0, &text)?;
            }
        }
        Ok(if any { DONE } else { FINDINGS })
    }
}
