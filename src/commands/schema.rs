//! `schema`: what an editor needs to complete and check knowledge files.

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;
use clap::builder::PossibleValuesParser;
use serde_json::Value;

use super::{DONE, Error, Result, Streams};
use crate::files;
use crate::load::{FileKind, schema, schema_of_shop, schema_of_trees};
use crate::text::Tone;

/// The schema of any file in a folder `trees`.
const TREES: &str = "trees";
/// The schema of a shop's profile.
const SHOP: &str = "shop";

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
    kinds.chain([TREES, SHOP]).collect()
}

/// The kind of file that a schema is for; `None` for [`TREES`] and [`SHOP`].
fn kind(name: &str) -> Option<FileKind> {
    FileKind::ALL.into_iter().find(|kind| kind.name() == name)
}

/// Where the files of a schema lie in a knowledge folder.
fn lies_in(name: &str) -> &'static str {
    match kind(name) {
        Some(kind) => kind.lies_in(),
        None if name == SHOP => "shop.yaml, the shop's profile",
        None => "*/trees/*.yaml, complaints and shared parts alike",
    }
}

/// A schema as it is written to a file.
fn text(name: &str) -> std::io::Result<String> {
    let schema = match kind(name) {
        Some(kind) => schema(kind),
        None if name == SHOP => schema_of_shop(),
        None => schema_of_trees(),
    };
    Ok(format!("{}\n", serde_json::to_string_pretty(&schema)?))
}

impl SchemaOf {
    pub(super) fn execute(&self, streams: &mut Streams<'_>) -> Result {
        if let Some(kind) = &self.kind {
            streams.out.write_all(text(kind)?.as_bytes())?;
            return Ok(DONE);
        }
        if let Some(folder) = &self.into {
            write(folder)?;
        }
        let mut page = streams.page();
        let Some(folder) = &self.into else {
            page.heading("Kinds of knowledge files")?;
            for name in names() {
                page.entry(&format!("{name}: "), &format!("for {}", lies_in(name)))?;
            }
            page.gap()?;
            let text = "`schema KIND` writes one, `schema --into DIR` all of them.";
            page.text(Tone::Plain, 0, text)?;
            return Ok(DONE);
        };
        page.heading(&format!("Schemas written to {}", folder.display()))?;
        for name in names() {
            let file = file_of(name);
            page.entry(&format!("{file}: "), &format!("for {}", lies_in(name)))?;
        }
        page.gap()?;
        let text =
            "A YAML-aware editor completes and checks a file whose first line is, for causes.yaml,";
        page.text(Tone::Plain, 0, text)?;
        let path = folder.join(file_of("causes"));
        let line = format!("# yaml-language-server: $schema={}", path.display());
        page.lines(2, &line)?;
        let text = "with the path as it leads there from the file itself.";
        page.text(Tone::Plain, 0, text)?;
        Ok(DONE)
    }
}

fn file_of(name: &str) -> String {
    format!("{name}.schema.json")
}

/// Writes all schemas into a folder; another program's file of such a name is left alone.
fn write(folder: &Path) -> Result<()> {
    for name in names() {
        let path = folder.join(file_of(name));
        let ours = |bytes: Vec<u8>| {
            let there: Value = serde_json::from_slice(&bytes).unwrap_or_default();
            let title = there["title"].as_str();
            title.is_some_and(|title| title.starts_with("halfsplit: "))
        };
        if !fs::read(&path).map_or(true, ours) {
            return Err(Error::Files(format!(
                "{}: there is such a file, and it is no schema of this program; name another folder",
                path.display()
            )));
        }
    }
    fs::create_dir_all(folder).map_err(|error| Error::unwritten(folder, &error))?;
    for name in names() {
        let path = folder.join(file_of(name));
        files::replace(&path, &text(name)?).map_err(|error| Error::unwritten(&path, &error))?;
    }
    Ok(())
}
