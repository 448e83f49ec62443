//! `show`: one thing of the knowledge in full.

use clap::Args;

use super::inputs;
use super::inputs::Basis;
use super::{DONE, Error, Streams};
use crate::knowledge::Family;
use crate::terminal;
use crate::text::Page;

/// Show a cause, a measurement, a repair or a symptom's tree in full.
#[derive(Debug, Args)]
pub(super) struct Show {
    /// The id of a cause, a measurement, a repair, a symptom, a set-up or a vehicle; without one, what there is
    #[arg(value_name = "ID")]
    name: Option<String>,
    /// The family of the transmission, where the knowledge has several
    #[arg(long, value_name = "FAMILY")]
    family: Option<String>,
}

impl Show {
    pub(super) fn execute(
        &self,
        basis: &Basis<'_>,
        streams: &mut Streams<'_>,
    ) -> Result<u8, Error> {
        let knowledge = inputs::knowledge_on(basis, streams)?;
        let family = inputs::family(&knowledge, self.family.as_deref())?;
        let mut page = Page::new(streams.out, streams.width);
        terminal::overlay(&mut page, &knowledge, family)?;
        let Some(name) = &self.name else {
            terminal::show_all(&mut page, &knowledge, family)?;
            return Ok(DONE);
        };
        if let Some(symptom) = family.symptom_named(name) {
            terminal::show_symptom(&mut page, family, symptom)?;
        } else if let Some(measurement) = family.measurement_named(name) {
            terminal::show_measurement(&mut page, family, measurement)?;
        } else if let Some(cause) = family.cause_named(name) {
            terminal::show_cause(&mut page, family, cause)?;
        } else if let Some(repair) = family.repair_named(name) {
            terminal::show_repair(&mut page, family, repair)?;
        } else if let Some(set_up) = family.set_up_named(name) {
            terminal::show_set_up(&mut page, family, set_up)?;
        } else if let Some(vehicle) = knowledge.vehicle(name) {
            terminal::show_vehicle(&mut page, vehicle)?;
        } else {
            return Err(inputs::unknown("thing", name, names(family)));
        }
        Ok(DONE)
    }
}

/// Every name of the family.
fn names(family: &Family) -> impl Iterator<Item = &str> + Clone {
    let symptoms = family.symptoms.iter().map(|symptom| symptom.name.as_str());
    let causes = family.causes.iter().map(|cause| cause.name.as_str());
    let measurements = family
        .measurements
        .iter()
        .map(|measurement| measurement.name.as_str());
    let repairs = family.repairs.iter().map(|repair| repair.name.as_str());
    let set_ups = family.set_ups.iter().map(|set_up| set_up.name.as_str());
    symptoms
        .chain(measurements)
        .chain(causes)
        .chain(repairs)
        .chain(set_ups)
}
