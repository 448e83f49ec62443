//! Learned figures beside the maintainers' own: what moved, by name, and how it is laid over them.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use serde::{Deserialize, Deserializer, Serialize};

use super::posterior::{Figure, Learned};
use super::tally::{Dates, Tally};
use crate::knowledge::{CauseId, Family};

/// Entries by name. A reviewer who deletes every line below a name leaves it with nothing: that is no entry.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Named<T>(pub BTreeMap<String, T>);

impl<T> Default for Named<T> {
    fn default() -> Self {
        Self(BTreeMap::new())
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Named<T> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        Ok(Self(Option::deserialize(from)?.unwrap_or_default()))
    }
}

/// Learned figures of one family, for a person to review.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
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
    #[serde(default)]
    pub rates: Named<Moved>,
    /// Probabilities by measurement, outcome and cause.
    #[serde(default)]
    pub shows: Named<Named<Named<Moved>>>,
    /// The text that it was read from, to say where something is.
    #[serde(skip)]
    pub(super) text: String,
}

/// A figure that moved.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
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

impl Moved {
    fn of(figure: &Figure, same_repair: Vec<String>) -> Self {
        Self {
            was: figure.was,
            now: figure.now,
            seen: figure.seen,
            jobs: figure.jobs,
            interval: figure.interval,
            dates: figure.dates.days(),
            unstated: figure.unstated,
            same_repair,
        }
    }
}

impl Overlay {
    /// What was learned, by name.
    pub fn of(family: &Family, tally: &Tally, learned: &Learned) -> Self {
        let mut overlay = Self {
            family: family.name.clone(),
            jobs: tally.jobs(),
            dates: tally.dates().map(Dates::days),
            prior_jobs: learned.prior.jobs(),
            prior_readings: learned.prior.readings(),
            rates: Named::default(),
            shows: Named::default(),
            text: String::new(),
        };
        let name = |cause: CauseId| family.cause(cause).name.clone();
        for (cause, figure) in &learned.rates {
            let moved = Moved::of(figure, same_repair(family, tally, *cause));
            overlay.rates.0.insert(name(*cause), moved);
        }
        for shown in &learned.shows {
            let measurement = family.measurement(shown.measurement);
            let outcome = &measurement.outcomes[shown.outcome.index()].name;
            let outcomes = &mut overlay
                .shows
                .0
                .entry(measurement.name.clone())
                .or_default()
                .0;
            let causes = &mut outcomes.entry(outcome.clone()).or_default().0;
            causes.insert(name(shown.cause), Moved::of(&shown.figure, Vec::new()));
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
