//! Every difference between two editions of the knowledge, thing by thing.

use std::collections::{BTreeMap, BTreeSet};

use super::change::{Change, What};
use super::fact::{Effect, Facts, Value};
use super::facts;
use super::gates;
use super::gates::Event;
use super::list;
use super::names::{Named, Renames};
use super::renames;
use super::thing::{Kind, Thing};
use crate::knowledge::{Family, Knowledge};

/// A whole tree in words, for a thing that only one edition has.
const TREE: &str = "tree";

/// What the two editions call the same things.
pub(super) struct Sameness {
    pub(super) folder: Renames,
    /// By the family's newer name.
    pub(super) families: BTreeMap<String, Renames>,
}

impl Sameness {
    pub(super) fn of(old: &Knowledge, new: &Knowledge) -> Self {
        let folder = renames::of_folder(old, new);
        let families = old
            .families
            .iter()
            .filter_map(|was| {
                let now = new.family(folder.to_new(Kind::Family, &was.name))?;
                Some((now.name.clone(), renames::of_family(was, now)))
            })
            .collect();
        Self { folder, families }
    }
}

/// Every difference: what moves the belief first, then limits, costs and words; in each by kind of
/// thing and by name.
pub(super) fn changes(old: &Knowledge, new: &Knowledge, same: &Sameness) -> Vec<Change> {
    let mut found = Found::default();
    let none = Renames::default();
    let (was, now) = (families(old, &same.folder), families(new, &none));
    let (was_stated, now_stated) = (whole_families(&was), whole_families(&now));
    found.renamed(None, Kind::Family, &same.folder);
    for name in names(&was, &now) {
        if let (Some(was), Some(now), Some(renames)) =
            (was.get(&name), now.get(&name), same.families.get(&name))
        {
            found.family(&name, was, now, renames, &same.folder);
        } else {
            found.whole(None, Kind::Family, &name, &was_stated, &now_stated);
        }
    }
    found.vehicles(old, new, &same.folder);
    let mut changes = found.0;
    changes.sort_by(|a, b| {
        (a.effect(), &a.thing)
            .cmp(&(b.effect(), &b.thing))
            .then_with(|| a.what.order().cmp(&b.what.order()))
    });
    changes
}

/// The families, by what the newer edition calls them.
fn families<'k>(knowledge: &'k Knowledge, renames: &Renames) -> BTreeMap<String, &'k Family> {
    knowledge
        .families
        .iter()
        .map(|family| {
            let name = renames.to_new(Kind::Family, &family.name).to_owned();
            (name, family)
        })
        .collect()
}

/// What families state that only one edition has: their figures, and how much they hold.
fn whole_families(families: &BTreeMap<String, &Family>) -> BTreeMap<String, Facts> {
    let none = Renames::default();
    families
        .iter()
        .map(|(name, family)| {
            let mut stated = facts::family(Named {
                family,
                renames: &none,
            });
            for (kind, count) in [
                (Kind::Symptom, family.symptoms.len()),
                (Kind::Cause, family.causes.len()),
                (Kind::Measurement, family.measurements.len()),
            ] {
                let words = match count {
                    1 => format!("1 {}", kind.word()),
                    more => format!("{more} {}", kind.plural()),
                };
                stated.word(Effect::Words, "holds", &[kind.plural()], &words);
            }
            (name.clone(), stated)
        })
        .collect()
}

impl What {
    /// Where it stands among the differences of one thing.
    fn order(&self) -> (usize, Option<&super::fact::Aspect>) {
        match self {
            Self::Added(_) | Self::Removed(_) => (0, None),
            Self::Renamed { .. } => (1, None),
            Self::Stated { aspect, .. } | Self::Listed { aspect, .. } => (2, Some(aspect)),
        }
    }
}

/// All names of two maps.
fn names<V>(old: &BTreeMap<String, V>, new: &BTreeMap<String, V>) -> BTreeSet<String> {
    old.keys().chain(new.keys()).cloned().collect()
}

#[derive(Default)]
struct Found(Vec<Change>);

impl Found {
    fn say(&mut self, thing: &Thing, what: What) {
        self.0.push(Change {
            thing: thing.clone(),
            what,
        });
    }

    /// The renames of a kind.
    fn renamed(&mut self, family: Option<&str>, kind: Kind, renames: &Renames) {
        for (of, from, to) in renames.all() {
            if of == kind {
                let from = from.to_owned();
                self.say(&thing(family, kind, to), What::Renamed { from });
            }
        }
    }

    /// A thing that only one edition has.
    fn whole(
        &mut self,
        family: Option<&str>,
        kind: Kind,
        name: &str,
        old: &BTreeMap<String, Facts>,
        new: &BTreeMap<String, Facts>,
    ) {
        let thing = thing(family, kind, name);
        match (old.get(name), new.get(name)) {
            (Some(was), None) => self.say(&thing, What::Removed(was.clone())),
            (None, Some(now)) => self.say(&thing, What::Added(now.clone())),
            _ => {}
        }
    }

    /// Things of a kind, by name.
    fn things(
        &mut self,
        family: Option<&str>,
        kind: Kind,
        old: &BTreeMap<String, Facts>,
        new: &BTreeMap<String, Facts>,
    ) {
        for name in names(old, new) {
            match (old.get(&name), new.get(&name)) {
                (Some(was), Some(now)) => self.facts(&thing(family, kind, &name), was, now),
                _ => self.whole(family, kind, &name, old, new),
            }
        }
    }

    /// What one thing states otherwise.
    fn facts(&mut self, thing: &Thing, old: &Facts, new: &Facts) {
        let aspects: BTreeSet<_> = old.0.keys().chain(new.0.keys()).collect();
        for aspect in aspects {
            let (was, now) = (old.0.get(aspect), new.0.get(aspect));
            // Trees are told gate by gate.
            if was == now || aspect.field == TREE {
                continue;
            }
            let aspect = aspect.clone();
            let what = match (was, now) {
                (Some(Value::List(was)), Some(Value::List(now))) => What::Listed {
                    aspect,
                    differs: Box::new(list::differs(was, now)),
                },
                _ => What::Stated {
                    aspect,
                    was: was.cloned(),
                    now: now.cloned(),
                },
            };
            self.say(thing, what);
        }
    }

    /// Everything of a family that both editions have.
    fn family(
        &mut self,
        name: &str,
        old: &Family,
        new: &Family,
        renames: &Renames,
        folder: &Renames,
    ) {
        let none = Renames::default();
        let was = Named {
            family: old,
            renames,
        };
        let now = Named {
            family: new,
            renames: &none,
        };
        let thing = thing(None, Kind::Family, name);
        self.facts(&thing, &facts::family(was), &facts::family(now));
        let of = Some(name);
        for kind in [
            Kind::Caution,
            Kind::Care,
            Kind::SetUp,
            Kind::Instrument,
            Kind::Condition,
            Kind::Ambiguity,
            Kind::Code,
            Kind::Repair,
            Kind::Cause,
            Kind::Measurement,
            Kind::Symptom,
            Kind::Case,
        ] {
            self.renamed(of, kind, renames);
            self.things(
                of,
                kind,
                &of_kind(kind, was, folder),
                &of_kind(kind, now, &none),
            );
        }
        self.renamed_outcomes(name, renames);
        self.trees(name, was, now, renames);
    }

    /// Outcomes that are called otherwise: told of their measurement.
    fn renamed_outcomes(&mut self, family: &str, renames: &Renames) {
        for (kind, from, to) in renames.all() {
            if let (Kind::Outcome, Some((_, from)), Some((measurement, to))) =
                (kind, from.split_once('/'), to.split_once('/'))
            {
                let aspect = super::fact::Aspect {
                    effect: Effect::Words,
                    field: "outcome_name",
                    at: vec![to.to_owned()],
                };
                let what = What::Stated {
                    aspect,
                    was: Some(Value::Word(from.to_owned())),
                    now: Some(Value::Word(to.to_owned())),
                };
                self.say(&thing(Some(family), Kind::Measurement, measurement), what);
            }
        }
    }

    /// The trees, gate by gate; a shared part once, however many trees it stands in.
    fn trees(&mut self, family: &str, old: Named<'_>, new: Named<'_>, renames: &Renames) {
        for now in &new.family.symptoms {
            let was = renames.to_old(Kind::Symptom, &now.name);
            let Some(was) = old.family.symptoms.iter().find(|one| one.name == was) else {
                continue;
            };
            let thing = thing(Some(family), Kind::Symptom, &now.name);
            gates::differs(
                &thing,
                &Event::top(old, was),
                &Event::top(new, now),
                &mut self.0,
            );
        }
        self.renamed(Some(family), Kind::SharedPart, renames);
        let (was, now) = (Event::parts(old), Event::parts(new));
        let whole = |parts: &BTreeMap<String, Event>| -> BTreeMap<String, Facts> {
            parts
                .iter()
                .map(|(name, part)| {
                    let mut facts = Facts::default();
                    facts.text("event_words", &[], part.words()).word(
                        Effect::Belief,
                        TREE,
                        &[],
                        &part.structure(),
                    );
                    (name.clone(), facts)
                })
                .collect()
        };
        let (was_whole, now_whole) = (whole(&was), whole(&now));
        for name in names(&was, &now) {
            match (was.get(&name), now.get(&name)) {
                (Some(was), Some(now)) => {
                    let thing = thing(Some(family), Kind::SharedPart, &name);
                    gates::differs(&thing, was, now, &mut self.0);
                }
                _ => self.whole(
                    Some(family),
                    Kind::SharedPart,
                    &name,
                    &was_whole,
                    &now_whole,
                ),
            }
        }
    }

    fn vehicles(&mut self, old: &Knowledge, new: &Knowledge, renames: &Renames) {
        let none = Renames::default();
        let of = |knowledge: &Knowledge, renames: &Renames| {
            let mut vehicles = BTreeMap::new();
            for vehicle in &knowledge.vehicles {
                let family = renames.to_new(Kind::Family, &vehicle.family);
                let name = renames.to_new(Kind::Vehicle, &vehicle.name);
                vehicles.insert(name.to_owned(), facts::vehicle(vehicle, family));
            }
            vehicles
        };
        self.renamed(None, Kind::Vehicle, renames);
        self.things(None, Kind::Vehicle, &of(old, renames), &of(new, &none));
    }
}

fn thing(family: Option<&str>, kind: Kind, name: &str) -> Thing {
    Thing {
        kind,
        family: family.map(str::to_owned),
        name: name.to_owned(),
    }
}

/// What the things of a kind state, by the newer edition's names.
fn of_kind(kind: Kind, named: Named<'_>, folder: &Renames) -> BTreeMap<String, Facts> {
    let family = named.family;
    let mut things = BTreeMap::new();
    let mut add = |name: &str, facts: Facts| {
        things.insert(named.name(kind, name), facts);
    };
    match kind {
        Kind::Caution => family
            .cautions
            .iter()
            .for_each(|item| add(&item.name, facts::text(item))),
        Kind::Care => family
            .care
            .iter()
            .for_each(|item| add(&item.name, facts::text(item))),
        Kind::SetUp => family
            .set_ups
            .iter()
            .for_each(|item| add(&item.name, facts::set_up(named, item))),
        Kind::Instrument => family
            .instruments
            .iter()
            .for_each(|item| add(&item.name, facts::instrument(item))),
        Kind::Condition => family
            .conditions
            .iter()
            .for_each(|item| add(&item.name, facts::condition(named, item))),
        Kind::Repair => family
            .repairs
            .iter()
            .for_each(|item| add(&item.name, facts::repair(named, item))),
        Kind::Cause => family
            .causes
            .iter()
            .for_each(|item| add(&item.name, facts::cause(named, item))),
        Kind::Measurement => family
            .measurements
            .iter()
            .for_each(|item| add(&item.name, facts::measurement(named, item))),
        Kind::Code => family
            .codes
            .iter()
            .for_each(|(code, meaning)| add(code, facts::code(named, meaning))),
        Kind::Symptom => family.symptoms.iter().for_each(|item| {
            let mut facts = facts::symptom(item);
            let tree = Event::top(named, item).structure();
            facts.word(Effect::Belief, TREE, &[], &tree);
            add(&item.name, facts);
        }),
        Kind::Case => family.cases.iter().for_each(|case| {
            let vehicle = case
                .vehicle
                .as_deref()
                .map(|name| folder.to_new(Kind::Vehicle, name));
            add(facts::case_name(case), facts::case(named, case, vehicle));
        }),
        Kind::Ambiguity => {
            // Nothing but their causes names them: of several over the same, each has its number.
            let mut stated: Vec<(String, Facts)> = family
                .ambiguities
                .iter()
                .map(|item| facts::ambiguity(named, item))
                .collect();
            stated.sort_by_cached_key(|(name, facts)| (name.clone(), facts.signature(&[])));
            for place in 0..stated.len() {
                let (name, facts) = &stated[place];
                let before = stated[..place]
                    .iter()
                    .filter(|(one, _)| one == name)
                    .count();
                match before {
                    0 => add(name, facts.clone()),
                    more => add(&format!("{name} ({})", more + 1), facts.clone()),
                }
            }
        }
        Kind::Family | Kind::SharedPart | Kind::Outcome | Kind::Vehicle => {}
    }
    things
}
