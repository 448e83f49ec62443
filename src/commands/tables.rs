//! `tables`: what the knowledge covers, and its figures, for a review in a browser or a spreadsheet.

use std::fs;
use std::path::PathBuf;

use clap::Args;

use super::args::FamilyArgument;
use super::basis::{Basis, knowledge};
use super::{DONE, Error, Result, Streams};
use crate::files;
use crate::lint::Tables;

/// Write what the knowledge covers as tables: HTML, and CSV for a spreadsheet
///
/// coverage.html has the pairs of repairs that are hardest to tell apart and all causes by measurement; coverage.csv and
/// pairs.csv have the same, figures.csv has every rate and every figure of `shows` and `chance` with its source.
#[derive(Debug, Args)]
pub(super) struct WriteTables {
    /// The folder to write them into; files of an earlier run there are replaced
    #[arg(long, value_name = "DIR")]
    into: PathBuf,
    #[command(flatten)]
    family: FamilyArgument,
}

impl WriteTables {
    pub(super) fn execute(&self, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result {
        let knowledge = knowledge(basis.folder, streams)?;
        let tables = Tables::of(self.family.of(&knowledge)?);
        let failed = |error: csv::Error| Error::Files(error.to_string());
        let written = [
            (
                "coverage.html",
                tables.html(),
                "pairs of repairs, and causes by measurement",
            ),
            (
                "coverage.csv",
                tables.coverage_csv().map_err(failed)?,
                "causes by measurement",
            ),
            (
                "pairs.csv",
                tables.pairs_csv().map_err(failed)?,
                "pairs of repairs, and what tells them apart",
            ),
            (
                "figures.csv",
                tables.figures_csv().map_err(failed)?,
                "every rate, and the figures of `shows` and `chance`",
            ),
        ];
        fs::create_dir_all(&self.into).map_err(|error| Error::unwritten(&self.into, &error))?;
        let texts = written
            .each_ref()
            .map(|(name, text, _)| (self.into.join(name), text.as_str()));
        files::write_all(&texts, true).map_err(|(path, error)| Error::unwritten(&path, &error))?;
        let mut page = streams.page();
        page.heading(&format!("Written to {}", self.into.display()))?;
        for (name, _, about) in written {
            page.entry(&format!("{name}: "), about)?;
        }
        Ok(DONE)
    }
}
