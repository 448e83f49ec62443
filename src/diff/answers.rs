//! What the differences do to the answer to each complaint, before any reading.

use std::collections::{BTreeMap, BTreeSet};
use std::error::Error;

use serde::Serialize;

use super::list::Sides;
use crate::decide::{Circumstances, OrderBy, Standing};
use crate::infer::{Complaint, Model};
use crate::knowledge::{Family, Knowledge, SymptomId, Vehicle};

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
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
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
#[derive(Default)]
struct Answer {
    candidates: BTreeSet<Vec<String>>,
    /// The probability of each group of repairs.
    repairs: BTreeMap<Vec<String>, f64>,
    first: Vec<First>,
    /// Why there is none.
    fails: Option<String>,
}

impl RepairMoved {
    /// How far it moved.
    pub(super) fn size(&self) -> f64 {
        (self.now - self.was).abs()
    }
}

impl AnswerDiffers {
    /// Whether the ranking starts with other measurements, or with the same in another order.
    pub fn ranks_otherwise(&self) -> bool {
        let ids = |first: &[First]| first.iter().map(|one| one.id.clone()).collect::<Vec<_>>();
        ids(&self.first.was) != ids(&self.first.now)
    }

    fn is_something(&self) -> bool {
        self.candidates != Candidates::default()
            || !self.repairs.is_empty()
            || self.ranks_otherwise()
            || self.fails != Sides::default()
    }
}

/// The complaints of both editions whose answers differ, by family and name.
pub(super) fn differing(
    families: &[[&Family; 2]],
    [old, new]: [&Knowledge; 2],
) -> Vec<AnswerDiffers> {
    let mut differing = Vec::new();
    for [before, after] in families {
        // The first vehicle of the family that both editions have.
        let of_family = |vehicle: &&Vehicle| vehicle.family == after.name;
        let [then, on] = (new.vehicles.iter().filter(of_family))
            .find_map(|now| Some([old.vehicle(&now.name).filter(of_family)?, now].map(Some)))
            .unwrap_or_default();
        for (place, symptom) in after.symptoms.iter().enumerate() {
            let Some(known) = before.symptom_named(&symptom.name) else {
                continue;
            };
            let asked = [(known, before, then), (SymptomId::at(place), after, on)];
            let [was, now] = asked.map(|(symptom, family, vehicle)| {
                Answer::to(symptom, family, vehicle).unwrap_or_else(|why| Answer {
                    fails: Some(why.to_string()),
                    ..Answer::default()
                })
            });
            let only = |here: &Answer, there: &Answer| {
                let only = here.candidates.difference(&there.candidates);
                only.cloned().collect()
            };
            let found = AnswerDiffers {
                family: after.name.clone(),
                symptom: symptom.name.clone(),
                vehicle: on.map(|vehicle| vehicle.name.clone()),
                candidates: Candidates {
                    came: only(&now, &was),
                    went: only(&was, &now),
                },
                repairs: moved(&was, &now),
                first: Sides {
                    was: was.first,
                    now: now.first,
                },
                fails: Sides {
                    was: was.fails,
                    now: now.fails,
                },
            };
            differing.extend(Some(found).filter(AnswerDiffers::is_something));
        }
    }
    differing
}

impl Answer {
    /// The answer to one complaint on a vehicle that just came in.
    fn to(
        symptom: SymptomId,
        family: &Family,
        vehicle: Option<&Vehicle>,
    ) -> Result<Self, Box<dyn Error>> {
        let complaint = Complaint {
            present: vec![symptom],
            ..Complaint::default()
        };
        let model = Model::new(family, vehicle, complaint)?;
        let on_arrival = Circumstances::on_arrival(family);
        let standing = Standing::new(&model, Vec::new(), &on_arrival, OrderBy::default())?;
        let candidates = model.candidates.iter();
        let repairs = standing.repairs_by_probability().into_iter();
        let first = standing.ranking.iter().take(FIRST).map(|ranked| First {
            id: family.name_of(standing.ranked(ranked)),
            separates: ranked.separates,
            minutes: ranked.minutes,
        });
        Ok(Self {
            candidates: candidates
                .map(|one| sorted(family.names_of(&one.causes)))
                .collect(),
            repairs: repairs
                .map(|(ids, p)| (sorted(family.names_of(&ids)), p))
                .collect(),
            first: first.collect(),
            fails: None,
        })
    }
}

pub(super) fn sorted(mut names: Vec<String>) -> Vec<String> {
    names.sort_unstable();
    names
}

/// The repairs whose probability moved, the largest move first.
fn moved(was: &Answer, now: &Answer) -> Vec<RepairMoved> {
    let groups: BTreeSet<_> = was.repairs.keys().chain(now.repairs.keys()).collect();
    let moved = groups.into_iter().map(|group| RepairMoved {
        repairs: group.clone(),
        was: was.repairs.get(group).copied().unwrap_or_default(),
        now: now.repairs.get(group).copied().unwrap_or_default(),
    });
    let mut moved: Vec<_> = moved.filter(|moved| moved.size() > ROUNDING).collect();
    // Equal moves stay in the order of their names.
    moved.sort_by(|a, b| b.size().total_cmp(&a.size()));
    moved
}
