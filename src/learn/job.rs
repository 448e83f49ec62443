//! What one closed job counts for.

use std::collections::BTreeMap;

use jiff::Timestamp;

use super::refusal::Refusal;
use crate::knowledge::{CauseId, Family, MeasurementId, OutcomeId, SymptomId};
use crate::record::{Closed, State, View};

/// The outcome that stands in a verification which was passed over.
const NOT_TAKEN: &str = "not-taken";

/// What one closed job with a verified repair says, in today's knowledge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Counted {
    /// The job's 16 hexadecimal digits.
    pub job: String,
    /// When it was closed.
    pub closed: Timestamp,
    /// The symptoms confirmed present, in the order of the family, each once.
    pub symptoms: Vec<SymptomId>,
    /// The causes found, in the order of the family, each once.
    pub causes: Vec<CauseId>,
    /// The causes beside those of which it was one, or several, in the order of the family, each once:
    /// nobody saw which. With `causes` at least one.
    pub among: Vec<CauseId>,
    /// Each measurement that was taken and counts, once, with its most probable outcome.
    pub outcomes: Vec<(MeasurementId, OutcomeId)>,
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
    let symptoms = ids(&state.present, "symptom", |name| {
        family.symptom_known_as(name)
    })?;
    let (causes, among) = found(family, &closed.what, &symptoms)?;
    if causes.is_empty() && among.is_empty() {
        return Err(Refusal::NoCause);
    }
    let mut outcomes = BTreeMap::new();
    for taken in &state.readings {
        let reading = &taken.reading;
        if !reading.counts || taken.line > repaired_on {
            continue;
        }
        let id = family
            .measurement_known_as(&reading.measurement)
            .ok_or_else(|| unknown("measurement", &reading.measurement))?;
        let outcome = family.measurement(id).outcome(&reading.outcome);
        let outcome = outcome.ok_or_else(|| Refusal::Unknown {
            kind: "outcome",
            name: format!("{}: {}", reading.measurement, reading.outcome),
        })?;
        outcomes.insert(id, outcome);
    }
    Ok(Counted {
        job: view.history.job().to_owned(),
        closed: closed.time,
        symptoms,
        causes,
        among,
        outcomes: outcomes.into_iter().collect(),
    })
}

/// The causes that a closing says were found, and those of which it says it was one.
///
/// A closing of before that was asked names the causes that were likeliest by the readings: where the
/// same repair cures others that can bring the complaint about, nobody has said which it was.
fn found(
    family: &Family,
    closed: &Closed,
    symptoms: &[SymptomId],
) -> Result<(Vec<CauseId>, Vec<CauseId>), Refusal> {
    let cause = |name: &str| family.cause_known_as(name);
    let causes = ids(&closed.causes, "cause", cause)?;
    let among = ids(&closed.among, "cause", cause)?;
    if closed.found.is_some() {
        return Ok((causes, among));
    }
    let mut certain = Vec::new();
    let mut open = Vec::new();
    for id in causes {
        let alike: Vec<CauseId> = (0..family.causes.len())
            .map(CauseId::at)
            .filter(|other| {
                *other == id
                    || (family.cause(*other).repair == family.cause(id).repair
                        && symptoms
                            .iter()
                            .any(|symptom| family.symptom(*symptom).tree.causes().contains(other)))
            })
            .collect();
        if alike.len() == 1 {
            certain.push(id);
        } else {
            open.extend(alike);
        }
    }
    open.sort_unstable();
    open.dedup();
    Ok((certain, open))
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
