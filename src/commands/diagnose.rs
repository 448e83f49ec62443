//! `diagnose`: the talk at the vehicle.

use std::path::PathBuf;

use clap::Args;

use super::args::{self, By, FamilyArgument, order};
use super::basis::{Basis, knowledge_on};
use super::job;
use super::shop::ShopArguments;
use super::{DONE, Result, Streams};
use crate::record::Record;
use crate::session::{Session, Sheet};
use crate::terminal;
use crate::terminal::{Opening, Visit};
use crate::text::clean;
use crate::units::System;

/// Find out what is wrong with a vehicle, measurement by measurement.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  halfsplit diagnose
  halfsplit diagnose slipping --vehicle demo-estate --order 4711
  halfsplit diagnose --job 2026-11-25.job.jsonl")]
pub(super) struct Diagnose {
    /// The symptoms reported; without one the customer's words are asked for
    #[arg(value_name = "SYMPTOM")]
    symptoms: Vec<String>,
    #[command(flatten)]
    family: FamilyArgument,
    /// The vehicle whose sheet gives the limits; `none` for one without
    #[arg(long, value_name = "VEHICLE")]
    vehicle: Option<String>,
    /// A symptom confirmed absent
    #[arg(long, value_name = "SYMPTOM")]
    absent: Vec<String>,
    /// The shop's own words for the job: an order number, a plate
    #[arg(long = "order", alias = "ticket", value_name = "WORDS")]
    order: Option<String>,
    /// Go on with the job of this record
    #[arg(long, value_name = "FILE", conflicts_with_all = ["symptoms", "family", "vehicle", "absent", "order", "record", "without"])]
    job: Option<PathBuf>,
    /// Keep the record in this new file, instead of one named after today in this folder
    #[arg(long, value_name = "FILE")]
    record: Option<PathBuf>,
    /// Propose in this order, instead of by the plan
    #[arg(long, value_enum, value_name = "ORDER")]
    by: Option<By>,
    #[command(flatten)]
    shop: ShopArguments,
    /// Show numbers in these units, whatever the vehicle's sheet or the shop's profile says
    #[arg(long, value_enum, value_name = "SYSTEM")]
    units: Option<Units>,
}

/// The systems of units.
#[derive(Clone, Copy, Debug, clap::ValueEnum)]
enum Units {
    /// kPa, °C, N·m
    Metric,
    /// psi, °F, lbf·ft
    Us,
}

impl Diagnose {
    pub(super) fn execute(&self, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result {
        let mut knowledge = knowledge_on(basis, streams)?;
        let profile;
        let mut shown = String::new();
        let record = if let Some(path) = &self.job {
            let (record, torn) = Record::open(path, streams.clock.clone())?;
            job::real(record.state(), path)?;
            if let Some(torn) = &torn {
                writeln!(streams.err, "halfsplit: {}", clean(&torn.to_string()))?;
            }
            let kept = record.state().opened.shop.clone().unwrap_or_default();
            profile = self.shop.of(basis.shop, Some(kept), &mut knowledge)?;
            for difference in record.state().differs(&knowledge.fingerprints()) {
                writeln!(streams.err, "halfsplit: {}", clean(&difference.to_string()))?;
            }
            if let Some(family) = knowledge.family(&record.state().opened.family) {
                terminal::overlay(&mut streams.page(), &knowledge, family)?;
            }
            terminal::workshop(&mut streams.page(), &profile.workshop)?;
            record
        } else {
            profile = self.shop.of(basis.shop, None, &mut knowledge)?;
            let vehicle = self.vehicle.as_deref().filter(|name| *name != "none");
            let family = self.family.told(&knowledge, vehicle, &self.symptoms)?;
            let sheet = match self.vehicle.as_deref() {
                None => None,
                Some("none") => Some(Sheet::Missing),
                Some(name) => args::vehicle(&knowledge, family, Some(name))?.map(Sheet::Of),
            };
            let (present, absent) = args::symptoms(family, &self.symptoms, &self.absent)?;
            let opening = Opening {
                family,
                sheet,
                present,
                absent,
                order: self.order.clone(),
                record: self.record.clone(),
                shop: &profile,
            };
            match terminal::open(&knowledge, opening, streams)? {
                Some((record, opening)) => {
                    shown = opening;
                    record
                }
                None => return Ok(DONE),
            }
        };
        let system = self.units.map(|units| match units {
            Units::Metric => System::Metric,
            Units::Us => System::Us,
        });
        let system = system.or(profile.units);
        let by = self.by.map(|by| order(Some(by)));
        let session = Session::new(&knowledge, record.state(), by, system)?;
        let mut visit = Visit::new(session, record, basis.options(), streams);
        if self.job.is_some() {
            visit.taken_up()?;
        } else {
            visit.opened(shown);
        }
        visit.run()?;
        Ok(DONE)
    }
}
