//! Learned figures beside the maintainers' own: what moved, by name, and how it is laid over them.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::path::Path;

use jiff::civil::Date;
use serde::Serialize;

use super::posterior::{Figure, Learned};
use super::tally::Tally;
use crate::infer::row_under;
use crate::knowledge::{CauseId, Family, MeasurementId, OutcomeId};
use crate::text::nearest;
use crate::text::{plain, quoted};
use crate::units::{Probability, Rate};

/// Figures agree where they differ by less than this share: an overlay's are written to six digits.
const AGREES: f64 = 1e-5;

/// By name, in the order of names.
type Named<T> = BTreeMap<String, T>;

/// Learned figures of one family, for a person to review.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Overlay {
    /// The family.
    pub family: String,
    /// The jobs counted.
    pub jobs: u64,
    /// The days, in UTC, that the first and the last of them were closed on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dates: Option<[Date; 2]>,
    /// How many jobs a stated rate counted for.
    pub prior_jobs: f64,
    /// How many readings a stated row counted for.
    pub prior_readings: f64,
    /// Rates, in 1,000 jobs, by cause.
    pub rates: Named<Moved>,
    /// Probabilities by measurement, outcome and cause.
    pub shows: Named<Named<Named<Moved>>>,
    /// Where names stand in the file that it was read from, by the way to them.
    #[serde(skip)]
    pub(super) spots: BTreeMap<Vec<String>, Spot>,
}

/// A figure that moved.
#[derive(Clone, Debug, PartialEq, Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Moved {
    /// What the knowledge says.
    pub was: f64,
    /// What the jobs make of it.
    pub now: f64,
    /// In how many of `jobs` it was seen.
    pub seen: u64,
    /// The jobs it rests on.
    pub jobs: u64,
    /// Where it lies with 95 % probability.
    pub interval: [f64; 2],
    /// The days, in UTC, that the first and the last of those jobs were closed on.
    pub dates: [Date; 2],
    /// Of a rate: further jobs in which it was this cause or one of `same_repair`, and nobody said which.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub unstated: u64,
    /// The other causes that it may have been in the `unstated` jobs: the same repair cures them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub same_repair: Vec<String>,
}

/// A place in a file: line and column from 1, the column in characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spot {
    /// The line.
    pub line: u64,
    /// The column.
    pub column: u64,
}

/// Something in an overlay that does not fit the knowledge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoFit {
    /// Where, if the overlay was read from a file.
    pub spot: Option<Spot>,
    /// What does not fit, and what would.
    pub words: String,
}

impl NoFit {
    /// As it is said of a file: `file:line:column: words`.
    #[must_use]
    pub fn in_file(&self, path: &Path) -> String {
        super::overlay_file::at(path, self.spot, &self.words)
    }
}

impl fmt::Display for NoFit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(Spot { line, column }) = self.spot {
            write!(f, "line {line}, column {column}: ")?;
        }
        f.write_str(&self.words)
    }
}

impl Moved {
    fn of(figure: &Figure, same_repair: Vec<String>) -> Self {
        let Figure {
            was,
            now,
            interval,
            seen,
            jobs,
            unstated,
            dates,
        } = *figure;
        Self {
            was,
            now,
            seen,
            jobs,
            interval,
            dates: dates.days(),
            unstated,
            same_repair,
        }
    }
}

impl Overlay {
    /// What was learned, by name.
    #[must_use]
    pub fn of(family: &Family, tally: &Tally, learned: &Learned) -> Self {
        let mut overlay = Self {
            family: family.name.clone(),
            jobs: tally.jobs(),
            dates: tally.dates().map(super::tally::Dates::days),
            prior_jobs: learned.prior.jobs(),
            prior_readings: learned.prior.readings(),
            rates: BTreeMap::new(),
            shows: BTreeMap::new(),
            spots: BTreeMap::new(),
        };
        for (cause, figure) in &learned.rates {
            let moved = Moved::of(figure, same_repair(family, tally, *cause));
            overlay
                .rates
                .insert(family.cause(*cause).name.clone(), moved);
        }
        for shown in &learned.shows {
            let measurement = family.measurement(shown.measurement);
            let outcome = &measurement.outcomes[shown.outcome.index()];
            overlay
                .shows
                .entry(measurement.name.clone())
                .or_default()
                .entry(outcome.name.clone())
                .or_default()
                .insert(
                    family.cause(shown.cause).name.clone(),
                    Moved::of(&shown.figure, Vec::new()),
                );
        }
        overlay
    }
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde asks by reference")]
const fn is_zero(number: &u64) -> bool {
    *number == 0
}

/// The other causes that it may have been where nobody said which, by name.
fn same_repair(family: &Family, tally: &Tally, id: CauseId) -> Vec<String> {
    let others: BTreeSet<CauseId> = tally
        .unstated()
        .filter(|(among, _)| among.contains(&id))
        .flat_map(|(among, _)| among.iter().copied())
        .filter(|other| *other != id)
        .collect();
    others
        .into_iter()
        .map(|other| family.cause(other).name.clone())
        .collect()
}

/// Lays an overlay over a family: the figures it names become its `now`.
///
/// Every figure must still be what it was when the overlay was learned, so that none is moved twice.
/// Rows stay rows: what an overlay's figures leave of 1 goes where the measurement says.
///
/// # Errors
///
/// All that does not fit, with its place; the family is then as it was.
pub fn apply(family: &mut Family, overlay: &Overlay) -> Result<(), Vec<NoFit>> {
    let mut fitting = Fitting {
        family,
        overlay,
        rates: Vec::new(),
        rows: BTreeMap::new(),
        misfits: Vec::new(),
    };
    fitting.check();
    let Fitting {
        rates,
        rows,
        misfits,
        ..
    } = fitting;
    if !misfits.is_empty() {
        return Err(misfits);
    }
    for (cause, rate) in rates {
        family.causes[cause.index()].rate = rate;
    }
    for ((measurement, cause), row) in rows {
        let stated = family.measurements[measurement.index()]
            .shows
            .entry(cause)
            .or_default();
        stated.0.extend(row);
    }
    Ok(())
}

/// An overlay being held against a family.
struct Fitting<'a> {
    family: &'a Family,
    overlay: &'a Overlay,
    rates: Vec<(CauseId, Rate)>,
    rows: BTreeMap<(MeasurementId, CauseId), BTreeMap<OutcomeId, Probability>>,
    misfits: Vec<NoFit>,
}

impl Fitting<'_> {
    fn check(&mut self) {
        let (family, overlay) = (self.family, self.overlay);
        if overlay.family != family.name {
            let words = format!(
                "the overlay is of the family {}, and this is {}",
                quoted(&overlay.family),
                quoted(&family.name)
            );
            self.say(&["family"], words);
            return;
        }
        for (name, moved) in &overlay.rates {
            let way = ["rates", name];
            let Some(cause) = self.cause(&way, name) else {
                continue;
            };
            match Rate::per_thousand(moved.now) {
                Ok(rate) if self.is_still(&way, moved, family.cause(cause).rate.get()) => {
                    self.rates.push((cause, rate));
                }
                Ok(_) => {}
                Err(error) => self.say(&way, format!("now: {error}")),
            }
        }
        for (name, outcomes) in &overlay.shows {
            let Some(measurement) = family.measurement_named(name) else {
                let known = family.measurements.iter().map(|item| item.name.as_str());
                self.unknown(&["shows", name], "measurement", name, known);
                continue;
            };
            for (outcome, causes) in outcomes {
                self.outcome(measurement, name, outcome, causes);
            }
        }
        self.bound();
    }

    fn outcome(&mut self, id: MeasurementId, measurement: &str, name: &str, causes: &Named<Moved>) {
        let known = self.family.measurement(id);
        let way = ["shows", measurement, name];
        let Some(outcome) = known.outcome(name) else {
            let outcomes = known.outcomes.iter().map(|item| item.name.as_str());
            self.unknown(&way, "outcome", name, outcomes);
            return;
        };
        if outcome == known.normal {
            let words = format!(
                "{} is the normal outcome: it takes what the others leave",
                quoted(name)
            );
            self.say(&way, words);
            return;
        }
        for (name, moved) in causes {
            let way = [way[0], way[1], way[2], name];
            let Some(cause) = self.cause(&way, name) else {
                continue;
            };
            if !known.shows.contains_key(&cause) {
                let words = format!(
                    "{} does not show the cause {} in the knowledge",
                    quoted(measurement),
                    quoted(name)
                );
                self.say(&way, words);
                continue;
            }
            let today = row_under(known, &[cause])[outcome.index()];
            match Probability::new(moved.now) {
                Ok(now) if self.is_still(&way, moved, today) => {
                    self.rows
                        .entry((id, cause))
                        .or_default()
                        .insert(outcome, now);
                }
                Ok(_) => {}
                Err(error) => self.say(&way, format!("now: {error}")),
            }
        }
    }

    /// Keeps every row at most 1: what rounding left above is taken off in proportion, more is a
    /// misfit.
    fn bound(&mut self) {
        let mut rows = std::mem::take(&mut self.rows);
        for ((measurement, cause), row) in &mut rows {
            let known = self.family.measurement(*measurement);
            let stated = known.shows.get(cause).into_iter().flat_map(|row| &row.0);
            let kept: f64 = stated
                .filter(|(outcome, _)| !row.contains_key(*outcome))
                .map(|(_, p)| p.get())
                .sum();
            let moved: f64 = row.values().map(|p| p.get()).sum();
            if kept + moved <= 1.0 {
                continue;
            }
            if kept + moved <= 1.0 + AGREES && moved > 0.0 {
                let scale = (1.0 - kept).max(0.0) / moved;
                for p in row.values_mut() {
                    *p = Probability::nearest(p.get() * scale);
                }
                continue;
            }
            let cause = &self.family.cause(*cause).name;
            let words = format!(
                "the figures of {} for {} add up to {}: over all outcomes they may add up to 1",
                quoted(cause),
                quoted(&known.name),
                plain(kept + moved)
            );
            let first = row.keys().next();
            let outcome = first.map_or("", |id| known.outcomes[id.index()].name.as_str());
            let way = ["shows", known.name.as_str(), outcome, cause];
            let spot = self.spot(&way);
            self.misfits.push(NoFit { spot, words });
        }
        self.rows = rows;
    }

    /// Whether a figure is today what it was when the overlay was learned.
    fn is_still(&mut self, way: &[&str], moved: &Moved, today: f64) -> bool {
        let still = (moved.was - today).abs() <= AGREES * moved.was.abs().max(today.abs());
        if !still {
            let words = format!(
                "learned from {}, and the knowledge says {} today: learn again from today's knowledge",
                plain(moved.was),
                plain(today)
            );
            self.say(way, words);
        }
        still
    }

    fn cause(&mut self, way: &[&str], name: &str) -> Option<CauseId> {
        let found = self.family.cause_named(name);
        if found.is_none() {
            let known = self.family.causes.iter().map(|item| item.name.as_str());
            self.unknown(way, "cause", name, known);
        }
        found
    }

    fn unknown<'n>(
        &mut self,
        way: &[&str],
        kind: &str,
        name: &str,
        known: impl Iterator<Item = &'n str>,
    ) {
        let meant = nearest(name, known).map_or_else(String::new, |near| {
            format!(": did you mean {}?", quoted(near))
        });
        self.say(way, format!("there is no {kind} {}{meant}", quoted(name)));
    }

    fn say(&mut self, way: &[&str], words: String) {
        let spot = self.spot(way);
        self.misfits.push(NoFit { spot, words });
    }

    fn spot(&self, way: &[&str]) -> Option<Spot> {
        let way: Vec<String> = way.iter().map(|name| (*name).to_owned()).collect();
        self.overlay.spots.get(&way).copied()
    }
}
