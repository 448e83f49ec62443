//! `new`: starts a family, a symptom, a measurement or a cause, as a commented file to fill in.

mod filled;
mod plan;

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};

use crate::commands::{DONE, Error, Streams, args};
use crate::files;
use crate::knowledge::{Cause, Family};
use crate::load::{self, Source, is_id};
use crate::text::{Tone, yaml_scalar};
use plan::Plan;

/// Start a family, a symptom, a measurement or a cause, as a commented file to fill in.
///
/// What is written loads as it is. No file is overwritten, and no line of an existing file is changed.
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
    plan.next = vec![
        format!("Replace what {name}/family.yaml says; every field is explained beside it."),
        "Then the causes and repairs, the measurements, the tree of the first complaint, and the spec sheet."
            .to_owned(),
        format!(
            "More of each: halfsplit new symptom {name}/NAME, new measurement {name}/NAME, new cause {name}/NAME."
        ),
        "In an editor: halfsplit schema --into DIR/.schemas completes and checks what you type."
            .to_owned(),
    ];
    for (path, text) in filled::family(name) {
        plan.file(&path, &text);
    }
    Ok(plan)
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
    family: Family,
    name: String,
}

impl Started {
    fn in_folder(folder: PathBuf, name: &str, kind: &str) -> Result<Self, Error> {
        let source = Source::folder(&folder)?;
        let loaded = load::load(&source).map_err(Error::Findings)?;
        let (of, name) = match name.split_once('/') {
            Some((family, name)) => (Some(family), name),
            None => (None, name),
        };
        id(kind, name)?;
        let family = args::family(&loaded.knowledge, of)?.clone();
        let taken = match kind {
            "symptom" => family.symptom_named(name).is_some(),
            "measurement" => family.measurement_named(name).is_some(),
            _ => family.cause_named(name).is_some(),
        };
        if taken {
            return Err(Error::Usage(format!(
                "the family {} has a {kind} called {name} already",
                family.name
            )));
        }
        Ok(Self {
            plan: Plan::new(folder, source),
            family,
            name: name.to_owned(),
        })
    }

    /// The causes of these names as YAML; without any the most frequent ones.
    fn causes(&self, names: &[String], most: usize) -> Result<Vec<String>, Error> {
        let mut causes: Vec<&Cause> = self.family.causes.iter().collect();
        if names.is_empty() {
            causes.sort_by(|a, b| b.rate.get().total_cmp(&a.rate.get()));
            causes.truncate(most);
            return Ok(causes
                .iter()
                .map(|cause| yaml_scalar(&cause.name))
                .collect());
        }
        let known = || causes.iter().map(|cause| cause.name.as_str());
        let found = |name: &String| match self.family.cause_named(name) {
            Some(_) => Ok(yaml_scalar(name)),
            None => Err(args::unknown("cause", name, known())),
        };
        names.iter().map(found).collect()
    }

    fn symptom(mut self, causes: &[String]) -> Result<Plan, Error> {
        let causes = self.causes(causes, 2)?;
        let path = format!("{}/trees/{}.yaml", self.family.name, self.name);
        let text = filled::symptom(&self.family, &self.name, &causes);
        self.plan.file(&path, &text);
        self.plan.next = vec![
            format!(
                "Fill in {path}: the title, what customers say, and the tree; it starts with {}.",
                causes.join(" and ")
            ),
            format!("Look at the tree: halfsplit show {}", self.name),
        ];
        Ok(self.plan)
    }

    fn measurement(mut self, causes: &[String], number: bool) -> Result<Plan, Error> {
        let causes = self.causes(causes, 1)?;
        let path = format!("{}/measurements/{}.yaml", self.family.name, self.name);
        let text = filled::measurement(&self.family, &self.name, &causes, number);
        self.plan.file(&path, &text);
        self.plan.next = vec![
            format!(
                "Fill in {path}: what is asked, its outcomes, and how often each cause gives them; it starts with {}.",
                causes.join(" and ")
            ),
            "Name the set-ups, the cautions and the steps that it needs.".to_owned(),
        ];
        Ok(self.plan)
    }

    fn cause(
        mut self,
        repair: Option<&str>,
        symptom: Option<&str>,
        streams: &mut Streams<'_>,
    ) -> Result<Plan, Error> {
        let (family, name, plan) = (&self.family, &self.name, &mut self.plan);
        let path = format!("{}/causes.yaml", family.name);
        let repair = repair.map_or_else(|| format!("mend-{name}"), str::to_owned);
        id("repair", &repair)?;
        plan.next.push(format!(
            "Fill in {name} in {path}: title, part, rate and repair."
        ));
        let mut entries = vec![("causes", filled::cause(family, name, &repair))];
        if family.repair_named(&repair).is_none() {
            entries.insert(0, ("repairs", filled::repair(family, name, &repair)));
            plan.next.push(format!(
                "Fill in the repair {repair} too: what it costs, and what verifies it."
            ));
        }
        for (section, entry) in entries {
            if let Err(why) = plan.grow(&path, &[section], &entry) {
                // As it is to be pasted.
                writeln!(streams.err, "{entry}")?;
                return Err(Error::Files(format!(
                    "{path}: {why}; nothing was written: put the lines above under `{section}` by hand"
                )));
            }
        }
        let leaf = format!("- {}", yaml_scalar(name));
        let trees = format!("{}/trees", family.name);
        let placed = if let Some(symptom) = symptom {
            args::symptom(family, symptom)?;
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
             halfsplit new measurement {}/NAME --cause {name}",
            family.name
        ));
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
