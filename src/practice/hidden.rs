//! The vehicle of an exercise: what is wrong with it, and what it reads.

use crate::entry::Entry;
use crate::knowledge::{
    CauseId, Exercise, Family, Help, Level, Listener, MeasurementId, RepairId, SymptomId, Vehicle,
};
use crate::simulate::{Chance, Course, Drawn, Mechanic, Seen, Unworkable, World, share};
use crate::units::System;

/// What keeps an exercise from being played.
#[derive(Debug, thiserror::Error)]
pub enum Unplayable {
    /// Its fault is none that would be suspected.
    #[error(
        "the exercise `{0}` cannot be played: no candidate of its complaint has just this fault"
    )]
    NoSuchFault(String),
    /// The record is that of a job.
    #[error("this is a job, not practice")]
    Job,
    /// The family of its transmission is not in the knowledge.
    #[error("its family `{0}` is not known here")]
    NoFamily(String),
    /// The exercise is not in the knowledge.
    #[error("its exercise `{0}` is not known here")]
    NoExercise(String),
    /// The exercise was sealed, and the sealed file is not at hand.
    #[error(
        "its exercise was sealed: name the sealed file with --exercise, or put it in the folder of the page"
    )]
    Sealed,
    /// The complaint cannot be worked with.
    #[error(transparent)]
    Unworkable(#[from] Unworkable),
}

/// A vehicle with a hidden fault.
#[derive(Clone, Debug)]
pub struct Hidden<'k> {
    world: World<'k>,
    drawn: Drawn,
    vehicle: Option<&'k Vehicle>,
    symptom: SymptomId,
}

impl<'k> Hidden<'k> {
    /// The vehicle of an exercise, the same on every machine.
    pub fn of(
        family: &'k Family,
        vehicle: Option<&'k Vehicle>,
        exercise: &Exercise,
    ) -> Result<Self, Unplayable> {
        let mut world = world(family, vehicle, exercise.symptom, exercise.seed)?;
        if let Some(intermittent) = exercise.intermittent {
            for (id, fading) in &family.fades {
                let first = fading.first().map(|(outcome, _)| *outcome);
                let outcome = first.filter(|_| intermittent);
                let outcome = outcome.unwrap_or(family.measurement(*id).normal);
                world = world.holding(*id, outcome);
            }
        }
        // The vehicle is as its customer says.
        let told = Listener::new(family).told(&exercise.customer, &[exercise.symptom]);
        for (id, outcome, _) in told {
            world = world.holding(id, outcome);
        }
        let mut fault = exercise.fault.clone();
        fault.sort_unstable();
        let hypothesis = if fault.is_empty() {
            // Of the two kinds of unlisted cause, the one that touches nothing which is measured.
            Some(world.listed())
        } else {
            let mut candidates = world.model().candidates.iter();
            candidates.position(|candidate| candidate.causes == fault)
        };
        let unplayable = || Unplayable::NoSuchFault(exercise.name.clone());
        let drawn = Drawn {
            hypothesis: hypothesis.ok_or_else(unplayable)?,
            number: 0,
        };
        Ok(Self {
            world,
            drawn,
            vehicle,
            symptom: exercise.symptom,
        })
    }

    /// What is wrong; empty where it is not listed.
    pub fn causes(&self) -> &[CauseId] {
        let candidates = &self.world.model().candidates;
        let candidate = candidates.get(self.drawn.hypothesis);
        candidate.map_or(&[], |candidate| &candidate.causes)
    }

    /// What cures it; none where it is not listed.
    pub fn cure(&self) -> Option<Vec<RepairId>> {
        self.world.cure(self.drawn.hypothesis)
    }

    /// Whether these repairs cure it.
    pub fn is_cured_by(&self, done: &[RepairId]) -> bool {
        let cure = self.cure();
        cure.is_some_and(|cure| cure.iter().all(|repair| done.contains(repair)))
    }

    /// What it reads, as a technician would type it, the measurement taken for the `again`th time (0 the first): in the
    /// units of `system`, rounded to what the instrument can tell apart. None where it cannot be read on this vehicle.
    pub fn reads(&self, id: MeasurementId, again: u32, system: System) -> Option<String> {
        let measurement = self.world.family().measurement(id);
        match self.world.read(self.drawn, &measurement.name, again)? {
            Seen::Word(name) => Some(name.to_owned()),
            Seen::Number { value, uncertainty } => {
                let number = measurement.number()?;
                let shown = number.unit.shown_in(system);
                let u = number.unit.convert_difference(uncertainty, shown)?;
                let read = Entry::point(value, number.unit).as_read_in(shown, u)?;
                Some(read.to_string())
            }
        }
    }

    /// How whoever follows the advice fares with this very vehicle.
    pub fn advised(&self) -> Result<Course, Unworkable> {
        let family = self.world.family();
        let mechanic = Mechanic::by_hand(family, self.vehicle, self.symptom)?;
        mechanic.diagnose(&self.world, self.drawn)
    }

    /// An exercise drawn at random, as often as the knowledge has it: without a symptom, of any.
    pub fn drawn(
        family: &'k Family,
        vehicle: Option<&'k Vehicle>,
        symptom: Option<SymptomId>,
        seed: u64,
    ) -> Result<Exercise, Unplayable> {
        let chance = Chance::new(seed);
        let symptom = symptom.unwrap_or_else(|| {
            SymptomId::at(share(chance.uniform(&["symptom"]), family.symptoms.len()))
        });
        let world = world(family, vehicle, symptom, seed)?;
        let mut left = chance.uniform(&["fault"]);
        let hypothesis = (0..world.hypotheses()).find(|hypothesis| {
            left -= world.probability(*hypothesis);
            left < 0.0
        });
        let candidates = &world.model().candidates;
        let candidate = hypothesis.and_then(|hypothesis| candidates.get(hypothesis));
        let known = family.symptom(symptom);
        // Words that answer nothing by themselves: what is read is drawn.
        let listener = Listener::new(family);
        let examples = known.examples.iter();
        let examples = examples.filter(|words| listener.told(words, &[symptom]).is_empty());
        let examples: Vec<&String> = examples.collect();
        let said = examples.get(share(chance.uniform(&["customer"]), examples.len()));
        Ok(Exercise {
            name: format!("draw-{seed}"),
            title: known.title.clone(),
            level: Level::Medium,
            symptom,
            vehicle: vehicle.map(|vehicle| vehicle.name.clone()),
            fault: candidate.map_or_else(Vec::new, |candidate| candidate.causes.clone()),
            intermittent: None,
            customer: said.map_or(&known.title, |said| *said).clone(),
            order: format!("P-{seed}"),
            learn: String::new(),
            help: Help::All,
            seed,
        })
    }
}

/// The vehicles with a complaint, their readings without mistakes.
fn world<'k>(
    family: &'k Family,
    vehicle: Option<&'k Vehicle>,
    symptom: SymptomId,
    seed: u64,
) -> Result<World<'k>, Unworkable> {
    Ok(World::new(
        family,
        vehicle,
        symptom,
        Chance::new(seed),
        0.0,
    )?)
}
