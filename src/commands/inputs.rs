//! What the commands share: the knowledge, and a case as given by arguments or a job record.

use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::{Value, json};

use super::{Error, Streams};
use crate::decide::OrderBy;
use crate::decide::{Circumstances, Standing};
use crate::infer::{Answer, Complaint, Evidence, Model, understand};
use crate::knowledge::{
    Family, Knowledge, LaidOver, MeasurementId, OVERLAY, SetUpId, SymptomId, Vehicle,
};
use crate::learn::{Overlay, OverlayError, apply};
use crate::load;
use crate::load::Source;
use crate::record::fingerprint;
use crate::terminal;
use crate::text::clean;
use crate::text::nearest;

/// The knowledge of a folder, or the one in the program; its warnings go to the errors.
pub(super) fn knowledge(
    folder: Option<&Path>,
    streams: &mut Streams<'_>,
) -> Result<Knowledge, Error> {
    let source = match folder {
        Some(folder) => Source::folder(folder).map_err(|error| Error::Files(error.to_string()))?,
        None => Source::embedded(),
    };
    let loaded = load::load(&source).map_err(Error::Findings)?;
    // The shipped knowledge is checked by the tests; a folder's warnings are for its maintainer.
    if folder.is_some() && !loaded.warnings.0.is_empty() {
        writeln!(
            streams.err,
            "halfsplit: the knowledge has {} warnings: `halfsplit check` lists them",
            loaded.warnings.0.len()
        )?;
    }
    Ok(loaded.knowledge)
}

/// What the figures come from.
#[derive(Clone, Copy, Debug)]
pub(super) struct Basis<'a> {
    /// The knowledge folder; `None` for the knowledge in the program.
    pub(super) folder: Option<&'a Path>,
    /// The file of learned figures that is laid over it.
    pub(super) overlay: Option<&'a Path>,
}

/// The knowledge with the learned figures laid over it, where there are any.
pub(super) fn knowledge_on(
    basis: &Basis<'_>,
    streams: &mut Streams<'_>,
) -> Result<Knowledge, Error> {
    let mut knowledge = knowledge(basis.folder, streams)?;
    let Some(path) = basis.overlay else {
        return Ok(knowledge);
    };
    let unusable = |error: OverlayError| Error::Files(error.to_string());
    let text = Overlay::text(path).map_err(unusable)?;
    let overlay = Overlay::read_text(&text, path).map_err(unusable)?;
    let families = &mut knowledge.families;
    let place = families
        .iter()
        .position(|family| family.name == overlay.family)
        .unwrap_or(0);
    let Some(family) = families.get_mut(place) else {
        return Err(Error::Files("the knowledge has no family".to_owned()));
    };
    if let Err(misfits) = apply(family, &overlay) {
        for misfit in &misfits {
            writeln!(streams.err, "{}", clean(&misfit.in_file(path)))?;
        }
        return Err(Error::Files(format!(
            "{} does not fit the knowledge, so none of it is used",
            path.display()
        )));
    }
    let print = fingerprint(text.as_bytes());
    knowledge
        .fingerprints
        .insert(OVERLAY.to_owned(), print.clone());
    knowledge.overlay = Some(LaidOver {
        file: path.display().to_string(),
        fingerprint: print,
        family: overlay.family,
        jobs: overlay.jobs,
        dates: overlay.dates.map(|dates| dates.map(|day| day.to_string())),
    });
    Ok(knowledge)
}

/// The learned figures that a family is used with, as other programs read it; `null` where there are none.
pub(super) fn overlay_json(knowledge: &Knowledge, family: &Family) -> Value {
    knowledge.overlay_of(family).map_or(Value::Null, |overlay| {
        json!({
            "file": overlay.file,
            "fingerprint": overlay.fingerprint,
            "jobs": overlay.jobs,
            "dates": overlay.dates,
        })
    })
}

/// Says beside a drawing that learned figures are in use, where they are.
pub(super) fn tell_overlay(
    knowledge: &Knowledge,
    family: &Family,
    streams: &mut Streams<'_>,
) -> Result<(), Error> {
    if let Some(words) = terminal::overlay_words(knowledge, family) {
        writeln!(streams.err, "halfsplit: {}", clean(&words))?;
    }
    Ok(())
}

/// A case as given by arguments.
#[derive(Debug, Default, Args)]
pub(super) struct CaseArguments {
    /// The symptoms reported
    #[arg(value_name = "SYMPTOM")]
    pub(super) symptoms: Vec<String>,
    /// The family of the transmission, where the knowledge has several
    #[arg(long, value_name = "FAMILY")]
    pub(super) family: Option<String>,
    /// The vehicle whose sheet gives the limits
    #[arg(long, value_name = "VEHICLE")]
    pub(super) vehicle: Option<String>,
    /// A symptom confirmed absent
    #[arg(long, value_name = "SYMPTOM")]
    pub(super) absent: Vec<String>,
    /// A reading: an outcome, or a number with its unit; `~U` gives it a standard uncertainty
    #[arg(long = "reading", value_name = "ID=VALUE")]
    pub(super) readings: Vec<String>,
    /// A set-up in place beside those of a vehicle that just came in
    #[arg(long, value_name = "SET_UP")]
    pub(super) in_place: Vec<String>,
    /// Take the case from this job record
    #[arg(long, value_name = "FILE", conflicts_with_all = ["symptoms", "family", "vehicle", "absent"])]
    pub(super) job: Option<PathBuf>,
}

/// A case, its names understood.
pub(super) struct Case<'k> {
    pub(super) family: &'k Family,
    pub(super) vehicle: Option<&'k Vehicle>,
    pub(super) complaint: Complaint,
    pub(super) evidence: Vec<Evidence>,
    pub(super) circumstances: Circumstances,
}

/// The family of a name; without one the only family there is.
pub(super) fn family<'k>(
    knowledge: &'k Knowledge,
    name: Option<&str>,
) -> Result<&'k Family, Error> {
    let names = || knowledge.families.iter().map(|family| family.name.as_str());
    match (name, knowledge.families.as_slice()) {
        (Some(name), _) => knowledge
            .family(name)
            .ok_or_else(|| unknown("family", name, names())),
        (None, [only]) => Ok(only),
        (None, _) => Err(Error::Usage(format!(
            "the knowledge has several families: name one with --family ({})",
            names().collect::<Vec<_>>().join(", ")
        ))),
    }
}

/// The vehicle of a name, which must be of the family.
pub(super) fn vehicle<'k>(
    knowledge: &'k Knowledge,
    family: &Family,
    name: Option<&str>,
) -> Result<Option<&'k Vehicle>, Error> {
    let Some(name) = name else {
        return Ok(None);
    };
    let of_family = || {
        knowledge
            .vehicles
            .iter()
            .filter(|vehicle| vehicle.family == family.name)
    };
    of_family()
        .find(|vehicle| vehicle.name == name)
        .map(Some)
        .ok_or_else(|| {
            unknown(
                "vehicle",
                name,
                of_family().map(|vehicle| vehicle.name.as_str()),
            )
        })
}

/// The symptom of a name.
pub(super) fn symptom(family: &Family, name: &str) -> Result<SymptomId, Error> {
    family.symptom_named(name).ok_or_else(|| {
        unknown(
            "symptom",
            name,
            family.symptoms.iter().map(|symptom| symptom.name.as_str()),
        )
    })
}

/// The symptoms reported and those confirmed absent, by their names; none can be both.
pub(super) fn symptoms(
    family: &Family,
    present: &[String],
    absent: &[String],
) -> Result<(Vec<SymptomId>, Vec<SymptomId>), Error> {
    let ids = |names: &[String]| -> Result<Vec<SymptomId>, Error> {
        let mut ids = names
            .iter()
            .map(|name| symptom(family, name))
            .collect::<Result<Vec<_>, _>>()?;
        ids.sort_unstable();
        ids.dedup();
        Ok(ids)
    };
    let (present, absent) = (ids(present)?, ids(absent)?);
    match present.iter().find(|symptom| absent.contains(symptom)) {
        Some(both) => {
            let name = &family.symptom(*both).name;
            Err(Error::Usage(format!(
                "`{name}` cannot be both reported and absent"
            )))
        }
        None => Ok((present, absent)),
    }
}

/// The measurement of a name.
pub(super) fn measurement(family: &Family, name: &str) -> Result<MeasurementId, Error> {
    family.measurement_named(name).ok_or_else(|| {
        unknown(
            "measurement",
            name,
            family
                .measurements
                .iter()
                .map(|measurement| measurement.name.as_str()),
        )
    })
}

/// The set-up of a name.
fn set_up(family: &Family, name: &str) -> Result<SetUpId, Error> {
    family.set_up_named(name).ok_or_else(|| {
        unknown(
            "set-up",
            name,
            family.set_ups.iter().map(|set_up| set_up.name.as_str()),
        )
    })
}

/// Nothing has this name.
pub(super) fn unknown<'n>(
    kind: &str,
    name: &str,
    known: impl Iterator<Item = &'n str> + Clone,
) -> Error {
    Error::Usage(if let Some(nearest) = nearest(name, known.clone()) {
        format!("there is no {kind} `{name}`: did you mean `{nearest}`?")
    } else {
        let known: Vec<&str> = known.take(12).collect();
        format!(
            "there is no {kind} `{name}`; there are: {}",
            known.join(", ")
        )
    })
}

impl<'k> Case<'k> {
    /// What the complaint implies before any reading.
    pub(super) fn model(&self) -> Result<Model<'k>, Error> {
        Model::new(self.family, self.vehicle, self.complaint.clone())
            .map_err(|error| Error::Usage(error.to_string()))
    }

    /// Where the case stands after its readings.
    pub(super) fn standing<'m>(
        &self,
        model: &'m Model<'k>,
        by: OrderBy,
    ) -> Result<Standing<'m, 'k>, Error> {
        Standing::new(model, self.evidence.clone(), &self.circumstances, by)
            .map_err(|error| Error::Usage(error.to_string()))
    }
}

impl CaseArguments {
    /// The case the arguments describe.
    pub(super) fn case<'k>(&self, knowledge: &'k Knowledge) -> Result<Case<'k>, Error> {
        let mut case = match &self.job {
            Some(file) => super::job::case(knowledge, file)?,
            None => self.given(knowledge)?,
        };
        for reading in &self.readings {
            let evidence = evidence(&case, reading)?;
            case.circumstances.left_out.push(evidence.measurement);
            case.evidence.push(evidence);
        }
        for name in &self.in_place {
            let entered = set_up(case.family, name)?;
            case.circumstances.enter(case.family, entered);
        }
        Ok(case)
    }

    fn given<'k>(&self, knowledge: &'k Knowledge) -> Result<Case<'k>, Error> {
        let family = family(knowledge, self.family.as_deref())?;
        let (present, absent) = symptoms(family, &self.symptoms, &self.absent)?;
        let complaint = Complaint {
            present,
            absent,
            repaired: Vec::new(),
        };
        if complaint.present.is_empty() {
            let names: Vec<&str> = family
                .symptoms
                .iter()
                .map(|symptom| symptom.name.as_str())
                .collect();
            return Err(Error::Usage(format!(
                "name a symptom: {}",
                names.join(", ")
            )));
        }
        Ok(Case {
            family,
            vehicle: vehicle(knowledge, family, self.vehicle.as_deref())?,
            complaint,
            evidence: Vec::new(),
            circumstances: Circumstances::on_arrival(family),
        })
    }
}

/// The evidence of `ID=VALUE`.
fn evidence(case: &Case<'_>, reading: &str) -> Result<Evidence, Error> {
    let Some((name, value)) = reading.split_once('=') else {
        return Err(Error::Usage(format!(
            "`{reading}` is no reading: write ID=VALUE"
        )));
    };
    let id = measurement(case.family, name.trim())?;
    match understand(case.family, case.vehicle, id, value.trim(), None) {
        Answer::Taken(taken) => Ok(taken.evidence),
        Answer::Question { words, .. } | Answer::Refused(words) => {
            Err(Error::Usage(format!("--reading {name}: {words}")))
        }
    }
}
