//! `next`: the candidates and the ranked measurements, once.

use clap::{Args, ValueEnum};
use serde_json::{Value, json};

use super::inputs;
use super::inputs::{Basis, Case, CaseArguments};
use super::{DONE, Error, Streams};
use crate::decide::OrderBy;
use crate::decide::Standing;
use crate::terminal;
use crate::text::Page;

/// Rank the next measurements for a complaint, once.
#[derive(Debug, Args)]
pub(super) struct Next {
    #[command(flatten)]
    case: CaseArguments,
    /// Order the measurements by one figure alone, instead of by `separates` per minute
    #[arg(long, value_enum, value_name = "FIGURE")]
    by: Option<By>,
    /// Write the answer as JSON, at full precision
    #[arg(long)]
    json: bool,
}

/// The figures of the ranking.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(super) enum By {
    /// Candidates in play that the reading is expected to set apart
    Separates,
    /// Information about the candidates, in bits
    Bits,
    /// Minutes, set-ups included
    Minutes,
    /// Expected saving against repairing now, one step ahead
    Saves,
}

/// The order that the figure asks for.
pub(super) fn order(by: Option<By>) -> OrderBy {
    match by {
        None => OrderBy::SeparatesPerMinute,
        Some(By::Separates) => OrderBy::Separates,
        Some(By::Bits) => OrderBy::Bits,
        Some(By::Minutes) => OrderBy::Minutes,
        Some(By::Saves) => OrderBy::Saves,
    }
}

impl Next {
    pub(super) fn execute(
        &self,
        basis: &Basis<'_>,
        streams: &mut Streams<'_>,
    ) -> Result<u8, Error> {
        let knowledge = inputs::knowledge_on(basis, streams)?;
        let case = self.case.case(&knowledge)?;
        let model = case.model()?;
        let standing = case.standing(&model, order(self.by))?;
        if self.json {
            let overlay = inputs::overlay_json(&knowledge, case.family);
            let answer = answer(&case, &standing, &overlay);
            crate::text::json(streams.out, &answer)?;
        } else {
            let mut page = Page::new(streams.out, streams.width);
            terminal::overlay(&mut page, &knowledge, case.family)?;
            terminal::next(&mut page, &standing)?;
        }
        Ok(DONE)
    }
}

/// The answer as other programs read it: docs/method.md, "The exchange with other programs".
fn answer(case: &Case<'_>, standing: &Standing<'_, '_>, overlay: &Value) -> Value {
    let family = case.family;
    let model = standing.model;
    let symptoms = |ids: &[crate::knowledge::SymptomId]| -> Vec<&str> {
        ids.iter()
            .map(|id| family.symptom(*id).name.as_str())
            .collect()
    };
    let unusable: Vec<Value> = standing
        .unusable()
        .into_iter()
        .map(|(id, why)| json!({"id": family.measurement(id).name, "why": why.to_string()}))
        .collect();
    let order: Vec<Value> = standing
        .repair_now
        .steps
        .iter()
        .enumerate()
        .map(|(place, step)| {
            let repairs: Vec<&str> = standing
                .repairs(place)
                .iter()
                .map(|repair| family.repair(*repair).name.as_str())
                .collect();
            json!({"repairs": repairs, "probability": step.probability, "cost": step.cost})
        })
        .collect();
    let readings: Vec<Value> = standing
        .evidence
        .iter()
        .map(|reading| {
            let measurement = family.measurement(reading.measurement);
            let weights: serde_json::Map<String, Value> = measurement
                .outcomes
                .iter()
                .zip(&reading.weights)
                .map(|(outcome, weight)| (outcome.name.clone(), json!(weight)))
                .collect();
            json!({"measurement": measurement.name, "weights": weights})
        })
        .collect();
    json!({
        "family": family.name,
        "overlay": overlay,
        "vehicle": case.vehicle.map(|vehicle| vehicle.name.as_str()),
        "invented": case.vehicle.map(|vehicle| vehicle.invented),
        "symptoms": symptoms(&model.complaint.present),
        "absent": symptoms(&model.complaint.absent),
        "readings": readings,
        "candidates": candidates(standing),
        "unlisted": standing.belief.unlisted,
        "in_play": standing.belief.in_play(),
        "causes": causes(standing),
        "measurements": measurements(standing),
        "unusable": unusable,
        "repair_now": {
            "cost": standing.repair_now.cost,
            "minutes": standing.repair_now.minutes,
            "order": order,
            "escalates": standing.repair_now.escalates,
            "exact": standing.repair_now.exact,
        },
        "take_again": standing.misfit().map(|misfit| family.measurement(misfit.measurement).name.as_str()),
    })
}

/// The candidates, the most probable first, then by their causes.
fn candidates(standing: &Standing<'_, '_>) -> Vec<Value> {
    let model = standing.model;
    let family = model.family;
    let mut candidates: Vec<(Vec<&str>, f64, bool)> = model
        .candidates
        .iter()
        .enumerate()
        .map(|(place, candidate)| {
            let causes = candidate
                .causes
                .iter()
                .map(|cause| family.cause(*cause).name.as_str())
                .collect();
            (
                causes,
                standing.belief.posterior[place],
                standing.belief.is_live(place),
            )
        })
        .collect();
    candidates.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    candidates
        .iter()
        .map(|(causes, posterior, live)| {
            json!({"causes": causes, "posterior": posterior, "live": live})
        })
        .collect()
}

/// The belief in each cause, the most probable first, then by name.
fn causes(standing: &Standing<'_, '_>) -> Vec<Value> {
    let model = standing.model;
    let family = model.family;
    let mut causes: Vec<(&str, f64)> = model
        .marginals(&standing.belief)
        .into_iter()
        .map(|(cause, p)| (family.cause(cause).name.as_str(), p))
        .collect();
    causes.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(b.0)));
    causes
        .iter()
        .map(|(cause, posterior)| json!({"cause": cause, "posterior": posterior}))
        .collect()
}

/// The measurements on offer, in the ranking's order.
fn measurements(standing: &Standing<'_, '_>) -> Vec<Value> {
    let family = standing.model.family;
    standing
        .ranking
        .iter()
        .map(|ranked| {
            let set_ups: Vec<&str> = ranked
                .way
                .order
                .iter()
                .map(|place| family.set_ups[*place].name.as_str())
                .collect();
            json!({
                "id": family.measurement(standing.ranked(ranked)).name,
                "separates": ranked.separates,
                "bits": ranked.bits,
                "minutes": ranked.minutes,
                "saves": ranked.saves,
                "set_ups": set_ups,
            })
        })
        .collect()
}
