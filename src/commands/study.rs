//! `study`: how well the knowledge diagnoses drawn vehicles.

use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

use super::args::{self, FamilyArgument};
use super::basis;
use super::basis::Basis;
use super::paired::on_the_same_vehicles;
use super::progress::bar;
use super::{DONE, Error, Result, Streams};
use crate::files;
use crate::files::fingerprint;
use crate::knowledge::{Knowledge, SymptomId};
use crate::load;
use crate::load::Source;
use crate::simulate;
use crate::simulate::{
    Chance, Settings, Stress, Study as Found, Unworkable, Version, World, calibration_svg,
};
use crate::terminal;
use crate::text::{Paper, Tone};

/// Simulate how well the knowledge diagnoses: vehicles drawn from it, diagnosed as the program advises
///
/// For every fault that can cause a complaint, vehicles are drawn from a seed, with readings as the knowledge says
/// they give them and with their instruments' errors, and are taken to the end of the job. Without a complaint, all
/// complaints of the family are studied.
#[derive(Debug, Args)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is an option of the command line"
)]
pub(super) struct Study {
    /// The complaints to study, each on its own
    #[arg(value_name = "SYMPTOM")]
    symptoms: Vec<String>,
    #[command(flatten)]
    family: FamilyArgument,
    /// The vehicle whose sheet gives the limits: the family's first, if none is named
    #[arg(long, value_name = "VEHICLE")]
    vehicle: Option<String>,
    /// How many vehicles are drawn of each fault
    #[arg(long, value_name = "N", default_value_t = 10, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    vehicles: u32,
    /// Random seed
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Accepted and ignored: the plan is no longer searched for
    #[arg(long, value_name = "N", hide = true)]
    nodes: Option<u64>,
    /// Also simulate vehicles whose true rates, likelihoods or readings differ from the knowledge
    #[arg(long)]
    robustness: bool,
    /// Show every fault, not only those where most is missed
    #[arg(long)]
    every_fault: bool,
    /// Diagnose the same vehicles with the knowledge of this folder as well, and show the difference
    #[arg(long, value_name = "DIR", conflicts_with = "every_fault")]
    against: Option<PathBuf>,
    /// Write the whole study to this new file as Markdown, and its picture beside it, with the ending .svg
    #[arg(long, value_name = "FILE", conflicts_with = "against")]
    report: Option<PathBuf>,
    /// Write over an earlier report
    #[arg(long, requires = "report")]
    force: bool,
    /// Write the answer as JSON, at full precision
    #[arg(long)]
    json: bool,
}

/// What is studied.
struct Subject<'k> {
    version: Version<'k>,
    symptoms: Vec<SymptomId>,
    /// What is drawn, in words.
    drawn: String,
}

impl Study {
    pub(super) fn execute(&self, basis: &Basis<'_>, streams: &mut Streams<'_>) -> Result {
        let knowledge = basis::knowledge_on(basis, streams)?;
        let subject = self.subject(&knowledge)?;
        match &self.against {
            Some(other) => self.compare(&subject, &knowledge, other, streams)?,
            None => self.alone(&subject, &knowledge, streams)?,
        }
        Ok(DONE)
    }

    fn subject<'k>(&self, knowledge: &'k Knowledge) -> Result<Subject<'k>> {
        let family = (self.family).told(knowledge, self.vehicle.as_deref(), &self.symptoms)?;
        let named = args::vehicle(knowledge, family, self.vehicle.as_deref())?;
        let mut sheets = knowledge.vehicles.iter();
        let first = || sheets.find(|sheet| sheet.family == family.name);
        let sheet = named.or_else(first);
        let symptoms = if self.symptoms.is_empty() {
            (0..family.symptoms.len()).map(SymptomId::at).collect()
        } else {
            args::symptoms(family, &self.symptoms, &[])?.0
        };
        let of = match sheet {
            None => "no vehicle's sheet".to_owned(),
            Some(sheet) if sheet.invented => {
                let name = &sheet.name;
                format!("the sheet of {name} (invented for the demonstration)")
            }
            Some(sheet) => format!("the sheet of {}", sheet.name),
        };
        let Self { vehicles, seed, .. } = self;
        Ok(Subject {
            version: Version { family, sheet },
            symptoms,
            drawn: format!("{vehicles} vehicles of each fault, seed {seed}, {of}."),
        })
    }

    fn settings(&self) -> Settings {
        Settings {
            vehicles: self.vehicles,
            seed: self.seed,
        }
    }

    /// One version of the knowledge.
    fn alone(
        &self,
        subject: &Subject<'_>,
        knowledge: &Knowledge,
        streams: &mut Streams<'_>,
    ) -> Result<()> {
        let Version { family, sheet } = subject.version;
        // Before the study, so that nobody waits for nothing.
        for file in self
            .report
            .iter()
            .flat_map(|file| [file.clone(), picture(file)])
        {
            self.may_write(&file)?;
        }
        let found = self.study(subject, streams.interactive)?;
        if let Some(file) = &self.report {
            self.write_report(file, subject, knowledge, &found)?;
        }
        if self.json {
            return Ok(streams.json(&json!({
                "seed": self.seed,
                "vehicles": self.vehicles,
                "vehicle": sheet.map(|sheet| &sheet.name),
                "overlay": knowledge.overlay_of(family),
                "studies": found,
            }))?);
        }
        let mut paper = Paper::default();
        paper.text(subject.drawn.clone());
        for study in &found {
            simulate::study_report(&mut paper, family, study, self.every_fault);
        }
        let mut page = streams.page();
        terminal::overlay(&mut page, knowledge, family)?;
        page.text(Tone::Faint, 0, &family.worth)?;
        paper.show(&mut page)?;
        if let Some(file) = &self.report {
            page.gap()?;
            page.text(Tone::Strong, 0, &format!("Written to {}.", file.display()))?;
        }
        Ok(())
    }

    fn study(&self, subject: &Subject<'_>, interactive: bool) -> Result<Vec<Found>> {
        let settings = self.settings();
        let stresses: &[Stress] = if self.robustness { &Stress::ALL } else { &[] };
        let Version { family, sheet } = subject.version;
        let symptoms = subject.symptoms.iter();
        let mut total = 0;
        for symptom in symptoms.clone() {
            let world = World::new(family, sheet, *symptom, Chance::new(self.seed), 0.0)?;
            total += simulate::vehicles_of(&world, &settings, stresses);
        }
        let bar = bar(total, "vehicles", interactive);
        let tick = || bar.inc(1);
        let studies = symptoms
            .map(|symptom| simulate::study(family, sheet, *symptom, &settings, stresses, &tick));
        let found: std::result::Result<_, Unworkable> = studies.collect();
        bar.finish_and_clear();
        Ok(found?)
    }

    /// The report, with what is needed to make it again, and its picture beside it.
    fn write_report(
        &self,
        file: &Path,
        subject: &Subject<'_>,
        knowledge: &Knowledge,
        found: &[Found],
    ) -> Result<()> {
        let family = subject.version.family;
        let picture = picture(file);
        let version = env!("CARGO_PKG_VERSION");
        let (typed, drawn) = (self.as_typed(file), &subject.drawn);
        let mut made = vec![
            format!("Made by halfsplit {version} with `{typed}`. {drawn}"),
            format!("Fingerprint of the knowledge: {}.", print_of(knowledge)),
        ];
        made.extend(terminal::overlay_words(knowledge, family));
        let beside = picture.file_name().unwrap_or_default().to_string_lossy();
        let mut paper = Paper::default();
        simulate::whole_report(&mut paper, family, found, &made, &beside);
        let mut text = Vec::new();
        paper.markdown(&mut text)?;
        let text = String::from_utf8_lossy(&text);
        files::write_all(
            &[(file, &text), (&picture, &calibration_svg(found))],
            self.force,
        )
        .map_err(|(file, error)| Error::unwritten(&file, &error))
    }

    /// Refuses a file that is there, unless it may be written over, and one that cannot be written.
    fn may_write(&self, file: &Path) -> Result<()> {
        if !self.force && file.symlink_metadata().is_ok() {
            let why =
                "there is a file of that name already; name another, or write over it with --force";
            return Err(Error::of_file(file, why));
        }
        files::writable(file).map_err(|error| Error::unwritten(file, &error))
    }

    /// The command that makes the report again.
    fn as_typed(&self, file: &Path) -> String {
        let mut words = vec!["halfsplit study".to_owned()];
        words.extend(self.symptoms.iter().cloned());
        words.extend(self.vehicle.iter().map(|name| format!("--vehicle {name}")));
        words.push(format!("--vehicles {} --seed {}", self.vehicles, self.seed));
        if self.robustness {
            words.push("--robustness".to_owned());
        }
        words.push(format!("--report {}", file.display()));
        words.join(" ")
    }

    /// Two versions on the same vehicles.
    fn compare(
        &self,
        new: &Subject<'_>,
        in_use: &Knowledge,
        other: &Path,
        streams: &mut Streams<'_>,
    ) -> Result<()> {
        let knowledge = load::load(&Source::folder(other)?)?.knowledge;
        let Version { family, sheet } = new.version;
        let sheet = sheet.map(|sheet| sheet.name.as_str());
        let old = Version::of(&knowledge, &family.name, sheet).ok_or_else(|| {
            let (other, family) = (other.display(), &family.name);
            Error::Usage(format!("{other} has no family `{family}`"))
        })?;
        let mut paper = Paper::default();
        paper.text(new.drawn.clone());
        let found = on_the_same_vehicles(
            old,
            new.version,
            &new.symptoms,
            &self.settings(),
            streams.interactive,
            &mut paper,
        )?;
        if self.json {
            let answer = serde_json::json!({ "seed": self.seed, "paired": found });
            return Ok(streams.json(&answer)?);
        }
        let mut page = streams.page();
        let text = format!("Old: {}. New: the knowledge in use.", other.display());
        page.text(Tone::Strong, 0, &text)?;
        terminal::overlay(&mut page, in_use, family)?;
        Ok(paper.show(&mut page)?)
    }
}

/// Where the picture of a report goes.
fn picture(report: &Path) -> PathBuf {
    report.with_extension("svg")
}

/// One fingerprint over those of all files.
fn print_of(knowledge: &Knowledge) -> String {
    let files = knowledge.fingerprints();
    let lines: Vec<String> = files
        .iter()
        .map(|(file, print)| format!("{print} {file}"))
        .collect();
    fingerprint(lines.join("\n").as_bytes())
}
