//! `new`: starts a family, a symptom, a measurement or a cause, as a commented file to fill in.

mod filled;
mod written;

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};

use crate::commands::{DONE, Error, FINDINGS, Streams, args};
use crate::knowledge::{CauseId, Family};
use crate::load;
use crate::load::{Source, insert, is_id};
use crate::text::{Page, Tone};
use filled::{Filled, scalar};
use written::Written;

/// Start a family, a symptom, a measurement or a cause, as a commented file to fill in.
///
/// What is written loads as it is. No file is written over, and of a file that stands no line is changed.
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
            let given = folder.as_deref().or(knowledge);
            given
                .map(Path::to_path_buf)
                .ok_or_else(|| Error::Usage("name the knowledge folder: --in DIR".to_owned()))
        };
        let plan = match &self.what {
            What::Family { name, folder } => family(place(folder)?, name)?,
            What::Symptom { within, causes } => {
                Started::in_folder(place(&within.folder)?, &within.name, "symptom")?
                    .symptom(causes)?
            }
            What::Measurement {
                within,
                causes,
                number,
            } => Started::in_folder(place(&within.folder)?, &within.name, "measurement")?
                .measurement(causes, *number)?,
            What::Cause {
                within,
                repair,
                symptom,
            } => Started::in_folder(place(&within.folder)?, &within.name, "cause")?.cause(
                repair.as_deref(),
                symptom.as_deref(),
                streams,
            )?,
        };
        plan.carry_out(streams)
    }
}

/// What is to be written, and what to do then.
struct Plan {
    folder: PathBuf,
    /// The knowledge with everything written.
    source: Source,
    written: Vec<Written>,
    next: Vec<String>,
}

impl Plan {
    fn carry_out(self, streams: &mut Streams<'_>) -> Result<u8, Error> {
        for file in &self.written {
            file.may_be_written()?;
        }
        // Before anything is written: a start that does not load would be no start.
        if let Err(findings) = load::load(&self.source) {
            writeln!(streams.err, "{findings}\n")?;
            writeln!(streams.err, "halfsplit: nothing was written")?;
            return Ok(FINDINGS);
        }
        for file in &self.written {
            file.write()?;
        }
        let mut page = Page::new(streams.out, streams.width);
        page.heading("Written")?;
        for file in &self.written {
            page.item(Tone::Plain, 2, "", &file.to_string())?;
        }
        page.heading("Next")?;
        for words in &self.next {
            page.item(Tone::Plain, 2, "- ", words)?;
        }
        let check = format!("Then: halfsplit check {}", self.folder.display());
        page.item(Tone::Strong, 2, "- ", &check)?;
        Ok(DONE)
    }
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
    let files = filled::family(name);
    Ok(Plan {
        source: Source::texts(files.clone()),
        written: files
            .into_iter()
            .map(|(path, text)| Written::file(folder.join(path), text))
            .collect(),
        next: vec![
            format!(
                "Replace what {name}/family.yaml says; every field is explained beside it."
            ),
            "Then the causes and repairs, the measurements, the tree of the first complaint, and the spec sheet."
                .to_owned(),
            format!(
                "More of each: halfsplit new symptom {name}/NAME, new measurement {name}/NAME, new cause {name}/NAME."
            ),
            "In an editor: halfsplit schema --into DIR/.schemas completes and checks what you type."
                .to_owned(),
        ],
        folder,
    })
}

/// An id that a file may call something by.
fn id(kind: &str, name: &str) -> Result<(), Error> {
    if is_id(name) {
        return Ok(());
    }
    Err(Error::Usage(format!(
        "{} is no id of a {kind}: at most 80 small letters, digits and single hyphens between them",
        crate::text::quoted(name)
    )))
}

/// Something new in a family that stands.
struct Started {
    folder: PathBuf,
    source: Source,
    family: Family,
    name: String,
}

impl Started {
    fn in_folder(folder: PathBuf, name: &str, kind: &str) -> Result<Self, Error> {
        let source = Source::folder(&folder).map_err(|error| Error::Files(error.to_string()))?;
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
            folder,
            source,
            family,
            name: name.to_owned(),
        })
    }

    /// The causes of these names; without any the most frequent ones.
    fn causes(&self, names: &[String], most: usize) -> Result<Vec<CauseId>, Error> {
        if names.is_empty() {
            let mut ids: Vec<CauseId> = (0..self.family.causes.len()).map(CauseId::at).collect();
            ids.sort_by(|a, b| {
                let rate = |id: &CauseId| self.family.cause(*id).rate.get();
                rate(b).total_cmp(&rate(a)).then(a.cmp(b))
            });
            ids.truncate(most);
            return Ok(ids);
        }
        let known = || self.family.causes.iter().map(|cause| cause.name.as_str());
        names
            .iter()
            .map(|name| {
                let found = self.family.cause_named(name);
                found.ok_or_else(|| args::unknown("cause", name, known()))
            })
            .collect()
    }

    fn names(&self, causes: &[CauseId]) -> Vec<String> {
        causes
            .iter()
            .map(|cause| scalar(&self.family.cause(*cause).name))
            .collect()
    }

    /// A plan that writes one new file.
    fn file(self, path: &str, text: String, next: Vec<String>) -> Plan {
        Plan {
            source: self.source.with_text(path, &text),
            written: vec![Written::file(self.folder.join(path), text)],
            next,
            folder: self.folder,
        }
    }

    fn symptom(self, causes: &[String]) -> Result<Plan, Error> {
        let causes = self.names(&self.causes(causes, 2)?);
        let path = format!("{}/trees/{}.yaml", self.family.name, self.name);
        let text = filled::symptom(&self.family, &self.name, &causes);
        let next = vec![
            format!(
                "Fill in {path}: the title, what customers say, and the tree; {} stand in it for a start.",
                causes.join(" and ")
            ),
            format!("Look at the tree: halfsplit show {}", self.name),
        ];
        Ok(self.file(&path, text, next))
    }

    fn measurement(self, causes: &[String], number: bool) -> Result<Plan, Error> {
        let causes = self.names(&self.causes(causes, 1)?);
        let path = format!("{}/measurements/{}.yaml", self.family.name, self.name);
        let text = filled::measurement(&self.family, &self.name, &causes, number);
        let next = vec![
            format!(
                "Fill in {path}: what is asked, its outcomes, and how often each cause gives them; {} stands there for a start.",
                causes.join(" and ")
            ),
            "Name the set-ups, the cautions and the steps that it needs.".to_owned(),
        ];
        Ok(self.file(&path, text, next))
    }

    fn cause(
        self,
        repair: Option<&str>,
        symptom: Option<&str>,
        streams: &mut Streams<'_>,
    ) -> Result<Plan, Error> {
        let family = &self.family;
        let path = format!("{}/causes.yaml", family.name);
        let repair = repair.map_or_else(|| format!("mend-{}", self.name), str::to_owned);
        id("repair", &repair)?;
        let filled = Filled::cause(family, &self.name, &repair);
        let mut causes = self.text(&path);
        let mut next = vec![format!(
            "Fill in {} in {path}: title, part, rate and repair.",
            self.name
        )];
        let mut put = |way: &str, entry: &str| match insert(&causes, &[way], entry) {
            Ok(text) => {
                causes = text;
                Ok(())
            }
            Err(why) => {
                // As it is to be pasted.
                writeln!(streams.err, "{entry}")?;
                Err(Error::Files(format!(
                    "{path}: {why}; nothing was written: put the lines above under `{way}` by hand"
                )))
            }
        };
        if family.repair_named(&repair).is_none() {
            put("repairs", &filled.repair)?;
            next.push(format!(
                "Fill in the repair {repair} too: what it costs, and what verifies it."
            ));
        }
        put("causes", &filled.cause)?;
        let mut source = self.source.clone().with_text(&path, &causes);
        let mut written = vec![Written::grown(
            self.folder.join(&path),
            self.text(&path),
            causes,
        )];
        let leaf = format!("- {}", scalar(&self.name));
        if let Some(symptom) = symptom {
            args::symptom(family, symptom)?;
            let tree = self.tree_of(symptom)?;
            match insert(&self.text(&tree), &["top", "any"], &leaf) {
                Ok(text) => {
                    source = source.with_text(&tree, &text);
                    let before = self.text(&tree);
                    written.push(Written::grown(self.folder.join(&tree), before, text));
                    next.push(format!(
                        "It stands at the end of the tree in {tree}: move it where it belongs."
                    ));
                }
                Err(why) => next.push(format!("{tree}: {why}; put `{leaf}` into it by hand.")),
            }
        } else {
            next.push(format!(
                "Put `{leaf}` into the tree of each complaint that it brings about: {}/trees.",
                family.name
            ));
        }
        next.push(format!(
            "Name {} in the `shows` of each measurement that it changes; where none does, start one: \
             halfsplit new measurement {}/NAME --cause {}",
            self.name, family.name, self.name
        ));
        Ok(Plan {
            folder: self.folder,
            source,
            written,
            next,
        })
    }

    /// The text of a file of the folder; it was read before.
    fn text(&self, path: &str) -> String {
        let found = self.source.files().find(|(known, _)| *known == path);
        found.map(|(_, text)| text.to_owned()).unwrap_or_default()
    }

    /// The file of a symptom's tree.
    fn tree_of(&self, symptom: &str) -> Result<String, Error> {
        let trees = format!("{}/trees/", self.family.name);
        let mut files = self.source.files();
        files
            .find(|(path, text)| {
                path.starts_with(&trees)
                    && text.lines().any(|line| {
                        line.strip_prefix("symptom:").is_some_and(|rest| {
                            let rest = rest.split('#').next().unwrap_or_default();
                            rest.trim().trim_matches(['"', '\'']) == symptom
                        })
                    })
            })
            .map(|(path, _)| path.to_owned())
            .ok_or_else(|| Error::Files(format!("the tree of {symptom} was not found in {trees}")))
    }
}
