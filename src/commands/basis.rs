//! The knowledge that a command works on: a folder's or the program's own, with learned figures laid over it.

use std::mem::ManuallyDrop;
use std::path::Path;

use super::{Error, Result, Streams};
use crate::files::fingerprint;
use crate::knowledge::{Family, Knowledge, LaidOver};
use crate::learn::{Overlay, apply};
use crate::lint::without_accepted;
use crate::load::{Source, load};
use crate::terminal;
use crate::text::{clean, counted, in_shell};

/// The knowledge of a folder, or the one in the program. That it has warnings is said on the error stream.
pub(super) fn knowledge(folder: Option<&Path>, streams: &mut Streams<'_>) -> Result<Knowledge> {
    read(&source(folder)?, folder, streams)
}

/// The files of a folder, or those in the program.
pub(super) fn source(folder: Option<&Path>) -> Result<Source> {
    Ok(match folder {
        Some(folder) => Source::folder(folder)?,
        None => Source::embedded(),
    })
}

fn read(source: &Source, folder: Option<&Path>, streams: &mut Streams<'_>) -> Result<Knowledge> {
    let loaded = load(source)?;
    // The tests check the shipped knowledge; a folder's warnings are for its maintainer.
    if folder.is_some() && !loaded.warnings.is_empty() {
        let warnings = without_accepted(source, &loaded.knowledge, loaded.warnings);
        if !warnings.is_empty() {
            let warnings = counted(warnings.len(), "warning", "warnings");
            let words = format!("the knowledge has {warnings}, listed by `halfsplit check`");
            writeln!(streams.err, "halfsplit: {words}")?;
        }
    }
    Ok(loaded.knowledge)
}

/// Where the figures come from.
#[derive(Clone, Copy, Debug)]
pub(super) struct Basis<'a> {
    /// The knowledge folder; `None` for the knowledge in the program.
    pub(super) folder: Option<&'a Path>,
    /// The file of learned figures to lay over it.
    pub(super) overlay: Option<&'a Path>,
    /// The file of the shop's profile.
    pub(super) shop: Option<&'a Path>,
}

impl Basis<'_> {
    /// The options that name them, as a shell takes them, each behind a blank. A job keeps its shop by itself.
    pub(super) fn options(&self) -> String {
        let option = |name: &str, path: Option<&Path>| {
            path.map_or_else(String::new, |path| {
                format!(" --{name} {}", in_shell(&path.display().to_string()))
            })
        };
        option("knowledge", self.folder) + &option("overlay", self.overlay)
    }
}

/// The knowledge without its worked cases and exercises, with the learned figures laid over it, where there are any. The
/// process ends with the command: to take it apart first would be a waste of time.
pub(super) fn knowledge_on(
    basis: &Basis<'_>,
    streams: &mut Streams<'_>,
) -> Result<ManuallyDrop<Knowledge>> {
    let source = source(basis.folder)?.without_cases();
    laid_over(&source, basis, streams).map(ManuallyDrop::new)
}

/// The whole knowledge, with the learned figures laid over it, where there are any.
pub(super) fn whole_knowledge_on(
    basis: &Basis<'_>,
    streams: &mut Streams<'_>,
) -> Result<Knowledge> {
    laid_over(&source(basis.folder)?, basis, streams)
}

fn laid_over(source: &Source, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result<Knowledge> {
    let mut knowledge = read(source, basis.folder, streams)?;
    if let Some(path) = basis.overlay {
        lay_over(&mut knowledge, path, streams)?;
    }
    Ok(knowledge)
}

/// Lays the learned figures of a file over the knowledge. What does not fit is said on the error stream.
pub(super) fn lay_over(
    knowledge: &mut Knowledge,
    path: &Path,
    streams: &mut Streams<'_>,
) -> Result<()> {
    let text = Overlay::text(path)?;
    let overlay = Overlay::read_text(&text, path)?;
    fit(knowledge, &overlay, path, streams)?;
    knowledge.overlay = Some(LaidOver {
        file: path.display().to_string(),
        fingerprint: fingerprint(text.as_bytes()),
        family: overlay.family,
        jobs: overlay.jobs,
        dates: overlay.dates.map(|dates| dates.map(|day| day.to_string())),
    });
    Ok(())
}

/// Lays learned figures over the family that they are of.
pub(super) fn fit(
    knowledge: &mut Knowledge,
    overlay: &Overlay,
    path: &Path,
    streams: &mut Streams<'_>,
) -> Result<()> {
    let families = &mut knowledge.families;
    let named = families
        .iter()
        .position(|family| family.name == overlay.family);
    // Where no family has the name, the first one serves to say so: `apply` refuses it with file, line and column.
    let Some(family) = families.get_mut(named.unwrap_or(0)) else {
        return Err(Error::Files("the knowledge has no family".to_owned()));
    };
    if let Err(misfits) = apply(family, overlay) {
        for misfit in &misfits {
            writeln!(streams.err, "{}", clean(&misfit.in_file(path)))?;
        }
        return Err(Error::Files(format!(
            "{} does not fit the knowledge, so none of it is used",
            path.display()
        )));
    }
    Ok(())
}

/// Says on the error stream that learned figures are in use, where they are: for an output that is a drawing.
pub(super) fn tell_overlay(
    knowledge: &Knowledge,
    family: &Family,
    streams: &mut Streams<'_>,
) -> Result<()> {
    if let Some(words) = terminal::overlay_words(knowledge, family) {
        writeln!(streams.err, "halfsplit: {}", clean(&words))?;
    }
    Ok(())
}
