//! Learned figures beside the maintainers' own: what moved, by name, and how it is laid over them.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use serde::{Deserialize, Deserializer, Serialize};

use super::posterior::{Posterior, Prior, rate_posterior, row_posterior};
use super::tally::{Dates, Tally};
use crate::infer::row_under;
use crate::knowledge::{CauseId, Family, MeasurementId};

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

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde asks by reference")]
const fn is_zero(number: &u64) -> bool {
    *number == 0
}

/// Takes the counts in.
///
/// Of no job nothing is learned. A row moves where the measurement names the cause and was taken in
/// a job where that cause alone was found.
pub fn learn(family: &Family, tally: &Tally, prior: Prior) -> Overlay {
    let mut learned = Overlay {
        family: family.name.clone(),
        jobs: tally.jobs,
        dates: tally.dates.map(Dates::days),
        prior_jobs: prior.jobs(),
        prior_readings: prior.readings(),
        rates: Named::default(),
        shows: Named::default(),
        text: String::new(),
    };
    let Some(dates) = learned.dates else {
        return learned;
    };
    for (place, cause) in family.causes.iter().enumerate() {
        let moved = rate(family, tally, prior, CauseId::at(place), dates);
        learned.rates.0.insert(cause.name.clone(), moved);
    }
    for (place, measurement) in family.measurements.iter().enumerate() {
        for cause in measurement.shows.keys() {
            let Some(counted) = tally.outcomes(MeasurementId::at(place), *cause) else {
                continue;
            };
            let stated = row_under(measurement, &[*cause]);
            let row = row_posterior(&stated, prior.readings(), &counted.jobs);
            for (place, Posterior { mean, interval }) in row.into_iter().enumerate() {
                let (was, seen) = (stated[place], counted.jobs[place]);
                // A share of 0 that was not seen stays 0: there is nothing to move.
                if place == measurement.normal.index() || (was <= 0.0 && seen == 0) {
                    continue;
                }
                let outcomes = learned.shows.0.entry(measurement.name.clone()).or_default();
                let outcome = measurement.outcomes[place].name.clone();
                let causes = outcomes.0.entry(outcome).or_default();
                let moved = Moved {
                    was,
                    now: mean,
                    seen,
                    jobs: counted.taken(),
                    interval,
                    dates: counted.dates.days(),
                    unstated: 0,
                    same_repair: Vec::new(),
                };
                causes.0.insert(family.cause(*cause).name.clone(), moved);
            }
        }
    }
    learned
}

/// The rate of a cause with the jobs taken in that were closed on these days.
///
/// Of each job in which it was this cause or another and nobody said which, it counts for the share
/// `(W·r + k) / Σ(W·r + k)` over the causes that it may have been, with `r` the stated rate and `k` the jobs where the
/// cause was stated.
#[allow(clippy::cast_precision_loss, reason = "no shop closes 2^53 jobs")]
fn rate(family: &Family, tally: &Tally, prior: Prior, id: CauseId, dates: [Date; 2]) -> Moved {
    let weight = |id: CauseId| {
        prior.jobs() * family.cause(id).rate.get() / 1000.0 + tally.with_cause(id) as f64
    };
    let (mut unstated, mut shared) = (0, 0.0);
    let mut others: BTreeSet<CauseId> = BTreeSet::new();
    for (among, jobs) in tally
        .unstated
        .iter()
        .filter(|(among, _)| among.contains(&id))
    {
        let all: f64 = among.iter().map(|other| weight(*other)).sum();
        unstated += jobs;
        shared += *jobs as f64 * weight(id) / all;
        others.extend(among);
    }
    others.remove(&id);
    let (stated, seen, jobs) = (family.cause(id).rate, tally.with_cause(id), tally.jobs);
    let posterior = rate_posterior(stated, prior.jobs(), seen as f64 + shared, jobs);
    Moved {
        was: stated.get(),
        now: 1000.0 * posterior.mean,
        seen,
        jobs,
        interval: posterior.interval.map(|end| 1000.0 * end),
        dates,
        unstated,
        same_repair: others
            .into_iter()
            .map(|other| family.cause(other).name.clone())
            .collect(),
    }
}
