//! The overlay as a file: YAML out, YAML in, and no other file written over.

use std::fmt::{self, Write as _};
use std::fs;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use serde::Deserialize;

use super::overlay::{Moved, Overlay};
use crate::files;
use crate::text::{plain, yaml_scalar};

/// The top of every overlay.
const HEAD: &str = "\
# Figures learned from closed jobs: docs/learning.md. A person reviews them; nothing else was changed.
# was: what the knowledge says; now: with the jobs taken in; seen: in so many of `jobs`, those in
# which it could have been; interval: 95 %.
# unstated: further jobs in which it was this cause or one of same_repair, and nobody said which.
# To keep a figure as it was, delete its line.
";

/// How many values an overlay may hold: a figure has about twenty, a large family a few thousand figures.
const MOST_NODES: usize = 2_000_000;
/// The largest overlay, in bytes.
const LARGEST: u64 = 64_000_000;

/// Why an overlay could not be written or read.
#[derive(Debug, thiserror::Error)]
pub enum OverlayError {
    /// There is such a file.
    #[error(
        "{0}: there is a file of that name already; name another, or write over it with --force"
    )]
    Exists(PathBuf),
    /// There is such a file, and it is no overlay.
    #[error("{0}: this file is no overlay, and so it is not written over; name another")]
    NotAnOverlay(PathBuf),
    /// It does not read as an overlay: the file with line and column, and what is wrong.
    #[error("{0}")]
    Unfit(String),
    /// The system refused.
    #[error("{path}: {source}")]
    System {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
}

impl OverlayError {
    fn system(path: &Path) -> impl Fn(io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::System {
            path: path.clone(),
            source,
        }
    }
}

/// A file with an overlay.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    overlay: Overlay,
}

impl Overlay {
    /// The overlay as YAML: numbers to six digits, names in order, the same for the same jobs.
    pub fn to_yaml(&self) -> String {
        let mut text = HEAD.to_owned();
        // Writing to a string does not fail.
        let _ = self.write_yaml(&mut text);
        text
    }

    fn write_yaml(&self, to: &mut String) -> fmt::Result {
        let section = |empty| if empty { " {}" } else { "" };
        writeln!(to, "overlay:\n  family: {}", yaml_scalar(&self.family))?;
        writeln!(to, "  jobs: {}", self.jobs)?;
        if let Some([from, until]) = self.dates {
            writeln!(to, "  dates: [{from}, {until}]")?;
        }
        if let Some(jobs) = self.driveline_jobs {
            writeln!(to, "  driveline_jobs: {jobs}")?;
        }
        if self.no_candidate > 0 {
            writeln!(to, "  no_candidate: {}", self.no_candidate)?;
        }
        writeln!(to, "  prior_jobs: {}", plain(self.prior_jobs))?;
        writeln!(to, "  prior_readings: {}", plain(self.prior_readings))?;
        writeln!(to, "  rates:{}", section(self.rates.0.is_empty()))?;
        for (cause, moved) in &self.rates.0 {
            writeln!(to, "    {}: {}", yaml_scalar(cause), figure(moved))?;
        }
        writeln!(to, "  shows:{}", section(self.shows.0.is_empty()))?;
        for (measurement, outcomes) in &self.shows.0 {
            writeln!(to, "    {}:", yaml_scalar(measurement))?;
            for (outcome, causes) in &outcomes.0 {
                writeln!(to, "      {}:", yaml_scalar(outcome))?;
                for (cause, moved) in &causes.0 {
                    writeln!(to, "        {}: {}", yaml_scalar(cause), figure(moved))?;
                }
            }
        }
        Ok(())
    }

    /// An overlay from its text; `path` is for messages.
    pub fn read_text(text: &str, path: &Path) -> Result<Self, OverlayError> {
        let options = serde_yaml::options! {
            budget: serde_yaml::budget! {
                max_depth: 16,
                max_nodes: MOST_NODES,
                max_events: 4 * MOST_NODES,
                max_aliases: 0,
                max_anchors: 0,
                max_documents: 1,
                max_merge_keys: 0,
                max_total_scalar_bytes: 64 << 20,
            },
            strict_booleans: true,
            with_snippet: false,
        };
        let read = serde_yaml::from_str_with_options::<File>(text, options);
        let File { overlay } = read.map_err(|error| {
            let error = error.without_snippet();
            let words = error.to_string();
            let words = words.lines().next().unwrap_or_default();
            // The parser ends its message with the place.
            let words = words.split(" at line ").next().unwrap_or(words);
            let words = if words.starts_with("budget breached") {
                "it holds more values than learned figures of any family do"
            } else {
                words
            };
            let place = error.location().map_or_else(String::new, |place| {
                format!(":{}:{}", place.line(), place.column())
            });
            OverlayError::Unfit(format!("{}{place}: {words}", path.display()))
        })?;
        let text = text.to_owned();
        Ok(Self { text, ..overlay })
    }

    /// Reads an overlay.
    pub fn read(path: &Path) -> Result<Self, OverlayError> {
        Self::read_text(&Self::text(path)?, path)
    }

    /// The text of a file that may be an overlay.
    pub fn text(path: &Path) -> Result<String, OverlayError> {
        files::read_text(path, LARGEST).map_err(OverlayError::system(path))
    }

    /// Whether [`Overlay::write`] would write to a path: before the counting begins. With `force` an overlay is
    /// written over, and nothing else: no file of the knowledge ever is.
    pub fn may_write(path: &Path, force: bool) -> Result<(), OverlayError> {
        match fs::symlink_metadata(path) {
            Err(error) if error.kind() == ErrorKind::NotFound => {
                files::writable(path).map_err(OverlayError::system(path))
            }
            Err(error) => Err(OverlayError::system(path)(error)),
            Ok(_) if !force => Err(OverlayError::Exists(path.to_owned())),
            Ok(_) if Self::read(path).is_ok() => {
                files::writable(path).map_err(OverlayError::system(path))
            }
            Ok(_) => Err(OverlayError::NotAnOverlay(path.to_owned())),
        }
    }

    /// Writes the overlay to a file of its own. An earlier overlay stays until the new one is whole.
    pub fn write(&self, path: &Path, force: bool) -> Result<(), OverlayError> {
        Self::may_write(path, force)?;
        let text = self.to_yaml();
        let written = if force {
            files::replace(path, &text)
        } else {
            files::create(path, &text)
        };
        written.map_err(|error| match error.kind() {
            ErrorKind::AlreadyExists => OverlayError::Exists(path.to_owned()),
            _ => OverlayError::system(path)(error),
        })
    }
}

/// A figure on one line.
fn figure(moved: &Moved) -> String {
    let Moved {
        was,
        now,
        seen,
        jobs,
        interval: [low, high],
        dates: [from, until],
        unstated,
        same_repair,
    } = moved;
    // The end of an interval that is next to nothing is nothing to a reader.
    let end = |number: &f64| plain(if *number < 1e-9 { 0.0 } else { *number });
    let mut beside = match unstated {
        0 => String::new(),
        jobs => format!(", unstated: {jobs}"),
    };
    if !same_repair.is_empty() {
        let names: Vec<String> = same_repair.iter().map(|name| yaml_scalar(name)).collect();
        let _ = write!(beside, ", same_repair: [{}]", names.join(", "));
    }
    format!(
        "{{was: {}, now: {}, seen: {seen}, jobs: {jobs}, interval: [{}, {}], dates: [{from}, {until}]{beside}}}",
        plain(*was),
        plain(*now),
        end(low),
        end(high)
    )
}
