//! `practice`: a vehicle with a hidden fault.

use std::path::{Path, PathBuf};

use clap::Args;

use super::args::{self, FamilyArgument};
use super::basis::{Basis, source};
use super::{DONE, Error, Result, Streams};
use crate::files::{self, Readers, Staged};
use crate::knowledge::{Exercise, Family, Knowledge};
use crate::load::{Source, load};
use crate::practice::{
    Class, Debrief, Hidden, Practice as Played, SEALED, exercise_called, opening, sealed, unsealed,
};
use crate::record::{Record, State};
use crate::terminal::Trainee;
use crate::text::{Paper, Tone, in_shell, printed};

/// The largest file of a sealed exercise, in bytes.
const LARGEST_SEALED: u64 = 2_000_000;

/// Practise on a vehicle with a hidden fault.
///
/// Without anything the exercises are listed; with a complaint alone a vehicle is drawn.
#[derive(Debug, Args)]
pub(super) struct Practice {
    /// The complaint of the vehicle that is drawn
    #[arg(value_name = "SYMPTOM")]
    symptom: Option<String>,
    #[command(flatten)]
    family: FamilyArgument,
    /// Practise this exercise, or the one in this sealed file
    #[arg(long, value_name = "NAME", conflicts_with_all = ["symptom", "draw"])]
    exercise: Option<String>,
    /// Draw the vehicle that belongs to this number, the same on every machine
    #[arg(long, value_name = "SEED")]
    draw: Option<u64>,
    /// The vehicle whose sheet gives the limits of a drawn one: the family's first, if none is named
    #[arg(long, value_name = "VEHICLE")]
    vehicle: Option<String>,
    /// Who practises
    #[arg(long, value_name = "WHO")]
    name: Option<String>,
    /// Give no help
    #[arg(long)]
    no_help: bool,
    /// Keep the record in this new file
    #[arg(long, value_name = "FILE")]
    record: Option<PathBuf>,
    /// Go on with the exercise of this record
    #[arg(long, value_name = "FILE", conflicts_with_all = ["symptom", "draw", "vehicle", "name", "record"])]
    job: Option<PathBuf>,
    /// Show the debrief of this record
    #[arg(long, value_name = "FILE", conflicts_with_all = ["symptom", "draw", "job", "record"])]
    debrief: Option<PathBuf>,
    /// Show how a class fared, from its records
    #[arg(long, value_name = "RECORD", num_args = 1.., conflicts_with_all = ["symptom", "draw", "job", "record", "debrief"])]
    class: Vec<PathBuf>,
    /// Also write the debrief or the class to this file as a page to print, which is replaced where there is one
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
    /// Write the exercise to this new file in a form that does not show the fault
    #[arg(long, value_name = "FILE", requires = "exercise", conflicts_with_all = ["job", "debrief", "class"])]
    seal: Option<PathBuf>,
    /// Write the debrief or the class as JSON
    #[arg(long)]
    json: bool,
}

impl Practice {
    pub(super) fn execute(&self, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result {
        let files = source(basis.folder)?;
        if let Some(file) = &self.seal {
            return self.seal(&files, file);
        }
        let (source, sealed) = self.with_sealed(files)?;
        let knowledge = load(&source)?.knowledge;
        if !self.class.is_empty() {
            return self.class(&knowledge, sealed.as_deref(), streams);
        }
        if let Some(file) = &self.debrief {
            let history = Record::read(file)?.history;
            let practice = of(&knowledge, history.state(), file, sealed.as_deref())?;
            let debrief = Debrief::of(&practice, &history)?;
            return self.show(&debrief.paper(), &debrief.title, &debrief, streams);
        }
        let (practice, record) = if let Some(path) = &self.job {
            let (record, _) = Record::open(path, streams.clock.clone())?;
            let practice = of(&knowledge, record.state(), path, sealed.as_deref())?;
            if self.no_help {
                (practice.without_help(), record)
            } else {
                (practice, record)
            }
        } else {
            let family = self.family.of(&knowledge)?;
            let named = sealed.as_deref().or(self.exercise.as_deref());
            let Some(exercise) = self.chosen(&knowledge, family, named, streams)? else {
                list(family, streams)?;
                return Ok(DONE);
            };
            let record = self.opened(&knowledge, family, &exercise, streams)?;
            let path = record.path().to_owned();
            (of(&knowledge, record.state(), &path, named)?, record)
        };
        let mut trainee = Trainee::new(practice, record, streams);
        trainee.opening()?;
        let (practice, record, over) = trainee.run()?;
        if over {
            let debrief = Debrief::of(&practice, record.history())?;
            return self.show(&debrief.paper(), &debrief.title, &debrief, streams);
        }
        let path = in_shell(&record.path().display().to_string());
        let options = basis.options();
        let text = format!("Saved. Go on with: halfsplit practice{options} --job {path}");
        streams.page().text(Tone::Plain, 0, &text)?;
        Ok(DONE)
    }

    /// The exercise to practise; none where the exercises are to be listed.
    fn chosen(
        &self,
        knowledge: &Knowledge,
        family: &Family,
        named: Option<&str>,
        streams: &Streams<'_>,
    ) -> Result<Option<Exercise>> {
        if let Some(name) = named {
            return exercise(family, name).cloned().map(Some);
        }
        if self.symptom.is_none() && self.draw.is_none() {
            return Ok(None);
        }
        let symptom = self.symptom.as_deref();
        let symptom = symptom
            .map(|name| args::symptom(family, name))
            .transpose()?;
        let now = streams.clock.now().as_millisecond();
        let seed = self.draw.unwrap_or_else(|| now.unsigned_abs() % 100_000);
        let vehicle = args::vehicle(knowledge, family, self.vehicle.as_deref())?;
        let mut own = knowledge.vehicles.iter();
        let vehicle = vehicle.or_else(|| own.find(|vehicle| vehicle.family == family.name));
        Ok(Some(Hidden::drawn(family, vehicle, symptom, seed)?))
    }

    /// Opens the record of an exercise.
    fn opened(
        &self,
        knowledge: &Knowledge,
        family: &Family,
        exercise: &Exercise,
        streams: &Streams<'_>,
    ) -> Result<Record> {
        let trainee = self.name.clone();
        let (opened, events) = opening(knowledge, family, exercise, trainee, self.no_help);
        let clock = streams.clock.clone();
        let mut record = match &self.record {
            Some(path) => Record::create(path, opened, clock)?,
            None => Record::create_in(Path::new("."), &opened, &clock, Readers::Owner)?,
        };
        for event in events {
            record.append(event)?;
        }
        Ok(record)
    }

    /// The source with the exercise of a sealed file in it, and the exercise's name.
    fn with_sealed(&self, source: Source) -> Result<(Source, Option<String>)> {
        let path = self.exercise.as_deref().map(Path::new);
        let Some(path) = path.filter(|path| path.is_file()) else {
            return Ok((source, None));
        };
        let family = self.family.family.as_deref();
        let (source, name) = with_sealed(source, path, family)?;
        Ok((source, Some(name)))
    }

    fn seal(&self, source: &Source, file: &Path) -> Result {
        let knowledge = load(source)?.knowledge;
        let family = self.family.of(&knowledge)?;
        let name = self.exercise.as_deref().unwrap_or_default();
        let exercise = exercise(family, name)?;
        let path = format!("{}/exercises/{}.yaml", family.name, exercise.name);
        let mut files = source.files();
        let text = files.find_map(|(of, text)| (of == path).then_some(text));
        let text = text.ok_or_else(|| Error::Usage(format!("{path} is not there")))?;
        let written = files::create(file, &sealed(text));
        written.map_err(|error| Error::unwritten(file, &error))?;
        Ok(DONE)
    }

    fn class(
        &self,
        knowledge: &Knowledge,
        sealed: Option<&str>,
        streams: &mut Streams<'_>,
    ) -> Result {
        let mut class = Class::default();
        for file in &self.class {
            let history = Record::read(file)?.history;
            let practice = of(knowledge, history.state(), file, sealed)?;
            class.0.push(Debrief::of(&practice, &history)?);
        }
        self.show(&class.paper(), "The class", &class, streams)
    }

    /// Shows a report, as JSON where that is asked for, and writes it as a page.
    fn show(
        &self,
        paper: &Paper,
        title: &str,
        json: &impl serde::Serialize,
        streams: &mut Streams<'_>,
    ) -> Result {
        if let Some(file) = &self.html {
            Staged::new(file, &printed(title, paper), Readers::Owner)
                .and_then(Staged::replace)
                .map_err(|error| Error::unwritten(file, &error))?;
        }
        if self.json {
            streams.json(json)?;
        } else {
            paper.show(&mut streams.page())?;
        }
        Ok(DONE)
    }
}

/// The exercise of a name, or of a number in front of it.
fn exercise<'k>(family: &'k Family, name: &str) -> Result<&'k Exercise> {
    let names = family.exercises.iter().map(|of| of.name.as_str());
    exercise_called(family, name).ok_or_else(|| args::unknown("exercise", name, names))
}

/// The exercise that a record is of.
fn of<'k>(
    knowledge: &'k Knowledge,
    state: &State,
    file: &Path,
    sealed: Option<&str>,
) -> Result<Played<'k>> {
    let practice = Played::of_record(knowledge, state, sealed);
    practice.map_err(|error| Error::of_file(file, error))
}

/// The exercises, without their faults.
fn list(family: &Family, streams: &mut Streams<'_>) -> Result<()> {
    let mut page = streams.page();
    if family.exercises.is_empty() {
        page.say("There is no exercise here; name a complaint, and a vehicle is drawn.")?;
        return Ok(());
    }
    for exercise in &family.exercises {
        let level = exercise.level.word();
        page.entry(&format!("{:28} {level:6} ", exercise.name), &exercise.title)?;
    }
    page.say(
        "`halfsplit practice --exercise NAME` begins one; a complaint alone draws a vehicle.",
    )?;
    Ok(())
}

/// A source with the exercise of a sealed file in it, in a family or else in the first, and the exercise's name.
pub(super) fn with_sealed(
    source: Source,
    path: &Path,
    family: Option<&str>,
) -> Result<(Source, String)> {
    let refused = |why: String| Error::of_file(path, why);
    let text =
        files::read_text(path, LARGEST_SEALED).map_err(|error| refused(error.to_string()))?;
    let text = unsealed(&text).ok_or_else(|| refused("this is no sealed exercise".to_owned()))?;
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let name = format!("{SEALED}{stem}");
    let first = source.files().find_map(|(path, _)| {
        let (family, file) = path.split_once('/')?;
        (file == "family.yaml").then(|| family.to_owned())
    });
    let family = family.map(ToOwned::to_owned).or(first).unwrap_or_default();
    let path = format!("{family}/exercises/{name}.yaml");
    Ok((source.with_text(&path, &text), name))
}
