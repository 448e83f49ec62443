//! Faults that are taken for others, and what would tell them apart.

use serde::Serialize;

use super::mechanic::{Course, Tried};
use super::world::World;
use crate::decide::{Circumstances, InPlace, set_ups};
use crate::knowledge::{CauseId, RepairId};

/// Below this share of a fault's vehicles, a wrong first repair is chance.
const OFTEN: f64 = 0.1;

/// A fault whose vehicles often get another repair first.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Mistaken {
    /// What is wrong: the names of the causes, joined.
    pub fault: String,
    /// The repair tried first.
    pub first: Vec<String>,
    /// In which share of the fault's vehicles.
    pub share: f64,
    /// The family's words on the ambiguity, where it states one.
    pub stated: Option<String>,
    /// What would tell the two apart best.
    pub split: Option<Split>,
}

/// A measurement between two faults.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Split {
    /// The measurement.
    pub measurement: String,
    /// How far it tells the two apart, 0 to 1: the total variation distance of their rows.
    pub apart: f64,
    /// Its minutes on a vehicle that just came in, set-ups included.
    pub minutes: f64,
}

/// The wrong repairs that were often tried first, by fault; those that mislead most jobs come first.
pub(super) fn mistaken(world: &World<'_>, courses: &[Vec<Course>]) -> Vec<Mistaken> {
    let mut all: Vec<(f64, usize, Vec<RepairId>, f64)> = Vec::new();
    for (hypothesis, courses) in courses.iter().enumerate() {
        if world.cure(hypothesis).is_none() {
            continue;
        }
        let as_a_cure = |tried: &&Tried| tried.cured || !tried.look;
        let mut wrong: Vec<&[RepairId]> = courses
            .iter()
            .filter_map(|course| course.tried.iter().find(as_a_cure))
            .filter(|tried| !tried.cured)
            .map(|tried| tried.repairs.as_slice())
            .collect();
        wrong.sort_unstable();
        for same in wrong.chunk_by(|one, other| one == other) {
            #[allow(
                clippy::cast_precision_loss,
                reason = "thousands of vehicles, not 2^53"
            )]
            let share = same.len() as f64 / courses.len() as f64;
            if share >= OFTEN {
                let weight = share * world.probability(hypothesis);
                all.push((weight, hypothesis, same[0].to_vec(), share));
            }
        }
    }
    // In order of faults and repairs already, which the sort keeps between equals.
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    let repair = |id: &RepairId| world.family().repair(*id).name.clone();
    all.into_iter()
        .map(|(_, hypothesis, first, share)| Mistaken {
            fault: world.name(hypothesis),
            share,
            stated: stated(world, hypothesis, &first),
            split: split(world, hypothesis, &first),
            first: first.iter().map(repair).collect(),
        })
        .collect()
}

/// What tells a fault from the likeliest one that the repairs would have cured.
fn split(world: &World<'_>, hypothesis: usize, first: &[RepairId]) -> Option<Split> {
    let (family, model) = (world.family(), world.model());
    let likelier = |a: &usize, b: &usize| {
        let probability = |candidate: usize| world.probability(candidate);
        probability(*a).total_cmp(&probability(*b)).then(b.cmp(a))
    };
    let other = (0..model.candidates.len())
        .filter(|candidate| model.repairs(*candidate) == first)
        .max_by(likelier)?;
    let set_ups = set_ups(family)?;
    let arrival = Circumstances::on_arrival(family).standing();
    // The first of equals.
    world
        .measurements()
        .filter_map(|measurement| {
            let id = family.measurement_named(&measurement.name)?;
            let table = model.foreseen(id).ok()?;
            let rows = table.row(hypothesis).iter().zip(table.row(other));
            let apart = rows.map(|(one, other)| (one - other).abs()).sum::<f64>() / 2.0;
            let needed: InPlace = measurement.set_ups.iter().map(|id| id.index()).collect();
            let way = set_ups.cheapest(arrival, needed, InPlace::NOTHING)?;
            Some(Split {
                measurement: measurement.name.clone(),
                apart,
                minutes: way.minutes + measurement.minutes.get(),
            })
        })
        .reduce(|best, next| {
            let order = next.apart.total_cmp(&best.apart);
            let better = order.then(best.minutes.total_cmp(&next.minutes)).is_gt();
            if better { next } else { best }
        })
}

/// What the family says where it states that the fault and one that the repairs cure look alike.
fn stated(world: &World<'_>, hypothesis: usize, first: &[RepairId]) -> Option<String> {
    let (family, model) = (world.family(), world.model());
    let own = &model.candidates[hypothesis].causes;
    let another =
        |cause: &CauseId| first.contains(&family.cause(*cause).repair) && !own.contains(cause);
    let stated = family.ambiguities.iter().find(|ambiguity| {
        let causes = &ambiguity.causes;
        causes.iter().any(|cause| own.contains(cause)) && causes.iter().any(another)
    });
    stated.map(|ambiguity| ambiguity.why.clone())
}
