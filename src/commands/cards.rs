//! `cards`: measurements and complaints to hang up or hand out.

use std::path::PathBuf;

use clap::Args;

use super::args::FamilyArgument;
use super::basis::{Basis, knowledge_on};
use super::{DONE, Error, Result, Streams};
use crate::drawing;
use crate::files;
use crate::knowledge::{Id, MeasurementId, SymptomId};
use crate::practice::{card, first_looks, measurements_of};
use crate::text::{Paper, cards, unknown};

/// Print cards of measurements, to hang up or hand out.
#[derive(Debug, Args)]
pub(super) struct Cards {
    /// Complaints, with their first looks, fault tree and measurements; or measurements
    #[arg(value_name = "NAME", required = true)]
    names: Vec<String>,
    #[command(flatten)]
    family: FamilyArgument,
    /// Four cards on a sheet of A4 instead of two
    #[arg(long)]
    four: bool,
    /// Write them to this file as a page to print, which is replaced where there is one
    #[arg(short, long, value_name = "FILE")]
    out: Option<PathBuf>,
}

impl Cards {
    pub(super) fn execute(&self, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result {
        let knowledge = knowledge_on(basis, streams)?;
        let family = self.family.of(&knowledge)?;
        let mut papers: Vec<Paper> = Vec::new();
        let mut drawings = Vec::new();
        for name in &self.names {
            if let Some(symptom) = family.symptom_known_as(name) {
                papers.push(first_looks(family, symptom));
                drawings.push(drawing::svg(family, symptom));
                let ids = measurements_of(family, symptom);
                papers.extend(ids.into_iter().map(|id| card(family, id)));
            } else {
                let known = MeasurementId::names(family).chain(SymptomId::names(family));
                let id = MeasurementId::known_as(family, name).ok_or_else(|| {
                    Error::Usage(unknown("measurement or complaint", name, known))
                })?;
                papers.push(card(family, id));
            }
        }
        match &self.out {
            Some(file) => {
                let text = cards(&family.title, &papers, self.four, &drawings);
                files::replace(file, &text).map_err(|error| Error::unwritten(file, &error))?;
            }
            None => papers
                .iter()
                .try_for_each(|paper| paper.show(&mut streams.page()))?,
        }
        Ok(DONE)
    }
}
