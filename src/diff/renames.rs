//! The same thing under another id: told only where it is certain.
//!
//! A thing that only the older edition has and one that only the newer has are one thing where they
//! state the same title and figures, and no other of either edition does.

use std::collections::BTreeMap;

use super::facts;
use super::gates::Event;
use super::names::{Named, Renames, outcome_key};
use super::thing::Kind;
use crate::knowledge::{Family, Knowledge};

/// Adds the pairs of a kind: names with what they state, of the older and of the newer edition.
fn pair(kind: Kind, old: &[(String, String)], new: &[(String, String)], renames: &mut Renames) {
    let only = |here: &[(String, String)], there: &[(String, String)]| {
        let mut by_statement: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for (name, stated) in here {
            if !there.iter().any(|(other, _)| other == name) {
                by_statement
                    .entry(stated.clone())
                    .or_default()
                    .push(name.clone());
            }
        }
        by_statement
    };
    let (went, came) = (only(old, new), only(new, old));
    for (stated, old) in went {
        if let ([old], Some([new])) = (old.as_slice(), came.get(&stated).map(Vec::as_slice)) {
            renames.insert(kind, old, new);
        }
    }
}

/// The families and vehicles that are called otherwise.
pub(super) fn of_folder(old: &Knowledge, new: &Knowledge) -> Renames {
    let mut renames = Renames::default();
    let families = |knowledge: &Knowledge| -> Vec<(String, String)> {
        knowledge
            .families
            .iter()
            .map(|family| {
                let rates: Vec<(&str, f64)> = family
                    .causes
                    .iter()
                    .map(|cause| (cause.title.as_str(), cause.rate.get()))
                    .collect();
                let stated = format!("{:?} {:?} {rates:?}", family.title, family.shop);
                (family.name.clone(), stated)
            })
            .collect()
    };
    pair(Kind::Family, &families(old), &families(new), &mut renames);
    let vehicles = |knowledge: &Knowledge, renames: &Renames| -> Vec<(String, String)> {
        knowledge
            .vehicles
            .iter()
            .map(|vehicle| {
                let family = renames.to_new(Kind::Family, &vehicle.family);
                let stated = facts::vehicle(vehicle, family).signature(&[]);
                (vehicle.name.clone(), stated)
            })
            .collect()
    };
    let (went, came) = (vehicles(old, &renames), vehicles(new, &Renames::default()));
    pair(Kind::Vehicle, &went, &came, &mut renames);
    renames
}

/// What is called otherwise inside a family. Each kind is told after those whose names it states.
pub(super) fn of_family(old: &Family, new: &Family) -> Renames {
    let mut renames = Renames::default();
    for kind in [
        Kind::Caution,
        Kind::Care,
        Kind::Instrument,
        Kind::SetUp,
        Kind::Condition,
        Kind::Repair,
        Kind::Cause,
        Kind::SharedPart,
        Kind::Measurement,
        Kind::Outcome,
        Kind::Symptom,
        Kind::Case,
    ] {
        let went = stated(
            kind,
            Named {
                family: old,
                renames: &renames,
            },
        );
        let none = Renames::default();
        let came = stated(
            kind,
            Named {
                family: new,
                renames: &none,
            },
        );
        // An outcome belongs to its measurement, whatever that is called.
        let went = match kind {
            Kind::Outcome => under_new_names(went, &renames),
            _ => went,
        };
        let mut found = Renames::default();
        pair(kind, &went, &came, &mut found);
        for (kind, was, now) in found.all() {
            match (kind, was.split_once('/')) {
                (Kind::Outcome, Some((measurement, outcome))) => {
                    let was = renames.to_old(Kind::Measurement, measurement).to_owned();
                    renames.insert(kind, &outcome_key(&was, outcome), now);
                }
                _ => renames.insert(kind, was, now),
            }
        }
    }
    renames
}

/// Outcomes by the new names of their measurements.
fn under_new_names(outcomes: Vec<(String, String)>, renames: &Renames) -> Vec<(String, String)> {
    outcomes
        .into_iter()
        .map(|(name, stated)| match name.split_once('/') {
            Some((measurement, outcome)) => {
                let measurement = renames.to_new(Kind::Measurement, measurement);
                (outcome_key(measurement, outcome), stated)
            }
            None => (name, stated),
        })
        .collect()
}

/// Every thing of a kind with its title and figures.
fn stated(kind: Kind, named: Named<'_>) -> Vec<(String, String)> {
    let family = named.family;
    macro_rules! each {
        ($list:ident, $stated:expr) => {
            family
                .$list
                .iter()
                .map(|item| {
                    #[allow(clippy::redundant_closure_call, reason = "a statement of each kind")]
                    let stated = $stated(item);
                    (item.name.clone(), stated)
                })
                .collect()
        };
    }
    match kind {
        Kind::Caution => each!(cautions, |item| facts::text(item).signature(&[])),
        Kind::Care => each!(care, |item| facts::text(item).signature(&[])),
        Kind::Instrument => each!(instruments, |item| facts::instrument(item).signature(&[])),
        Kind::SetUp => each!(set_ups, |item| facts::set_up(named, item).signature(&[
            "title",
            "minutes",
            "group",
            "equipment"
        ])),
        Kind::Condition => each!(conditions, |item| facts::condition(named, item)
            .signature(&["ask", "answer", "unit", "holds", "source"])),
        Kind::Repair => each!(repairs, |item| facts::repair(named, item)
            .signature(&["title", "minutes", "parts", "verify"])),
        Kind::Cause => each!(causes, |item| facts::cause(named, item).signature(&[])),
        Kind::SharedPart => Event::parts(named)
            .into_iter()
            .map(|(name, part)| (name, format!("{} {}", part.words(), part.structure())))
            .collect(),
        Kind::Measurement => each!(measurements, |item| facts::measurement(named, item)
            .signature(&["title", "ask", "minutes", "outcomes", "shows", "source"])),
        Kind::Outcome => outcomes(named),
        Kind::Symptom => each!(symptoms, |item| format!(
            "{:?} {}",
            facts::symptom(item).signature(&["title"]),
            Event::top(named, item).structure()
        )),
        Kind::Case => family
            .cases
            .iter()
            .map(|case| {
                let stated = facts::case(named, case, case.vehicle.as_deref());
                (facts::case_name(case).to_owned(), stated.signature(&[]))
            })
            .collect(),
        Kind::Family | Kind::Vehicle | Kind::Ambiguity | Kind::Code => Vec::new(),
    }
}

/// Every outcome of every measurement, with what it stands for and what shows it.
fn outcomes(named: Named<'_>) -> Vec<(String, String)> {
    let mut outcomes = Vec::new();
    for measurement in &named.family.measurements {
        for (place, outcome) in measurement.outcomes.iter().enumerate() {
            let mut shown: Vec<(String, f64)> = measurement
                .shows
                .iter()
                .filter_map(|(cause, row)| {
                    row.0
                        .iter()
                        .find(|(id, _)| id.index() == place)
                        .map(|(_, p)| (named.cause(*cause), p.get()))
                })
                .collect();
            shown.sort_by(|a, b| a.0.cmp(&b.0));
            let of = named.name(Kind::Measurement, &measurement.name);
            let normal = place == measurement.normal.index();
            let stated = format!(
                "{of} {:?} {:?} {normal} {shown:?} {:?}",
                outcome.gloss, outcome.bands, measurement.chance.0[place]
            );
            outcomes.push((outcome_key(&measurement.name, &outcome.name), stated));
        }
    }
    outcomes
}
