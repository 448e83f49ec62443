//! `study`: how well the knowledge diagnoses drawn vehicles.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::{Value, json};

use super::inputs;
use super::inputs::Basis;
use super::paired::{Version, first_vehicle, on_the_same_vehicles};
use super::progress::bar;
use super::{DONE, Error, Streams};
use crate::knowledge::{Family, Knowledge, SymptomId, Vehicle};
use crate::load;
use crate::load::Source;
use crate::record::fingerprint;
use crate::simulate;
use crate::simulate::{Chance, Settings, Spread, Stress, Study as Found, Summary, World};
use crate::terminal;
use crate::text::{Page, Paper, Tone};

/// See how well the knowledge diagnoses: vehicles are drawn from it and diagnosed as the program advises.
///
/// Of every fault that can give a complaint, vehicles are drawn from a seed, with readings as the knowledge
/// says they give them and with their instruments' errors, and are brought to the end of the job. All complaints
/// of the family are studied where none is named.
#[derive(Debug, Args)]
pub(super) struct Study {
    /// The complaints to study, each for itself
    #[arg(value_name = "SYMPTOM")]
    symptoms: Vec<String>,
    /// The family of the transmission, where the knowledge has several
    #[arg(long, value_name = "FAMILY")]
    family: Option<String>,
    /// The vehicle whose sheet gives the limits: the family's first, if none is named
    #[arg(long, value_name = "VEHICLE")]
    vehicle: Option<String>,
    /// How many vehicles are drawn of each fault
    #[arg(long, value_name = "N", default_value_t = 10, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    vehicles: u32,
    /// What the draws begin with: the same seed draws the same vehicles
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// How many nodes of the plan are opened before each step
    #[arg(long, value_name = "N", default_value_t = simulate::NODES, value_parser = clap::value_parser!(u64).range(1..))]
    nodes: u64,
    /// Draw vehicles as well that are not as the knowledge says: rates, figures or readings are off
    #[arg(long)]
    robustness: bool,
    /// Show every fault, not only those where most is missed
    #[arg(long)]
    every_fault: bool,
    /// Diagnose the same vehicles with the knowledge of this folder as well, and show the difference
    #[arg(long, value_name = "DIR", conflicts_with = "every_fault")]
    against: Option<PathBuf>,
    /// Write the whole study to this file as Markdown, and its picture beside it
    #[arg(long, value_name = "FILE", conflicts_with = "against")]
    report: Option<PathBuf>,
    /// Write the answer as JSON, at full precision
    #[arg(long)]
    json: bool,
}

/// What is studied.
struct Subject<'k> {
    family: &'k Family,
    sheet: Option<&'k Vehicle>,
    symptoms: Vec<SymptomId>,
}

impl Study {
    pub(super) fn execute(
        &self,
        basis: &Basis<'_>,
        streams: &mut Streams<'_>,
    ) -> Result<u8, Error> {
        let knowledge = inputs::knowledge_on(basis, streams)?;
        let subject = self.subject(&knowledge)?;
        match &self.against {
            Some(other) => self.compare(&subject, &knowledge, other, streams)?,
            None => self.alone(&subject, &knowledge, streams)?,
        }
        Ok(DONE)
    }

    fn subject<'k>(&self, knowledge: &'k Knowledge) -> Result<Subject<'k>, Error> {
        let family = inputs::family(knowledge, self.family.as_deref())?;
        let sheet = match &self.vehicle {
            Some(name) => inputs::vehicle(knowledge, family, Some(name))?,
            None => first_vehicle(knowledge, family),
        };
        let symptoms = if self.symptoms.is_empty() {
            (0..family.symptoms.len()).map(SymptomId::at).collect()
        } else {
            inputs::symptoms(family, &self.symptoms, &[])?.0
        };
        Ok(Subject {
            family,
            sheet,
            symptoms,
        })
    }

    fn settings(&self) -> Settings {
        Settings {
            vehicles: self.vehicles,
            seed: self.seed,
            limits: simulate::nodes(self.nodes),
        }
    }

    /// One version of the knowledge.
    fn alone(
        &self,
        subject: &Subject<'_>,
        knowledge: &Knowledge,
        streams: &mut Streams<'_>,
    ) -> Result<(), Error> {
        let settings = self.settings();
        let stresses: &[Stress] = if self.robustness { &Stress::ALL } else { &[] };
        let (family, sheet) = (subject.family, subject.sheet);
        let chance = Chance::new(self.seed);
        let mut total = 0;
        for symptom in &subject.symptoms {
            let world = World::new(family, sheet, *symptom, chance, 0.0)
                .map_err(|error| Error::Usage(error.to_string()))?;
            total += simulate::vehicles_of(&world, &settings, stresses);
        }
        let bar = bar(total, "vehicles", streams.interactive);
        let found = subject
            .symptoms
            .iter()
            .map(|symptom| {
                simulate::study(family, sheet, *symptom, &settings, stresses, &|| bar.inc(1))
            })
            .collect::<Result<Vec<Found>, _>>()
            .map_err(|error| Error::Usage(error.to_string()))?;
        bar.finish_and_clear();

        if let Some(file) = &self.report {
            self.write_report(file, subject, knowledge, &found, streams)?;
        }
        if self.json {
            let answer = json!({
                "seed": self.seed,
                "vehicles": self.vehicles,
                "nodes": self.nodes,
                "vehicle": sheet.map(|sheet| sheet.name.as_str()),
                "overlay": inputs::overlay_json(knowledge, family),
                "studies": found.iter().map(|found| answer(family, found)).collect::<Vec<_>>(),
            });
            return write_json(&answer, streams);
        }
        let mut paper = Paper::default();
        paper.text(self.draw_in_words(subject));
        for study in &found {
            simulate::study_report(&mut paper, family, study, self.every_fault);
        }
        let mut page = Page::new(streams.out, streams.width);
        terminal::overlay(&mut page, knowledge, family)?;
        page.text(Tone::Faint, 0, &family.worth)?;
        paper.show(&mut page)?;
        if let Some(file) = &self.report {
            page.gap()?;
            page.text(Tone::Strong, 0, &format!("Written to {}.", file.display()))?;
        }
        Ok(())
    }

    /// What was drawn, in words.
    fn draw_in_words(&self, subject: &Subject<'_>) -> String {
        let sheet = subject.sheet.map_or_else(
            || "no vehicle's sheet".to_owned(),
            |sheet| {
                let invented = if sheet.invented {
                    " (invented for the demonstration)"
                } else {
                    ""
                };
                format!("the sheet of {}{invented}", sheet.name)
            },
        );
        format!(
            "{} vehicles of each fault, seed {}, {} nodes of the plan opened before each step, {sheet}.",
            self.vehicles, self.seed, self.nodes
        )
    }

    /// The report: everything, with what is needed to make it again.
    fn write_report(
        &self,
        file: &Path,
        subject: &Subject<'_>,
        knowledge: &Knowledge,
        found: &[Found],
        streams: &Streams<'_>,
    ) -> Result<(), Error> {
        let family = subject.family;
        let picture = file.with_extension("svg");
        let mut paper = Paper::default();
        paper.title(format!(
            "How well the knowledge diagnoses: {}",
            family.title
        ));
        paper.text(format!(
            "Made on {} by halfsplit {} on {} ({}), {} cores, with `{}`. {}",
            streams.clock.today(),
            env!("CARGO_PKG_VERSION"),
            std::env::consts::OS,
            std::env::consts::ARCH,
            std::thread::available_parallelism().map_or(1, std::num::NonZero::get),
            self.as_typed(file),
            self.draw_in_words(subject)
        ));
        paper.text(format!(
            "Fingerprint of the knowledge: {}.",
            print_of(knowledge)
        ));
        if let Some(words) = terminal::overlay_words(knowledge, family) {
            paper.text(words);
        }
        paper.text(family.worth.clone());
        paper.text(ABOUT);
        paper.text(TESTABILITY);
        if let Some(name) = picture.file_name().and_then(|name| name.to_str()) {
            paper.picture(
                "Said against so, a square for each complaint: dots on the diagonal are honest",
                name,
            );
        }
        simulate::weak_spots(&mut paper, family, found);
        for study in found {
            simulate::study_report(&mut paper, family, study, true);
        }
        let unusable = |error: std::io::Error| {
            Error::Files(format!("{} cannot be written: {error}", file.display()))
        };
        let mut to = BufWriter::new(File::create(file).map_err(unusable)?);
        paper.markdown(&mut to).map_err(unusable)?;
        to.flush().map_err(unusable)?;
        std::fs::write(&picture, simulate::calibration_svg(family, found)).map_err(unusable)
    }

    /// The command that makes the report again.
    fn as_typed(&self, file: &Path) -> String {
        let mut words = vec!["halfsplit study".to_owned()];
        words.extend(self.symptoms.iter().cloned());
        if let Some(vehicle) = &self.vehicle {
            words.push(format!("--vehicle {vehicle}"));
        }
        words.push(format!(
            "--vehicles {} --seed {} --nodes {}",
            self.vehicles, self.seed, self.nodes
        ));
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
    ) -> Result<(), Error> {
        let source = Source::folder(other).map_err(|error| Error::Files(error.to_string()))?;
        let knowledge = load::load(&source).map_err(Error::Findings)?.knowledge;
        let sheet = new.sheet.map(|sheet| sheet.name.as_str());
        let old = Version::of(&knowledge, &new.family.name, sheet).ok_or_else(|| {
            let (other, family) = (other.display(), &new.family.name);
            Error::Usage(format!("{other} has no family `{family}`"))
        })?;
        let mut paper = Paper::default();
        paper.text(self.draw_in_words(new));
        let now = Version {
            family: new.family,
            sheet: new.sheet,
        };
        let answers = on_the_same_vehicles(
            old,
            now,
            &new.symptoms,
            &self.settings(),
            streams.interactive,
            &mut paper,
        )?;
        if self.json {
            return write_json(&json!({ "seed": self.seed, "paired": answers }), streams);
        }
        let mut page = Page::new(streams.out, streams.width);
        page.text(
            Tone::Strong,
            0,
            &format!("Old: {}. New: the knowledge in use.", other.display()),
        )?;
        terminal::overlay(&mut page, in_use, new.family)?;
        paper.show(&mut page)?;
        Ok(())
    }
}

/// What the figures of a report are and are not.
const ABOUT: &str = "Of every fault that the family lists for a complaint, vehicles are drawn: each measurement's outcome from \
the row of the fault, a number evenly from the outcome's band, its reading with the error of the instrument. Each vehicle is \
diagnosed as the program advises, repair after repair, until it is cured or handed on. A fault counts by how probable it is \
given the complaint. This says how well the program works if the knowledge is right; where it is not, the last table of each \
complaint gives an idea. It does not say that the knowledge is right: only closed jobs do.";

/// How the isolation figures relate to those of the testability standards.
const TESTABILITY: &str = "The share that comes down to one, two or three repairs is the fraction of faults isolated to so many \
replaceable items, as IEEE Std 1522 and MIL-HDBK-2165 define it (from memory), with two differences. There a test tells for \
certain, so a fault is in its ambiguity group or not; here readings are uncertain, and the group is the fewest repairs that hold \
95 % of the belief. And there faults count by failure rate alone; here by their probability given the complaint.";

/// One fingerprint over those of all files.
fn print_of(knowledge: &Knowledge) -> String {
    let lines: Vec<String> = knowledge
        .fingerprints
        .iter()
        .map(|(file, print)| format!("{print} {file}"))
        .collect();
    fingerprint(lines.join("\n").as_bytes())
}

fn write_json(answer: &Value, streams: &mut Streams<'_>) -> Result<(), Error> {
    Ok(crate::text::json(streams.out, answer)?)
}

fn spread_answer(spread: Spread) -> Value {
    json!({ "mean": spread.mean, "p90": spread.ninth })
}

fn summary_answer(summary: &Summary) -> Value {
    json!({
        "jobs": summary.jobs,
        "first": summary.first,
        "first_looks_counted": summary.first_of_all,
        "first_error": summary.first_error,
        "within_two": summary.within_two,
        "never": summary.never,
        "minutes": spread_answer(summary.minutes),
        "cost": spread_answer(summary.cost),
        "readings": summary.readings,
    })
}

/// One complaint's study as other programs read it: docs/study.md.
fn answer(family: &Family, found: &Found) -> Value {
    let repairs = |ids: &[crate::knowledge::RepairId]| -> Vec<&str> {
        ids.iter()
            .map(|id| family.repair(*id).name.as_str())
            .collect()
    };
    let name = |hypothesis: usize| {
        found
            .faults
            .iter()
            .find(|fault| fault.hypothesis == hypothesis)
            .map(|fault| fault.name.as_str())
    };
    json!({
        "symptom": family.symptom(found.symptom).name,
        "listed": summary_answer(&found.listed),
        "unlisted": summary_answer(&found.unlisted),
        "faults": found.faults.iter().map(|fault| json!({
            "fault": fault.name,
            "probability": fault.probability,
            "repairs": repairs(&fault.cure),
            "figures": summary_answer(&fault.summary),
        })).collect::<Vec<_>>(),
        "isolated": {
            "one": found.isolation.one,
            "two": found.isolation.two,
            "three": found.isolation.three,
        },
        "mistaken": found.mistaken.iter().map(|mistaken| json!({
            "fault": name(mistaken.hypothesis),
            "first": repairs(&mistaken.first),
            "share": mistaken.share,
            "stated": mistaken.stated.map(|place| family.ambiguities[place].why.as_str()),
            "split": mistaken.split.map(|split| json!({
                "measurement": family.measurement(split.measurement).name,
                "apart": split.apart,
                "minutes": split.minutes,
            })),
        })).collect::<Vec<_>>(),
        "calibration": {
            "error": found.calibration.error,
            "by_chance": found.calibration.by_chance,
            "classes": found.calibration.classes.iter().map(|class| json!({
                "from": class.from,
                "to": class.to,
                "repairs": class.times,
                "share": class.share,
                "said": class.said,
                "was": class.was,
            })).collect::<Vec<_>>(),
        },
        "stressed": found.stressed.iter().map(|(stress, summary, error)| json!({
            "vehicles": simulate::stress_in_words(*stress),
            "figures": summary_answer(summary),
            "calibration_error": error,
        })).collect::<Vec<_>>(),
    })
}
