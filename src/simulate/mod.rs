//! How well the knowledge diagnoses: drawn vehicles, diagnosed as the program advises. `docs/study.md`.
//!
//! [`World`] draws vehicles, a [`Mechanic`] diagnoses them one after the other, [`study`] sums up, and
//! [`paired`] holds two versions of the knowledge against each other on the same vehicles.

mod alike;
mod calibration;
mod calibration_drawing;
mod chance;
mod mechanic;
mod paired;
mod report;
mod stress;
mod summary;
mod world;

use std::time::Duration;

use rayon::prelude::*;

pub use alike::{Mistaken, Split};
pub use calibration::{Calibration, Class};
pub use calibration_drawing::calibration_svg;
pub use chance::Chance;
pub use mechanic::{Course, Mechanic, Tried, Unworkable};
pub use paired::{Difference, Paired, paired};
pub use report::{
    in_words as stress_in_words, paired as paired_words, study as study_report, weak_spots,
};
pub use stress::Stress;
pub use summary::{Spread, Summary};
pub use world::{Drawn, Seen, World};

use crate::decide::Limits;
use crate::knowledge::{Family, RepairId, SymptomId, Vehicle};
use summary::Stratum;

/// In how many vehicles of a complaint the right repair is to come first.
pub const AIM_FIRST: f64 = 0.85;
/// In how many it is to come second at the latest.
pub const AIM_WITHIN_TWO: f64 = 0.95;
/// The largest calibration error wanted.
pub const AIM_CALIBRATION: f64 = 0.05;

/// How many nodes of the plan are opened before each step, where nothing else is asked for: more than one step of
/// look-ahead, and few enough for thousands of vehicles. What 100 would change is less than the draw's own error.
pub const NODES: u64 = 30;

/// A search by nodes alone: the same on every machine.
#[must_use]
pub const fn nodes(opened: u64) -> Limits {
    Limits {
        time: Duration::MAX,
        opened,
        bytes: 256 << 20,
    }
}

/// How a study is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// How many vehicles are drawn of each fault.
    pub vehicles: u32,
    /// What the draws begin with: the same seed draws the same vehicles everywhere.
    pub seed: u64,
    /// How far the plan is searched before each step. Only nodes opened are the same everywhere.
    pub limits: Limits,
}

/// One fault, and how its vehicles fared.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// Its causes' names, joined.
    pub name: String,
    /// Its place among the candidates.
    pub hypothesis: usize,
    /// How probable it is, given the complaint.
    pub probability: f64,
    /// What cures it.
    pub cure: Vec<RepairId>,
    /// How its vehicles fared.
    pub summary: Summary,
}

/// To how many repairs all the readings together narrow a fault down.
///
/// The right repair must be among as few repairs, the likeliest first, as hold 95 % of the belief in the
/// listed causes once everything that can be measured has been.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Isolation {
    /// Share of faults narrowed down to one repair.
    pub one: f64,
    /// To one or two.
    pub two: f64,
    /// To three at most.
    pub three: f64,
}

/// How well the knowledge diagnoses one complaint.
#[derive(Clone, Debug, PartialEq)]
pub struct Study {
    /// The symptom.
    pub symptom: SymptomId,
    /// Vehicles with a listed fault, each fault weighed by its probability.
    pub listed: Summary,
    /// Vehicles with something wrong that is not listed: the right end is to hand them on.
    pub unlisted: Summary,
    /// Each listed fault, the most probable first.
    pub faults: Vec<Fault>,
    /// How honest the stated probabilities are.
    pub calibration: Calibration,
    /// To how many repairs the readings narrow down.
    pub isolation: Isolation,
    /// What is often taken for something else.
    pub mistaken: Vec<Mistaken>,
    /// How vehicles fare that the knowledge is wrong about.
    pub stressed: Vec<(Stress, Summary, f64)>,
}

/// How many vehicles a study draws: for a progress bar.
#[must_use]
pub fn vehicles_of(world: &World<'_>, settings: &Settings, stresses: &[Stress]) -> u64 {
    world.hypotheses() as u64 * u64::from(settings.vehicles) * (stresses.len() as u64 + 1)
}

/// Studies one complaint. `tick` is told of each vehicle.
///
/// # Errors
///
/// [`Unworkable`] where the family has no way with the complaint.
pub fn study(
    family: &Family,
    sheet: Option<&Vehicle>,
    symptom: SymptomId,
    settings: &Settings,
    stresses: &[Stress],
    tick: &(dyn Fn() + Sync),
) -> Result<Study, Unworkable> {
    let chance = Chance::new(settings.seed);
    let mechanic = Mechanic::new(family, sheet, symptom, settings.limits)?;
    let world = World::new(family, sheet, symptom, chance, 0.0)?;
    let courses = drive(&world, &mechanic, settings.vehicles, tick)?;
    let mut faults: Vec<Fault> = courses
        .iter()
        .enumerate()
        .filter_map(|(hypothesis, courses)| {
            let probability = world.probability(hypothesis);
            let stratum = Stratum {
                probability,
                courses,
            };
            Some(Fault {
                name: world.name(hypothesis),
                hypothesis,
                probability,
                cure: world.cure(hypothesis)?,
                summary: Summary::of(&[stratum]),
            })
        })
        .collect();
    faults.sort_by(|a, b| {
        b.probability
            .total_cmp(&a.probability)
            .then_with(|| a.name.cmp(&b.name))
    });
    let mut under_stress = Vec::new();
    for stress in stresses {
        let real = stress.on(family, chance);
        let strange = World::new(&real, sheet, symptom, chance, stress.misread())?;
        let courses = drive(&strange, &mechanic, settings.vehicles, tick)?;
        let strata = strata(&strange, &courses);
        under_stress.push((
            *stress,
            Summary::of(&strata[..strata.len() - 1]),
            Calibration::of(&strata).error,
        ));
    }
    let strata = strata(&world, &courses);
    let (unlisted, listed) = strata
        .split_last()
        .map_or((&[][..], &[][..]), |(last, listed)| {
            (std::slice::from_ref(last), listed)
        });
    Ok(Study {
        symptom,
        listed: Summary::of(listed),
        unlisted: Summary::of(unlisted),
        calibration: Calibration::of(&strata),
        isolation: isolation(&world, &mechanic, settings.vehicles)?,
        mistaken: alike::mistaken(&world, &courses),
        faults,
        stressed: under_stress,
    })
}

/// The courses of all vehicles, by what is wrong with them.
fn drive(
    world: &World<'_>,
    mechanic: &Mechanic<'_>,
    vehicles: u32,
    tick: &(dyn Fn() + Sync),
) -> Result<Vec<Vec<Course>>, Unworkable> {
    (0..world.hypotheses())
        .into_par_iter()
        .map(|hypothesis| {
            // What never turns up is not drawn.
            let drawn = if world.probability(hypothesis) > 0.0 {
                vehicles
            } else {
                0
            };
            (0..drawn)
                .into_par_iter()
                .map(|number| {
                    let course = mechanic.diagnose(world, Drawn { hypothesis, number })?;
                    tick();
                    Ok(course)
                })
                .collect()
        })
        .collect()
}

fn strata<'c>(world: &World<'_>, courses: &'c [Vec<Course>]) -> Vec<Stratum<'c>> {
    courses
        .iter()
        .enumerate()
        .map(|(hypothesis, courses)| Stratum {
            probability: world.probability(hypothesis),
            courses,
        })
        .collect()
}

/// How much of the belief in the listed causes counts as narrowed down.
const NARROWED: f64 = 0.95;

fn isolation(
    world: &World<'_>,
    mechanic: &Mechanic<'_>,
    vehicles: u32,
) -> Result<Isolation, Unworkable> {
    let listed = world.hypotheses() - 1;
    let total: f64 = (0..listed)
        .map(|hypothesis| world.probability(hypothesis))
        .sum();
    let mut isolation = Isolation::default();
    for hypothesis in 0..listed {
        let weight = world.probability(hypothesis) / total / f64::from(vehicles.max(1));
        for number in 0..vehicles {
            let drawn = Drawn { hypothesis, number };
            let Some(size) = mechanic.narrowed(world, drawn, NARROWED)? else {
                continue;
            };
            for (most, share) in [
                (1, &mut isolation.one),
                (2, &mut isolation.two),
                (3, &mut isolation.three),
            ] {
                if size <= most {
                    *share += weight;
                }
            }
        }
    }
    // A sum of so many shares is off by as many roundings.
    for share in [&mut isolation.one, &mut isolation.two, &mut isolation.three] {
        if *share > 1.0 - 1e-9 {
            *share = 1.0;
        }
    }
    Ok(isolation)
}
