//! `diff`: what differs between two editions of the knowledge.

use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

use super::basis::{self, Basis};
use super::paired::on_the_same_vehicles;
use super::{DONE, Error, Result, Streams};
use crate::diff::Comparison;
use crate::knowledge::{Knowledge, SymptomId};
use crate::simulate::{Paired, Settings, Version};
use crate::terminal;
use crate::text::{Paper, Tone};

/// Tell what differs between two editions of the knowledge, and what that does to the answers.
///
/// With one folder, it is compared with the knowledge in the program, or with that of --knowledge. With --overlay, the
/// newer edition has the learned figures of that file; without a folder then, it is the older one with them. Differences are no failure: the exit code is 0 with them and without.
#[derive(Debug, Args)]
#[command(
    override_usage = "halfsplit diff [OPTIONS] [OLD] <NEW>\n       halfsplit diff [OPTIONS] --overlay <FILE>"
)]
pub(super) struct Diff {
    /// The older knowledge folder, left out for the knowledge in the program, and the newer one
    #[arg(value_names = ["OLD", "NEW"], num_args = 0..=2)]
    editions: Vec<PathBuf>,
    /// Let both diagnose N vehicles of each fault, drawn from the one and from the other
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    study: Option<u32>,
    /// Write the answer as JSON, at full precision
    #[arg(long)]
    json: bool,
}

impl Diff {
    pub(super) fn execute(&self, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result {
        let (old, new) = match (&self.editions[..], basis.folder) {
            ([_, _], Some(_)) => {
                return Err(Error::Usage(
                    "name the older folder once: before the newer, or with --knowledge".to_owned(),
                ));
            }
            ([old, new], None) => (Some(old.as_path()), Some(new.as_path())),
            ([new], old) => (old, Some(new.as_path())),
            (_, old) if basis.overlay.is_some() => (old, old),
            _ => {
                return Err(Error::Usage(
                    "name the newer knowledge folder, or learned figures with --overlay".to_owned(),
                ));
            }
        };
        let was = edition(old, streams)?;
        let mut now = if new == old {
            was.clone()
        } else {
            edition(new, streams)?
        };
        if let Some(path) = basis.overlay {
            basis::lay_over(&mut now, path, streams)?;
        }
        let comparison = Comparison::of(&was, &now);
        let mut paper = Paper::default();
        let run = |vehicles| studies(&was, &now, vehicles, streams.interactive, &mut paper);
        let studies = self.study.map(run).transpose()?;
        let old = old.map(|path| path.display().to_string());
        let new = new.map(|path| path.display().to_string());
        if self.json {
            // As other programs read it: docs/comparing.md.
            let mut answer = json!({
                "old": old,
                "new": new,
                "same": comparison.changes.is_empty(),
                "changes": comparison.changes,
                "answers": comparison.answers,
                "cases": comparison.cases,
            });
            if let Some(overlay) = &now.overlay {
                answer["overlay"] = json!(overlay);
            }
            if let Some(studies) = studies {
                answer["studies"] = json!(studies);
            }
            streams.json(&answer)?;
        } else {
            let mut page = streams.page();
            let [old, new] = [old, new]
                .map(|path| path.unwrap_or_else(|| "the knowledge in the program".to_owned()));
            if let Some(overlay) = &now.overlay {
                page.text(Tone::Plain, 0, &terminal::laid_over_words(overlay))?;
            }
            crate::diff::report::comparison(&mut page, &comparison, &old, &new)?;
            paper.show(&mut page)?;
        }
        Ok(DONE)
    }
}

/// Both on the vehicles of the one and of the other, family by family, complaint by complaint.
fn studies(
    was: &Knowledge,
    now: &Knowledge,
    vehicles: u32,
    interactive: bool,
    paper: &mut Paper,
) -> Result<Vec<Paired>> {
    let settings = Settings { vehicles, seed: 1 };
    let mut answers = Vec::new();
    for family in &now.families {
        let versions = [was, now].map(|edition| Version::of(edition, &family.name, None));
        let [Some(old), Some(new)] = versions else {
            continue;
        };
        let symptoms: Vec<SymptomId> = (0..family.symptoms.len()).map(SymptomId::at).collect();
        answers.extend(on_the_same_vehicles(
            old,
            new,
            &symptoms,
            &settings,
            interactive,
            paper,
        )?);
    }
    Ok(answers)
}

/// The knowledge of an edition; where it has errors, it is said of which.
fn edition(folder: Option<&Path>, streams: &mut Streams<'_>) -> Result<Knowledge> {
    let knowledge = basis::knowledge(folder, streams);
    if let (Err(Error::Findings(_)), Some(folder)) = (&knowledge, folder) {
        let folder = crate::text::clean(&folder.display().to_string());
        writeln!(streams.err, "halfsplit: found in {folder}:")?;
    }
    knowledge
}
