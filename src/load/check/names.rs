//! Names become places in lists; a name that is not there becomes a finding with the nearest that is.

use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet};

use crate::load::ids::IdKind;
use crate::load::log::{Log, Report, Spot, say};
use crate::load::value::{Entries, Entry, Items, Name};

/// The names of one kind of thing, in order: a name's place in the order is its id.
pub(super) struct Names<'a, I> {
    kind: IdKind,
    /// The names in order, and where each is described.
    listed: Vec<(String, Spot)>,
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
    to_id: fn(usize) -> I,
    log: &'a Log<'a>,
}

impl<'a, I: Copy + PartialEq> Names<'a, I> {
    /// Names with their positions and whether they are unfinished; one that is no id, is there twice, or is unfinished,
    /// becomes a finding.
    pub(super) fn new<'n>(
        kind: IdKind,
        to_id: fn(usize) -> I,
        whole: bool,
        names: impl IntoIterator<Item = (&'n str, Spot, bool)>,
        log: &'a Log<'a>,
    ) -> Self {
        let (noun, ..) = kind.about();
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
        first.retain(|name, _| !unfinished.contains(*name));
        let listed = first
            .into_iter()
            .map(|(name, spot)| (name.to_owned(), spot));
        let listed: Vec<(String, Spot)> = listed.collect();
        let odd = listed.iter().zip(0..).filter(|((name, _), _)| !is_id(name));
        let meant = odd.map(|((name, _), place)| (meant(name), place)).collect();
        Self {
            kind,
            listed,
            unfinished,
            meant,
            whole,
            none_said: Cell::new(false),
            former: RefCell::default(),
            to_id,
            log,
        }
    }

    pub(super) fn len(&self) -> usize {
        self.listed.len()
    }

    /// The place of a name that is known to stand.
    pub(super) fn place(&self, name: &str) -> Option<usize> {
        self.listed
            .binary_search_by(|(known, _)| known.as_str().cmp(name))
            .ok()
    }

    /// The names in order.
    pub(super) fn iter(&self) -> impl Iterator<Item = &str> {
        self.listed.iter().map(|(name, _)| name.as_str())
    }

    /// A name by its place, and where it is described.
    pub(super) fn at(&self, place: usize) -> (&str, Spot) {
        let (name, spot) = &self.listed[place];
        (name, *spot)
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
        let log = self.log;
        if self.leaves_out(name) {
            log.left_out.set(true);
            return None;
        }
        let place = self.place(name).or_else(|| self.meant.get(name).copied());
        let (noun, section, code) = self.kind.about();
        let plain = noun.split_once(' ').map_or(noun, |(_, noun)| noun);
        if place.is_none() && self.whole && !self.listed.is_empty() {
            let words = format!("there is no {plain} called `{name}`");
            let advice = format!("use a name that is described, or describe {noun} of this name");
            let report = Report::new(code, spot, words).advice(advice);
            log.add(report.nearest(log.nearest(name, self.iter())));
        } else if place.is_none() && self.whole && !self.none_said.replace(true) {
            // Every name is unknown then; one finding says so.
            let words = format!("`{name}` is named here, but no {plain} is described");
            log.add(Report::new(code, spot, words).advice(format!("describe it under {section}")));
        }
        place.map(self.to_id)
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
        each_once(names, |name| self.find(name), self.log)
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
                "`{}` cannot be a former id of {}: it {taken}", name.value, self.kind.about().0 =>
                "a record that names it could mean either: take it out here");
        }
        kept
    }
}

/// What each of a list of names is found to be; one that stands twice becomes a finding.
pub(super) fn each_once<T: PartialEq>(
    names: &Items<Name>,
    find: impl Fn(&Name) -> Option<T>,
    log: &Log<'_>,
) -> Vec<T> {
    let mut list = Vec::new();
    for name in names.iter() {
        match find(name) {
            Some(twice) if list.contains(&twice) => {
                say!(log, name.spot; DuplicateName, "`{}` stands twice in this list", name.value =>
                    "keep one of the two");
            }
            found => list.extend(found),
        }
    }
    list
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
