//! Faults that are taken for one another, and what would tell them apart.

use super::mechanic::{Course, Tried};
use super::world::World;
use crate::decide::InPlace;
use crate::decide::{Circumstances, set_ups};
use crate::knowledge::{CauseId, MeasurementId, RepairId};

/// Below this share of a fault's vehicles, a wrong first repair is chance.
const OFTEN: f64 = 0.1;

/// A fault whose vehicles often get another repair first.
#[derive(Clone, Debug, PartialEq)]
pub struct Mistaken {
    /// What is wrong, by its place among the candidates.
    pub hypothesis: usize,
    /// The repair tried first.
    pub first: Vec<RepairId>,
    /// In which share of the fault's vehicles.
    pub share: f64,
    /// What would tell the two apart best.
    pub split: Option<Split>,
    /// The ambiguity that the family states of them, by its place in the family's list.
    pub stated: Option<usize>,
}

/// A measurement between two faults.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Split {
    /// The measurement.
    pub measurement: MeasurementId,
    /// How far it tells the two apart: 0 not at all, 1 without fail (half the sum of the differences of
    /// their rows, the total variation distance).
    pub apart: f64,
    /// Its minutes on a vehicle that just came in, set-ups included.
    pub minutes: f64,
}

/// The repairs that were often tried first in vain, by fault.
pub(super) fn mistaken(world: &World<'_>, courses: &[Vec<Course>]) -> Vec<Mistaken> {
    let mut all = Vec::new();
    for (hypothesis, courses) in courses.iter().enumerate() {
        if world.cure(hypothesis).is_none() {
            continue;
        }
        let mut wrong: Vec<(Vec<RepairId>, usize)> = Vec::new();
        for course in courses {
            let as_a_cure = |tried: &&Tried| tried.cured || !tried.look;
            let Some(tried) = course.tried.iter().find(as_a_cure) else {
                continue;
            };
            if tried.cured {
                continue;
            }
            match wrong
                .iter_mut()
                .find(|(repairs, _)| *repairs == tried.repairs)
            {
                Some((_, times)) => *times += 1,
                None => wrong.push((tried.repairs.clone(), 1)),
            }
        }
        for (first, times) in wrong {
            #[allow(
                clippy::cast_precision_loss,
                reason = "thousands of vehicles, not 2^53"
            )]
            let share = times as f64 / courses.len() as f64;
            if share >= OFTEN {
                all.push(Mistaken {
                    hypothesis,
                    split: split(world, hypothesis, &first),
                    stated: stated(world, hypothesis, &first),
                    first,
                    share,
                });
            }
        }
    }
    let weight = |mistaken: &Mistaken| mistaken.share * world.probability(mistaken.hypothesis);
    all.sort_by(|a, b| {
        weight(b)
            .total_cmp(&weight(a))
            .then_with(|| (a.hypothesis, &a.first).cmp(&(b.hypothesis, &b.first)))
    });
    all
}

/// The likeliest candidate that these repairs would have cured.
fn meant(world: &World<'_>, first: &[RepairId]) -> Option<usize> {
    let model = world.model();
    (0..model.candidates.len())
        .filter(|candidate| model.repairs(*candidate) == first)
        .max_by(|a, b| {
            world
                .probability(*a)
                .total_cmp(&world.probability(*b))
                .then(b.cmp(a))
        })
}

/// What tells a fault from the one that the repairs were for.
fn split(world: &World<'_>, hypothesis: usize, first: &[RepairId]) -> Option<Split> {
    let family = world.family();
    let other = meant(world, first)?;
    let set_ups = set_ups(family)?;
    let arrival = Circumstances::on_arrival(family).standing();
    world
        .measurements()
        .filter_map(|measurement| {
            let id = family.measurement_named(&measurement.name)?;
            let table = world.model().foreseen(id).ok()?;
            let apart = table
                .row(hypothesis)
                .iter()
                .zip(table.row(other))
                .map(|(one, other)| (one - other).abs())
                .sum::<f64>()
                / 2.0;
            let needed: InPlace = measurement
                .set_ups
                .iter()
                .map(|set_up| set_up.index())
                .collect();
            let way = set_ups.cheapest(arrival, needed)?;
            Some(Split {
                measurement: id,
                apart,
                minutes: way.minutes + measurement.minutes.get(),
            })
        })
        .max_by(|a, b| {
            a.apart
                .total_cmp(&b.apart)
                .then(b.minutes.total_cmp(&a.minutes))
                .then(b.measurement.cmp(&a.measurement))
        })
}

/// Where the family says that the fault and one that the repairs cure look alike.
fn stated(world: &World<'_>, hypothesis: usize, first: &[RepairId]) -> Option<usize> {
    let (family, model) = (world.family(), world.model());
    let theirs = &model.candidates[hypothesis].causes;
    let cured = |cause: &CauseId| first.contains(&family.cause(*cause).repair);
    family.ambiguities.iter().position(|ambiguity| {
        let mut causes = ambiguity.causes.iter();
        let another = |cause: &CauseId| cured(cause) && !theirs.contains(cause);
        causes.clone().any(|cause| theirs.contains(cause)) && causes.any(another)
    })
}
