//! Which file is what: the files of a source sorted into families and vehicles, and read.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::code::Code;
use super::document::number;
use super::log::{Log, Report, Spot, report};
use super::node::{File, Node};
use super::raw::cases::CaseFile;
use super::raw::causes::CausesFile;
use super::raw::codes::CodesFile;
use super::raw::exercises::ExerciseFile;
use super::raw::family::FamilyFile;
use super::raw::measurements::{Measurement, MeasurementsFile};
use super::raw::trees::{SharedFile, TreeFile};
use super::raw::vehicles::VehicleFile;
use super::source::{Content, LARGEST_FILE, Source, SourceFile};
use super::value::{Entry, read};
use super::yaml;

/// How many values a folder may hold, names of fields among them. The shipped one has some 35,000.
const MOST_VALUES: usize = 1_600_000;
/// So many bytes of files are parsed before the values in them are counted.
const AT_ONCE: usize = 2 << 20;

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
    /// `<family>/exercises/*.yaml`
    Exercise,
    /// `vehicles/*.yaml`
    Vehicle,
}

impl FileKind {
    /// Every kind.
    pub const ALL: [Self; 9] = [
        Self::Family,
        Self::Causes,
        Self::Codes,
        Self::Measurements,
        Self::Tree,
        Self::Shared,
        Self::Case,
        Self::Exercise,
        Self::Vehicle,
    ];

    /// Its name, for a file of its schema.
    pub const fn name(self) -> &'static str {
        self.about().0
    }

    /// Where files of the kind lie in a knowledge folder; `*` stands for a family or a name.
    pub const fn lies_in(self) -> &'static str {
        self.about().1
    }

    #[rustfmt::skip] // a table reads as a table
    const fn about(self) -> (&'static str, &'static str) {
        match self {
            Self::Family => ("family", "*/family.yaml"),
            Self::Causes => ("causes", "*/causes.yaml"),
            Self::Codes => ("codes", "*/codes.yaml"),
            Self::Measurements => ("measurements", "*/measurements/*.yaml"),
            Self::Tree => ("tree", "*/trees/*.yaml"),
            Self::Shared => ("shared", "*/trees/*.yaml"),
            Self::Case => ("case", "*/cases/*.yaml"),
            Self::Exercise => ("exercise", "*/exercises/*.yaml"),
            Self::Vehicle => ("vehicle", "vehicles/*.yaml"),
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
            [family, "exercises", _] => Some((Self::Exercise, family)),
            _ => None,
        }
    }
}

impl FileKind {
    /// What a path would hold, and of which family, if its name ended in `.yaml` and not in `.yml` or capitals.
    fn by_another_ending(path: &str) -> Option<(Self, String)> {
        let (stem, ending) = path.rsplit_once('.')?;
        let another = ["yml", "yaml"]
            .iter()
            .any(|known| ending.eq_ignore_ascii_case(known));
        let path = format!("{stem}.yaml");
        let (kind, family) = Self::of(&path).filter(|_| another && ending != "yaml")?;
        Some((kind, family.to_owned()))
    }
}

/// The name of a file, without folder and ending.
pub(super) fn stem(path: &str) -> &str {
    let file = path.rsplit('/').next().unwrap_or(path);
    file.trim_end_matches(".yaml")
}

/// What could be read of a folder.
#[derive(Debug, Default)]
pub(super) struct Folder {
    pub(super) families: BTreeMap<String, RawFamily>,
    pub(super) vehicles: Vec<VehicleFile>,
    /// Whether every vehicle could be read.
    pub(super) vehicles_whole: bool,
    /// Whether the files are those the program was built with.
    pub(super) shipped: bool,
}

/// What could be read of a family.
#[derive(Debug, Default)]
pub(super) struct RawFamily {
    pub(super) file: FamilyFile,
    pub(super) causes: CausesFile,
    pub(super) codes: CodesFile,
    pub(super) measurements: Vec<MeasurementsFile>,
    pub(super) trees: Vec<TreeFile>,
    pub(super) shared: Vec<SharedFile>,
    pub(super) cases: Vec<(String, CaseFile)>,
    pub(super) exercises: Vec<(String, ExerciseFile)>,
    /// The kinds of which a file could be read.
    found: Vec<FileKind>,
    /// The kinds of which a file could not be read: their names are not all known.
    pub(super) broken: Vec<FileKind>,
}

impl RawFamily {
    /// A file of a kind cannot be read; of a tree, nobody knows whether it holds shared parts.
    fn break_off(&mut self, kind: FileKind) {
        self.broken.push(kind);
        if kind == FileKind::Tree {
            self.broken.push(FileKind::Shared);
        }
    }

    /// The measurements, in the order of the files.
    pub(super) fn measured(&self) -> impl Iterator<Item = &Entry<Measurement>> {
        let files = self.measurements.iter();
        files.flat_map(|file| &file.measurements.0)
    }

    /// Whether all files of a kind could be read.
    pub(super) fn whole(&self, kind: FileKind) -> bool {
        !self.broken.contains(&kind)
    }
}

/// Reads all files of a source.
pub(super) fn sort<'s>(source: &'s Source, log: &Log<'_>) -> Folder {
    let mut folder = Folder {
        vehicles_whole: true,
        shipped: source.shipped,
        ..Folder::default()
    };
    if let Some((words, advice)) = misplaced(source) {
        log.about(Code::MissingFile, "", words, advice);
        return folder;
    }
    let is_passed_over =
        |kind| matches!(kind, FileKind::Case | FileKind::Exercise) && !source.with_cases;
    let parse = |(index, file): (usize, &'s SourceFile)| match FileKind::of(&file.path) {
        Some((kind, _)) if !is_passed_over(kind) => yaml::read_file(file, number(index)),
        _ => (None, Vec::new()),
    };
    // The shipped files were parsed before: starting threads would take longer than reading them one by one.
    let mut parsed = if source.shipped {
        Vec::new()
    } else {
        parse_all(source, parse, log)
    }
    .into_iter();
    let mut unreadable = false;
    for (index, file) in source.files.iter().enumerate() {
        let (read_file, reports) = parsed.next().unwrap_or_else(|| parse((index, file)));
        if file.is_for_people() {
            continue;
        }
        let (kind, family) = match FileKind::of(&file.path) {
            Some((kind, _)) if is_passed_over(kind) => continue,
            Some((kind, family)) => {
                no_text(file, log);
                (kind, family.to_owned())
            }
            None => match FileKind::by_another_ending(&file.path) {
                Some(meant) => {
                    let words = "this file is not read: its name must end in .yaml";
                    log.about(Code::WrongEnding, &file.path, words, "rename it");
                    meant
                }
                None => {
                    stray(file, log);
                    unreadable |= matches!(file.content, Content::Unreadable(_));
                    continue;
                }
            },
        };
        for report in reports {
            log.add(report);
        }
        let family =
            (kind != FileKind::Vehicle).then(|| folder.families.entry(family).or_default());
        let node = read_file.as_ref().map(File::root);
        match (node, family) {
            (Some(node), Some(family)) => family_file(family, kind, &file.path, node, log),
            (None, Some(family)) => family.break_off(kind),
            (node, None) => match node.and_then(|node| read(node, log)) {
                Some(vehicle) => folder.vehicles.push(vehicle),
                None => folder.vehicles_whole = false,
            },
        }
    }
    if folder.families.is_empty() && !unreadable {
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

/// A file's value, and what was found on the way.
type Parsed<'s> = (Option<File<'s>>, Vec<Report>);

/// Parses the files, many at once: until they hold more values than a folder may, and that is said of the file that breaks
/// the limit.
fn parse_all<'s>(
    source: &'s Source,
    parse: impl Fn((usize, &'s SourceFile)) -> Parsed<'s> + Sync,
    log: &Log<'_>,
) -> Vec<Parsed<'s>> {
    let mut parsed: Vec<Parsed<'s>> = Vec::with_capacity(source.files.len());
    let mut values = 0;
    while parsed.len() < source.files.len() {
        let start = parsed.len();
        let mut bytes = 0;
        let few = source.files[start..].iter().take_while(|file| {
            let fits = bytes < AT_ONCE;
            bytes += file.length();
            fits
        });
        let end = start + few.count();
        let files = source.files[start..end].par_iter().enumerate();
        parsed.par_extend(files.map(|(index, file)| parse((start + index, file))));
        for (index, (file, _)) in parsed.iter().enumerate().skip(start) {
            values += file.as_ref().map_or(0, File::count);
            if values > MOST_VALUES {
                let spot = Spot::file(number(index));
                log.add(report!(spot; TooMuch,
                    "up to this file the folder holds more than {MOST_VALUES} values: no file from here on is read" =>
                    "so much is a mistake, or several families that belong into folders of their own"));
                parsed.truncate(index);
                parsed.resize_with(source.files.len(), Default::default);
                return parsed;
            }
        }
    }
    parsed
}

/// What to say where the folder given is one too deep, or one too high.
fn misplaced(source: &Source) -> Option<(String, &'static str)> {
    let mut paths = source.files.iter().map(|file| file.path.as_str());
    if paths.clone().any(|path| path == "family.yaml") {
        let words = "this is the folder of one family, not a knowledge folder";
        return Some((words.to_owned(), "name the folder above it"));
    }
    let is_family = |path: &str| matches!(FileKind::of(path), Some((FileKind::Family, _)));
    if paths.clone().any(is_family) {
        return None;
    }
    let deep = paths.find_map(|path| {
        let (folder, rest) = path.split_once('/')?;
        let (_, name) = rest.split_once('/')?;
        (name == "family.yaml").then_some(folder)
    })?;
    let words = format!("the families lie one folder deeper, in `{deep}`");
    Some((words, "name that folder"))
}

/// The files a family needs.
#[rustfmt::skip] // a table reads as a table
const NEEDED: [(FileKind, &str, &str); 4] = [
    (FileKind::Family, "family.yaml", "family.yaml says what the family is"),
    (FileKind::Causes, "causes.yaml", "causes.yaml lists what can be wrong"),
    (FileKind::Measurements, "measurements", "a file in measurements says what to measure"),
    (FileKind::Tree, "trees", "a file in trees describes a complaint"),
];

/// The files that a family lacks.
fn missing(name: &str, family: &RawFamily, log: &Log<'_>) {
    for (kind, path, advice) in NEEDED {
        if family.whole(kind) && !family.found.contains(&kind) {
            let words = format!("the family `{name}` lacks this");
            log.about(Code::MissingFile, &format!("{name}/{path}"), words, advice);
        }
    }
}

/// A file of no known kind.
fn stray(file: &SourceFile, log: &Log<'_>) {
    let advice = "families lie in folders of their own, spec sheets in vehicles/; a file of another kind belongs elsewhere";
    let not_read = "this file is not read";
    match &file.content {
        Content::Unreadable(_) => no_text(file, log),
        Content::Nothing(why) => log.about(Code::StrayFile, &file.path, *why, advice),
        _ => log.about(Code::StrayFile, &file.path, not_read, advice),
    }
}

/// A finding where a file holds no text.
pub(super) fn no_text(file: &SourceFile, log: &Log<'_>) {
    let (code, words, advice) = match &file.content {
        Content::Text(_) => return,
        Content::NotUtf8(good) => {
            let line = good.replace("\r\n", "\n").matches(['\n', '\r']).count() + 1;
            let words = format!("the bytes after line {line} are not UTF-8");
            (Code::NotUtf8, words, "save the file as UTF-8 in the editor")
        }
        Content::TooLarge(length) => {
            let words =
                format!("the file has {length} bytes; more than {LARGEST_FILE} are not read");
            (Code::TooLarge, words, "split it into several files")
        }
        Content::Unreadable(why) => (Code::Unreadable, format!("this cannot be read: {why}"), ""),
        Content::Nothing(why) => (Code::Unreadable, (*why).to_owned(), ""),
    };
    log.about(code, &file.path, words, advice);
}

/// Reads one file of a family.
fn family_file(family: &mut RawFamily, kind: FileKind, path: &str, node: Node<'_>, log: &Log<'_>) {
    let kind = if kind == FileKind::Tree && holds_shared(node) {
        FileKind::Shared
    } else {
        kind
    };
    let read_well = match kind {
        FileKind::Family => keep(read(node, log), |file| family.file = file),
        FileKind::Causes => keep(read(node, log), |file| family.causes = file),
        FileKind::Codes => keep(read(node, log), |file| family.codes = file),
        FileKind::Measurements => keep(read(node, log), |file| family.measurements.push(file)),
        FileKind::Tree => keep(read(node, log), |file| family.trees.push(file)),
        FileKind::Shared => keep(read(node, log), |file| family.shared.push(file)),
        FileKind::Case => keep(read(node, log), |case| {
            family.cases.push((path.to_owned(), case));
        }),
        FileKind::Exercise => keep(read(node, log), |exercise| {
            family.exercises.push((path.to_owned(), exercise));
        }),
        FileKind::Vehicle => true,
    };
    if read_well {
        family.found.push(kind);
    } else {
        family.broken.push(kind);
    }
}

fn keep<T>(file: Option<T>, put: impl FnOnce(T)) -> bool {
    file.map(put).is_some()
}

/// Whether a file in `trees` holds shared parts and no symptom.
fn holds_shared(node: Node<'_>) -> bool {
    let has = |name: &str| node.entries().any(|(key, _)| key.written() == name);
    has("shared") && !has("symptom") && !has("top")
}
