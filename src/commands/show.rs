//! `show`: one thing of the knowledge in full.

use clap::Args;

use super::args::{FamilyArgument, unknown};
use super::basis::{Basis, knowledge_on};
use super::{DONE, Result, Streams};
use crate::terminal;

/// Show a cause, measurement, repair, set-up, vehicle or fault tree
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  halfsplit show                  lists the ids of all of them
  halfsplit show slipping         a complaint and its fault tree
  halfsplit show demo-estate      a vehicle's sheet")]
pub(super) struct Show {
    /// The id of a cause, measurement, repair, symptom, set-up or vehicle; without one, lists all of them
    #[arg(value_name = "ID")]
    name: Option<String>,
    #[command(flatten)]
    family: FamilyArgument,
}

impl Show {
    pub(super) fn execute(&self, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result {
        let knowledge = knowledge_on(basis, streams)?;
        let family = self.family.of(&knowledge)?;
        streams.show(|page| {
            terminal::overlay(page, &knowledge, family)?;
            let Some(name) = &self.name else {
                return Ok(terminal::show_all(page, &knowledge, family)?);
            };
            if terminal::show(page, &knowledge, family, name)? {
                return Ok(());
            }
            let things = terminal::things(&knowledge, family);
            let names = things.iter().flat_map(|(_, things)| things);
            Err(unknown("thing", name, names.map(|(name, _)| *name)))
        })?;
        Ok(DONE)
    }
}
