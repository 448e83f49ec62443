//! Learned figures beside the maintainers' own: what moved, by name, and how it is laid over them.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::{Deserialize, Deserializer, Serialize};

use super::evidence::Evidence;
use super::job::Reading;
use super::posterior::{Posterior, Prior};
use super::rows::{Alike, row_posterior};
use super::tally::{Count, Tally};
use crate::infer::{mistold, row_left, row_under};
use crate::knowledge::{CauseId, Family, Measurement, MeasurementId};

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
    /// The driveline jobs that those were among, where that was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub driveline_jobs: Option<u64>,
    /// The jobs among those in which causes were found that are no candidate of the complaint: they move no rate.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub no_candidate: u64,
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

/// Takes the counts in. `driveline` is the number of driveline jobs that they were among, where that is known: without
/// it, all rates together stay as common as they are stated.
///
/// Of no job nothing is learned. A rate moves where the cause is a candidate of a complaint that was found out. A row
/// moves where the measurement names the cause and was taken in a job where that cause alone was found.
pub fn learn(family: &Family, tally: &Tally, prior: Prior, driveline: Option<u64>) -> Overlay {
    let all = tally.jobs();
    let evidence = Evidence::of(family, tally);
    let mut learned = Overlay {
        family: family.name.clone(),
        jobs: all.map_or(0, |all| all.jobs),
        dates: all.map(|all| all.dates),
        driveline_jobs: driveline,
        no_candidate: evidence.no_candidate,
        prior_jobs: prior.jobs(),
        prior_readings: prior.readings(),
        rates: Named::default(),
        shows: Named::default(),
        text: String::new(),
    };
    let odds = evidence.odds(family, prior, driveline);
    for (place, (cause, odds)) in family.causes.iter().zip(odds).enumerate() {
        let Some(count) = evidence.asked_of(CauseId::at(place)) else {
            continue;
        };
        let posterior = Posterior::rate(odds);
        let (unstated, same_repair) = evidence.unstated(CauseId::at(place));
        let moved = Moved {
            was: cause.rate.get(),
            now: posterior.mean,
            seen: evidence.seen(CauseId::at(place)),
            jobs: count.jobs,
            interval: posterior.interval,
            dates: count.dates,
            unstated,
            same_repair: family.names_of(&same_repair),
        };
        learned.rates.0.insert(cause.name.clone(), moved);
    }
    for ((id, cause), readings) in &tally.readings {
        let measurement = family.measurement(*id);
        if measurement.shows.contains_key(cause) {
            let of_measurement = learned.shows.0.entry(measurement.name.clone()).or_default();
            shares(family, *id, *cause, readings, prior, of_measurement);
        }
    }
    learned.shows.0.retain(|_, outcomes| !outcomes.0.is_empty());
    learned
}

/// The shares of a cause's row.
fn shares(
    family: &Family,
    id: MeasurementId,
    cause: CauseId,
    readings: &BTreeMap<Reading, Count>,
    prior: Prior,
    to: &mut Named<Named<Moved>>,
) {
    let measurement = family.measurement(id);
    let Some(count) = Count::sum(readings.values()) else {
        return;
    };
    let stated = row_under(measurement, &[cause]);
    let alike: Vec<Alike> = readings
        .iter()
        .filter_map(|(reading, count)| alike(family, measurement, cause, reading, count.jobs))
        .collect();
    let row = row_posterior(&stated, prior.readings(), &alike);
    for (place, Posterior { mean, interval }) in row.into_iter().enumerate() {
        let seen = readings
            .iter()
            .filter(|(reading, _)| reading.outcome() == place);
        let (was, seen) = (stated[place], seen.map(|(_, count)| count.jobs).sum());
        // A share of 0 stays 0 where no more was seen than the floor gives every outcome.
        let none = was <= 0.0 && mean <= family.figures.floor.get().max(1e-9);
        if place == measurement.normal.index() || none {
            continue;
        }
        let outcome = measurement.outcomes[place].name.clone();
        let causes = to.0.entry(outcome).or_default();
        let moved = Moved {
            was,
            now: mean,
            seen,
            jobs: count.jobs,
            interval,
            dates: count.dates,
            unstated: 0,
            same_repair: Vec::new(),
        };
        causes.0.insert(family.cause(cause).name.clone(), moved);
    }
}

/// What readings say of the stated row `p`. With m told wrongly and f left of the figures (docs/method.md, section 5) the
/// likelihood is `(1 − m)(f Σ w_o p_o + (1 − f) Σ w_o b_o) + m w̄`, with `b` the row of which nothing is left: as the shares
/// add up to 1, this is `Σ v_o p_o` with weights of its own. The floor is taken as told wrongly too, as often as it is
/// reached by chance. `None` where nothing is left.
fn alike(
    family: &Family,
    measurement: &Measurement,
    cause: CauseId,
    reading: &Reading,
    jobs: u64,
) -> Option<Alike> {
    #[allow(
        clippy::cast_precision_loss,
        reason = "a measurement has a handful of outcomes"
    )]
    let outcomes = measurement.outcomes.len() as f64;
    let told_rightly = 1.0 - mistold(family, measurement);
    let mistold = 1.0 - told_rightly * (1.0 - outcomes * family.figures.floor.get());
    let left = f64::from(reading.left) / 1000.0;
    let weights: Vec<f64> = reading.weights.iter().copied().map(f64::from).collect();
    let none_left = row_left(measurement, &[cause], 0.0);
    let hidden: f64 = weights.iter().zip(none_left).map(|(w, b)| w * b).sum();
    let mean = weights.iter().sum::<f64>() / outcomes;
    let kept = (1.0 - mistold) * left;
    let besides = (1.0 - mistold) * (1.0 - left) * hidden + mistold * mean;
    #[allow(clippy::cast_precision_loss, reason = "no shop closes 2^53 jobs")]
    let readings = jobs as f64;
    (kept > 0.0).then(|| Alike {
        weights: weights.iter().map(|w| w + besides / kept).collect(),
        readings,
    })
}
