//! Positions in the files, for checks that are made on knowledge after it was loaded.
//!
//! Loading keeps no positions, since most commands never ask for one: the files are parsed again, and the
//! names of the fields followed.

use super::finding::Place;
use super::folder::FileKind;
use super::log::{Log, Spot};
use super::node::{self, Node};
use super::source::{Content, Source};
use super::yaml;

/// Line and column of what a way of field names leads to in a text, or of the place it comes nearest to: of the name,
/// or of the value where that is one text. `None` where the text cannot be read.
pub(crate) fn place_of(text: &str, way: &[&str]) -> Option<(u32, u32)> {
    let file = yaml::read(text, 0).0?;
    let found = follow(file.root(), way);
    let spot = found.node.text().map_or(found.key, |_| found.node.spot());
    Some((spot.line, spot.column))
}

/// The files of a folder as plain values.
pub(crate) struct Places<'s> {
    files: Vec<File<'s>>,
    /// The findings about them.
    pub(crate) log: Log<'s>,
}

struct File<'s> {
    path: &'s str,
    kind: FileKind,
    /// Empty for a spec sheet.
    family: String,
    /// What tells it from the others of its kind: the symptom of a tree, the path of a case, the vehicle.
    name: Option<String>,
    read: node::File<'s>,
}

impl<'s> Places<'s> {
    /// Reads the files of a source that loads; a file that does not is left out.
    pub(crate) fn of(source: &'s Source) -> Self {
        let files = (0_u32..)
            .zip(&source.files)
            .filter_map(|(number, file)| {
                let (kind, family) = FileKind::of(&file.path)?;
                let read = yaml::read_file(file, number).0?;
                let named = |field: &str| read.root().get(field)?.text().map(str::to_owned);
                Some(File {
                    path: &file.path,
                    kind,
                    family: family.to_owned(),
                    name: match kind {
                        FileKind::Tree => named("symptom"),
                        FileKind::Vehicle => named("vehicle"),
                        FileKind::Case | FileKind::Exercise => Some(file.path.clone()),
                        _ => None,
                    },
                    read,
                })
            })
            .collect();
        Self {
            files,
            log: Log::new(&source.files),
        }
    }

    /// The names that lead to a place, joined by `/`: those of its fields, behind the symptom of a tree, the vehicle of a
    /// sheet, the file of a case. Lines and columns change with every edit, they do not. `None` in a file that cannot be
    /// read.
    pub(crate) fn at(&self, place: &Place) -> Option<String> {
        let file = self.files.iter().find(|file| file.path == place.file)?;
        let mut way = vec![file.own_name().to_owned()];
        file.read
            .root()
            .lead_to((place.line, place.column), &mut way);
        way.retain(|name| !name.is_empty());
        Some(way.join("/"))
    }

    /// Says which marks in the files YAML takes otherwise than they look.
    pub(crate) fn eaten(&self, source: &Source) {
        for (number, file) in (0_u32..).zip(&source.files) {
            if let (Content::Text(text), Some(_)) = (&file.content, FileKind::of(&file.path)) {
                for report in yaml::eaten(text, number) {
                    self.log.add(report);
                }
            }
        }
    }

    /// Whether the files of a family say this.
    pub(crate) fn stands(&self, family: &str, kind: FileKind, way: &[&str]) -> bool {
        self.look(family, kind, way)
            .any(|found| found.depth == way.len())
    }

    /// The position of the name at the end of a way of field names. Trees, cases and vehicles are named first. Where the
    /// way leads nowhere, the position of the last name on it that is there.
    pub(crate) fn key(&self, family: &str, kind: FileKind, way: &[&str]) -> Spot {
        self.nearest_to(family, kind, way)
            .map_or_else(Spot::default, |found| found.key)
    }

    /// The position of the value, likewise.
    pub(crate) fn value(&self, family: &str, kind: FileKind, way: &[&str]) -> Spot {
        self.nearest_to(family, kind, way)
            .map_or_else(Spot::default, |found| found.node.spot())
    }

    fn nearest_to(&self, family: &str, kind: FileKind, way: &[&str]) -> Option<Found<'_>> {
        // The first of equals.
        self.look(family, kind, way)
            .reduce(|best, next| if next.depth > best.depth { next } else { best })
    }

    /// How far a way leads in each file of a kind.
    fn look(&self, family: &str, kind: FileKind, way: &[&str]) -> impl Iterator<Item = Found<'_>> {
        self.files
            .iter()
            .filter(move |file| file.kind == kind && file.family == family)
            .filter_map(move |file| {
                let named = usize::from(file.name.is_some());
                if file.name.as_deref() != way.first().copied().filter(|_| named == 1) {
                    return None;
                }
                let found = follow(file.read.root(), &way[named..]);
                let depth = found.depth + named;
                Some(Found { depth, ..found })
            })
    }
}

impl File<'_> {
    /// What it is called where names lead into it: nothing where its fields do that by themselves.
    fn own_name(&self) -> &str {
        match self.kind {
            FileKind::Case | FileKind::Exercise => {
                let name = self.path.rsplit('/').next().unwrap_or_default();
                name.trim_end_matches(".yaml")
            }
            _ => self.name.as_deref().unwrap_or_default(),
        }
    }
}

/// How far a way led.
struct Found<'f> {
    key: Spot,
    node: Node<'f>,
    depth: usize,
}

/// Follows a way of field names as far as it leads.
fn follow<'f>(root: Node<'f>, way: &[&str]) -> Found<'f> {
    let mut found = Found {
        key: root.spot(),
        node: root,
        depth: 0,
    };
    for word in way {
        let Some((key, node)) = found.node.step(word) else {
            break;
        };
        found = Found {
            key,
            node,
            depth: found.depth + 1,
        };
    }
    found
}
