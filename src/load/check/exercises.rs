//! Exercises.

use super::known::Known;
use super::names::Names;
use crate::knowledge::{Exercise, Family, Level, Vehicle};
use crate::load::folder::RawFamily;
use crate::load::log::say;
use crate::load::raw::exercises::ExerciseFile;

/// The greatest seed: every whole number up to it is one in a YAML file.
const MOST: f64 = 9_007_199_254_740_992.0;

/// The exercises of a family, in the order of their files.
pub(super) fn exercises(
    raw: &RawFamily,
    known: &Known<'_>,
    family: &Family,
    vehicles: &[Vehicle],
    all_vehicles: &Names<'_, usize>,
) -> Vec<Exercise> {
    let exercises = raw.exercises.iter();
    let waits = |file: &ExerciseFile| {
        if file.unfinished {
            say!(known.log, file.exercise.spot; Unfinished, "this exercise is unfinished, and not played" =>
                "fill it in and delete `unfinished: true`");
        }
        let vehicle = file.vehicle.as_ref();
        file.unfinished
            || known.symptoms.leaves_out(&file.symptom.value)
            || vehicle.is_some_and(|name| all_vehicles.leaves_out(&name.value))
            || file
                .fault
                .iter()
                .any(|name| known.causes.leaves_out(&name.value))
    };
    exercises
        .filter(|(_, file)| !waits(file))
        .filter_map(|(path, file)| exercise(path, file, known, family, vehicles, all_vehicles))
        .collect()
}

fn exercise(
    path: &str,
    file: &ExerciseFile,
    known: &Known<'_>,
    family: &Family,
    vehicles: &[Vehicle],
    all_vehicles: &Names<'_, usize>,
) -> Option<Exercise> {
    let symptom = known.symptoms.find(&file.symptom);
    let vehicle = file.vehicle.as_ref();
    let vehicle = vehicle.filter(|name| all_vehicles.find(name).is_some());
    if let Some(name) = vehicle
        && !vehicles.iter().any(|vehicle| vehicle.name == name.value)
    {
        say!(known.log, name.spot; UnknownVehicle, "the vehicle `{}` is of another family", name.value);
    }
    let fault = known.causes.ids(&file.fault);
    let spot = file.symptom.spot;
    if file.fault.0.is_empty() != file.unlisted {
        say!(known.log, spot; ExerciseFault, "an exercise has a `fault`, or says `unlisted: true`");
    }
    let brings = symptom.and_then(|id| family.symptoms.get(id.index()));
    let leaves: Vec<_> = brings
        .iter()
        .flat_map(|symptom| symptom.tree.causes())
        .collect();
    for (name, id) in file.fault.iter().zip(&fault) {
        if brings.is_some() && !leaves.contains(id) {
            say!(known.log, name.spot; ExerciseFault, "`{}` does not bring about `{}`",
                name.value, file.symptom.value);
        }
    }
    let seed = file.seed.value;
    if !(0.0..=MOST).contains(&seed) || seed.fract() != 0.0 {
        say!(known.log, file.seed.spot; BadNumber, "the seed is {seed}" =>
            "a seed is a whole number from 0");
    }
    let stem = path.rsplit('/').next().unwrap_or(path);
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "held to whole numbers that a float has exactly"
    )]
    let seed = seed as u64;
    Some(Exercise {
        name: stem.trim_end_matches(".yaml").to_owned(),
        title: file.exercise.value.clone(),
        level: file.level.unwrap_or(Level::Medium),
        symptom: symptom?,
        vehicle: vehicle.map(|name| name.value.clone()),
        fault,
        intermittent: file.intermittent,
        customer: file.customer.clone(),
        order: file.order.clone(),
        learn: file.learn.clone(),
        help: file.help.unwrap_or_default(),
        seed,
    })
}
