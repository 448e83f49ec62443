//! What one closed job counts for.

use std::collections::BTreeMap;

use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::refusal::Refusal;
use crate::infer::left_by;
use crate::knowledge::{CauseId, Family, Measurement, MeasurementId, SymptomId};
use crate::record::{Closed, Found, State, View};

/// The outcome that stands in a verification which was passed over.
const NOT_TAKEN: &str = "not-taken";
/// The weights of a reading are counted in so many steps, so that readings that say nearly the same are counted
/// together.
pub(super) const STEPS: f64 = 20.0;

/// What one closed job with a verified repair says, in today's knowledge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Counted {
    /// The job's 16 hexadecimal digits.
    pub job: String,
    /// The day it was closed on, in UTC.
    pub closed: Date,
    /// Its complaint, and what was found.
    pub finding: Finding,
    /// The last reading that counts of each measurement taken before the repair.
    pub readings: Vec<(MeasurementId, Reading)>,
}

/// A complaint and what was found for it. Each list in the order of the family, each id once.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Finding {
    /// The symptoms confirmed present.
    pub present: Vec<SymptomId>,
    /// The symptoms confirmed absent.
    pub absent: Vec<SymptomId>,
    /// The causes found.
    pub causes: Vec<CauseId>,
    /// The causes beside those of which it was one, or several: nobody saw which. With `causes` at least one.
    pub among: Vec<CauseId>,
}

/// What a reading says: a weight for each outcome of its measurement, in twentieths.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Reading {
    /// The weights, in the measurement's order of outcomes; not all 0.
    pub weights: Vec<u8>,
    /// How much was left of the measurement's stated figures, in thousandths (docs/method.md, section 5): less than
    /// 1,000 where it shows a fault only while that acts, and the fault did not.
    pub left: u16,
}

impl Finding {
    /// The cause, where one alone was found and for certain.
    pub fn alone(&self) -> Option<CauseId> {
        match (&self.causes[..], &self.among[..]) {
            ([cause], []) => Some(*cause),
            _ => None,
        }
    }

    /// What a closing says was found for a complaint, with `found`, `causes` and `among` as in the record.
    ///
    /// A closing of before that was asked names the causes that were likeliest by the readings: where the
    /// same repair cures others that can bring the complaint about, nobody has said which it was.
    pub(super) fn of(
        family: &Family,
        [present, absent]: [&[String]; 2],
        found: Option<Found>,
        [causes, among]: [&[String]; 2],
    ) -> Result<Self, Refusal> {
        let symptoms =
            |names: &[String]| ids(names, "symptom", |name| family.symptom_known_as(name));
        let known = |names: &[String]| ids(names, "cause", |name| family.cause_known_as(name));
        let mut finding = Self {
            present: symptoms(present)?,
            absent: symptoms(absent)?,
            causes: known(causes)?,
            among: known(among)?,
        };
        if found.is_none() {
            finding.share_repairs(family);
        }
        if finding.causes.is_empty() && finding.among.is_empty() {
            return Err(Refusal::NoCause);
        }
        Ok(finding)
    }

    /// Moves the causes that share their repair with others of the complaint's trees to `among`, with those others.
    fn share_repairs(&mut self, family: &Family) {
        let mut certain = Vec::new();
        let mut open = Vec::new();
        for id in std::mem::take(&mut self.causes) {
            let cured: Vec<CauseId> = (0..family.causes.len())
                .map(CauseId::at)
                .filter(|other| {
                    *other == id
                        || (family.cause(*other).repair == family.cause(id).repair
                            && self.present.iter().any(|symptom| {
                                family.symptom(*symptom).tree.causes().contains(other)
                            }))
                })
                .collect();
            if cured.len() == 1 {
                certain.push(id);
            } else {
                open.extend(cured);
            }
        }
        open.sort_unstable();
        open.dedup();
        self.causes = certain;
        self.among = open;
    }
}

impl Reading {
    /// A reading from the weights of a measurement's outcomes, which add up to 1; refused where none has any.
    pub fn of<'n>(
        measurement: &Measurement,
        weights: impl IntoIterator<Item = (&'n str, f64)>,
    ) -> Result<Self, Refusal> {
        let mut steps = vec![0; measurement.outcomes.len()];
        for (name, weight) in weights {
            let outcome = measurement.outcome(name);
            let outcome = outcome.ok_or_else(|| Refusal::Unknown {
                kind: "outcome",
                name: format!("{}: {name}", measurement.name),
            })?;
            #[allow(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a weight is 0 to 1"
            )]
            let step = (weight.clamp(0.0, 1.0) * STEPS).round() as u8;
            steps[outcome.index()] = step;
        }
        if steps.iter().all(|step| *step == 0) {
            return Err(Refusal::NoWeight(measurement.name.clone()));
        }
        Ok(Self {
            weights: steps,
            left: 1000,
        })
    }

    /// The outcome that weighs most, the first of equals.
    pub(super) fn outcome(&self) -> usize {
        let most = self.weights.iter().max();
        let place = self.weights.iter().position(|weight| Some(weight) == most);
        place.unwrap_or(0)
    }

    /// Notes how much was left of the figures, where that matters to the measurement.
    pub(super) fn fade(&mut self, measurement: &Measurement, left: u16) {
        if measurement.only_then {
            self.left = left;
        }
    }
}

/// How much is left of the figures of measurements that show a fault only while it acts, in thousandths.
pub(super) fn left<'r>(
    family: &Family,
    reading: impl Fn(MeasurementId) -> Option<&'r Reading>,
) -> u16 {
    let mut left = 1.0;
    for (measurement, factors) in &family.fades {
        let Some(reading) = reading(*measurement) else {
            continue;
        };
        let weights: Vec<f64> = reading.weights.iter().copied().map(f64::from).collect();
        left *= left_by(factors, &weights);
    }
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a product of factors of 0 to 1"
    )]
    let thousandths = (left * 1000.0).round() as u16;
    thousandths
}

/// What a record counts for.
///
/// The job must be closed as fixed, after a repair that was not itself found vain, with at least one
/// verification reading as expected and none otherwise; readings after that repair are of a mended
/// vehicle and do not count. Where a measurement was taken again, its last reading that counts
/// stands for it, also with `repeat: true`: one reading a job, so that jobs weigh alike.
///
/// # Errors
///
/// The [`Refusal`].
pub fn counted(family: &Family, view: &View) -> Result<Counted, Refusal> {
    if let Some(torn) = &view.torn {
        return Err(Refusal::Torn(torn.line));
    }
    let state = view.history.state();
    if state.opened.family != family.name {
        return Err(Refusal::OtherFamily(state.opened.family.clone()));
    }
    if state.opened.practice.is_some() {
        return Err(Refusal::Practice);
    }
    let closed = state.closed.as_ref().ok_or(Refusal::Open)?;
    let repaired_on = verified(state)?;
    let Closed {
        causes,
        found,
        among,
        ..
    } = &closed.what;
    let complaint = [&state.present[..], &state.absent];
    let finding = Finding::of(family, complaint, *found, [causes, among])?;
    let counting = state.readings.iter();
    let counting = counting.filter(|taken| taken.reading.counts && taken.line <= repaired_on);
    let readings = counting.map(|taken| (&*taken.reading.measurement, &taken.reading.weights));
    Ok(Counted {
        job: view.history.job().to_owned(),
        closed: TimeZone::UTC.to_datetime(closed.time).date(),
        finding,
        readings: readings_of(family, readings)?,
    })
}

/// What the readings of a job say, by measurement and with the weights of the record. Of several readings of a
/// measurement the last one counts.
pub fn readings_of<'r>(
    family: &Family,
    readings: impl IntoIterator<Item = (&'r str, &'r BTreeMap<String, f64>)>,
) -> Result<Vec<(MeasurementId, Reading)>, Refusal> {
    let mut last = BTreeMap::new();
    for (name, weights) in readings {
        let id = family.measurement_known_as(name);
        let id = id.ok_or_else(|| unknown("measurement", name))?;
        let weights = weights
            .iter()
            .map(|(name, weight)| (name.as_str(), *weight));
        last.insert(id, Reading::of(family.measurement(id), weights)?);
    }
    let left = left(family, |id| last.get(&id));
    for (id, reading) in &mut last {
        reading.fade(family.measurement(*id), left);
    }
    Ok(last.into_iter().collect())
}

/// The line of the repair that fixed the vehicle.
fn verified(state: &State) -> Result<u64, Refusal> {
    let done = state
        .repairs
        .last()
        .filter(|_| state.verifying)
        .ok_or(Refusal::NoRepair)?;
    let taken = || {
        done.verifications
            .iter()
            // What was confirmed in words is no reading.
            .filter(|reading| reading.outcome != NOT_TAKEN && !reading.measurement.contains(' '))
    };
    if let Some(off) = taken().find(|reading| !reading.as_expected) {
        return Err(Refusal::NotAsExpected {
            measurement: off.measurement.clone(),
            outcome: off.outcome.clone(),
        });
    }
    if taken().next().is_none() {
        return Err(Refusal::NotVerified);
    }
    Ok(done.line)
}

/// The ids of names, sorted, each once.
fn ids<Id: Ord>(
    names: &[String],
    kind: &'static str,
    id: impl Fn(&str) -> Option<Id>,
) -> Result<Vec<Id>, Refusal> {
    let mut ids = names
        .iter()
        .map(|name| id(name).ok_or_else(|| unknown(kind, name)))
        .collect::<Result<Vec<_>, _>>()?;
    ids.sort_unstable();
    ids.dedup();
    Ok(ids)
}

fn unknown(kind: &'static str, name: &str) -> Refusal {
    Refusal::Unknown {
        kind,
        name: name.to_owned(),
    }
}
