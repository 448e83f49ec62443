//! What a folder names, whatever else is wrong with it: for those who write.

use std::collections::BTreeMap;

use super::folder::FileKind;
use super::ids::{IdKind, Ids};
use super::node::Node;
use super::source::Source;
use super::yaml;

/// What a folder names.
#[derive(Clone, Debug, Default)]
pub struct Outline {
    /// By the folder of the family.
    pub families: BTreeMap<String, FamilyOutline>,
    /// The ids of all families, and of the families and vehicles themselves.
    pub ids: Ids,
}

/// What the files of a family name.
#[derive(Clone, Debug, Default)]
pub struct FamilyOutline {
    /// The ids of its things.
    pub ids: Ids,
    /// The limits that its measurements and conditions ask of a spec sheet, by name.
    pub limits: BTreeMap<String, AskedLimit>,
}

/// A limit that a family asks of a spec sheet.
#[derive(Clone, Debug, Default)]
pub struct AskedLimit {
    /// Which of `min`, `max` and `far` it asks for; none where the limit is only shown.
    pub keys: Vec<String>,
    /// The unit of what is judged by it, where that is a number.
    pub unit: Option<String>,
    /// The titles of what is judged by it.
    pub judges: Vec<String>,
}

impl Outline {
    /// Looks through the files that can be read as YAML.
    pub fn of(source: &Source) -> Self {
        let mut outline = Self::default();
        for file in &source.files {
            let Some((kind, family)) = FileKind::of(&file.path) else {
                continue;
            };
            let Some(read) = yaml::read_file(file, 0).0 else {
                continue;
            };
            let node = read.root();
            if kind == FileKind::Vehicle {
                if let Some(name) = text(node, "vehicle") {
                    outline.ids.add(IdKind::Vehicle, name);
                }
                continue;
            }
            let family = outline.families.entry(family.to_owned()).or_default();
            family.look(kind, node);
        }
        for (name, family) in &outline.families {
            outline.ids.add(IdKind::Family, name);
            outline.ids.extend(&family.ids);
        }
        outline
    }
}

impl FamilyOutline {
    fn look(&mut self, kind: FileKind, node: Node<'_>) {
        let sections: &[(&str, IdKind)] = match kind {
            FileKind::Family => &[
                ("set_ups", IdKind::SetUp),
                ("instruments", IdKind::Instrument),
                ("conditions", IdKind::Condition),
                ("cautions", IdKind::Caution),
                ("signals", IdKind::Signal),
                ("care", IdKind::Care),
            ],
            FileKind::Causes => &[("causes", IdKind::Cause), ("repairs", IdKind::Repair)],
            FileKind::Measurements => &[("measurements", IdKind::Measurement)],
            FileKind::Tree | FileKind::Shared => &[("shared", IdKind::Shared)],
            _ => &[],
        };
        for (section, kind) in sections {
            for (name, entry) in entries(node, section) {
                self.ids.add(*kind, name);
                match kind {
                    IdKind::Measurement => self.measurement(entry),
                    IdKind::Condition => self.judged(entry, "holds", text(entry, "ask")),
                    _ => {}
                }
            }
        }
        if kind == FileKind::Tree
            && let Some(symptom) = text(node, "symptom")
        {
            self.ids.add(IdKind::Symptom, symptom);
        }
    }

    fn measurement(&mut self, node: Node<'_>) {
        let reading = node.get("reading");
        let choices = reading.and_then(|reading| reading.get("choices"));
        let listed = choices.into_iter().flat_map(Node::items);
        let names = listed.filter_map(Node::text);
        let glossed = reading.into_iter().flat_map(|of| entries(of, "choices"));
        let banded = entries(node, "outcomes");
        for name in names.chain(glossed.chain(banded).map(|(name, _)| name)) {
            self.ids.add(IdKind::Outcome, name);
        }
        let title = text(node, "title");
        self.judged(node, "outcomes", title);
        let shown = node.get("limits").into_iter().flat_map(Node::items);
        for name in shown.filter_map(Node::text) {
            let parts = name.rsplit_once('.');
            let (name, key) = parts.map_or((name, None), |(name, key)| (name, Some(key)));
            self.asked(name, key, None, title);
        }
    }

    /// The limits in the bands of a measurement or a condition.
    fn judged(&mut self, node: Node<'_>, field: &str, title: Option<&str>) {
        let unit = node.get("reading").and_then(|of| text(of, "unit"));
        let mut next: Vec<Node<'_>> = node.get(field).into_iter().collect();
        while let Some(node) = next.pop() {
            next.extend(node.items());
            for (key, inner) in node.entries() {
                let key = key.written();
                let limit = inner.text().and_then(|text| text.rsplit_once('.'));
                match limit.filter(|_| matches!(key, "from" | "above" | "to" | "below")) {
                    Some((name, key)) => self.asked(name, Some(key), unit, title),
                    None => next.push(inner),
                }
            }
        }
    }

    fn asked(&mut self, name: &str, key: Option<&str>, unit: Option<&str>, title: Option<&str>) {
        let limit = self.limits.entry(name.to_owned()).or_default();
        let add = |list: &mut Vec<String>, word: Option<&str>| {
            if let Some(word) = word.filter(|word| !list.iter().any(|known| known == word)) {
                list.push(word.to_owned());
            }
        };
        add(&mut limit.keys, key);
        add(&mut limit.judges, title);
        limit.unit = limit.unit.take().or_else(|| unit.map(str::to_owned));
    }
}

fn text<'n>(node: Node<'n>, field: &str) -> Option<&'n str> {
    node.get(field)?.text()
}

fn entries<'n>(node: Node<'n>, field: &str) -> impl Iterator<Item = (&'n str, Node<'n>)> {
    let entries = node.get(field).into_iter().flat_map(Node::entries);
    entries.map(|(name, value)| (name.written(), value))
}
