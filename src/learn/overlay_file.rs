//! The overlay as a file: YAML out, YAML in, and nobody's file written over.

use std::collections::BTreeMap;
use std::fmt::{self, Write as _};
use std::fs::{self, OpenOptions};
use std::io::{self, ErrorKind, Write as _};
use std::marker::PhantomData;
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use serde::Deserialize;
use serde::de::{Deserializer, MapAccess, Visitor};
use serde_yaml::{Location, Options, Spanned};

use super::overlay::{Moved, Overlay, Spot};
use crate::text::plain;

/// What stands at the top of every overlay.
const HEAD: &str = "\
# Figures learned from closed jobs: docs/learning.md. A person reviews them; nothing else was changed.
# was: what the knowledge says; now: with the jobs taken in; seen: in so many of `jobs`; interval: 95 %.
# unstated: further jobs in which it was this cause or one of same_repair, and nobody said which; each counts for a share.
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
    /// It does not read as an overlay.
    #[error("{}", at(.path, *.spot, .words))]
    Unfit {
        /// The file.
        path: PathBuf,
        /// Where in it.
        spot: Option<Spot>,
        /// What is wrong.
        words: String,
    },
    /// The system refused.
    #[error("{path}: {source}")]
    System {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
}

pub(super) fn at(path: &Path, spot: Option<Spot>, words: &str) -> String {
    match spot {
        Some(Spot { line, column }) => format!("{}:{line}:{column}: {words}", path.display()),
        None => format!("{}: {words}", path.display()),
    }
}

impl Overlay {
    /// The overlay as YAML: numbers to six digits, names in order, the same for the same jobs.
    #[must_use]
    pub fn to_yaml(&self) -> String {
        let mut text = HEAD.to_owned();
        // Writing to a string does not fail.
        let _ = self.write_yaml(&mut text);
        text
    }

    fn write_yaml(&self, to: &mut String) -> fmt::Result {
        writeln!(to, "overlay:")?;
        writeln!(to, "  family: {}", scalar(&self.family))?;
        writeln!(to, "  jobs: {}", self.jobs)?;
        if let Some([from, until]) = self.dates {
            writeln!(to, "  dates: [{from}, {until}]")?;
        }
        writeln!(to, "  prior_jobs: {}", plain(self.prior_jobs))?;
        writeln!(to, "  prior_readings: {}", plain(self.prior_readings))?;
        section(to, "  rates", self.rates.is_empty())?;
        for (cause, moved) in &self.rates {
            writeln!(to, "    {}: {}", scalar(cause), figure(moved))?;
        }
        section(to, "  shows", self.shows.is_empty())?;
        for (measurement, outcomes) in &self.shows {
            writeln!(to, "    {}:", scalar(measurement))?;
            for (outcome, causes) in outcomes {
                writeln!(to, "      {}:", scalar(outcome))?;
                for (cause, moved) in causes {
                    writeln!(to, "        {}: {}", scalar(cause), figure(moved))?;
                }
            }
        }
        Ok(())
    }

    /// An overlay from its text; `path` is for messages.
    ///
    /// # Errors
    ///
    /// [`OverlayError::Unfit`] with the place.
    pub fn read_text(text: &str, path: &Path) -> Result<Self, OverlayError> {
        let File { overlay } =
            serde_yaml::from_str_with_options(text, options()).map_err(|error| {
                let error = error.without_snippet();
                let words = error.to_string();
                let words = words.lines().next().unwrap_or_default();
                OverlayError::Unfit {
                    path: path.to_owned(),
                    spot: error.location().map(spot),
                    // The parser ends its message with the place.
                    words: words.split(" at line ").next().unwrap_or(words).to_owned(),
                }
            })?;
        let mut spots = BTreeMap::new();
        let mut keep = |way: &[&str], at: Spot| {
            spots.insert(way.iter().map(|name| (*name).to_owned()).collect(), at);
        };
        keep(&["family"], spot(overlay.family.referenced));
        let mut rates = BTreeMap::new();
        for (cause, at, moved) in overlay.rates.0 {
            keep(&["rates", &cause], at);
            rates.insert(cause, moved);
        }
        let mut shows: BTreeMap<String, BTreeMap<String, BTreeMap<String, Moved>>> =
            BTreeMap::new();
        for (measurement, at, outcomes) in overlay.shows.0 {
            keep(&["shows", &measurement], at);
            let by_outcome = shows.entry(measurement.clone()).or_default();
            for (outcome, at, causes) in outcomes.0 {
                keep(&["shows", &measurement, &outcome], at);
                let by_cause = by_outcome.entry(outcome.clone()).or_default();
                for (cause, at, moved) in causes.0 {
                    keep(&["shows", &measurement, &outcome, &cause], at);
                    by_cause.insert(cause, moved);
                }
            }
        }
        Ok(Self {
            family: overlay.family.value,
            jobs: overlay.jobs,
            dates: overlay.dates,
            prior_jobs: overlay.prior_jobs,
            prior_readings: overlay.prior_readings,
            rates,
            shows,
            spots,
        })
    }

    /// Reads an overlay.
    ///
    /// # Errors
    ///
    /// [`OverlayError::System`] and [`OverlayError::Unfit`].
    pub fn read(path: &Path) -> Result<Self, OverlayError> {
        Self::read_text(&Self::text(path)?, path)
    }

    /// The text of a file that may be an overlay.
    ///
    /// # Errors
    ///
    /// [`OverlayError::System`], and [`OverlayError::Unfit`] for a file that is too large.
    pub fn text(path: &Path) -> Result<String, OverlayError> {
        let system = |source| OverlayError::System {
            path: path.to_owned(),
            source,
        };
        if fs::metadata(path).map_err(system)?.len() > LARGEST {
            return Err(OverlayError::Unfit {
                path: path.to_owned(),
                spot: None,
                words: format!("the file is larger than {LARGEST} bytes: this is no overlay"),
            });
        }
        fs::read_to_string(path).map_err(system)
    }

    /// Whether [`Overlay::write`] would write to a path: before the counting begins.
    ///
    /// # Errors
    ///
    /// [`OverlayError::Exists`]; with `force` [`OverlayError::NotAnOverlay`], so that no file of
    /// the knowledge is ever written over.
    pub fn may_write(path: &Path, force: bool) -> Result<(), OverlayError> {
        match fs::symlink_metadata(path) {
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(()),
            Err(source) => Err(OverlayError::System {
                path: path.to_owned(),
                source,
            }),
            Ok(_) if !force => Err(OverlayError::Exists(path.to_owned())),
            Ok(_) if Self::read(path).is_ok() => Ok(()),
            Ok(_) => Err(OverlayError::NotAnOverlay(path.to_owned())),
        }
    }

    /// Writes the overlay to a file of its own. An earlier overlay stands until the new one is whole.
    ///
    /// # Errors
    ///
    /// As [`Overlay::may_write`], and what the system refuses.
    pub fn write(&self, path: &Path, force: bool) -> Result<(), OverlayError> {
        Self::may_write(path, force)?;
        let system = |source: io::Error| match source.kind() {
            ErrorKind::AlreadyExists => OverlayError::Exists(path.to_owned()),
            _ => OverlayError::System {
                path: path.to_owned(),
                source,
            },
        };
        let text = self.to_yaml();
        let create = |path: &Path| {
            let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
            file.write_all(text.as_bytes())?;
            file.sync_all()
        };
        if !force {
            return create(path).map_err(system);
        }
        let mut beside = path.as_os_str().to_owned();
        beside.push(".new");
        let beside = PathBuf::from(beside);
        create(&beside)
            .and_then(|()| fs::rename(&beside, path))
            .map_err(|source| OverlayError::System {
                path: beside.clone(),
                source,
            })
    }
}

fn section(to: &mut String, name: &str, empty: bool) -> fmt::Result {
    writeln!(to, "{name}:{}", if empty { " {}" } else { "" })
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
        let names: Vec<String> = same_repair.iter().map(|name| scalar(name)).collect();
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

/// A name as YAML: bare where it can be nothing but a text, in quotes else.
fn scalar(name: &str) -> String {
    let bare = name.starts_with(|c: char| c.is_ascii_lowercase())
        && name
            .chars()
            .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-' || c == '_')
        && !matches!(
            name,
            "true" | "false" | "null" | "yes" | "no" | "on" | "off" | "y" | "n"
        );
    if bare {
        name.to_owned()
    } else {
        // A JSON string is a double-quoted YAML scalar (YAML 1.2, 1.2).
        serde_json::Value::from(name).to_string()
    }
}

fn options() -> Options {
    serde_yaml::options! {
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
    }
}

fn spot(location: Location) -> Spot {
    Spot {
        line: location.line(),
        column: location.column(),
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    overlay: Raw,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Raw {
    family: Spanned<String>,
    jobs: u64,
    dates: Option<[Date; 2]>,
    prior_jobs: f64,
    prior_readings: f64,
    #[serde(default)]
    rates: Placed<Moved>,
    #[serde(default)]
    shows: Placed<Placed<Placed<Moved>>>,
}

/// Entries by name, each with its place.
struct Placed<T>(Vec<(String, Spot, T)>);

impl<T> Default for Placed<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Placed<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct All<T>(PhantomData<T>);
        impl<'de, T: Deserialize<'de>> Visitor<'de> for All<T> {
            type Value = Placed<T>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a map of entries by name")
            }
            fn visit_unit<E>(self) -> Result<Placed<T>, E> {
                Ok(Placed::default())
            }
            fn visit_none<E>(self) -> Result<Placed<T>, E> {
                Ok(Placed::default())
            }
            fn visit_some<D: Deserializer<'de>>(self, map: D) -> Result<Placed<T>, D::Error> {
                map.deserialize_map(self)
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Placed<T>, A::Error> {
                let mut entries = Vec::new();
                while let Some((name, value)) = map.next_entry::<Spanned<String>, T>()? {
                    entries.push((name.value, spot(name.referenced), value));
                }
                Ok(Placed(entries))
            }
        }
        // A reviewer who deletes every line below a name leaves it with nothing.
        deserializer.deserialize_option(All(PhantomData))
    }
}
