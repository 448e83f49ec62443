//! `jobs`: a folder of jobs at a glance.

use std::io;
use std::path::{Path, PathBuf};

use clap::Args;
use jiff::Timestamp;
use serde::Serialize;

use super::basis::{Basis, knowledge_on};
use super::shop::ShopArguments;
use super::{DONE, Error, Result, Streams};
use crate::jobs::{Folder, Priced, Row, Unreadable, age};
use crate::knowledge::Knowledge;
use crate::sheet::Stage;
use crate::text::figures::percent;
use crate::text::{Page, Tone};

/// List the jobs of a folder: open, waiting for proof, to hand on, closed.
#[derive(Debug, Args)]
pub(super) struct Jobs {
    /// The folder of the records; without it the one of the shop's profile, else this folder
    #[arg(value_name = "FOLDER")]
    folder: Option<PathBuf>,
    #[command(flatten)]
    stages: Stages,
    /// Only jobs on this vehicle
    #[arg(long, value_name = "VEHICLE")]
    vehicle: Option<String>,
    /// Only jobs with these words in their order
    #[arg(long, value_name = "WORDS")]
    order: Option<String>,
    /// Write the answer as JSON
    #[arg(long)]
    json: bool,
}

// No doc comment: clap would take it for the text of the command.
#[derive(Debug, Args)]
struct Stages {
    /// Only jobs whose cause is looked for, or that are to be handed on
    #[arg(long)]
    open: bool,
    /// Only jobs whose repair waits for its proof
    #[arg(long)]
    waiting: bool,
    /// Only closed jobs
    #[arg(long)]
    closed: bool,
}

/// The answer for other programs.
#[derive(Serialize)]
struct Answer<'f> {
    folder: String,
    jobs: Vec<&'f Row>,
    unreadable: Vec<Unreadable>,
}

impl Jobs {
    pub(super) fn execute(&self, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result {
        let mut knowledge = knowledge_on(basis, streams)?;
        // The profile says where the folder is; each job has its own labour rate.
        let unpriced = Knowledge::clone(&knowledge);
        let profile = ShopArguments::default().of(basis.shop, None, &mut knowledge)?;
        let here = Path::new(".");
        let path = self
            .folder
            .as_deref()
            .or(profile.jobs.as_deref())
            .unwrap_or(here);
        let mut folder = Folder::new(path);
        folder
            .look(&Priced::new(unpriced))
            .map_err(|error| unread(path, &error))?;
        let all = folder.rows();
        let jobs: Vec<&Row> = all.iter().copied().filter(|row| self.wants(row)).collect();
        let unreadable = folder.unreadable();
        if self.json {
            streams.json(&Answer {
                folder: path.display().to_string(),
                jobs,
                unreadable,
            })?;
            return Ok(DONE);
        }
        let now = streams.clock.now();
        let page = &mut streams.page();
        for row in &jobs {
            shown(page, row, now)?;
        }
        let count = |stage| all.iter().filter(|row| row.stage == stage).count();
        let (open, waiting, handed_on, closed) = (
            count(Stage::Open),
            count(Stage::Waiting),
            count(Stage::ToHandOn),
            count(Stage::Closed),
        );
        page.gap()?;
        let text = format!(
            "{open} open, {waiting} waiting for proof, {handed_on} to hand on, {closed} closed: {}",
            path.display()
        );
        page.text(Tone::Plain, 0, &text)?;
        if jobs.is_empty() && !all.is_empty() {
            page.text(
                Tone::Plain,
                0,
                "No job is as asked for; `--closed` lists the closed ones.",
            )?;
        }
        for record in &unreadable {
            let text = format!("Cannot be read: {}: {}", record.file, record.why);
            page.text(Tone::Strong, 0, &text)?;
        }
        Ok(DONE)
    }

    /// Whether a job is asked for. Closed ones are many, and so must be asked for.
    fn wants(&self, row: &Row) -> bool {
        let stage = match row.stage {
            Stage::Open | Stage::ToHandOn => self.stages.open,
            Stage::Waiting => self.stages.waiting,
            Stage::Closed => self.stages.closed,
        };
        let any = !self.stages.open && !self.stages.waiting && !self.stages.closed;
        let narrowed = self.vehicle.is_some() || self.order.is_some() || self.json;
        let by_default = any && (row.stage != Stage::Closed || narrowed);
        let vehicle = self.vehicle.as_ref();
        let order = self.order.as_ref().map(|order| order.to_lowercase());
        let own = row.order.as_deref().unwrap_or_default().to_lowercase();
        (stage || by_default)
            && vehicle.is_none_or(|name| row.vehicle_id.as_ref() == Some(name))
            && order.is_none_or(|order| own.contains(&order))
    }
}

/// A job on the screen.
fn shown(page: &mut Page<'_>, row: &Row, now: Timestamp) -> io::Result<()> {
    let order = row.order.as_ref().map(|order| format!("order {order}"));
    let of: Vec<String> = order.into_iter().chain(row.vehicle.clone()).collect();
    let of = if of.is_empty() {
        row.job.clone()
    } else {
        of.join(" · ")
    };
    page.spread(
        &of,
        &format!("{}, {}", row.stage.word(), age(row.opened, now)),
    )?;
    if !row.complaint.is_empty() {
        page.say(&row.complaint.join("; "))?;
    }
    if !row.found.is_empty() {
        page.entry("Found: ", &row.found.join("; and "))?;
    }
    if let Some(cure) = &row.leading {
        page.entry(
            "Likeliest: ",
            &format!("{} {}", cure.title, percent(cure.probability)),
        )?;
    }
    if let Some(next) = &row.next {
        page.entry("Next: ", next)?;
    }
    page.text(Tone::Faint, 2, &row.file)
}

fn unread(path: &Path, error: &io::Error) -> Error {
    Error::of_file(path, format_args!("the folder of jobs: {error}"))
}
