//! `next`: the candidates and the ranked measurements, once.

use clap::Args;
use serde_json::{Map, Value, json};

use super::args::{By, CaseArguments, order};
use super::basis::{Basis, knowledge_on};
use super::job;
use super::shop::ShopArguments;
use super::{DONE, Result, Streams};
use crate::decide::{Advice, Standing};
use crate::knowledge::LaidOver;
use crate::session::{Ask, Outlook, Prompt};
use crate::terminal;
use crate::text::Tone;

/// List the candidates and rank the next measurements, once
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  halfsplit next slipping --vehicle demo-estate
  halfsplit next slipping --vehicle demo-estate --reading fluid-level=low
  halfsplit next --job 2026-11-25.job.jsonl --json")]
pub(super) struct Next {
    #[command(flatten)]
    case: CaseArguments,
    #[command(flatten)]
    shop: ShopArguments,
    /// Sort the measurements otherwise than by what each saves by itself
    #[arg(long, value_enum, value_name = "ORDER")]
    by: Option<By>,
    /// Write the answer as JSON, at full precision
    #[arg(long)]
    json: bool,
}

impl Next {
    pub(super) fn execute(&self, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result {
        let mut knowledge = knowledge_on(basis, streams)?;
        let workshop = self.case.shop(basis.shop, &self.shop, &mut knowledge)?;
        let case = self.case.case(&knowledge, &workshop)?;
        let model = case.model()?;
        let standing = case.standing(&model, order(self.by))?;
        let by = self.by.map(|by| order(Some(by)));
        let ask = |file| job::prompt(&knowledge, file, by, streams.clock.now());
        let prompt = self.case.job.as_deref().map(ask).transpose()?;
        if !self.json {
            let mut page = streams.page();
            if let Some(Ask::Closed { cured, .. }) = prompt.as_ref().map(|prompt| &prompt.ask) {
                page.text(Tone::Strong, 0, "The job is closed as fixed.")?;
                page.say(cured)?;
                return Ok(DONE);
            }
            terminal::overlay(&mut page, &knowledge, case.family)?;
            terminal::workshop(&mut page, &workshop)?;
            terminal::next(&mut page, &standing)?;
            return Ok(DONE);
        }
        let overlay = knowledge.overlay_of(case.family);
        streams.json(&answer(&standing, overlay, prompt.as_ref()))?;
        Ok(DONE)
    }
}

/// The answer for other programs: docs/method.md, section 13.
fn answer(
    standing: &Standing<'_, '_>,
    overlay: Option<&LaidOver>,
    prompt: Option<&Prompt>,
) -> Value {
    let model = standing.model;
    let family = model.family;
    let outlook = Outlook::of(standing);
    let measurement = |id| &family.measurement(id).name;
    let readings = standing.evidence.iter().map(|reading| {
        let outcomes = family.measurement(reading.measurement).outcomes.iter();
        let weights = outcomes.zip(&reading.weights);
        // By outcome, in the measurement's order.
        let weights = weights.map(|(outcome, weight)| (outcome.name.clone(), json!(weight)));
        json!({
            "measurement": measurement(reading.measurement),
            "weights": weights.collect::<Map<_, _>>(),
        })
    });
    let unusable = standing.unusable().into_iter();
    let unusable = unusable.map(|(id, why)| json!({"id": measurement(id), "why": why.to_string()}));
    let advice = standing.advise(&[], false);
    let again = match &advice {
        Advice::TakeAgain(again) => Some(again.measurement),
        _ => standing.misfit().map(|misfit| misfit.measurement),
    };
    let again = again.filter(|id| standing.may_be_read_again(*id));
    let mut answer = json!({
        "family": family.name,
        "overlay": overlay,
        "vehicle": model.vehicle.map(|vehicle| &vehicle.name),
        "invented": model.vehicle.map(|vehicle| vehicle.invented),
        "symptoms": outlook.present,
        "absent": outlook.absent,
        "readings": readings.collect::<Vec<_>>(),
        "candidates": outlook.candidates,
        "unlisted": outlook.unlisted,
        "in_play": outlook.in_play,
        "causes": outlook.causes,
        "measurements": outlook.offers,
        "unusable": unusable.collect::<Vec<_>>(),
        "repair_now": outlook.repair_now,
        "fits_badly": outlook.fits_badly,
        "take_again": again.map(measurement),
        "on_the_way": outlook.on_the_way,
    });
    if let Advice::Measure {
        recorded: Some(drive),
        ..
    } = advice
    {
        let entered = drive.taking.way.order.iter();
        let entered = entered.map(|place| &family.set_ups[*place].name);
        answer["recorded_drive"] = json!({
            "measurements": family.names_of(&drive.answers),
            "minutes": drive.taking.minutes,
            "set_ups": entered.collect::<Vec<_>>(),
        });
    }
    if let Some(prompt) = prompt {
        answer["prompt"] = json!(prompt);
    }
    answer
}
