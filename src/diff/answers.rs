//! What the differences do to the answer to each complaint, before any reading.

use std::collections::{BTreeMap, BTreeSet};

use super::changes::Sameness;
use super::names::{Named, Renames};
use super::thing::Kind;
use crate::decide::OrderBy;
use crate::decide::{Circumstances, Standing};
use crate::infer::{Complaint, Model};
use crate::knowledge::{Family, Knowledge, SymptomId, Vehicle};

/// So many of the ranking's measurements are compared.
pub const FIRST: usize = 3;
/// A smaller move of a probability is rounding.
const ROUNDING: f64 = 1e-12;

/// What differs in the answer to one complaint. Names are the newer edition's.
#[derive(Clone, Debug, PartialEq)]
pub struct AnswerDiffers {
    /// The family.
    pub family: String,
    /// The complaint.
    pub symptom: String,
    /// The vehicle it was asked on: the first of the family by name that both editions have.
    pub vehicle: Option<String>,
    /// Candidates that came, each by its causes.
    pub came: Vec<Vec<String>>,
    /// Candidates that went.
    pub went: Vec<Vec<String>>,
    /// Repairs whose probability before any reading moved, the largest move first.
    pub repairs: Vec<RepairMoved>,
    /// The first measurements of the ranking, as they were and as they are.
    pub first: [Vec<First>; 2],
    /// Why an edition has no answer.
    pub fails: [Option<String>; 2],
}

/// The repairs of a group of candidates, and how probable it is that they cure the vehicle.
#[derive(Clone, Debug, PartialEq)]
pub struct RepairMoved {
    /// The repairs, sorted.
    pub repairs: Vec<String>,
    /// The probability it had, 0 to 1; 0 where no candidate needed them.
    pub was: f64,
    /// The probability it has.
    pub now: f64,
}

/// One measurement of a ranking.
#[derive(Clone, Debug, PartialEq)]
pub struct First {
    /// Its id.
    pub measurement: String,
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
    #[must_use]
    pub fn ranks_otherwise(&self) -> bool {
        let [was, now] = &self.first;
        !was.iter()
            .map(|first| &first.measurement)
            .eq(now.iter().map(|first| &first.measurement))
    }

    fn is_something(&self) -> bool {
        !self.came.is_empty()
            || !self.went.is_empty()
            || !self.repairs.is_empty()
            || self.ranks_otherwise()
            || self.fails.iter().any(Option::is_some)
    }
}

/// The complaints of both editions whose answers differ, by family and name.
pub(super) fn differing(old: &Knowledge, new: &Knowledge, same: &Sameness) -> Vec<AnswerDiffers> {
    let none = Renames::default();
    let mut differing = Vec::new();
    for now in &new.families {
        let (Some(was), Some(renames)) = (
            old.family(same.folder.to_old(Kind::Family, &now.name)),
            same.families.get(&now.name),
        ) else {
            continue;
        };
        let vehicles = vehicles(old, was, new, now, &same.folder);
        for symptom in &now.symptoms {
            let old_name = renames.to_old(Kind::Symptom, &symptom.name);
            let (Some(old_id), Some(new_id)) = (
                was.symptom_named(old_name),
                now.symptom_named(&symptom.name),
            ) else {
                continue;
            };
            let old_named = Named {
                family: was,
                renames,
            };
            let new_named = Named {
                family: now,
                renames: &none,
            };
            let answers = [
                answer(old_named, vehicles.map(|(was, _)| was), old_id),
                answer(new_named, vehicles.map(|(_, now)| now), new_id),
            ];
            let found = differs(
                &now.name,
                &symptom.name,
                answers,
                vehicles.map(|(_, now)| now),
            );
            if found.is_something() {
                differing.push(found);
            }
        }
    }
    differing
}

/// The first vehicle of a family, by its newer name, that both editions have.
fn vehicles<'k>(
    old: &'k Knowledge,
    was: &Family,
    new: &'k Knowledge,
    now: &Family,
    renames: &Renames,
) -> Option<(&'k Vehicle, &'k Vehicle)> {
    new.vehicles
        .iter()
        .filter(|vehicle| vehicle.family == now.name)
        .find_map(|vehicle| {
            let before = old.vehicle(renames.to_old(Kind::Vehicle, &vehicle.name))?;
            (before.family == was.name).then_some((before, vehicle))
        })
}

/// The answer to one complaint on a vehicle that just came in.
fn answer(
    named: Named<'_>,
    vehicle: Option<&Vehicle>,
    symptom: SymptomId,
) -> Result<Answer, String> {
    let family = named.family;
    let complaint = Complaint {
        present: vec![symptom],
        ..Complaint::default()
    };
    let model = Model::new(family, vehicle, complaint).map_err(|error| error.to_string())?;
    let standing = Standing::new(
        &model,
        Vec::new(),
        &Circumstances::on_arrival(family),
        OrderBy::default(),
    )
    .map_err(|error| error.to_string())?;
    let mut answer = Answer::default();
    for candidate in &model.candidates {
        let causes = candidate.causes.iter().map(|id| named.cause(*id));
        answer.candidates.insert(sorted(causes));
    }
    for (repairs, probability) in standing.repairs_by_probability() {
        let repairs = sorted(repairs.iter().map(|id| named.repair(*id)));
        answer.repairs.insert(repairs, probability);
    }
    answer.first = standing
        .ranking
        .iter()
        .take(FIRST)
        .map(|ranked| First {
            measurement: named.measurement(standing.ranked(ranked)),
            separates: ranked.separates,
            minutes: ranked.minutes,
        })
        .collect();
    Ok(answer)
}

/// Names in order.
pub(super) fn sorted(names: impl Iterator<Item = String>) -> Vec<String> {
    let mut names: Vec<String> = names.collect();
    names.sort_unstable();
    names
}

fn differs(
    family: &str,
    symptom: &str,
    [was, now]: [Result<Answer, String>; 2],
    vehicle: Option<&Vehicle>,
) -> AnswerDiffers {
    let fails = [was.as_ref().err().cloned(), now.as_ref().err().cloned()];
    let (was, now) = (was.unwrap_or_default(), now.unwrap_or_default());
    let keys: BTreeSet<&Vec<String>> = was.repairs.keys().chain(now.repairs.keys()).collect();
    let mut repairs: Vec<RepairMoved> = keys
        .into_iter()
        .map(|key| RepairMoved {
            repairs: key.clone(),
            was: was.repairs.get(key).copied().unwrap_or(0.0),
            now: now.repairs.get(key).copied().unwrap_or(0.0),
        })
        .filter(|moved| (moved.now - moved.was).abs() > ROUNDING)
        .collect();
    repairs.sort_by(|a, b| {
        (b.now - b.was)
            .abs()
            .total_cmp(&(a.now - a.was).abs())
            .then_with(|| a.repairs.cmp(&b.repairs))
    });
    AnswerDiffers {
        family: family.to_owned(),
        symptom: symptom.to_owned(),
        vehicle: vehicle.map(|vehicle| vehicle.name.clone()),
        came: now
            .candidates
            .difference(&was.candidates)
            .cloned()
            .collect(),
        went: was
            .candidates
            .difference(&now.candidates)
            .cloned()
            .collect(),
        repairs,
        first: [was.first, now.first],
        fails,
    }
}
