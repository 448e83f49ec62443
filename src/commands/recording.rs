//! `recording`: what a recording of the scan tool says.

use std::path::PathBuf;

use clap::Args;

use super::args::{self, FamilyArgument};
use super::basis::{Basis, knowledge_on};
use super::{DONE, Error, Result, Streams};
use crate::drawing::{sketch, traces};
use crate::files;
use crate::recording::picture::{DRAWN, picture};
use crate::terminal::{self, Columns};

/// Take readings and events from a recording of the scan tool.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  halfsplit recording drive.csv --vehicle demo-estate
  halfsplit recording drive.csv --map engine-speed=\"Motor speed\" --yes --json")]
pub(super) struct Recording {
    /// The table that the scan tool has exported: delimited text with a header; `-` reads it from the input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    #[command(flatten)]
    family: FamilyArgument,
    /// The vehicle whose sheet gives the limits
    #[arg(long, value_name = "VEHICLE")]
    vehicle: Option<String>,
    #[command(flatten)]
    columns: ColumnArguments,
    /// Write the answer as JSON
    #[arg(long)]
    json: bool,
    /// Sketch the traces in characters too
    #[arg(long, conflicts_with = "json")]
    text: bool,
    /// Draw the traces with events, limits and windows as SVG in this file, which is replaced where there is one
    #[arg(short, long, value_name = "FILE")]
    out: Option<PathBuf>,
}

// No doc comment: clap would take it for the text of the command.
#[derive(Debug, Args)]
struct ColumnArguments {
    /// A signal is this column, by its name or its place from 1; `none` for no column
    #[arg(long = "map", value_name = "SIGNAL=COLUMN")]
    named: Vec<String>,
    /// Take the columns as they are proposed, without asking
    #[arg(long)]
    yes: bool,
    /// Keep what the columns of a layout are in this file, instead of in the user's configuration
    #[arg(long, value_name = "FILE")]
    mappings: Option<PathBuf>,
}

impl Recording {
    pub(super) fn execute(&self, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result {
        let there = |file: &PathBuf| file.canonicalize().ok();
        let picture_at = self.out.as_ref().and_then(there);
        if picture_at.is_some() && picture_at == there(&self.file) {
            return Err(Error::Usage(
                "--out names the recording itself: name another file for the picture".to_owned(),
            ));
        }
        let knowledge = knowledge_on(basis, streams)?;
        let name = self.vehicle.as_deref();
        let family = self.family.told(&knowledge, name, &[])?;
        let vehicle = args::vehicle(&knowledge, family, name)?;
        let columns = Columns {
            named: self.columns.named.clone(),
            yes: self.columns.yes,
            file: self
                .columns
                .mappings
                .clone()
                .or_else(|| streams.mappings.clone()),
        };
        let read = if self.file.as_os_str() == "-" {
            terminal::piped_recording(family, vehicle, &columns, streams.input)
        } else {
            terminal::recording(family, vehicle, &self.file, &columns, streams)
        };
        let Some((report, drive)) = read.map_err(|error| Error::Files(error.to_string()))? else {
            return Ok(DONE);
        };
        let picture = || picture(&drive, &report, vehicle, DRAWN);
        if let Some(file) = &self.out {
            files::replace(file, &traces(&picture()))
                .map_err(|error| Error::unwritten(file, &error))?;
        }
        if self.json {
            streams.json(&report)?;
        } else {
            let width = streams.width;
            streams.show(|page| {
                report.show(page)?;
                if self.text {
                    page.heading("Traces")?;
                    page.lines(2, &sketch(&picture(), width))?;
                }
                Ok::<(), Error>(())
            })?;
        }
        Ok(DONE)
    }
}
