//! Why: what each outcome of a measurement would leave, and which reading moved a cause how far.

use serde::Serialize;

use super::measure::{Prospect, prospects};
use crate::decide::Standing;
use crate::infer::{Evidence, counting};
use crate::knowledge::{CauseId, Id, MeasurementId};
use crate::text::{sentence, unknown};

/// An explanation.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "why", rename_all = "kebab-case")]
pub enum Why {
    /// What each outcome of a measurement would leave.
    Measurement {
        /// The outcomes.
        prospects: Vec<Prospect>,
    },
    /// How the belief in a cause came about.
    Cause(CauseWay),
}

/// How the belief in a cause came about.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CauseWay {
    /// Its id.
    pub cause: String,
    /// What is wrong.
    pub title: String,
    /// Whether it is in any candidate: it explains the complaint and its repair is not done.
    pub candidate: bool,
    /// The belief before any reading, from 0 to 1.
    pub before: f64,
    /// The readings, and the belief after each.
    pub readings: Vec<Moved>,
}

/// A reading, and the belief after it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Moved {
    /// The measurement.
    pub measurement: String,
    /// What it measures.
    pub title: String,
    /// What it read.
    pub outcome: String,
    /// What that means.
    pub words: String,
    /// The belief then, from 0 to 1.
    pub belief: f64,
}

/// Explains a measurement, a cause or a repair by its name; without one, the cause that leads. Words where there is
/// nothing of that name.
pub(super) fn why(standing: &Standing<'_, '_>, name: Option<&str>) -> Result<Vec<Why>, String> {
    let family = standing.model.family;
    let way = |id| Why::Cause(cause_way(standing, id));
    let Some(name) = name else {
        let marginals = standing.model.marginals(&standing.belief).into_iter();
        // The first of equals.
        let first = marginals.min_by(|one, other| other.1.total_cmp(&one.1));
        let (cause, _) = first.ok_or("No listed cause is left.")?;
        return Ok(vec![way(cause)]);
    };
    if let Some(id) = family.measurement_known_as(name) {
        let prospects = prospects(standing, id);
        return Ok(vec![Why::Measurement { prospects }]);
    }
    if let Some(cause) = family.cause_known_as(name) {
        return Ok(vec![way(cause)]);
    }
    if let Some(repair) = family.repair_known_as(name) {
        let causes = (0..family.causes.len()).map(CauseId::at);
        let cured = causes.filter(|id| family.cause(*id).repair == repair);
        return Ok(cured.map(way).collect());
    }
    let known = MeasurementId::names(family).chain(CauseId::names(family));
    let words = unknown("measurement, cause or repair", name, known);
    Err(sentence(&words))
}

/// Which reading moved a cause how far.
fn cause_way(standing: &Standing<'_, '_>, id: CauseId) -> CauseWay {
    let model = standing.model;
    let family = model.family;
    let belief_after = |evidence: &[&Evidence]| {
        let belief = model.after(evidence.iter().copied());
        let mut marginals = model.marginals(&belief).into_iter();
        marginals
            .find(|(cause, _)| *cause == id)
            .map_or(0.0, |(_, p)| p)
    };
    let readings = counting(family, &standing.evidence);
    let cause = family.cause(id);
    CauseWay {
        cause: cause.name.clone(),
        title: cause.title.clone(),
        candidate: model.candidates.iter().any(|c| c.causes.contains(&id)),
        before: belief_after(&[]),
        readings: (1..=readings.len())
            .map(|taken| {
                let reading = readings[taken - 1];
                let measurement = family.measurement(reading.measurement);
                Moved {
                    measurement: measurement.name.clone(),
                    title: measurement.title.clone(),
                    outcome: measurement.outcomes[reading.outcome()].name.clone(),
                    words: measurement.outcomes[reading.outcome()].words(),
                    belief: belief_after(&readings[..taken]),
                }
            })
            .collect(),
    }
}
