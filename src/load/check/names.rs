//! Names become places in lists; a name that is not there becomes a finding with the nearest that is.

use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet};

use crate::load::code::Code;
use crate::load::log::{Log, Report, Spot};
use crate::load::placed::{Items, Name};

/// The names of one kind of thing, in order: a name's place in the order is its id.
pub(super) struct Names {
    /// What a thing of this kind is called, with its article.
    noun: &'static str,
    unknown: Code,
    places: BTreeMap<String, usize>,
    /// Whether all names are known. Where a file could not be read, a name that seems unknown may
    /// stand there, and is passed over.
    whole: bool,
    /// Whether it was said that there are none at all.
    none_said: Cell<bool>,
    /// The ids that things of this kind once had.
    former: RefCell<BTreeSet<String>>,
}

impl Names {
    /// Names with their places; each that is no id or stands twice becomes a finding.
    pub(super) fn new<'n>(
        noun: &'static str,
        unknown: Code,
        whole: bool,
        names: impl IntoIterator<Item = (&'n str, Spot)>,
        log: &Log<'_>,
    ) -> Self {
        let mut first: BTreeMap<&str, Spot> = BTreeMap::new();
        for (name, spot) in names {
            id(name, spot, log);
            if let Some(known) = first.get(name) {
                log.add(
                    Report::new(
                        Code::DuplicateName,
                        spot,
                        format!(
                            "{noun} called `{name}` stands in {} already",
                            log.where_is(*known)
                        ),
                    )
                    .advice("one name belongs to one thing: rename or delete one of the two"),
                );
            } else {
                first.insert(name, spot);
            }
        }
        let places = first.into_keys().map(str::to_owned).zip(0..).collect();
        Self {
            noun,
            unknown,
            places,
            whole,
            none_said: Cell::new(false),
            former: RefCell::default(),
        }
    }

    pub(super) fn len(&self) -> usize {
        self.places.len()
    }

    /// The place of a name that is known to stand.
    pub(super) fn place(&self, name: &str) -> Option<usize> {
        self.places.get(name).copied()
    }

    /// The names in order.
    pub(super) fn iter(&self) -> impl Iterator<Item = &str> {
        self.places.keys().map(String::as_str)
    }

    /// The place of a name, or a finding.
    pub(super) fn find(&self, name: &Name, log: &Log<'_>) -> Option<usize> {
        self.find_at(&name.value, name.spot, log)
    }

    /// The place of a name that stands at a spot, or a finding.
    pub(super) fn find_at(&self, name: &str, spot: Spot, log: &Log<'_>) -> Option<usize> {
        let place = self.place(name);
        if place.is_none() && self.whole && !self.places.is_empty() {
            log.add(
                Report::new(
                    self.unknown,
                    spot,
                    format!("there is no {} called `{name}`", self.plain_noun()),
                )
                .nearest(log.nearest(name, self.iter()))
                .advice(format!(
                    "use a name that is described, or describe {} of this name",
                    self.noun
                )),
            );
        } else if place.is_none() && self.whole && !self.none_said.replace(true) {
            // Every name is unknown then; one finding says so.
            log.add(
                Report::new(
                    self.unknown,
                    spot,
                    format!(
                        "`{name}` is named here, but no {} is described",
                        self.plain_noun()
                    ),
                )
                .advice(format!("describe it under {}", self.section())),
            );
        }
        place
    }

    /// Where things of this kind are described.
    const fn section(&self) -> &'static str {
        match self.unknown {
            Code::UnknownCause => "`causes:` in causes.yaml",
            Code::UnknownRepair => "`repairs:` in causes.yaml",
            Code::UnknownSetUp => "`set_ups:` in family.yaml",
            Code::UnknownInstrument => "`instruments:` in family.yaml",
            Code::UnknownCondition => "`conditions:` in family.yaml",
            Code::UnknownCaution => "`cautions:` in family.yaml",
            Code::UnknownCare => "`care:` in family.yaml",
            Code::UnknownShared => "`shared:` in a file in trees",
            Code::UnknownSymptom => "`symptom:` in a file in trees",
            Code::UnknownVehicle => "`vehicle:` in a file in vehicles",
            _ => "`measurements:` in a file in measurements",
        }
    }

    /// The places of a list of names, each once.
    pub(super) fn find_all(&self, names: &Items<Name>, log: &Log<'_>) -> Vec<usize> {
        let mut places = Vec::new();
        for name in names.iter() {
            let Some(place) = self.find(name, log) else {
                continue;
            };
            if places.contains(&place) {
                log.add(
                    Report::new(
                        Code::DuplicateName,
                        name.spot,
                        format!("`{}` stands twice in this list", name.value),
                    )
                    .advice("keep one of the two"),
                );
            } else {
                places.push(place);
            }
        }
        places
    }

    /// The ids that an entry once had: none of them is the id of another thing of this kind.
    pub(super) fn former(&self, names: &Items<Name>, log: &Log<'_>) -> Vec<String> {
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
            log.add(
                Report::new(
                    Code::DuplicateName,
                    name.spot,
                    format!(
                        "`{}` cannot be a former id of {}: it {taken}",
                        name.value, self.noun
                    ),
                )
                .advice("a record that names it could mean either: take it out here"),
            );
        }
        kept
    }

    fn plain_noun(&self) -> &'static str {
        self.noun
            .split_once(' ')
            .map_or(self.noun, |(_, noun)| noun)
    }
}

/// Whether a text is an id in kebab case: small letters and digits in groups joined by hyphens.
#[must_use]
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
        let mut meant = String::new();
        for character in name.chars().take(80) {
            if character.is_ascii_alphanumeric() {
                meant.push(character.to_ascii_lowercase());
            } else if !meant.ends_with('-') {
                meant.push('-');
            }
        }
        let meant = meant.trim_matches('-').to_owned();
        log.add(
            Report::new(Code::BadId, spot, format!("`{name}` is no id"))
                .nearest(is_id(&meant).then_some(meant))
                .advice(
                    "an id is at most 80 small letters, digits and single hyphens between them",
                ),
        );
    }
}
