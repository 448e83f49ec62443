//! A study of one complaint: its vehicles drawn, diagnosed and summed up.

use rayon::prelude::*;
use serde::{Serialize, Serializer};

use super::calibration::Calibration;
use super::chance::Chance;
use super::mechanic::{Course, Mechanic, Unworkable};
use super::mistaken::{Mistaken, mistaken};
use super::stress::Stress;
use super::summary::{Stratum, Summary};
use super::world::{Drawn, World};
use crate::knowledge::{Family, SymptomId, Vehicle};

/// In how many vehicles of a complaint the right repair is to come first.
pub const AIM_FIRST: f64 = 0.86;
/// In how many it is to come second at the latest.
pub const AIM_WITHIN_TWO: f64 = 0.95;
/// The largest calibration error wanted.
pub const AIM_CALIBRATION: f64 = 0.03;

/// How much of the belief in the listed causes counts as narrowed down.
const NARROWED: f64 = 0.95;

/// How a study is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// How many vehicles are drawn of each fault.
    pub vehicles: u32,
    /// The random seed: the same seed draws the same vehicles everywhere.
    pub seed: u64,
}

/// How well the knowledge diagnoses one complaint, in names.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Study {
    /// The symptom.
    pub symptom: String,
    /// Vehicles with a listed fault, each fault weighed by its probability.
    pub listed: Summary,
    /// Vehicles with something wrong that is not listed: the right end is to hand them on.
    pub unlisted: Summary,
    /// Each listed fault, the most probable first.
    pub faults: Vec<Fault>,
    /// To how many repairs the readings narrow down.
    #[serde(rename = "isolated")]
    pub isolation: Isolation,
    /// What is often taken for something else.
    pub mistaken: Vec<Mistaken>,
    /// How well the stated probabilities agree with what was so.
    pub calibration: Calibration,
    /// How vehicles fare that are not as the knowledge says.
    pub stressed: Vec<Stressed>,
}

/// One fault, and how its vehicles fared.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fault {
    /// The names of its causes, joined.
    #[serde(rename = "fault")]
    pub name: String,
    /// How probable it is, given the complaint.
    pub probability: f64,
    /// What cures it.
    #[serde(rename = "repairs")]
    pub cure: Vec<String>,
    /// How its vehicles fared.
    #[serde(rename = "figures")]
    pub summary: Summary,
}

/// To how many repairs all the readings together narrow a fault down.
///
/// The right repair must be among as few repairs, the likeliest first, as hold 95 % of the belief in the
/// listed causes once everything that can be measured has been.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Isolation {
    /// Share of faults narrowed down to one repair.
    pub one: f64,
    /// To one or two.
    pub two: f64,
    /// To three at most.
    pub three: f64,
}

/// How vehicles fare that differ from what the knowledge says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stressed {
    /// In which way they differ.
    #[serde(rename = "vehicles", serialize_with = "in_words")]
    pub stress: Stress,
    /// Those with a listed fault.
    #[serde(rename = "figures")]
    pub summary: Summary,
    /// The calibration error.
    pub calibration_error: f64,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde asks by reference")]
fn in_words<S: Serializer>(stress: &Stress, to: S) -> Result<S::Ok, S::Error> {
    to.collect_str(stress)
}

/// How many vehicles a study draws: for a progress bar.
pub fn vehicles_of(world: &World<'_>, settings: &Settings, stresses: &[Stress]) -> u64 {
    world.hypotheses() as u64 * u64::from(settings.vehicles) * (stresses.len() as u64 + 1)
}

/// Studies one complaint; `tick` is called for each vehicle.
pub fn study(
    family: &Family,
    sheet: Option<&Vehicle>,
    symptom: SymptomId,
    settings: &Settings,
    stresses: &[Stress],
    tick: &(dyn Fn() + Sync),
) -> Result<Study, Unworkable> {
    let chance = Chance::new(settings.seed);
    let mechanic = Mechanic::new(family, sheet, symptom)?;
    let world = World::new(family, sheet, symptom, chance, 0.0)?;
    let courses = drive(&world, &mechanic, settings.vehicles, tick)?;
    let strata = strata(&world, &courses);
    // The kinds of unlisted cause come last.
    let (listed, unlisted) = strata.split_at(world.listed());
    let repair = |id| family.repair(id).name.clone();
    let mut faults: Vec<Fault> = listed
        .iter()
        .enumerate()
        .filter_map(|(hypothesis, stratum)| {
            Some(Fault {
                name: world.name(hypothesis),
                probability: stratum.probability,
                cure: world.cure(hypothesis)?.into_iter().map(repair).collect(),
                summary: Summary::of(std::slice::from_ref(stratum)),
            })
        })
        .collect();
    faults.sort_by(|a, b| {
        let order = b.probability.total_cmp(&a.probability);
        order.then_with(|| a.name.cmp(&b.name))
    });
    let off = |stress: &Stress| {
        let real = stress.on(family, chance);
        let strange = World::new(&real, sheet, symptom, chance, stress.misread())?;
        let courses = drive(&strange, &mechanic, settings.vehicles, tick)?;
        let strata = self::strata(&strange, &courses);
        Ok(Stressed {
            stress: *stress,
            summary: Summary::of(&strata[..strange.listed()]),
            calibration_error: Calibration::of(&strata).error,
        })
    };
    Ok(Study {
        symptom: family.symptom(symptom).name.clone(),
        listed: Summary::of(listed),
        unlisted: Summary::of(unlisted),
        faults,
        isolation: isolation(&world, &mechanic, settings.vehicles)?,
        mistaken: mistaken(&world, &courses),
        calibration: Calibration::of(&strata),
        stressed: stresses
            .iter()
            .map(off)
            .collect::<Result<_, Unworkable>>()?,
    })
}

/// The courses of all vehicles, by what is wrong with them.
fn drive(
    world: &World<'_>,
    mechanic: &Mechanic<'_>,
    vehicles: u32,
    tick: &(dyn Fn() + Sync),
) -> Result<Vec<Vec<Course>>, Unworkable> {
    let of_fault = |hypothesis| {
        // A fault that never turns up is not drawn.
        let turns_up = world.probability(hypothesis) > 0.0;
        let numbers = (0..if turns_up { vehicles } else { 0 }).into_par_iter();
        numbers
            .map(|number| {
                let course = mechanic.diagnose(world, Drawn { hypothesis, number })?;
                tick();
                Ok(course)
            })
            .collect()
    };
    (0..world.hypotheses())
        .into_par_iter()
        .map(of_fault)
        .collect()
}

fn strata<'c>(world: &World<'_>, courses: &'c [Vec<Course>]) -> Vec<Stratum<'c>> {
    let courses = courses.iter().enumerate();
    courses
        .map(|(hypothesis, courses)| Stratum {
            probability: world.probability(hypothesis),
            courses,
        })
        .collect()
}

fn isolation(
    world: &World<'_>,
    mechanic: &Mechanic<'_>,
    vehicles: u32,
) -> Result<Isolation, Unworkable> {
    let listed = world.listed();
    let total: f64 = (0..listed)
        .map(|hypothesis| world.probability(hypothesis))
        .sum();
    let mut shares = [0.0; 3];
    for hypothesis in 0..listed {
        let weight = world.probability(hypothesis) / total / f64::from(vehicles.max(1));
        for number in 0..vehicles {
            let drawn = Drawn { hypothesis, number };
            let size = mechanic.narrowed(world, drawn, NARROWED)?;
            for share in shares.iter_mut().skip(size.unwrap_or(usize::MAX) - 1) {
                *share += weight;
            }
        }
    }
    // A sum of so many shares is off by as many roundings.
    let [one, two, three] = shares.map(|sum: f64| if sum > 1.0 - 1e-9 { 1.0 } else { sum });
    Ok(Isolation { one, two, three })
}
