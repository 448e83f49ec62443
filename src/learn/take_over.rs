//! Learned figures written into the files of the knowledge, for good.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::overlay::{Moved, Named, Overlay};
use crate::knowledge::Family;
use crate::load::{NoPlace, Source, amend};
use crate::text::{plain, yaml_scalar};

/// What stands before the jobs in a source.
const JOBS: &str = "; jobs: ";

/// Knowledge with learned figures written into it.
#[derive(Clone, Debug)]
pub struct TakenOver {
    /// The knowledge as it is then.
    pub source: Source,
    /// The files that change, by their paths in the folder, with what they say then.
    pub files: BTreeMap<String, String>,
    /// How many figures change.
    pub figures: usize,
    /// How many rest on too few jobs, and stay.
    pub too_few: usize,
}

/// A figure that has no place to be written to.
#[derive(Debug, thiserror::Error)]
#[error("{file}: {why}: write {figure} by hand, and delete its line from the learned figures")]
pub struct NotWritten {
    file: String,
    why: NoPlace,
    figure: String,
}

/// Writes the figures of an overlay that rest on at least so many jobs into the files, and after each source the jobs that
/// its figures rest on. Comments and the order of lines stay.
///
/// A rate stands in the family's `causes.yaml`, with three digits; a share of a row stands with its measurement, in
/// hundredths, at least one. What comes to the same as before is not written.
pub fn take_over(
    source: &Source,
    family: &Family,
    overlay: &Overlay,
    least: u64,
) -> Result<TakenOver, NotWritten> {
    let mut writing = Writing {
        source,
        least,
        taken: TakenOver {
            source: source.clone(),
            files: BTreeMap::new(),
            figures: 0,
            too_few: 0,
        },
    };
    let file = format!("{}/causes.yaml", family.name);
    for (cause, moved) in &overlay.rates.0 {
        let way = ["causes", cause];
        let now = [moved.now, moved.was].map(three_digits);
        if writing.figure(&file, &[&way[..], &["rate"]].concat(), moved, now)? {
            let stated = family.causes.iter().find(|known| known.name == *cause);
            let stated = stated.map_or("", |known| &known.source);
            writing.source(&file, &way, stated, [moved])?;
        }
    }
    let folder = format!("{}/measurements/", family.name);
    let files = files_of_measurements(source, &folder);
    for (measurement, outcomes) in &overlay.shows.0 {
        let file = files.get(measurement).unwrap_or(&folder);
        let way = ["measurements", measurement];
        let mut written = Vec::new();
        for (outcome, causes) in &outcomes.0 {
            for (cause, moved) in &causes.0 {
                let way = [&way[..], &["shows", outcome, cause]].concat();
                let now = [moved.now, moved.was].map(|share| in_hundredths(outcomes, cause, share));
                if writing.figure(file, &way, moved, now)? {
                    written.push(moved);
                }
            }
        }
        if !written.is_empty() {
            let stated = family.measurement_named(measurement);
            let stated = stated.map_or("", |id| &family.measurement(id).source);
            writing.source(file, &way, stated, written)?;
        }
    }
    let mut taken = writing.taken;
    for (path, text) in &taken.files {
        taken.source = taken.source.with_text(path, text);
    }
    Ok(taken)
}

/// The file of each measurement in a folder of the source.
fn files_of_measurements(source: &Source, folder: &str) -> BTreeMap<String, String> {
    let files = source.files().filter(|(path, _)| path.starts_with(folder));
    let read = files.filter_map(|(path, text)| {
        let file: serde_json::Value = serde_yaml::from_str(text).ok()?;
        let names: Vec<String> = file["measurements"].as_object()?.keys().cloned().collect();
        Some(names.into_iter().map(|name| (name, path.to_owned())))
    });
    read.flatten().collect()
}

struct Writing<'s> {
    source: &'s Source,
    least: u64,
    taken: TakenOver,
}

impl Writing<'_> {
    /// Writes a figure, unless it rests on too few jobs or stays what it was; tells whether it did.
    fn figure(
        &mut self,
        file: &str,
        way: &[&str],
        moved: &Moved,
        [now, was]: [f64; 2],
    ) -> Result<bool, NotWritten> {
        if moved.jobs < self.least {
            self.taken.too_few += 1;
            return Ok(false);
        }
        let (now, was) = (plain(now), plain(was));
        if now == was {
            return Ok(false);
        }
        self.write(file, way, &now)?;
        self.taken.figures += 1;
        Ok(true)
    }

    /// Says in a source which jobs its figures rest on.
    fn source<'m>(
        &mut self,
        file: &str,
        way: &[&str],
        stated: &str,
        figures: impl IntoIterator<Item = &'m Moved>,
    ) -> Result<(), NotWritten> {
        let of = |moved: &Moved| (moved.jobs, moved.dates[0], moved.dates[1]);
        let all = figures.into_iter().map(of);
        let all = all.reduce(|a, b| (a.0.max(b.0), a.1.min(b.1), a.2.max(b.2)));
        let Some((jobs, from, to)) = all else {
            return Ok(());
        };
        let month = |day: Date| format!("{:04}-{:02}", day.year(), day.month());
        let stated = stated.split(JOBS).next().unwrap_or_default();
        let source = format!("{stated}{JOBS}{jobs}, {} to {}", month(from), month(to));
        self.write(file, &[way, &["source"]].concat(), &yaml_scalar(&source))
    }

    fn write(&mut self, file: &str, way: &[&str], value: &str) -> Result<(), NotWritten> {
        let mut files = self.source.files();
        let before = self.taken.files.get(file).cloned();
        let before = before.or_else(|| Some(files.find(|(path, _)| *path == file)?.1.to_owned()));
        let after = amend(&before.unwrap_or_default(), way, value);
        let after = after.map_err(|why| NotWritten {
            file: file.to_owned(),
            why,
            figure: format!("{value} at {}", way.join(".")),
        })?;
        self.taken.files.insert(file.to_owned(), after);
        Ok(())
    }
}

/// A rate with three digits.
fn three_digits(rate: f64) -> f64 {
    let scale = 10.0_f64.powf(2.0 - rate.log10().floor());
    (rate * scale).round() / scale
}

/// A share of a cause's row in hundredths, at least one: 0 would say that it never reads so. Rounded off, unless the row
/// would then be more than 1.
fn in_hundredths(outcomes: &Named<Named<Moved>>, cause: &str, share: f64) -> f64 {
    let row = outcomes.0.values().filter_map(|causes| causes.0.get(cause));
    let rounded = |share: f64| (100.0 * share).round().max(1.0);
    let all: f64 = row.map(|moved| rounded(moved.now)).sum();
    if all > 100.0 {
        (100.0 * share).floor().max(1.0) / 100.0
    } else {
        rounded(share) / 100.0
    }
}
