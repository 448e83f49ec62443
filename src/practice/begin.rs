//! How an exercise begins, and how that of a record is found again.

use super::hidden::{Hidden, Unplayable};
use super::play::Practice;
use crate::knowledge::{Exercise, Family, Help, Knowledge};
use crate::record::{self, Event, Opened, State};

/// What begins the name of an exercise that was sealed; the name of its file follows.
pub const SEALED: &str = "sealed-";

/// What the record of an exercise begins with: its opening, then the customer's words and their complaint.
pub fn opening(
    knowledge: &Knowledge,
    family: &Family,
    exercise: &Exercise,
    trainee: Option<String>,
    no_help: bool,
) -> (Opened, [Event; 2]) {
    let mut opened = Opened::new(family.name.clone(), knowledge.fingerprints());
    opened.vehicle.clone_from(&exercise.vehicle);
    opened.ticket = Some(exercise.order.clone());
    let drawn = exercise.name.strip_prefix("draw-");
    opened.practice = Some(record::Practice {
        exercise: exercise.name.clone(),
        draw: drawn.and_then(|seed| seed.parse().ok()),
        sealed: exercise.name.starts_with(SEALED),
        trainee,
        no_help,
    });
    let words = Event::Complaint {
        words: exercise.customer.clone(),
    };
    let complaint = Event::Symptom {
        symptom: family.symptom(exercise.symptom).name.clone(),
        present: true,
    };
    (opened, [words, complaint])
}

/// The exercise of a name, or of the number that its name begins with.
pub fn exercise_called<'k>(family: &'k Family, name: &str) -> Option<&'k Exercise> {
    let mut all = family.exercises.iter();
    let numbered = |of: &&Exercise| {
        let number = of.name.split_once('-');
        number.is_some_and(|(number, _)| number == name)
    };
    let named = all.clone().find(|of| of.name == name);
    named.or_else(|| all.find(numbered))
}

impl<'k> Practice<'k> {
    /// The exercise of a record. `sealed` is the name of one whose sealed file is at hand.
    pub fn of_record(
        knowledge: &'k Knowledge,
        state: &State,
        sealed: Option<&str>,
    ) -> Result<Self, Unplayable> {
        let of = state.opened.practice.as_ref().ok_or(Unplayable::Job)?;
        let family = knowledge.family(&state.opened.family);
        let family = family.ok_or_else(|| Unplayable::NoFamily(state.opened.family.clone()))?;
        let exercise = if let Some(seed) = of.draw {
            let symptom = state.present.first();
            let symptom = symptom.and_then(|name| family.symptom_known_as(name));
            let vehicle = state.vehicle.as_deref();
            let vehicle = vehicle.and_then(|name| knowledge.vehicle(name));
            Hidden::drawn(family, vehicle, symptom, seed)?
        } else {
            let name = sealed.filter(|_| of.sealed).unwrap_or(&of.exercise);
            let found = exercise_called(family, name).cloned();
            found.ok_or_else(|| {
                if of.sealed {
                    Unplayable::Sealed
                } else {
                    Unplayable::NoExercise(name.to_owned())
                }
            })?
        };
        let help = if of.no_help { Help::None } else { Help::All };
        Self::new(knowledge, family, exercise, state, help, None)
    }
}
