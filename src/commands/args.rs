//! Arguments that several commands take, and the names in them looked up in the knowledge.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::case::Case;
use super::job;
use super::shop::ShopArguments;
use super::{Error, Result};
use crate::decide::{Circumstances, OrderBy};
use crate::infer::{Complaint, Evidence, Typing, understand};
use crate::knowledge::{Family, Knowledge, SymptomId, Vehicle, Workshop};
use crate::text;
use crate::units::System;

// No doc comments on the two structs: clap would take them for the text of the command.
#[derive(Debug, Default, Args)]
pub(super) struct FamilyArgument {
    /// The family of the transmission, where the knowledge has several
    #[arg(long, value_name = "FAMILY")]
    pub(super) family: Option<String>,
}

impl FamilyArgument {
    pub(super) fn of<'k>(&self, knowledge: &'k Knowledge) -> Result<&'k Family> {
        self.told(knowledge, None, &[])
    }

    /// The family named; else the only one, or the only one with that vehicle and all these symptoms.
    pub(super) fn told<'k>(
        &self,
        knowledge: &'k Knowledge,
        vehicle: Option<&str>,
        symptoms: &[String],
    ) -> Result<&'k Family> {
        let families = || knowledge.families.iter();
        let name = |family: &'k Family| family.name.as_str();
        if let Some(named) = self.family.as_deref() {
            let family = (knowledge.family(named))
                .ok_or_else(|| unknown("family", named, families().map(name)))?;
            return finished(family);
        }
        if let [only] = knowledge.families.as_slice() {
            return finished(only);
        }
        let has = |family: &&Family| {
            let is_it =
                |on: &Vehicle| Some(on.name.as_str()) == vehicle && on.family == family.name;
            (vehicle.is_none() || knowledge.vehicles.iter().any(is_it))
                && symptoms
                    .iter()
                    .all(|symptom| family.symptom_known_as(symptom).is_some())
        };
        let finished = knowledge.finished_families();
        match finished.filter(has).collect::<Vec<_>>().as_slice() {
            [only] => Ok(only),
            _ => Err(Error::Usage(format!(
                "the knowledge has several families: name one with --family ({})",
                families().map(name).collect::<Vec<_>>().join(", ")
            ))),
        }
    }
}

#[derive(Debug, Default, Args)]
pub(super) struct CaseArguments {
    /// The symptoms reported
    #[arg(value_name = "SYMPTOM")]
    pub(super) symptoms: Vec<String>,
    #[command(flatten)]
    pub(super) family: FamilyArgument,
    /// The vehicle whose spec sheet gives the limits
    #[arg(long, value_name = "VEHICLE")]
    pub(super) vehicle: Option<String>,
    /// A symptom confirmed absent
    #[arg(long, value_name = "SYMPTOM")]
    pub(super) absent: Vec<String>,
    /// A reading: an outcome, or a number with its unit; `~U` adds its standard uncertainty
    #[arg(long = "reading", value_name = "ID=VALUE")]
    pub(super) readings: Vec<String>,
    /// A set-up already in place, besides those of a vehicle that has just come in
    #[arg(long, value_name = "SET_UP")]
    pub(super) in_place: Vec<String>,
    /// What is read before anything else, in this order, instead of what the complaints say; `none` for nothing
    #[arg(long, value_name = "ID", value_delimiter = ',')]
    pub(super) first: Option<Vec<String>>,
    /// Take the case from this job record
    #[arg(long, value_name = "FILE", conflicts_with_all = ["symptoms", "family", "vehicle", "absent"])]
    pub(super) job: Option<PathBuf>,
}

/// The orders of the measurements beside the advice's own.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(super) enum By {
    /// Minutes, set-ups included
    Minutes,
    /// Expected saving compared with repairing now, one step ahead
    #[value(hide = true)]
    Saves,
}

/// The order that `--by` asks for.
pub(super) fn order(by: Option<By>) -> OrderBy {
    match by {
        None | Some(By::Saves) => OrderBy::Saves,
        Some(By::Minutes) => OrderBy::Minutes,
    }
}

/// A family that is filled in.
fn finished(family: &Family) -> Result<&Family> {
    if family.unfinished {
        let name = &family.name;
        return Err(Error::Usage(format!(
            "the family {name} is unfinished: fill it in, and delete `unfinished: true` in {name}/family.yaml"
        )));
    }
    Ok(family)
}

/// The vehicle of a name, which must be of the family.
pub(super) fn vehicle<'k>(
    knowledge: &'k Knowledge,
    family: &Family,
    name: Option<&str>,
) -> Result<Option<&'k Vehicle>> {
    let vehicles = knowledge.vehicles.iter();
    let of_family = vehicles.filter(|vehicle| vehicle.family == family.name);
    let find = |name: &str| {
        let found = of_family.clone().find(|vehicle| vehicle.name == name);
        let names = of_family.clone().map(|vehicle| vehicle.name.as_str());
        found.ok_or_else(|| unknown("vehicle", name, names))
    };
    name.map(find).transpose()
}

/// The symptom of a name.
pub(super) fn symptom(family: &Family, name: &str) -> Result<SymptomId> {
    family.find(name).map_err(Error::Usage)
}

/// The symptoms reported and those confirmed absent, by their names; none can be both.
pub(super) fn symptoms(
    family: &Family,
    present: &[String],
    absent: &[String],
) -> Result<(Vec<SymptomId>, Vec<SymptomId>)> {
    let ids = |names: &[String]| -> Result<Vec<SymptomId>> {
        let ids = names.iter().map(|name| symptom(family, name));
        let mut ids: Vec<SymptomId> = ids.collect::<Result<_>>()?;
        ids.sort_unstable();
        ids.dedup();
        Ok(ids)
    };
    let (present, absent) = (ids(present)?, ids(absent)?);
    match present.iter().find(|symptom| absent.contains(symptom)) {
        None => Ok((present, absent)),
        Some(both) => Err(Error::Usage(format!(
            "`{}` cannot be both reported and absent",
            family.symptom(*both).name
        ))),
    }
}

/// Nothing has this name.
pub(super) fn unknown<'n>(
    kind: &str,
    name: &str,
    known: impl Iterator<Item = &'n str> + Clone,
) -> Error {
    Error::Usage(text::unknown(kind, name, known))
}

impl CaseArguments {
    /// The shop that the case is in: see [`ShopArguments::of`].
    pub(super) fn shop(
        &self,
        file: Option<&Path>,
        arguments: &ShopArguments,
        knowledge: &mut Knowledge,
    ) -> Result<Workshop> {
        let job = self.job.as_deref().map(job::workshop).transpose()?;
        Ok(arguments.of(file, job, knowledge)?.workshop)
    }

    /// The case that the arguments describe, in a workshop.
    pub(super) fn case<'k>(
        &self,
        knowledge: &'k Knowledge,
        workshop: &Workshop,
    ) -> Result<Case<'k>> {
        let mut case = match &self.job {
            Some(file) => job::case(knowledge, file)?,
            None => self.given(knowledge)?,
        };
        case.circumstances.work_in(workshop, case.family);
        for reading in &self.readings {
            let evidence = evidence(&case, reading)?;
            case.circumstances.left_out.push(evidence.measurement);
            case.circumstances.read(case.family, &evidence);
            case.evidence.push(evidence);
        }
        for name in &self.in_place {
            let family = case.family;
            let entered = family.find(name).map_err(Error::Usage)?;
            case.circumstances.enter(family, entered);
        }
        if let Some(first) = &self.first {
            let names = first.iter().filter(|name| *name != "none");
            let ids = names.map(|name| case.family.find(name).map_err(Error::Usage));
            case.circumstances.first_looks = Some(ids.collect::<Result<_>>()?);
        }
        Ok(case)
    }

    fn given<'k>(&self, knowledge: &'k Knowledge) -> Result<Case<'k>> {
        let family = self
            .family
            .told(knowledge, self.vehicle.as_deref(), &self.symptoms)?;
        let (present, absent) = symptoms(family, &self.symptoms, &self.absent)?;
        if present.is_empty() {
            let names: Vec<&str> = family.symptoms.iter().map(|s| s.name.as_str()).collect();
            let names = names.join(", ");
            return Err(Error::Usage(format!("name a symptom: {names}")));
        }
        Ok(Case {
            family,
            vehicle: vehicle(knowledge, family, self.vehicle.as_deref())?,
            complaint: Complaint {
                present,
                absent,
                repaired: Vec::new(),
            },
            evidence: Vec::new(),
            circumstances: Circumstances::on_arrival(family),
        })
    }
}

/// The evidence of `ID=VALUE`.
fn evidence(case: &Case<'_>, reading: &str) -> Result<Evidence> {
    let (name, value) = reading
        .split_once('=')
        .ok_or_else(|| Error::Usage(format!("`{reading}` is not a reading: write ID=VALUE")))?;
    let family = case.family;
    let id = family.find(name.trim()).map_err(Error::Usage)?;
    let system = case.vehicle.map_or(System::Metric, |on| on.units);
    let typing = Typing {
        system: Some(system),
        ..Typing::default()
    };
    let taken = understand(family, case.vehicle, id, value.trim(), &typing).taken();
    let taken = taken.map_err(|words| Error::Usage(format!("--reading {name}: {words}")))?;
    Ok(taken.evidence)
}
