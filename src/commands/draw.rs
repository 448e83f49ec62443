//! `draw`: the fault tree of a symptom as a picture.

use std::path::PathBuf;

use clap::Args;

use super::args::{self, FamilyArgument};
use super::basis::{Basis, knowledge_on, tell_overlay};
use super::{DONE, Error, Result, Streams};
use crate::drawing;
use crate::files;

/// Draw the fault tree of a symptom, as SVG or for Graphviz.
#[derive(Debug, Args)]
pub(super) struct Draw {
    /// The symptom whose tree is drawn
    #[arg(value_name = "SYMPTOM")]
    symptom: String,
    /// Write the tree in Graphviz's DOT language instead of SVG
    #[arg(long)]
    dot: bool,
    /// Write to this file, which is replaced where there is one; without it, to the output
    #[arg(short, long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    family: FamilyArgument,
}

impl Draw {
    pub(super) fn execute(&self, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result {
        let knowledge = knowledge_on(basis, streams)?;
        let symptom = std::slice::from_ref(&self.symptom);
        let family = self.family.told(&knowledge, None, symptom)?;
        let symptom = args::symptom(family, &self.symptom)?;
        tell_overlay(&knowledge, family, streams)?;
        let mut text = if self.dot {
            drawing::dot(family, symptom)
        } else {
            drawing::svg(family, symptom)
        };
        if !text.ends_with('\n') {
            text.push('\n');
        }
        match &self.out {
            Some(file) => {
                files::replace(file, &text).map_err(|error| Error::unwritten(file, &error))?;
            }
            None => streams.out.write_all(text.as_bytes())?,
        }
        Ok(DONE)
    }
}
