//! `schema`: what an editor needs to complete and check knowledge files.

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;
use clap::builder::PossibleValuesParser;
use serde_json::Value;

use super::{DONE, Error, Streams};
use crate::files;
use crate::load::{FileKind, schema, schema_of_trees};
use crate::text::{Page, Tone};

/// The schema of any file in a folder `trees`.
const TREES: &str = "trees";

/// Write what an editor needs to complete and check knowledge files while one types: JSON Schemas.
#[derive(Debug, Args)]
pub(super) struct SchemaOf {
    /// The kind of file; without one, what kinds there are
    #[arg(value_name = "KIND", value_parser = PossibleValuesParser::new(names()))]
    kind: Option<String>,
    /// Write the schemas of all kinds into this folder
    #[arg(long, value_name = "DIR", conflicts_with = "kind")]
    into: Option<PathBuf>,
}

/// The names of all schemas.
fn names() -> Vec<&'static str> {
    let kinds = FileKind::ALL.iter().map(|kind| kind.name());
    kinds.chain([TREES]).collect()
}

/// The schema of a name.
fn named(name: &str) -> Value {
    FileKind::ALL
        .iter()
        .find(|kind| kind.name() == name)
        .map_or_else(schema_of_trees, |kind| schema(*kind))
}

/// Where the files of a schema lie in a knowledge folder.
fn lies_in(name: &str) -> &'static str {
    FileKind::ALL
        .iter()
        .find(|kind| kind.name() == name)
        .map_or(
            "*/trees/*.yaml, complaints and shared parts alike",
            |kind| kind.lies_in(),
        )
}

/// A schema as it is written to a file.
fn text(name: &str) -> Result<String, std::io::Error> {
    Ok(format!("{}\n", serde_json::to_string_pretty(&named(name))?))
}

impl SchemaOf {
    pub(super) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Error> {
        if let Some(kind) = &self.kind {
            streams.out.write_all(text(kind)?.as_bytes())?;
            return Ok(DONE);
        }
        if let Some(folder) = &self.into {
            write(folder)?;
        }
        let mut page = Page::new(streams.out, streams.width);
        let heading = match &self.into {
            Some(folder) => format!("Schemas written to {}", folder.display()),
            None => "Kinds of knowledge files".to_owned(),
        };
        page.heading(&heading)?;
        for name in names() {
            let file = match &self.into {
                Some(_) => file_of(name),
                None => name.to_owned(),
            };
            page.item(
                Tone::Plain,
                2,
                &format!("{file}: "),
                &format!("for {}", lies_in(name)),
            )?;
        }
        page.gap()?;
        if let Some(folder) = &self.into {
            page.text(
                Tone::Plain,
                0,
                "A YAML-aware editor completes and checks a file whose first line is, for causes.yaml,",
            )?;
            let path = folder.join(file_of("causes"));
            page.lines(
                2,
                &format!("# yaml-language-server: $schema={}", path.display()),
            )?;
            page.text(
                Tone::Plain,
                0,
                "with the path as it leads there from the file itself.",
            )?;
        } else {
            page.text(
                Tone::Plain,
                0,
                "`schema KIND` writes one, `schema --into DIR` all of them.",
            )?;
        }
        Ok(DONE)
    }
}

fn file_of(name: &str) -> String {
    format!("{name}.schema.json")
}

/// Writes all schemas into a folder; another program's file of such a name is left alone.
fn write(folder: &Path) -> Result<(), Error> {
    let refused = |path: &Path, error: &std::io::Error| {
        Error::Files(format!("{}: could not be written: {error}", path.display()))
    };
    for name in names() {
        let path = folder.join(file_of(name));
        let ours = match fs::read(&path) {
            Ok(bytes) => serde_json::from_slice::<Value>(&bytes).is_ok_and(|there| {
                there["title"]
                    .as_str()
                    .is_some_and(|title| title.starts_with("halfsplit: "))
            }),
            Err(_) => true,
        };
        if !ours {
            return Err(Error::Files(format!(
                "{}: there is such a file, and it is no schema of this program; name another folder",
                path.display()
            )));
        }
    }
    fs::create_dir_all(folder).map_err(|error| refused(folder, &error))?;
    for name in names() {
        let path = folder.join(file_of(name));
        files::replace(&path, &text(name)?).map_err(|error| refused(&path, &error))?;
    }
    Ok(())
}
