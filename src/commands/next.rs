//! `next`: the candidates and the ranked measurements, once.

use clap::Args;
use serde::Serialize;
use serde_json::{Map, Value};

use super::args::{By, CaseArguments, order};
use super::basis::{Basis, knowledge_on};
use super::job;
use super::{DONE, Result, Streams};
use crate::decide::Standing;
use crate::knowledge::LaidOver;
use crate::session::{Candidate, Offer, OnTheWay, Outlook, Prompt, RepairOrder, Suspect};
use crate::terminal;

/// List the candidates and rank the next measurements, once
#[derive(Debug, Args)]
pub(super) struct Next {
    #[command(flatten)]
    case: CaseArguments,
    /// Sort the measurements otherwise than by what each saves by itself
    #[arg(long, value_enum, value_name = "ORDER")]
    by: Option<By>,
    /// Write the answer as JSON, at full precision
    #[arg(long)]
    json: bool,
}

/// The answer for other programs: docs/method.md, section 13.
#[derive(Serialize)]
struct Answer<'a> {
    family: &'a str,
    overlay: Option<&'a LaidOver>,
    vehicle: Option<&'a str>,
    invented: Option<bool>,
    symptoms: &'a [String],
    absent: &'a [String],
    readings: Vec<Reading<'a>>,
    candidates: &'a [Candidate],
    unlisted: f64,
    in_play: f64,
    causes: &'a [Suspect],
    measurements: &'a [Offer],
    unusable: Vec<Unusable<'a>>,
    repair_now: &'a RepairOrder,
    take_again: Option<&'a str>,
    on_the_way: &'a [OnTheWay],
    #[serde(skip_serializing_if = "Option::is_none")]
    prompt: Option<Prompt>,
}

#[derive(Serialize)]
struct Reading<'a> {
    measurement: &'a str,
    /// By outcome, in the measurement's order.
    weights: Map<String, Value>,
}

#[derive(Serialize)]
struct Unusable<'a> {
    id: &'a str,
    why: String,
}

impl Next {
    pub(super) fn execute(&self, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result {
        let knowledge = knowledge_on(basis, streams)?;
        let case = self.case.case(&knowledge)?;
        let model = case.model()?;
        let standing = case.standing(&model, order(self.by))?;
        if !self.json {
            let mut page = streams.page();
            terminal::overlay(&mut page, &knowledge, case.family)?;
            terminal::next(&mut page, &standing)?;
            return Ok(DONE);
        }
        let by = self.by.map(|by| order(Some(by)));
        let ask = |file| job::prompt(&knowledge, file, by, streams.clock.now());
        let prompt = self.case.job.as_deref().map(ask).transpose()?;
        let outlook = Outlook::of(&standing);
        let overlay = knowledge.overlay_of(case.family);
        streams.json(&answer(&standing, &outlook, overlay, prompt))?;
        Ok(DONE)
    }
}

fn answer<'a>(
    standing: &'a Standing<'_, '_>,
    outlook: &'a Outlook,
    overlay: Option<&'a LaidOver>,
    prompt: Option<Prompt>,
) -> Answer<'a> {
    let model = standing.model;
    let family = model.family;
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
    let unusable = standing.unusable().into_iter().map(|(id, why)| Unusable {
        id: measurement(id),
        why: why.to_string(),
    });
    let misfit = standing.misfit();
    Answer {
        family: &family.name,
        overlay,
        vehicle: model.vehicle.map(|vehicle| vehicle.name.as_str()),
        invented: model.vehicle.map(|vehicle| vehicle.invented),
        symptoms: &outlook.present,
        absent: &outlook.absent,
        readings: readings.collect(),
        candidates: &outlook.candidates,
        unlisted: outlook.unlisted,
        in_play: outlook.in_play,
        causes: &outlook.causes,
        measurements: &outlook.offers,
        unusable: unusable.collect(),
        repair_now: &outlook.repair_now,
        take_again: misfit.map(|misfit| measurement(misfit.measurement)),
        on_the_way: &outlook.on_the_way,
        prompt,
    }
}
