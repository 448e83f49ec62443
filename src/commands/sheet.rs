//! `sheet`: a job on one sheet.

use std::io;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::basis::{Basis, knowledge_on};
use super::job;
use super::shop::ShopArguments;
use super::{DONE, Error, Result, Streams};
use crate::files::{Readers, Staged};
use crate::record::Record;
use crate::sheet::{Style, html, markdown};
use crate::terminal;
use crate::text::{clean, json};

/// Write a job on one sheet, for the file, the customer or the wall.
#[derive(Debug, Args)]
pub(super) struct Sheet {
    /// The record of the job, open or closed
    #[arg(value_name = "JOB")]
    job: PathBuf,
    /// How the sheet is written
    #[arg(long, value_enum, value_name = "FORMAT", default_value_t = Format::Html)]
    format: Format,
    /// Write to this file, which must not be there yet; without it, to the output
    #[arg(short, long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Replace the file that is there
    #[arg(long, requires = "out")]
    replace: bool,
}

/// How a sheet is written.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum Format {
    /// One HTML document that needs nothing else: for a screen and for paper
    Html,
    /// Markdown
    Md,
    /// All of it as data
    Json,
}

impl Sheet {
    pub(super) fn execute(&self, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result {
        let mut knowledge = knowledge_on(basis, streams)?;
        let view = Record::read(&self.job)?;
        let state = view.history.state();
        job::real(state, &self.job)?;
        let kept = state.opened.shop.clone().unwrap_or_default();
        let profile = ShopArguments::default().of(basis.shop, Some(kept), &mut knowledge)?;
        let mut sheet = crate::sheet::Sheet::of(&knowledge, &view, &streams.clock)?;
        let family = knowledge.family(&state.opened.family);
        let overlay = family.and_then(|family| terminal::overlay_words(&knowledge, family));
        sheet.warnings.extend(overlay);
        let mut text = Vec::new();
        match self.format {
            Format::Html => text.extend(html(&sheet, Style::Own, None).into_bytes()),
            Format::Md => markdown(&sheet).markdown(&mut text)?,
            Format::Json => json(&mut text, &sheet)?,
        }
        let text = String::from_utf8_lossy(&text);
        let Some(file) = &self.out else {
            streams.out.write_all(text.as_bytes())?;
            return Ok(DONE);
        };
        let staged = Staged::new(file, &text, Readers::of_jobs(profile.shared));
        let written = if self.replace {
            staged.and_then(Staged::replace)
        } else {
            staged.and_then(Staged::create)
        };
        written.map_err(|error| unwritten(file, &error))?;
        writeln!(streams.out, "{}", clean(&file.display().to_string()))?;
        Ok(DONE)
    }
}

fn unwritten(file: &Path, error: &io::Error) -> Error {
    if error.kind() == io::ErrorKind::AlreadyExists {
        let file = file.display();
        Error::Files(format!("{file} is there already: `--replace` replaces it"))
    } else {
        Error::unwritten(file, error)
    }
}
