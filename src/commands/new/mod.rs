//! `new`: starts a family or anything in one, as a commented file or entry to fill in.

mod filled;
mod plan;

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};

use crate::commands::{DONE, Error, Streams, args, job};
use crate::files;
use crate::load::{FamilyOutline, IdKind, Outline, Source, is_id};
use crate::record::{Record, Taken};
use crate::text::{Tone, yaml_scalar};
use filled::CaseWords;
use plan::Plan;

/// Start a family, or something in one: a commented file or entry to fill in.
///
/// What is written loads as it is, and is left out of every diagnosis until its line `unfinished: true` is deleted. No file
/// is overwritten, and no line of an existing file is changed. Other findings of the folder are no obstacle.
#[derive(Debug, Args)]
pub(super) struct New {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// A family, with one of everything that a family has
    Family {
        /// The id of the family: small letters, digits and hyphens
        #[arg(value_name = "FAMILY")]
        name: String,
        /// The knowledge folder to put it into; it is made where there is none
        #[arg(long = "in", value_name = "DIR")]
        folder: Option<PathBuf>,
    },
    /// A complaint and its fault tree
    Symptom {
        #[command(flatten)]
        within: Within,
        /// A cause that brings it about; more than one may be given
        #[arg(long = "cause", value_name = "CAUSE")]
        causes: Vec<String>,
    },
    /// Something to read, look at or feel
    Measurement {
        #[command(flatten)]
        within: Within,
        /// A cause that moves it; more than one may be given
        #[arg(long = "cause", value_name = "CAUSE")]
        causes: Vec<String>,
        /// It is read as a number, not answered in words
        #[arg(long)]
        number: bool,
    },
    /// A shop's profile: what it has, what its work costs, where its jobs lie
    Shop {
        /// The new file
        #[arg(value_name = "FILE", default_value = "shop.yaml")]
        file: PathBuf,
    },
    /// Something that can be wrong
    Cause {
        #[command(flatten)]
        within: Within,
        /// The repair that puts it right; one that is not there yet is started too
        #[arg(long, value_name = "REPAIR")]
        repair: Option<String>,
        /// The complaint that it brings about: it goes into that tree
        #[arg(long, value_name = "SYMPTOM")]
        symptom: Option<String>,
    },
    /// What puts causes right: an entry in causes.yaml
    Repair {
        #[command(flatten)]
        within: Within,
    },
    /// A spec sheet with every limit that the family asks for
    Vehicle {
        #[command(flatten)]
        within: Within,
    },
    /// A worked case, empty or from a job that was closed as fixed
    Case {
        #[command(flatten)]
        within: Within,
        /// A symptom present; more than one may be given
        #[arg(long = "symptom", value_name = "SYMPTOM", conflicts_with = "job")]
        symptoms: Vec<String>,
        /// Take symptoms, readings and the repair from this job record
        #[arg(long, value_name = "FILE")]
        job: Option<PathBuf>,
    },
}

/// Where in which folder.
#[derive(Debug, Args)]
struct Within {
    /// The family and the new id: small letters, digits and hyphens
    #[arg(value_name = "FAMILY/NAME")]
    name: String,
    /// The knowledge folder
    #[arg(long = "in", value_name = "DIR")]
    folder: Option<PathBuf>,
}

impl New {
    pub(super) fn execute(
        &self,
        knowledge: Option<&Path>,
        streams: &mut Streams<'_>,
    ) -> Result<u8, Error> {
        let place = |folder: &Option<PathBuf>| {
            let given = folder.as_deref().or(knowledge).map(Path::to_path_buf);
            given.ok_or_else(|| Error::Usage("name the knowledge folder: --in DIR".to_owned()))
        };
        let start =
            |within: &Within, kind| Started::in_folder(place(&within.folder)?, &within.name, kind);
        let plan = match &self.what {
            What::Shop { file } => return shop(file, streams),
            What::Family { name, folder } => family(place(folder)?, name)?,
            What::Symptom { within, causes } => start(within, "symptom")?.symptom(causes)?,
            What::Measurement {
                within,
                causes,
                number,
            } => start(within, "measurement")?.measurement(causes, *number)?,
            What::Cause {
                within,
                repair,
                symptom,
            } => start(within, "cause")?.cause(repair.as_deref(), symptom.as_deref(), streams)?,
            What::Repair { within } => start(within, "repair")?.repair(streams)?,
            What::Vehicle { within } => start(within, "vehicle")?.vehicle(),
            What::Case {
                within,
                symptoms,
                job,
            } => start(within, "case")?.case(symptoms, job.as_deref())?,
        };
        plan.carry_out(streams)
    }
}

/// A new shop's profile, in which every line is still a comment.
fn shop(path: &Path, streams: &mut Streams<'_>) -> Result<u8, Error> {
    files::create(path, include_str!("start/shop.yaml"))
        .map_err(|error| Error::unwritten(path, &error))?;
    let mut page = streams.page();
    page.text(Tone::Plain, 0, &format!("Written: {}", path.display()))?;
    page.text(
        Tone::Plain,
        0,
        "Take the `#` off the lines that hold for the shop. `--shop` or the variable HALFSPLIT_SHOP names the file; in the \
         user's folder of configuration, as halfsplit/shop.yaml, it needs neither.",
    )?;
    Ok(DONE)
}

/// A new family: a folder of its own, and a spec sheet.
fn family(folder: PathBuf, name: &str) -> Result<Plan, Error> {
    id("family", name)?;
    let sheet = format!("{name}-example");
    if !is_id(&sheet) {
        return Err(Error::Usage(format!(
            "the name of the family is too long: its spec sheet would be called {sheet}, and an id has at most 80 characters"
        )));
    }
    if name == "vehicles" {
        return Err(Error::Usage(
            "`vehicles` is the folder of the spec sheets: no family can have that name".to_owned(),
        ));
    }
    if folder.join(name).symlink_metadata().is_ok() {
        return Err(Error::Usage(format!(
            "{}: there is a family or a file of that name already",
            folder.join(name).display()
        )));
    }
    let mut plan = Plan::new(folder, Source::texts(Vec::<(String, String)>::new()));
    plan.new_family = Some(name.to_owned());
    plan.next = vec![
        format!("Replace what {name}/family.yaml says; every field is explained beside it."),
        "Then the causes and repairs, the measurements, the tree of the first complaint, and the spec sheet."
            .to_owned(),
        format!(
            "More of each: halfsplit new symptom {name}/NAME; so too measurement, cause, repair, vehicle and case."
        ),
        format!(
            "In an editor: halfsplit schema --editor --knowledge {} completes and checks what you type.",
            plan.folder().display()
        ),
        format!("Delete `unfinished: true` in {name}/family.yaml: until then no job is opened on it."),
    ];
    for (path, text) in filled::family(name) {
        plan.file(&path, &text);
    }
    Ok(plan)
}

/// What is left to do with everything that is started.
const DELETE: &str = "Delete its line `unfinished: true`: until then it is left out.";

/// What a job that was closed as fixed says of a case.
fn closed(file: &Path, family: &str, name: &str) -> Result<CaseWords, Error> {
    let view = Record::read(file)?;
    let state = view.history.state();
    job::real(state, file)?;
    let refused = |why: &str| Error::of_file(file, why);
    if state.opened.family != family {
        return Err(refused(&format!(
            "the job is on the family {}",
            state.opened.family
        )));
    }
    let Some(closed) = &state.closed else {
        return Err(refused("the job is not closed as fixed"));
    };
    let reading = |taken: &Taken| {
        let reading = &taken.reading;
        let id = yaml_scalar(&reading.measurement);
        if reading.values.is_empty() {
            // A number as it was typed, with its unit; words may have been any that mean the outcome.
            let typed = reading.value.map_or(&reading.outcome, |_| &reading.raw);
            return format!("{{measurement: {id}, value: {}}}", yaml_scalar(typed));
        }
        let parts = reading.values.iter();
        let parts = parts.map(|(name, part)| format!("{name}: {}", yaml_scalar(&part.raw)));
        let parts: Vec<String> = parts.collect();
        format!("{{measurement: {id}, values: {{{}}}}}", parts.join(", "))
    };
    let repairs: Vec<String> = closed
        .what
        .repairs
        .iter()
        .map(|id| yaml_scalar(id))
        .collect();
    let found = closed.what.causes.join(" and ");
    Ok(CaseWords {
        title: filled::titled(name),
        symptoms: state.present.clone(),
        absent: state.absent.clone(),
        vehicle: state.vehicle.clone(),
        complaint: (!state.complaints.is_empty()).then(|| state.complaints.join(" ")),
        readings: state.counting().map(reading).collect(),
        expect: match repairs.as_slice() {
            [] => "{unlisted: true}".to_owned(),
            [one] => format!("{{repair: {one}}}"),
            several => format!("{{repairs: [{}]}}", several.join(", ")),
        },
        found: closed
            .what
            .words
            .clone()
            .or_else(|| (!found.is_empty()).then_some(found)),
    })
}

/// Refuses what no file may call something by.
fn id(kind: &str, name: &str) -> Result<(), Error> {
    if is_id(name) {
        return Ok(());
    }
    Err(Error::Usage(format!(
        "{} is no id of a {kind}: at most 80 small letters, digits and single hyphens between them",
        crate::text::quoted(name)
    )))
}

/// Something new in a family that is there.
struct Started {
    plan: Plan,
    family: String,
    outline: FamilyOutline,
    name: String,
}

impl Started {
    fn in_folder(folder: PathBuf, name: &str, kind: &str) -> Result<Self, Error> {
        let source = Source::folder(&folder)?;
        let outline = Outline::of(&source);
        let (family, name) = match name.split_once('/') {
            Some((family, name)) => (family.to_owned(), name),
            None => match outline.families.keys().collect::<Vec<_>>().as_slice() {
                [only] => ((*only).clone(), name),
                _ => {
                    let words = format!("write FAMILY/{name}: the folder has not just one family");
                    return Err(Error::Usage(words));
                }
            },
        };
        id(kind, name)?;
        let ids = outline.ids;
        let of_family = outline.families.get(&family).cloned();
        let of_family =
            of_family.ok_or_else(|| args::unknown("family", &family, ids.of(IdKind::Family)))?;
        let taken = match kind {
            "symptom" => of_family.ids.has(IdKind::Symptom, name),
            "measurement" => of_family.ids.has(IdKind::Measurement, name),
            "repair" => of_family.ids.has(IdKind::Repair, name),
            "vehicle" => ids.has(IdKind::Vehicle, name),
            "cause" => of_family.ids.has(IdKind::Cause, name),
            _ => false,
        };
        if taken {
            return Err(Error::Usage(format!(
                "the family {family} has a {kind} called {name} already"
            )));
        }
        Ok(Self {
            plan: Plan::new(folder, source),
            family,
            outline: of_family,
            name: name.to_owned(),
        })
    }

    /// The causes of these names as YAML; without any, the first ones.
    fn causes(&self, names: &[String], most: usize) -> Result<Vec<String>, Error> {
        let known = self.outline.ids.of(IdKind::Cause);
        if names.is_empty() {
            return Ok(known.take(most).map(yaml_scalar).collect());
        }
        self.known(IdKind::Cause, "cause", names)?;
        Ok(names.iter().map(|name| yaml_scalar(name)).collect())
    }

    /// Refuses names that nothing of a kind has.
    fn known(&self, kind: IdKind, noun: &str, names: &[String]) -> Result<(), Error> {
        let ids = &self.outline.ids;
        match names.iter().find(|name| !ids.has(kind, name)) {
            Some(name) => Err(args::unknown(noun, name, ids.of(kind))),
            None => Ok(()),
        }
    }

    /// Puts an entry into causes.yaml, or gives it to paste.
    fn put(&mut self, section: &str, entry: &str, streams: &mut Streams<'_>) -> Result<(), Error> {
        let path = format!("{}/causes.yaml", self.family);
        if let Err(why) = self.plan.grow(&path, &[section], entry) {
            // As it is to be pasted.
            writeln!(streams.err, "{entry}")?;
            return Err(Error::Files(format!(
                "{path}: {why}; nothing was written: put the lines above under `{section}` by hand"
            )));
        }
        Ok(())
    }

    fn repair(mut self, streams: &mut Streams<'_>) -> Result<Plan, Error> {
        let entry = filled::repair(&self.outline, &self.name, &self.name);
        self.put("repairs", &entry, streams)?;
        let (family, name) = (&self.family, &self.name);
        self.plan.next = vec![
            format!(
                "Fill in {name} in {family}/causes.yaml: what is done, what it costs, and what verifies it."
            ),
            format!(
                "Name it as the `repair` of each cause that it puts right, or start one: halfsplit new cause {family}/NAME --repair {name}"
            ),
            DELETE.to_owned(),
        ];
        Ok(self.plan)
    }

    fn vehicle(mut self) -> Plan {
        let path = format!("vehicles/{}.yaml", self.name);
        let text = filled::vehicle(&self.family, &self.outline, &self.name);
        self.plan.file(&path, &text);
        self.plan.next = vec![
            format!(
                "Fill in {path}: {} limits, from the vehicle's service information.",
                self.outline.limits.len()
            ),
            DELETE.to_owned(),
        ];
        self.plan
    }

    fn case(mut self, symptoms: &[String], job: Option<&Path>) -> Result<Plan, Error> {
        self.known(IdKind::Symptom, "symptom", symptoms)?;
        let words = match job {
            Some(file) => closed(file, &self.family, &self.name)?,
            None => {
                let first = |kind| self.outline.ids.of(kind).next().unwrap_or("id").to_owned();
                let mut symptoms = symptoms.to_vec();
                if symptoms.is_empty() {
                    symptoms.push(first(IdKind::Symptom));
                }
                CaseWords {
                    title: filled::titled(&self.name),
                    symptoms,
                    absent: Vec::new(),
                    vehicle: None,
                    complaint: None,
                    readings: vec![format!(
                        "{{measurement: {}, value: normal}}",
                        yaml_scalar(&first(IdKind::Measurement))
                    )],
                    expect: format!("{{repair: {}}}", yaml_scalar(&first(IdKind::Repair))),
                    found: None,
                }
            }
        };
        let path = format!("{}/cases/{}.yaml", self.family, self.name);
        self.plan.file(&path, &filled::case(&words));
        let fill = match job {
            Some(_) => {
                "Read {path} through, the customer's words above all: nobody may be known by them."
            }
            None => {
                "Fill in {path}: the readings in their order, and the answer that must come out."
            }
        };
        self.plan.next = vec![fill.replace("{path}", &path), DELETE.to_owned()];
        Ok(self.plan)
    }

    fn symptom(mut self, causes: &[String]) -> Result<Plan, Error> {
        let causes = self.causes(causes, 2)?;
        let path = format!("{}/trees/{}.yaml", self.family, self.name);
        let text = filled::symptom(&self.outline, &self.name, &causes);
        self.plan.file(&path, &text);
        self.plan.next = vec![
            format!(
                "Fill in {path}: the title, what customers say, and the tree; it starts with {}.",
                causes.join(" and ")
            ),
            format!(
                "{DELETE} Then look at the tree: halfsplit show {}",
                self.name
            ),
        ];
        Ok(self.plan)
    }

    fn measurement(mut self, causes: &[String], number: bool) -> Result<Plan, Error> {
        let causes = self.causes(causes, 1)?;
        let path = format!("{}/measurements/{}.yaml", self.family, self.name);
        let text = filled::measurement(&self.outline, &self.name, &causes, number);
        self.plan.file(&path, &text);
        self.plan.next = vec![
            format!(
                "Fill in {path}: what is asked, its outcomes, and how often each cause gives them; it starts with {}.",
                causes.join(" and ")
            ),
            "Name the set-ups, the cautions and the steps that it needs.".to_owned(),
            DELETE.to_owned(),
        ];
        Ok(self.plan)
    }

    fn cause(
        mut self,
        repair: Option<&str>,
        symptom: Option<&str>,
        streams: &mut Streams<'_>,
    ) -> Result<Plan, Error> {
        let path = format!("{}/causes.yaml", self.family);
        let repair = repair.map_or_else(|| format!("mend-{}", self.name), str::to_owned);
        id("repair", &repair)?;
        self.plan.next.push(format!(
            "Fill in {} in {path}: title, part, rate and repair.",
            self.name
        ));
        if !self.outline.ids.has(IdKind::Repair, &repair) {
            let entry = filled::repair(&self.outline, &repair, &self.name);
            self.put("repairs", &entry, streams)?;
            self.plan.next.push(format!(
                "Fill in the repair {repair} too: what it costs, and what verifies it."
            ));
        }
        let entry = filled::cause(&self.name, &repair);
        self.put("causes", &entry, streams)?;
        let (family, name, plan) = (&self.family, &self.name, &mut self.plan);
        let leaf = format!("- {}", yaml_scalar(name));
        let trees = format!("{family}/trees");
        let placed = if let Some(symptom) = symptom {
            let ids = &self.outline.ids;
            if !ids.has(IdKind::Symptom, symptom) {
                return Err(args::unknown("symptom", symptom, ids.of(IdKind::Symptom)));
            }
            let tree = tree_of(&plan.planned, &trees, symptom)?;
            match plan.grow(&tree, &["top", "any"], &leaf) {
                Ok(()) => {
                    format!("It is at the end of the tree in {tree}: move it where it belongs.")
                }
                Err(why) => format!("{tree}: {why}; put `{leaf}` into it by hand."),
            }
        } else {
            format!("Put `{leaf}` into the tree of each complaint that it brings about: {trees}.")
        };
        plan.next.push(placed);
        plan.next.push(format!(
            "Name {name} in the `shows` of each measurement that it changes; where none does, start one: \
             halfsplit new measurement {family}/NAME --cause {name}"
        ));
        plan.next.push(DELETE.to_owned());
        Ok(self.plan)
    }
}

/// The file of a symptom's tree.
fn tree_of(source: &Source, trees: &str, symptom: &str) -> Result<String, Error> {
    let is_its_tree = |(path, text): &(&str, &str)| {
        let tree = || serde_yaml::from_str::<serde_json::Value>(text).ok();
        path.starts_with(trees) && tree().is_some_and(|tree| tree["symptom"] == symptom)
    };
    let found = source
        .files()
        .find(is_its_tree)
        .map(|(path, _)| path.to_owned());
    found.ok_or_else(|| Error::Files(format!("the tree of {symptom} was not found in {trees}")))
}
