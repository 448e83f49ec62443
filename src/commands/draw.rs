//! `draw`: the fault tree of a symptom as a picture.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;

use super::args;
use super::basis::{Basis, knowledge_on, tell_overlay};
use super::{DONE, Error, Streams};
use crate::drawing;

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
    /// The family of the transmission, where the knowledge has several
    #[arg(long, value_name = "FAMILY")]
    family: Option<String>,
}

impl Draw {
    pub(super) fn execute(
        &self,
        basis: &Basis<'_>,
        streams: &mut Streams<'_>,
    ) -> Result<u8, Error> {
        let knowledge = knowledge_on(basis, streams)?;
        let family = args::family(&knowledge, self.family.as_deref())?;
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
            Some(file) => replace(file, &text)?,
            None => streams.out.write_all(text.as_bytes())?,
        }
        Ok(DONE)
    }
}

/// Writes a file whole or not at all: what stood there stays until the new text is on the disk.
fn replace(file: &Path, text: &str) -> Result<(), Error> {
    let failed = |what: &str, error: std::io::Error| {
        Error::Files(format!("cannot {what} {}: {error}", file.display()))
    };
    // A device or a pipe is written to; only a file can be replaced. A link stays a link.
    let place = match fs::metadata(file) {
        Ok(known) if !known.is_file() => {
            return fs::write(file, text).map_err(|error| failed("write", error));
        }
        Ok(_) => fs::canonicalize(file).map_err(|error| failed("write", error))?,
        Err(_) => file.to_owned(),
    };
    let mut name = place.file_name().unwrap_or_default().to_owned();
    name.push(format!(".{}.part", std::process::id()));
    let part = place.with_file_name(name);
    let mut opened = fs::File::create_new(&part).map_err(|error| failed("write", error))?;
    let written = opened
        .write_all(text.as_bytes())
        .and_then(|()| opened.sync_all());
    if let Err(error) = written {
        // Of what could not be written nothing is left behind, if that at least can be done.
        let _ = fs::remove_file(&part);
        return Err(failed("write", error));
    }
    fs::rename(&part, &place).map_err(|error| {
        let _ = fs::remove_file(&part);
        failed("replace", error)
    })
}
