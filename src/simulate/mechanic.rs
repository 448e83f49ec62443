//! Somebody who does what the program says, to the end of the job.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::world::{Drawn, Seen, World};
use crate::decide::{Circumstances, problem};
use crate::decide::{Group, InPlace, Limits, Misshapen, Problem, Step, advise, repair_now};
use crate::infer::{Complaint, Evidence, Model, Unexplained, bands_on, misfit};
use crate::knowledge::{Family, MeasurementId, RepairId, SymptomId, Vehicle};
use crate::units::conformity::{Known, weights};

/// Weights of a reading are kept in so many steps, so that readings that say the same are decided once.
const STEPS: f64 = 1024.0;

/// More turns than any job takes: measurements, repairs and second readings are all finite.
const MOST_TURNS: usize = 1000;

/// Why a family cannot be worked with on a complaint.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Unworkable {
    /// No cause gives the symptom.
    #[error(transparent)]
    Unexplained(#[from] Unexplained),
    /// The knowledge is larger than the plan can weigh.
    #[error(transparent)]
    Misshapen(#[from] Misshapen),
}

/// Diagnoses vehicles as the program advises, and remembers what it advised.
pub struct Mechanic<'k> {
    family: &'k Family,
    sheet: Option<&'k Vehicle>,
    symptom: SymptomId,
    limits: Limits,
    arrival: InPlace,
    /// What the complaint implies once repairs were done in vain.
    prepared: Mutex<BTreeMap<Vec<RepairId>, Arc<Prepared<'k>>>>,
    decided: Mutex<BTreeMap<Key, Decision>>,
}

/// A model and its problem.
struct Prepared<'k> {
    model: Model<'k>,
    problem: Problem,
}

#[derive(Clone, Debug, PartialEq)]
enum Decision {
    Measure {
        measurement: MeasurementId,
        /// Minutes of the set-ups.
        way: f64,
        leaves: InPlace,
        /// Whether a repair done in vain has laid it open to view, so that it takes no time.
        open: bool,
    },
    TakeAgain(MeasurementId),
    Repair {
        repairs: Vec<RepairId>,
        probability: f64,
        look: bool,
    },
    HandOn,
}

/// A repair that was advised and carried out.
#[derive(Clone, Debug, PartialEq)]
pub struct Tried {
    /// The repairs, as the mechanic's family has them.
    pub repairs: Vec<RepairId>,
    /// How probable it was said to be that they cure the vehicle.
    pub stated: f64,
    /// Whether they did.
    pub cured: bool,
    /// Whether it was done for what it shows on the way, while another repair was believed the likelier cure.
    pub look: bool,
}

/// One job, from the complaint to its end.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// The repairs, in the order they were carried out.
    pub tried: Vec<Tried>,
    /// Whether the job was handed on.
    pub handed_on: bool,
    /// How many readings were taken.
    pub readings: u32,
    /// Minutes of everything.
    pub minutes: f64,
    /// What everything cost.
    pub cost: f64,
}

impl Course {
    /// With which repair the vehicle was cured, counting from 1. What was repaired in vain for what it shows counts
    /// as a measurement, not as a repair.
    #[must_use]
    pub fn cured_by(&self) -> Option<usize> {
        let place = self.tried.iter().position(|tried| tried.cured)?;
        let before = self.tried[..place].iter();
        Some(before.filter(|tried| !tried.look).count() + 1)
    }

    /// The same, every repair counted.
    #[must_use]
    pub fn cured_by_any(&self) -> Option<usize> {
        let place = self.tried.iter().position(|tried| tried.cured)?;
        Some(place + 1)
    }
}

/// A job on its way.
struct Job {
    evidence: Vec<Evidence>,
    in_place: InPlace,
    /// Measurements that are not on offer any more.
    taken: Vec<MeasurementId>,
    again: Vec<MeasurementId>,
    done: Vec<RepairId>,
    course: Course,
}

impl<'k> Mechanic<'k> {
    /// A mechanic for one complaint, who lets the plan be searched within `limits` before each step.
    /// Only a limit on the nodes opened gives the same course everywhere.
    ///
    /// # Errors
    ///
    /// [`Unworkable`] where the family has no way with the complaint.
    pub fn new(
        family: &'k Family,
        sheet: Option<&'k Vehicle>,
        symptom: SymptomId,
        limits: Limits,
    ) -> Result<Self, Unworkable> {
        let mechanic = Self {
            family,
            sheet,
            symptom,
            limits,
            arrival: Circumstances::on_arrival(family).standing(),
            prepared: Mutex::default(),
            decided: Mutex::default(),
        };
        mechanic.prepare(&[])?;
        Ok(mechanic)
    }

    /// The family the mechanic works with.
    #[must_use]
    pub const fn family(&self) -> &'k Family {
        self.family
    }

    fn prepare(&self, done: &[RepairId]) -> Result<Arc<Prepared<'k>>, Unworkable> {
        let prepared = self.prepared.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = prepared.get(done) {
            return Ok(Arc::clone(known));
        }
        drop(prepared);
        let complaint = Complaint {
            present: vec![self.symptom],
            absent: Vec::new(),
            repaired: done.to_vec(),
        };
        let model = Model::new(self.family, self.sheet, complaint)?;
        let problem = problem(&model, &Circumstances::on_arrival(self.family))?;
        let made = Arc::new(Prepared { model, problem });
        self.prepared
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .insert(done.to_vec(), Arc::clone(&made));
        Ok(made)
    }

    /// Diagnoses one vehicle, to the cure or until it is handed on.
    ///
    /// # Errors
    ///
    /// [`Unworkable`] where the repairs done leave nothing the plan can weigh.
    pub fn diagnose(&self, world: &World<'_>, drawn: Drawn) -> Result<Course, Unworkable> {
        let mut job = Job {
            evidence: Vec::new(),
            in_place: self.arrival,
            taken: Vec::new(),
            again: Vec::new(),
            done: Vec::new(),
            course: Course {
                tried: Vec::new(),
                handed_on: false,
                readings: 0,
                minutes: 0.0,
                cost: 0.0,
            },
        };
        for _ in 0..MOST_TURNS {
            match self.decide(&job)? {
                Decision::Measure {
                    measurement,
                    way,
                    leaves,
                    open,
                } => {
                    job.in_place = leaves;
                    let minutes = if open {
                        0.0
                    } else {
                        way + self.minutes(world, measurement)
                    };
                    self.take(world, drawn, measurement, minutes, 0, &mut job);
                }
                Decision::TakeAgain(measurement) => {
                    job.again.push(measurement);
                    job.evidence
                        .retain(|reading| reading.measurement != measurement);
                    let minutes = self.minutes(world, measurement);
                    self.take(world, drawn, measurement, minutes, 1, &mut job);
                }
                Decision::Repair {
                    repairs,
                    probability,
                    look,
                } => {
                    let tried = Tried {
                        repairs,
                        stated: probability,
                        cured: false,
                        look,
                    };
                    if self.repair(world, drawn, tried, &mut job) {
                        return Ok(job.course);
                    }
                }
                Decision::HandOn => break,
            }
        }
        let escalation = world.family().shop.escalation;
        job.course.handed_on = true;
        job.course.minutes += escalation.minutes.get();
        job.course.cost += world.family().escalation_cost().get();
        Ok(job.course)
    }

    /// The minutes of a measurement itself, which are a fact of the world and not of whoever plans it.
    fn minutes(&self, world: &World<'_>, id: MeasurementId) -> f64 {
        let own = self.family.measurement(id);
        let theirs = world.family();
        theirs
            .measurement_named(&own.name)
            .map_or(own, |id| theirs.measurement(id))
            .minutes
            .get()
    }

    /// Takes a reading, where the vehicle gives one.
    fn take(
        &self,
        world: &World<'_>,
        drawn: Drawn,
        id: MeasurementId,
        minutes: f64,
        again: u32,
        job: &mut Job,
    ) {
        let measurement = self.family.measurement(id);
        if !job.taken.contains(&id) {
            job.taken.push(id);
            job.taken.sort_unstable();
        }
        let Some(evidence) = world
            .read(drawn, &measurement.name, again)
            .and_then(|seen| self.understand(id, seen))
        else {
            // What cannot be read on this vehicle costs nothing and says nothing.
            return;
        };
        job.course.readings += 1;
        job.course.minutes += minutes;
        job.course.cost += minutes * world.family().shop.labour_rate.get() / 60.0;
        job.evidence.push(evidence);
        job.evidence.sort_by_key(|reading| reading.measurement);
    }

    /// A reading as evidence, its weights kept in steps.
    fn understand(&self, id: MeasurementId, seen: Seen<'_>) -> Option<Evidence> {
        let measurement = self.family.measurement(id);
        let exact = match seen {
            Seen::Word(name) => {
                let outcome = measurement.outcome(name)?;
                let mut exact = vec![0.0; measurement.outcomes.len()];
                exact[outcome.index()] = 1.0;
                exact
            }
            Seen::Number { value, uncertainty } => {
                let bands = bands_on(measurement, self.sheet?).ok()?;
                weights(
                    Known::Normal {
                        value,
                        u: uncertainty,
                    },
                    &bands,
                )
            }
        };
        let sum: f64 = exact.iter().sum();
        let stepped: Vec<f64> = exact
            .iter()
            .map(|weight| (weight / sum * STEPS).round() / STEPS)
            .collect();
        (sum > 0.0).then_some(Evidence {
            measurement: id,
            weights: stepped,
        })
    }

    /// Carries a repair out; tells whether it cured the vehicle.
    fn repair(&self, world: &World<'_>, drawn: Drawn, mut tried: Tried, job: &mut Job) -> bool {
        let theirs = world.family();
        for id in &tried.repairs {
            if job.done.contains(id) {
                continue;
            }
            let own = self.family.repair(*id);
            // What work takes is a fact of the world, not of whoever plans it.
            let work = theirs
                .repair_named(&own.name)
                .map_or(own, |id| theirs.repair(id));
            job.course.minutes += work.minutes.get();
            job.course.cost += (work.minutes.at(theirs.shop.labour_rate) + work.parts).get();
            job.done.push(*id);
        }
        job.done.sort_unstable();
        tried.cured = world.cure(drawn.hypothesis).is_some_and(|cure| {
            cure.iter().all(|needed| {
                let needed = &theirs.repair(*needed).name;
                job.done
                    .iter()
                    .any(|done| self.family.repair(*done).name == *needed)
            })
        });
        let cured = tried.cured;
        job.course.tried.push(tried);
        cured
    }

    /// What the program advises, as `diagnose` does at the prompt.
    fn decide(&self, job: &Job) -> Result<Decision, Unworkable> {
        let key = key(job);
        if let Some(known) = self
            .decided
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .get(&key)
        {
            return Ok(known.clone());
        }
        let decision = self.weigh(job)?;
        self.decided
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .insert(key, decision.clone());
        Ok(decision)
    }

    fn weigh(&self, job: &Job) -> Result<Decision, Unworkable> {
        let prepared = self.prepare(&job.done)?;
        let model = &prepared.model;
        if let Some(misfit) = misfit(model, &job.evidence)
            && !job.again.contains(&misfit.measurement)
        {
            return Ok(Decision::TakeAgain(misfit.measurement));
        }
        let belief = model.update(&job.evidence);
        let beliefs = belief.weights();
        let circumstances = Circumstances {
            in_place: Vec::new(),
            left_out: job.taken.clone(),
        };
        let problem = &problem(model, &circumstances)?;
        let advice = advise(problem, &beliefs, job.in_place, &[], &self.limits);
        match advice.step {
            Step::Measure(place) => {
                if let Some(way) = problem
                    .set_ups()
                    .cheapest(job.in_place, problem.needed(place))
                {
                    let foreseen = &problem.parts().measurements[place];
                    let measurement = MeasurementId::at(foreseen.id);
                    let own = self.family.measurement(measurement).minutes;
                    return Ok(Decision::Measure {
                        measurement,
                        way: way.minutes,
                        leaves: way.leaves,
                        open: foreseen.minutes < own,
                    });
                }
            }
            Step::RepairOn(group) => {
                let believed = |group: &Group| -> f64 {
                    let candidates = group.candidates.iter();
                    candidates.map(|place| belief.posterior[*place]).sum()
                };
                let most = problem.groups().iter().map(believed).fold(0.0, f64::max);
                let group = &problem.groups()[group];
                let probability = believed(group);
                return Ok(Decision::Repair {
                    repairs: group.repairs.iter().map(|id| RepairId::at(*id)).collect(),
                    probability,
                    look: probability < most,
                });
            }
            Step::RepairNow => {}
        }
        Ok(match repair_now(problem, &beliefs).steps.first() {
            Some(step) => Decision::Repair {
                repairs: step.repairs.iter().map(|id| RepairId::at(*id)).collect(),
                probability: step.probability,
                look: false,
            },
            None => Decision::HandOn,
        })
    }

    /// To how many repairs every reading together narrows the vehicle down: as few sets of repairs, the
    /// likeliest first, as hold `most` of the belief in the listed causes. `None` where the right one is
    /// not among them.
    pub(super) fn narrowed(
        &self,
        world: &World<'_>,
        drawn: Drawn,
        most: f64,
    ) -> Result<Option<usize>, Unworkable> {
        let prepared = self.prepare(&[])?;
        let evidence: Vec<Evidence> = world
            .measurements()
            .filter_map(|measurement| {
                let id = self.family.measurement_named(&measurement.name)?;
                self.understand(id, world.read(drawn, &measurement.name, 0)?)
            })
            .collect();
        let belief = prepared.model.update(&evidence);
        let groups = prepared.problem.groups();
        let mut order: Vec<(usize, f64)> = groups
            .iter()
            .map(|group| {
                let believed = group.candidates.iter();
                believed.map(|candidate| belief.posterior[*candidate]).sum()
            })
            .enumerate()
            .collect();
        order.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let mut held = 0.0;
        let mut right = false;
        for (size, (group, believed)) in order.iter().enumerate() {
            held += believed;
            right |= groups[*group].candidates.contains(&drawn.hypothesis);
            if held >= most * belief.listed() {
                return Ok(right.then_some(size + 1));
            }
        }
        Ok(None)
    }
}

/// What decides a decision.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Key {
    in_place: InPlace,
    readings: Vec<(MeasurementId, Vec<u64>)>,
    taken: Vec<MeasurementId>,
    again: Vec<MeasurementId>,
    done: Vec<RepairId>,
}

fn key(job: &Job) -> Key {
    let steps = |reading: &Evidence| {
        reading
            .weights
            .iter()
            .map(|weight| weight.to_bits())
            .collect()
    };
    Key {
        in_place: job.in_place,
        readings: job
            .evidence
            .iter()
            .map(|reading| (reading.measurement, steps(reading)))
            .collect(),
        taken: job.taken.clone(),
        again: job.again.clone(),
        done: job.done.clone(),
    }
}
