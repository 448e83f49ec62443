//! Exercises.

use super::known::{Known, finished};
use super::{values, vehicles};
use crate::knowledge::{Exercise, Family, Level, Vehicle};
use crate::load::folder::{RawFamily, stem};
use crate::load::log::say;
use crate::load::raw::exercises::ExerciseFile;

/// The greatest seed: every whole number up to it is one in a YAML file.
const MOST: u64 = 9_007_199_254_740_992;

/// The exercises of a family, in the order of their files.
pub(super) fn exercises(
    raw: &RawFamily,
    known: &Known<'_>,
    family: &Family,
    vehicles: &[Vehicle],
) -> Vec<Exercise> {
    let exercises = raw.exercises.iter().filter_map(|(path, file)| {
        finished(
            file.unfinished,
            "exercise",
            file.exercise.spot,
            known.log,
            || exercise(path, file, known, family, vehicles),
        )
    });
    exercises.collect()
}

fn exercise(
    path: &str,
    file: &ExerciseFile,
    known: &Known<'_>,
    family: &Family,
    vehicles: &[Vehicle],
) -> Option<Exercise> {
    let symptom = known.symptoms.find(&file.symptom);
    let vehicle = vehicles::named(file.vehicle.as_ref(), vehicles, known);
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
    let seed = values::whole(file.seed.value, 0..=MOST);
    if seed.is_none() {
        say!(known.log, file.seed.spot; BadNumber, "the seed is {}", file.seed.value =>
            "a seed is a whole number from 0");
    }
    Some(Exercise {
        name: stem(path).to_owned(),
        title: file.exercise.value.clone(),
        level: file.level.unwrap_or(Level::Medium),
        symptom: symptom?,
        vehicle,
        fault,
        intermittent: file.intermittent,
        customer: file.customer.clone(),
        order: file.order.clone(),
        learn: file.learn.clone(),
        help: file.help.unwrap_or_default(),
        seed: seed?,
    })
}
