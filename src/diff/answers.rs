//! What the differences do to the answer to each complaint, before any reading.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::list::Sides;
use super::names::{Editions, Named, Renames};
use super::thing::Kind;
use crate::decide::{Circumstances, OrderBy, Standing};
use crate::infer::{Complaint, Model};
use crate::knowledge::{SymptomId, Vehicle};

/// So many of the ranking's measurements are compared.
pub const FIRST: usize = 3;
/// A smaller move of a probability is rounding.
const ROUNDING: f64 = 1e-12;

/// What differs in the answer to one complaint. Names are the newer edition's.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AnswerDiffers {
    /// The family.
    pub family: String,
    /// The complaint.
    pub symptom: String,
    /// The vehicle it was asked on: the first of the family by name that both editions have.
    pub vehicle: Option<String>,
    /// The candidates that only one edition has.
    pub candidates: Candidates,
    /// Repairs whose probability before any reading moved, the largest move first.
    pub repairs: Vec<RepairMoved>,
    /// The first measurements of the ranking.
    pub first: Sides<Vec<First>>,
    /// Why an edition has no answer.
    pub fails: Sides<Option<String>>,
}

/// Candidates that only one edition has, each by its causes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Candidates {
    /// Those that came.
    #[serde(rename = "in")]
    pub came: Vec<Vec<String>>,
    /// Those that went.
    #[serde(rename = "out")]
    pub went: Vec<Vec<String>>,
}

/// The repairs of a group of candidates, and how probable it is that they cure the vehicle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RepairMoved {
    /// The repairs, sorted.
    pub repairs: Vec<String>,
    /// The probability it had, 0 to 1; 0 where no candidate needed them.
    pub was: f64,
    /// The probability it has.
    pub now: f64,
}

/// One measurement of a ranking.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct First {
    /// Its id.
    pub id: String,
    /// How many candidates in play it is expected to set apart.
    pub separates: f64,
    /// Minutes, set-ups included.
    pub minutes: f64,
}

/// The answer to a complaint by one edition.
#[derive(Clone, Debug, Default)]
struct Answer {
    candidates: BTreeSet<Vec<String>>,
    repairs: BTreeMap<Vec<String>, f64>,
    first: Vec<First>,
}

impl AnswerDiffers {
    /// Whether the ranking starts with other measurements, or with the same in another order.
    pub fn ranks_otherwise(&self) -> bool {
        let ids = |first: &[First]| first.iter().map(|one| one.id.clone()).collect::<Vec<_>>();
        ids(&self.first.was) != ids(&self.first.now)
    }

    fn is_something(&self) -> bool {
        !self.candidates.came.is_empty()
            || !self.candidates.went.is_empty()
            || !self.repairs.is_empty()
            || self.ranks_otherwise()
            || self.fails.was.is_some()
            || self.fails.now.is_some()
    }
}

/// The complaints of both editions whose answers differ, by family and name.
pub(super) fn differing(editions: &Editions<'_>) -> Vec<AnswerDiffers> {
    let none = Renames::default();
    let mut differing = Vec::new();
    for [was, now] in editions.families() {
        let (old, new) = (Named::new(was, &editions.renames), Named::new(now, &none));
        let on = vehicles(editions, &new.name);
        for (place, symptom) in now.symptoms.iter().enumerate() {
            let to_old = |kind| {
                editions
                    .renames
                    .to_old(kind, Some(&now.name), &symptom.name)
            };
            let Some(before) = was.symptom_named(&to_old(Kind::Symptom)) else {
                continue;
            };
            let was = answer(&old, on.map(|[was, _]| was), before);
            let now = answer(&new, on.map(|[_, now]| now), SymptomId::at(place));
            let found = AnswerDiffers {
                family: new.name.clone(),
                symptom: symptom.name.clone(),
                vehicle: on.map(|[_, now]| now.name.clone()),
                ..differs(was, now)
            };
            if found.is_something() {
                differing.push(found);
            }
        }
    }
    differing
}

/// The first vehicle of a family, by its newer name, that both editions have.
fn vehicles<'k>(editions: &Editions<'k>, family: &str) -> Option<[&'k Vehicle; 2]> {
    let of_family = editions
        .new
        .vehicles
        .iter()
        .filter(|vehicle| vehicle.family == family);
    let renames = &editions.renames;
    of_family.into_iter().find_map(|now| {
        let was = editions
            .old
            .vehicle(&renames.to_old(Kind::Vehicle, None, &now.name))?;
        (renames.to_new(Kind::Family, None, &was.family) == family).then_some([was, now])
    })
}

/// The answer to one complaint on a vehicle that just came in.
fn answer(
    named: &Named<'_>,
    vehicle: Option<&Vehicle>,
    symptom: SymptomId,
) -> Result<Answer, String> {
    let complaint = Complaint {
        present: vec![symptom],
        ..Complaint::default()
    };
    let model = Model::new(named.family, vehicle, complaint).map_err(|error| error.to_string())?;
    let on_arrival = Circumstances::on_arrival(named.family);
    let standing = Standing::new(&model, Vec::new(), &on_arrival, OrderBy::default())
        .map_err(|error| error.to_string())?;
    let repairs = standing.repairs_by_probability();
    let first = standing.ranking.iter().take(FIRST).map(|ranked| First {
        id: named.one(standing.ranked(ranked)),
        separates: ranked.separates,
        minutes: ranked.minutes,
    });
    Ok(Answer {
        candidates: model
            .candidates
            .iter()
            .map(|one| named.set(&one.causes))
            .collect(),
        repairs: repairs
            .into_iter()
            .map(|(repairs, p)| (named.set(&repairs), p))
            .collect(),
        first: first.collect(),
    })
}

fn differs(was: Result<Answer, String>, now: Result<Answer, String>) -> AnswerDiffers {
    let fails = Sides {
        was: was.as_ref().err().cloned(),
        now: now.as_ref().err().cloned(),
    };
    let (was, now) = (was.unwrap_or_default(), now.unwrap_or_default());
    let groups: BTreeSet<&Vec<String>> = was.repairs.keys().chain(now.repairs.keys()).collect();
    let probability = |of: &Answer, group| of.repairs.get(group).copied().unwrap_or(0.0);
    let mut repairs: Vec<RepairMoved> = groups
        .into_iter()
        .map(|group| RepairMoved {
            repairs: group.clone(),
            was: probability(&was, group),
            now: probability(&now, group),
        })
        .filter(|moved| (moved.now - moved.was).abs() > ROUNDING)
        .collect();
    // Equal moves stay in the order of their names.
    repairs.sort_by(|a, b| (b.now - b.was).abs().total_cmp(&(a.now - a.was).abs()));
    let only = |one: &Answer, other: &Answer| {
        one.candidates
            .difference(&other.candidates)
            .cloned()
            .collect()
    };
    AnswerDiffers {
        family: String::new(),
        symptom: String::new(),
        vehicle: None,
        candidates: Candidates {
            came: only(&now, &was),
            went: only(&was, &now),
        },
        repairs,
        first: Sides {
            was: was.first,
            now: now.first,
        },
        fails,
    }
}
