//! Which file is what: the files of a source sorted into families and vehicles, and read.

use std::collections::BTreeMap;
use std::path::Path;

use super::code::Code;
use super::log::Log;
use super::node;
use super::node::{Kind, Node};
use super::raw::cases::CaseFile;
use super::raw::causes::CausesFile;
use super::raw::codes::CodesFile;
use super::raw::family::FamilyFile;
use super::raw::measurements::MeasurementsFile;
use super::raw::trees::{SharedFile, TreeFile};
use super::raw::vehicles::VehicleFile;
use super::reader::read;
use super::source::{Content, LARGEST_FILE, Source, SourceFile};

/// A kind of knowledge file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FileKind {
    /// `<family>/family.yaml`
    Family,
    /// `<family>/causes.yaml`
    Causes,
    /// `<family>/codes.yaml`
    Codes,
    /// `<family>/measurements/*.yaml`
    Measurements,
    /// `<family>/trees/*.yaml`: a symptom and its tree.
    Tree,
    /// `<family>/trees/*.yaml`: parts that trees share.
    Shared,
    /// `<family>/cases/*.yaml`
    Case,
    /// `vehicles/*.yaml`
    Vehicle,
}

impl FileKind {
    /// Every kind.
    pub const ALL: [Self; 8] = [
        Self::Family,
        Self::Causes,
        Self::Codes,
        Self::Measurements,
        Self::Tree,
        Self::Shared,
        Self::Case,
        Self::Vehicle,
    ];

    /// Its name, for a file of its schema.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Family => "family",
            Self::Causes => "causes",
            Self::Codes => "codes",
            Self::Measurements => "measurements",
            Self::Tree => "tree",
            Self::Shared => "shared",
            Self::Case => "case",
            Self::Vehicle => "vehicle",
        }
    }

    /// Where files of the kind lie in a knowledge folder; `*` stands for a family or a name.
    #[must_use]
    pub const fn lies_in(self) -> &'static str {
        match self {
            Self::Family => "*/family.yaml",
            Self::Causes => "*/causes.yaml",
            Self::Codes => "*/codes.yaml",
            Self::Measurements => "*/measurements/*.yaml",
            Self::Tree | Self::Shared => "*/trees/*.yaml",
            Self::Case => "*/cases/*.yaml",
            Self::Vehicle => "vehicles/*.yaml",
        }
    }

    /// What a path in a knowledge folder holds, and of which family; a file of shared parts counts as
    /// a tree until its text is known.
    pub(super) fn of(path: &str) -> Option<(Self, &str)> {
        let stem = path.strip_suffix(".yaml")?;
        let parts: Vec<&str> = stem.split('/').collect();
        match parts.as_slice() {
            ["vehicles", _] => Some((Self::Vehicle, "")),
            [family, "family"] => Some((Self::Family, family)),
            [family, "causes"] => Some((Self::Causes, family)),
            [family, "codes"] => Some((Self::Codes, family)),
            [family, "measurements", _] => Some((Self::Measurements, family)),
            [family, "trees", _] => Some((Self::Tree, family)),
            [family, "cases", _] => Some((Self::Case, family)),
            _ => None,
        }
    }
}

/// What could be read of a folder.
#[derive(Debug, Default)]
pub(super) struct Folder {
    pub(super) families: BTreeMap<String, RawFamily>,
    pub(super) vehicles: Vec<VehicleFile>,
    /// Whether every vehicle could be read.
    pub(super) vehicles_whole: bool,
}

/// What could be read of a family.
#[derive(Debug, Default)]
pub(super) struct RawFamily {
    pub(super) file: Option<FamilyFile>,
    pub(super) causes: Option<CausesFile>,
    pub(super) codes: Option<CodesFile>,
    pub(super) measurements: Vec<MeasurementsFile>,
    pub(super) trees: Vec<TreeFile>,
    pub(super) shared: Vec<SharedFile>,
    pub(super) cases: Vec<(String, CaseFile)>,
    /// The kinds of which a file could not be read: their names are not all known.
    pub(super) broken: Vec<FileKind>,
}

impl RawFamily {
    /// Whether all files of a kind could be read.
    pub(super) fn whole(&self, kind: FileKind) -> bool {
        !self.broken.contains(&kind)
    }
}

/// Reads all files of a source.
pub(super) fn sort(source: &Source, log: &Log<'_>) -> Folder {
    let mut folder = Folder {
        vehicles_whole: true,
        ..Folder::default()
    };
    let mut found = false;
    for (number, file) in (0_u32..).zip(&source.files) {
        let name = file.path.rsplit('/').next().unwrap_or_default();
        if name.to_ascii_uppercase().starts_with("README") {
            continue;
        }
        let Some((kind, family)) = FileKind::of(&file.path) else {
            stray(file, log);
            found |= matches!(file.content, Content::Unreadable(_));
            continue;
        };
        if kind != FileKind::Vehicle {
            found = true;
        }
        let node = text(file, log).and_then(|text| node::read(text, number, log));
        let family = (kind != FileKind::Vehicle)
            .then(|| folder.families.entry(family.to_owned()).or_default());
        match (node, family) {
            (Some(node), Some(family)) => family_file(family, kind, &file.path, &node, log),
            (None, Some(family)) => family.broken.extend(
                [kind, FileKind::Shared]
                    .iter()
                    .take(1 + usize::from(kind == FileKind::Tree)),
            ),
            (node, None) => match node.as_ref().and_then(|node| read(node, log)) {
                Some(vehicle) => folder.vehicles.push(vehicle),
                None => folder.vehicles_whole = false,
            },
        }
    }
    if !found {
        log.about(
            Code::MissingFile,
            "",
            "no family is described here",
            "a knowledge folder holds a folder for each family, with family.yaml, causes.yaml, measurements and trees",
        );
    }
    for (name, family) in &folder.families {
        missing(name, family, log);
    }
    folder
}

/// The files a family needs.
fn missing(name: &str, family: &RawFamily, log: &Log<'_>) {
    let needs = [
        (
            FileKind::Family,
            family.file.is_none(),
            "family.yaml",
            "family.yaml says what the family is",
        ),
        (
            FileKind::Causes,
            family.causes.is_none(),
            "causes.yaml",
            "causes.yaml lists what can be wrong",
        ),
        (
            FileKind::Measurements,
            family.measurements.is_empty(),
            "measurements",
            "a file in measurements says what to measure",
        ),
        (
            FileKind::Tree,
            family.trees.is_empty(),
            "trees",
            "a file in trees describes a complaint",
        ),
    ];
    for (kind, absent, path, advice) in needs {
        if absent && family.whole(kind) {
            log.about(
                Code::MissingFile,
                &format!("{name}/{path}"),
                format!("the family `{name}` lacks this"),
                advice,
            );
        }
    }
}

/// A file of no known kind.
fn stray(file: &SourceFile, log: &Log<'_>) {
    let advice = "families lie in folders of their own, spec sheets in vehicles/; a file of another kind belongs elsewhere";
    match &file.content {
        Content::Unreadable(why) => log.about(
            Code::Unreadable,
            &file.path,
            format!("this cannot be read: {why}"),
            "",
        ),
        Content::Nothing(why) => log.about(Code::StrayFile, &file.path, *why, advice),
        _ if Path::new(&file.path)
            .extension()
            .is_some_and(|ending| ending == "yml") =>
        {
            log.about(
                Code::StrayFile,
                &file.path,
                "this file is not read",
                "the ending is .yaml",
            );
        }
        _ => log.about(Code::StrayFile, &file.path, "this file is not read", advice),
    }
}

/// The text of a file, or a finding.
fn text<'s>(file: &'s SourceFile, log: &Log<'_>) -> Option<&'s str> {
    match &file.content {
        Content::Text(text) => return Some(text),
        Content::NotUtf8(good) => {
            let line = good.replace("\r\n", "\n").matches(['\n', '\r']).count() + 1;
            log.about(
                Code::NotUtf8,
                &file.path,
                format!("the bytes after line {line} are not UTF-8"),
                "save the file as UTF-8 in the editor",
            );
        }
        Content::TooLarge(length) => log.about(
            Code::TooLarge,
            &file.path,
            format!("the file has {length} bytes; more than {LARGEST_FILE} are not read"),
            "split it into several files",
        ),
        Content::Unreadable(why) => {
            log.about(
                Code::Unreadable,
                &file.path,
                format!("this cannot be read: {why}"),
                "",
            );
        }
        Content::Nothing(why) => log.about(Code::Unreadable, &file.path, *why, ""),
    }
    None
}

/// Reads one file of a family.
fn family_file(family: &mut RawFamily, kind: FileKind, path: &str, node: &Node, log: &Log<'_>) {
    let kind = if kind == FileKind::Tree && holds_shared(node) {
        FileKind::Shared
    } else {
        kind
    };
    let read_well = match kind {
        FileKind::Family => {
            family.file = read(node, log);
            family.file.is_some()
        }
        FileKind::Causes => {
            family.causes = read(node, log);
            family.causes.is_some()
        }
        FileKind::Codes => {
            family.codes = read(node, log);
            family.codes.is_some()
        }
        FileKind::Measurements => keep(&mut family.measurements, read(node, log)),
        FileKind::Tree => keep(&mut family.trees, read(node, log)),
        FileKind::Shared => keep(&mut family.shared, read(node, log)),
        FileKind::Case => keep(
            &mut family.cases,
            read(node, log).map(|case| (path.to_owned(), case)),
        ),
        FileKind::Vehicle => true,
    };
    if !read_well {
        family.broken.push(kind);
    }
}

fn keep<T>(list: &mut Vec<T>, item: Option<T>) -> bool {
    let kept = item.is_some();
    list.extend(item);
    kept
}

/// Whether a file in `trees` holds shared parts and no symptom.
fn holds_shared(node: &Node) -> bool {
    let Kind::Map(entries) = &node.kind else {
        return false;
    };
    let has = |name: &str| entries.iter().any(|(key, _)| key.text == name);
    has("shared") && !has("symptom") && !has("top")
}
