//! `schema`: what an editor needs to complete and check knowledge files.

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;
use clap::builder::PossibleValuesParser;
use serde_json::{Value, json};

use super::{DONE, Error, Result, Streams};
use crate::files;
use crate::load::{FileKind, Ids, Outline, Source, schema, schema_of_shop, schema_of_trees};
use crate::text::Tone;

/// The largest file of schemas or settings that is read, in bytes.
const LARGEST: u64 = 8 << 20;
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
    /// Set an editor up for the folder of --knowledge: schemas with its own ids in `.schemas`, and a settings file beside
    /// it, `.vscode/settings.json`, which names them
    #[arg(long, conflicts_with_all = ["kind", "into"])]
    editor: bool,
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
fn text(name: &str, ids: Option<&Ids>) -> std::io::Result<String> {
    let schema = match kind(name) {
        Some(kind) => schema(kind, ids),
        None if name == SHOP => schema_of_shop(),
        None => schema_of_trees(ids),
    };
    Ok(format!("{}\n", serde_json::to_string_pretty(&schema)?))
}

impl SchemaOf {
    /// Completes with the ids of `knowledge`, where a folder is given.
    pub(super) fn execute(&self, knowledge: Option<&Path>, streams: &mut Streams<'_>) -> Result {
        let outline = match knowledge {
            Some(folder) => Some(Outline::of(&Source::folder(folder)?)),
            None => None,
        };
        let ids = outline.as_ref().map(|outline| &outline.ids);
        if let Some(kind) = &self.kind {
            streams.out.write_all(text(kind, ids)?.as_bytes())?;
            return Ok(DONE);
        }
        if self.editor {
            let folder = knowledge.ok_or_else(|| {
                Error::Usage("name the knowledge folder: --knowledge DIR".to_owned())
            })?;
            return set_up(folder, ids, streams);
        }
        if let Some(folder) = &self.into {
            write(folder, ids)?;
        }
        let mut page = streams.page();
        let Some(folder) = &self.into else {
            page.heading("Kinds of knowledge files")?;
            for name in names() {
                page.entry(&format!("{name}: "), &format!("for {}", lies_in(name)))?;
            }
            page.gap()?;
            let text = "`schema KIND` writes one, `schema --into DIR` all of them, `schema --knowledge DIR --editor` sets an \
                        editor up.";
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

/// The folder of the schemas that know the ids of a knowledge folder, inside it.
const OWN: &str = ".schemas";
/// Where an editor looks for settings of a folder.
const SETTINGS: &str = ".vscode/settings.json";
/// The setting of the YAML language server: schema files, each with what it is for.
const SCHEMAS: &str = "yaml.schemas";

/// Writes the schemas with a folder's own ids, and the settings that name them; other settings stay.
fn set_up(folder: &Path, ids: Option<&Ids>, streams: &mut Streams<'_>) -> Result {
    let path = folder.join(SETTINGS);
    let mut settings: Value = match files::read_text(&path, LARGEST) {
        Ok(text) => serde_json::from_str(&text).map_err(|error| {
            let why = "it is not plain JSON, so nothing can be put into it";
            Error::of_file(&path, format_args!("{why}: {error}"))
        })?,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => json!({}),
        Err(error) => return Err(Error::of_file(&path, error)),
    };
    let schemas = settings.get(SCHEMAS);
    if !settings.is_object() || schemas.is_some_and(|schemas| !schemas.is_object()) {
        return Err(Error::of_file(&path, "it holds no settings"));
    }
    write(&folder.join(OWN), ids)?;
    let files = names().into_iter().filter(|name| {
        // One schema serves all of a folder `trees`.
        *name != SHOP && !matches!(kind(name), Some(FileKind::Tree | FileKind::Shared))
    });
    let mut written = Vec::new();
    for name in files {
        let lies_in = match kind(name) {
            Some(kind) => kind.lies_in(),
            None => FileKind::Tree.lies_in(),
        };
        let schema = format!("{OWN}/{}", file_of(name));
        // From the folder that is opened on.
        let files = format!("/{lies_in}");
        settings[SCHEMAS][&schema] = json!(files);
        written.push((schema, files));
    }
    if let Some(settings) = path.parent() {
        fs::create_dir_all(settings).map_err(|error| Error::unwritten(settings, &error))?;
    }
    let text = format!(
        "{}\n",
        serde_json::to_string_pretty(&settings).map_err(std::io::Error::from)?
    );
    files::replace(&path, &text).map_err(|error| Error::unwritten(&path, &error))?;
    let mut page = streams.page();
    page.heading(&format!("Written to {}", path.display()))?;
    for (schema, lies_in) in written {
        page.entry(&format!("{schema}: "), &format!("for {lies_in}"))?;
    }
    page.gap()?;
    let text = "Open that folder in an editor with the YAML language server: it completes fields and ids, and marks what is \
                wrong. Ids that are new are known to it once this command has run again.";
    page.text(Tone::Plain, 0, text)?;
    Ok(DONE)
}

fn file_of(name: &str) -> String {
    format!("{name}.schema.json")
}

/// Writes all schemas into a folder; another program's file of such a name is left alone.
fn write(folder: &Path, ids: Option<&Ids>) -> Result<()> {
    for name in names() {
        let path = folder.join(file_of(name));
        let ours = |bytes: Vec<u8>| {
            let there: Value = serde_json::from_slice(&bytes).unwrap_or_default();
            let title = there["title"].as_str();
            title.is_some_and(|title| title.starts_with("halfsplit: "))
        };
        let there = path.symlink_metadata().is_ok();
        if there && !files::read(&path, LARGEST).is_ok_and(ours) {
            let why =
                "there is such a file, and it is no schema of this program; name another folder";
            return Err(Error::of_file(&path, why));
        }
    }
    fs::create_dir_all(folder).map_err(|error| Error::unwritten(folder, &error))?;
    let texts = names()
        .into_iter()
        .map(|name| Ok((folder.join(file_of(name)), text(name, ids)?)));
    let texts: Vec<(PathBuf, String)> = texts.collect::<std::io::Result<_>>()?;
    let files: Vec<(&PathBuf, &str)> = (texts.iter())
        .map(|(path, text)| (path, text.as_str()))
        .collect();
    files::write_all(&files, true).map_err(|(path, error)| Error::unwritten(&path, &error))
}
