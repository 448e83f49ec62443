//! `learn --apply`: reviewed figures are written into a knowledge folder.

use std::path::{Path, PathBuf};

use super::basis;
use super::{DONE, Error, FINDINGS, Result, Streams};
use crate::diff::{self, Comparison};
use crate::files;
use crate::learn::{Overlay, take_over};
use crate::lint;
use crate::load::{Source, load};
use crate::text::{Tone, counted};

/// Shows what the figures of a file change, and writes them once that is confirmed.
pub(super) fn apply(
    path: &Path,
    folder: &Path,
    least: u64,
    yes: bool,
    streams: &mut Streams<'_>,
) -> Result {
    let source = Source::folder(folder)?;
    let before = load(&source)?;
    let overlay = Overlay::read(path)?;
    // Each figure must still be what it was when it was learned.
    basis::fit(&mut before.knowledge.clone(), &overlay, path, streams)?;
    let family = before.knowledge.family(&overlay.family);
    let family = family.ok_or_else(|| Error::Files("the knowledge has no family".to_owned()))?;
    let taken = take_over(&source, family, &overlay, least);
    let taken = taken.map_err(|error| Error::Files(error.to_string()))?;
    let few = format!(
        "{} on fewer than {least} jobs: as they were.",
        counted(taken.too_few, "figure rests", "figures rest")
    );
    if taken.files.is_empty() {
        streams
            .page()
            .text(Tone::Plain, 0, &format!("Nothing to write. {few}"))?;
        return Ok(FINDINGS);
    }
    let after = load(&taken.source)?;
    let comparison = Comparison::of(&before.knowledge, &after.knowledge);
    let shown = folder.display().to_string();
    let mut page = streams.page();
    diff::report::comparison(
        &mut page,
        &comparison,
        &shown,
        &format!("{shown} with them"),
    )?;
    let was = lint::check(&source, &before).findings;
    let new = lint::check(&taken.source, &after).findings.beyond(&was);
    page.heading("Checked with them")?;
    for finding in &new.0 {
        page.lines(0, &finding.explained())?;
    }
    if new.is_empty() {
        page.text(Tone::Plain, 0, "No finding that was not there before.")?;
    }
    page.gap()?;
    page.text(Tone::Plain, 0, &few)?;
    let question = format!(
        "Write {} to {}? (yes/no)",
        counted(taken.figures, "figure", "figures"),
        counted(taken.files.len(), "file", "files")
    );
    if !yes && !streams.interactive {
        return Err(Error::Usage(
            "nothing was written: --yes writes it without asking".to_owned(),
        ));
    }
    if !yes && !confirmed(&question, streams)? {
        streams
            .page()
            .text(Tone::Strong, 0, "Nothing was written.")?;
        return Ok(FINDINGS);
    }
    let now = Source::folder(folder)?;
    if !now.files().eq(source.files()) {
        let words = format!("{shown}: the folder was changed meanwhile; nothing was written");
        return Err(Error::Files(words));
    }
    let mut page = streams.page();
    let texts = taken
        .files
        .iter()
        .map(|(file, text)| (folder.join(file), text.as_str()));
    let texts: Vec<(PathBuf, &str)> = texts.collect();
    files::write_all(&texts, true).map_err(|(full, error)| Error::unwritten(&full, &error))?;
    for (full, _) in &texts {
        page.text(Tone::Strong, 0, &format!("Written: {}", full.display()))?;
    }
    page.text(
        Tone::Plain,
        0,
        "Learn again from later jobs only: these are counted now.",
    )?;
    Ok(if new.have_errors() { FINDINGS } else { DONE })
}

fn confirmed(question: &str, streams: &mut Streams<'_>) -> Result<bool> {
    let answer = streams.hear(question)?.unwrap_or_default();
    Ok(["y", "yes"].contains(&answer.trim().to_lowercase().as_str()))
}
