//! `next`: the candidates and the ranked measurements, once.

use clap::Args;
use serde::Serialize;
use serde_json::{Map, Value};

use super::args::{By, CaseArguments, order};
use super::basis::{Basis, knowledge_on};
use super::error::Error;
use super::streams::{DONE, Streams};
use crate::decide::Standing;
use crate::knowledge::{LaidOver, RepairId, SymptomId};
use crate::terminal;
use crate::text::Page;

/// List the candidates and rank the next measurements, once
#[derive(Debug, Args)]
pub(super) struct Next {
    #[command(flatten)]
    case: CaseArguments,
    /// Sort the measurements by one figure, instead of by `separates` per minute
    #[arg(long, value_enum, value_name = "FIGURE")]
    by: Option<By>,
    /// Write the answer as JSON, at full precision
    #[arg(long)]
    json: bool,
}

impl Next {
    pub(super) fn execute(
        &self,
        basis: &Basis<'_>,
        streams: &mut Streams<'_>,
    ) -> Result<u8, Error> {
        let knowledge = knowledge_on(basis, streams)?;
        let case = self.case.case(&knowledge)?;
        let model = case.model()?;
        let standing = case.standing(&model, order(self.by))?;
        if self.json {
            streams.json(&Answer::of(&standing, knowledge.overlay_of(case.family)))?;
        } else {
            let mut page = Page::new(streams.out, streams.width);
            terminal::overlay(&mut page, &knowledge, case.family)?;
            terminal::next(&mut page, &standing)?;
        }
        Ok(DONE)
    }
}

/// The answer for other programs: docs/method.md, section 13.
#[derive(Serialize)]
struct Answer<'a> {
    family: &'a str,
    overlay: Option<&'a LaidOver>,
    vehicle: Option<&'a str>,
    invented: Option<bool>,
    symptoms: Vec<&'a str>,
    absent: Vec<&'a str>,
    readings: Vec<Reading<'a>>,
    candidates: Vec<Candidate<'a>>,
    unlisted: f64,
    in_play: f64,
    causes: Vec<Cause<'a>>,
    measurements: Vec<Measurement<'a>>,
    unusable: Vec<Unusable<'a>>,
    repair_now: RepairNow<'a>,
    take_again: Option<&'a str>,
}

#[derive(Serialize)]
struct Reading<'a> {
    measurement: &'a str,
    /// By outcome, in the measurement's order.
    weights: Map<String, Value>,
}

#[derive(Serialize)]
struct Candidate<'a> {
    causes: Vec<&'a str>,
    posterior: f64,
    live: bool,
}

#[derive(Serialize)]
struct Cause<'a> {
    cause: &'a str,
    posterior: f64,
}

#[derive(Serialize)]
struct Measurement<'a> {
    id: &'a str,
    separates: f64,
    bits: f64,
    minutes: f64,
    saves: f64,
    set_ups: Vec<&'a str>,
}

#[derive(Serialize)]
struct Unusable<'a> {
    id: &'a str,
    why: String,
}

#[derive(Serialize)]
struct RepairNow<'a> {
    cost: f64,
    minutes: f64,
    order: Vec<RepairStep<'a>>,
    escalates: Option<f64>,
    exact: bool,
}

#[derive(Serialize)]
struct RepairStep<'a> {
    repairs: Vec<&'a str>,
    probability: f64,
    cost: f64,
}

impl<'a> Answer<'a> {
    fn of(standing: &'a Standing<'_, '_>, overlay: Option<&'a LaidOver>) -> Self {
        let (model, belief) = (standing.model, &standing.belief);
        let family = model.family;
        let symptoms = |ids: &[SymptomId]| -> Vec<&'a str> {
            let names = ids.iter().map(|id| family.symptom(*id).name.as_str());
            names.collect()
        };
        let measurement = |id| family.measurement(id).name.as_str();
        let readings = standing.evidence.iter().map(|reading| {
            let outcomes = family.measurement(reading.measurement).outcomes.iter();
            let weights = outcomes.zip(&reading.weights);
            Reading {
                measurement: measurement(reading.measurement),
                weights: weights
                    .map(|(outcome, weight)| (outcome.name.clone(), Value::from(*weight)))
                    .collect(),
            }
        });
        let candidates = model.candidates.iter().enumerate();
        let mut candidates: Vec<Candidate<'_>> = candidates
            .map(|(place, candidate)| Candidate {
                causes: candidate
                    .causes
                    .iter()
                    .map(|cause| family.cause(*cause).name.as_str())
                    .collect(),
                posterior: belief.posterior[place],
                live: belief.is_live(place),
            })
            .collect();
        candidates.sort_by(|a, b| {
            let by_name = || a.causes.cmp(&b.causes);
            b.posterior.total_cmp(&a.posterior).then_with(by_name)
        });
        let marginals = model.marginals(belief).into_iter();
        let mut causes: Vec<Cause<'_>> = marginals
            .map(|(cause, posterior)| Cause {
                cause: &family.cause(cause).name,
                posterior,
            })
            .collect();
        causes.sort_by(|a, b| {
            let by_name = || a.cause.cmp(b.cause);
            b.posterior.total_cmp(&a.posterior).then_with(by_name)
        });
        let measurements = standing.ranking.iter().map(|ranked| Measurement {
            id: measurement(standing.ranked(ranked)),
            separates: ranked.separates,
            bits: ranked.bits,
            minutes: ranked.minutes,
            saves: ranked.saves,
            set_ups: ranked
                .way
                .order
                .iter()
                .map(|place| family.set_ups[*place].name.as_str())
                .collect(),
        });
        let unusable = standing.unusable().into_iter().map(|(id, why)| Unusable {
            id: measurement(id),
            why: why.to_string(),
        });
        let now = &standing.repair_now;
        let order = now.steps.iter().enumerate().map(|(place, step)| {
            let repair = |id: &RepairId| family.repair(*id).name.as_str();
            RepairStep {
                repairs: standing.repairs(place).iter().map(repair).collect(),
                probability: step.probability,
                cost: step.cost,
            }
        });
        Self {
            family: &family.name,
            overlay,
            vehicle: model.vehicle.map(|vehicle| vehicle.name.as_str()),
            invented: model.vehicle.map(|vehicle| vehicle.invented),
            symptoms: symptoms(&model.complaint.present),
            absent: symptoms(&model.complaint.absent),
            readings: readings.collect(),
            candidates,
            unlisted: belief.unlisted,
            in_play: belief.in_play(),
            causes,
            measurements: measurements.collect(),
            unusable: unusable.collect(),
            repair_now: RepairNow {
                cost: now.cost,
                minutes: now.minutes,
                order: order.collect(),
                escalates: now.escalates,
                exact: now.exact,
            },
            take_again: standing
                .misfit()
                .map(|misfit| measurement(misfit.measurement)),
        }
    }
}
