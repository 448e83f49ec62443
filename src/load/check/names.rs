//! Names become places in lists; a name that is not there becomes a finding with the nearest that is.

use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet};

use crate::load::code::Code;
use crate::load::log::{Log, Report, Spot, say};
use crate::load::value::{Entries, Entry, Items, Name};

/// The names of one kind of thing, in order: a name's place in the order is its id.
pub(super) struct Names<'a, I> {
    /// What a thing of this kind is called, with its article.
    noun: &'static str,
    /// Where it is described.
    section: &'static str,
    unknown: Code,
    /// The names in order.
    listed: Vec<String>,
    /// What is marked as unfinished: a reference to it is passed over.
    unfinished: BTreeSet<String>,
    /// What names that are no ids were meant to be: one finding about such a name is enough.
    meant: BTreeMap<String, usize>,
    /// Whether all names are known. Where a file could not be read, a name that seems unknown may
    /// stand there, and is passed over.
    whole: bool,
    /// Whether it was said that there are none at all.
    none_said: Cell<bool>,
    /// The ids that things of this kind once had.
    former: RefCell<BTreeSet<String>>,
    /// The id of a place.
    at: fn(usize) -> I,
    log: &'a Log<'a>,
}

impl<'a, I: Copy + PartialEq> Names<'a, I> {
    /// Names with their positions and whether they are unfinished; one that is no id, is there twice, or is unfinished,
    /// becomes a finding.
    pub(super) fn new<'n>(
        unknown: Code,
        at: fn(usize) -> I,
        whole: bool,
        names: impl IntoIterator<Item = (&'n str, Spot, bool)>,
        log: &'a Log<'a>,
    ) -> Self {
        let (noun, section) = described(unknown);
        let mut first: BTreeMap<&str, Spot> = BTreeMap::new();
        let mut unfinished = BTreeSet::new();
        for (name, spot, is_unfinished) in names {
            id(name, spot, log);
            if is_unfinished {
                unfinished.insert(name.to_owned());
                say!(log, spot; Unfinished, "`{name}` is unfinished, and left out" =>
                    "fill it in and delete `unfinished: true`; a cause also waits for its repair");
            }
            if let Some(known) = first.get(name) {
                say!(log, spot; DuplicateName,
                    "{noun} called `{name}` stands in {} already", log.where_is(*known) =>
                    "one name belongs to one thing: rename or delete one of the two");
            } else {
                first.insert(name, spot);
            }
        }
        let finished = first.into_keys().filter(|name| !unfinished.contains(*name));
        let names: Vec<String> = finished.map(str::to_owned).collect();
        let odd = names.iter().zip(0..).filter(|(name, _)| !is_id(name));
        let meant = odd.map(|(name, place)| (meant(name), place)).collect();
        Self {
            noun,
            section,
            unknown,
            listed: names,
            unfinished,
            meant,
            whole,
            none_said: Cell::new(false),
            former: RefCell::default(),
            at,
            log,
        }
    }

    pub(super) fn len(&self) -> usize {
        self.listed.len()
    }

    /// The place of a name that is known to stand.
    pub(super) fn place(&self, name: &str) -> Option<usize> {
        self.listed
            .binary_search_by(|known| known.as_str().cmp(name))
            .ok()
    }

    /// The names in order.
    pub(super) fn iter(&self) -> impl Iterator<Item = &str> {
        self.listed.iter().map(String::as_str)
    }

    /// Whether a name is that of something unfinished.
    pub(super) fn leaves_out(&self, name: &str) -> bool {
        self.unfinished.contains(name)
    }

    /// The id of a name, or a finding; neither for something unfinished.
    pub(super) fn find(&self, name: &Name) -> Option<I> {
        self.find_at(&name.value, name.spot)
    }

    /// The id of a name that is used at a spot, or a finding.
    pub(super) fn find_at(&self, name: &str, spot: Spot) -> Option<I> {
        if self.leaves_out(name) {
            return None;
        }
        let log = self.log;
        let place = self.place(name).or_else(|| self.meant.get(name).copied());
        if place.is_none() && self.whole && !self.listed.is_empty() {
            let words = format!("there is no {} called `{name}`", self.plain_noun());
            let advice = format!(
                "use a name that is described, or describe {} of this name",
                self.noun
            );
            let report = Report::new(self.unknown, spot, words).advice(advice);
            log.add(report.nearest(log.nearest(name, self.iter())));
        } else if place.is_none() && self.whole && !self.none_said.replace(true) {
            // Every name is unknown then; one finding says so.
            let noun = self.plain_noun();
            let words = format!("`{name}` is named here, but no {noun} is described");
            let advice = format!("describe it under {}", self.section);
            log.add(Report::new(self.unknown, spot, words).advice(advice));
        }
        place.map(self.at)
    }

    /// Entries whose names are of this kind: the id of each, with what `build` makes of it.
    pub(super) fn keyed<T, V>(
        &self,
        entries: &Entries<T>,
        build: impl Fn(&Entry<T>, &T) -> Option<V>,
    ) -> Vec<(I, V)> {
        let keyed = entries.0.iter().filter_map(|entry| {
            let id = self.find_at(&entry.name, entry.spot);
            // What the entry says is checked also where its name is unknown.
            let built = build(entry, entry.value.as_ref()?);
            id.zip(built)
        });
        keyed.collect()
    }

    /// The ids of a list of names, each once.
    pub(super) fn ids(&self, names: &Items<Name>) -> Vec<I> {
        let mut ids = Vec::new();
        for name in names.iter() {
            let Some(id) = self.find(name) else {
                continue;
            };
            if ids.contains(&id) {
                say!(self.log, name.spot; DuplicateName, "`{}` stands twice in this list", name.value =>
                    "keep one of the two");
            } else {
                ids.push(id);
            }
        }
        ids
    }

    /// The ids that an entry once had: none of them is the id of another thing of this kind.
    pub(super) fn former(&self, names: &Items<Name>) -> Vec<String> {
        let log = self.log;
        let mut kept = Vec::new();
        for name in names.iter() {
            id(&name.value, name.spot, log);
            let taken = if self.place(&name.value).is_some() {
                "is the id of one now"
            } else if self.former.borrow_mut().insert(name.value.clone()) {
                kept.push(name.value.clone());
                continue;
            } else {
                "stands as a former id already"
            };
            say!(log, name.spot; DuplicateName,
                "`{}` cannot be a former id of {}: it {taken}", name.value, self.noun =>
                "a record that names it could mean either: take it out here");
        }
        kept
    }

    fn plain_noun(&self) -> &'static str {
        self.noun
            .split_once(' ')
            .map_or(self.noun, |(_, noun)| noun)
    }
}

/// What things are called whose name a code says is unknown, and where they are described.
const fn described(unknown: Code) -> (&'static str, &'static str) {
    match unknown {
        Code::UnknownCause => ("a cause", "`causes:` in causes.yaml"),
        Code::UnknownRepair => ("a repair", "`repairs:` in causes.yaml"),
        Code::UnknownSetUp => ("a set-up", "`set_ups:` in family.yaml"),
        Code::UnknownInstrument => ("an instrument", "`instruments:` in family.yaml"),
        Code::UnknownCondition => ("a condition", "`conditions:` in family.yaml"),
        Code::UnknownCaution => ("a caution", "`cautions:` in family.yaml"),
        Code::UnknownSignal => ("a signal", "`signals:` in family.yaml"),
        Code::UnknownCare => ("a kind of care", "`care:` in family.yaml"),
        Code::UnknownShared => ("a shared part", "`shared:` in a file in trees"),
        Code::UnknownSymptom => ("a symptom", "`symptom:` in a file in trees"),
        Code::UnknownVehicle => ("a vehicle", "`vehicle:` in a file in vehicles"),
        _ => ("a measurement", "`measurements:` in a file in measurements"),
    }
}

/// Whether a text is an id in kebab case: small letters and digits in groups joined by hyphens.
pub fn is_id(text: &str) -> bool {
    !text.is_empty()
        && text.len() <= 80
        && text.split('-').all(|group| {
            !group.is_empty()
                && group
                    .bytes()
                    .all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit())
        })
}

/// A finding where a name is no id.
pub(super) fn id(name: &str, spot: Spot, log: &Log<'_>) {
    if !is_id(name) {
        let meant = meant(name);
        say!(log, spot; BadId, "`{name}` is no id" =>
            "an id is at most 80 small letters, digits and single hyphens between them";
            is_id(&meant).then_some(meant));
    }
}

/// The id that a name was likely meant to be.
fn meant(name: &str) -> String {
    let mut meant = String::new();
    for character in name.chars().take(80) {
        if character.is_ascii_alphanumeric() {
            meant.push(character.to_ascii_lowercase());
        } else if !meant.ends_with('-') {
            meant.push('-');
        }
    }
    meant.trim_matches('-').to_owned()
}
