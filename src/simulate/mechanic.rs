//! A mechanic who does what the program advises, to the end of the job.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};

use super::world::{Drawn, Seen, World};
use crate::decide::{Advice, Again, Circumstances, Misshapen, OrderBy, Standing, Taking};
use crate::infer::{Complaint, Evidence, Model, Unexplained, bands_on};
use crate::knowledge::{Family, MeasurementId, RepairId, SetUpId, SymptomId, Vehicle};
use crate::units::Minutes;
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
    /// Whether nothing is recorded.
    by_hand: bool,
    /// What the complaint implies once repairs were done in vain.
    models: Mutex<BTreeMap<BTreeSet<RepairId>, Arc<Model<'k>>>>,
    decided: Mutex<BTreeMap<Position, (Decision, Doubt)>>,
}

/// All that a decision depends on.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
struct Position {
    circumstances: Circumstances,
    /// The weights of the outcomes, in [`STEPS`].
    readings: BTreeMap<MeasurementId, Vec<u16>>,
    /// Measurements that are not on offer any more.
    taken: BTreeSet<MeasurementId>,
    again: BTreeSet<MeasurementId>,
    done: BTreeSet<RepairId>,
}

/// What was said of the fit of the readings when a repair or handing on was due.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Doubt {
    /// That nothing listed fits.
    pub nothing_fits: bool,
    /// That the readings fit nothing well.
    pub fits_badly: bool,
}

#[derive(Clone, Debug, PartialEq)]
enum Decision {
    Measure {
        measurement: MeasurementId,
        /// The set-ups to enter, their minutes and what they cost.
        enters: Vec<SetUpId>,
        way: (f64, f64),
        /// Where a drive is recorded: all that it answers.
        recorded: Vec<MeasurementId>,
        /// Whether a repair done in vain has laid it open to view, so that it takes no time.
        open: bool,
        /// Whether it is taken a second time.
        again: bool,
    },
    Repair {
        repairs: Vec<RepairId>,
        probability: f64,
        look: bool,
    },
    HandOn,
}

impl Decision {
    fn measure(
        measurement: MeasurementId,
        taking: Taking,
        recorded: Vec<MeasurementId>,
        again: bool,
    ) -> Self {
        Self::Measure {
            measurement,
            way: (taking.way.minutes, taking.way.cost),
            enters: taking.way.order.into_iter().map(SetUpId::at).collect(),
            recorded,
            open: taking.shown,
            again,
        }
    }
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
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Course {
    /// The repairs, in the order they were carried out.
    pub tried: Vec<Tried>,
    /// Whether the job was handed on.
    pub handed_on: bool,
    /// What was ever said of the fit of the readings.
    pub doubt: Doubt,
    /// Whether the unit was taken out, or opened up, for a repair that did not cure the vehicle.
    pub unit_out_in_vain: bool,
    /// How many readings were taken.
    pub readings: u32,
    /// What was taken, in order.
    pub taken: Vec<MeasurementId>,
    /// Minutes of everything.
    pub minutes: f64,
    /// What everything cost.
    pub cost: f64,
}

impl Course {
    /// With which repair the vehicle was cured, counting from 1. A repair done in vain for what it shows counts as a
    /// measurement, not as a repair.
    pub fn cured_by(&self) -> Option<usize> {
        let place = self.tried.iter().position(|tried| tried.cured)?;
        let before = self.tried[..place].iter();
        Some(before.filter(|tried| !tried.look).count() + 1)
    }

    /// The same, with every repair counted.
    pub fn cured_by_any(&self) -> Option<usize> {
        let place = self.tried.iter().position(|tried| tried.cured)?;
        Some(place + 1)
    }
}

impl<'k> Mechanic<'k> {
    /// A mechanic for one complaint, with recordings of a scan tool where the family has a recorder.
    pub fn new(
        family: &'k Family,
        sheet: Option<&'k Vehicle>,
        symptom: SymptomId,
    ) -> Result<Self, Unworkable> {
        Self::working(family, sheet, symptom, false)
    }

    /// A mechanic for one complaint who records nothing.
    pub fn by_hand(
        family: &'k Family,
        sheet: Option<&'k Vehicle>,
        symptom: SymptomId,
    ) -> Result<Self, Unworkable> {
        Self::working(family, sheet, symptom, true)
    }

    fn working(
        family: &'k Family,
        sheet: Option<&'k Vehicle>,
        symptom: SymptomId,
        by_hand: bool,
    ) -> Result<Self, Unworkable> {
        let mechanic = Self {
            family,
            sheet,
            symptom,
            by_hand,
            models: Mutex::default(),
            decided: Mutex::default(),
        };
        let at = mechanic.arrival();
        known_or(&mechanic.decided, &at, || mechanic.weigh(&at))?;
        Ok(mechanic)
    }

    fn arrival(&self) -> Position {
        Position {
            circumstances: Circumstances {
                by_hand: self.by_hand,
                ..Circumstances::on_arrival(self.family)
            },
            ..Position::default()
        }
    }

    fn model(&self, done: &BTreeSet<RepairId>) -> Result<Arc<Model<'k>>, Unexplained> {
        known_or(&self.models, done, || {
            let complaint = Complaint {
                present: vec![self.symptom],
                absent: Vec::new(),
                repaired: done.iter().copied().collect(),
            };
            Model::new(self.family, self.sheet, complaint).map(Arc::new)
        })
    }

    /// Diagnoses one vehicle, to the cure or until it is handed on. Minutes and prices of the work are those of the
    /// vehicle's world.
    pub fn diagnose(&self, world: &World<'_>, drawn: Drawn) -> Result<Course, Unworkable> {
        let mut job = Job {
            mechanic: self,
            world,
            drawn,
            at: self.arrival(),
            course: Course::default(),
        };
        for _ in 0..MOST_TURNS {
            let (decision, doubt) = known_or(&self.decided, &job.at, || self.weigh(&job.at))?;
            job.course.doubt.nothing_fits |= doubt.nothing_fits;
            job.course.doubt.fits_badly |= doubt.fits_badly;
            match decision {
                Decision::Measure {
                    measurement,
                    enters,
                    way,
                    recorded,
                    open,
                    again,
                } => {
                    job.enter(&enters);
                    if again {
                        job.at.again.insert(measurement);
                        job.at.readings.remove(&measurement);
                    }
                    if !recorded.is_empty() {
                        job.record(&recorded, way);
                        continue;
                    }
                    job.take(measurement, (!open).then_some(way), u32::from(again));
                }
                Decision::Repair {
                    repairs,
                    probability,
                    look,
                } => {
                    let cured = job.repair(&repairs);
                    let unit_out = |id: &RepairId| self.family.repair(*id).unit_out;
                    job.course.unit_out_in_vain |= !cured && repairs.iter().any(unit_out);
                    job.course.tried.push(Tried {
                        repairs,
                        stated: probability,
                        cured,
                        look,
                    });
                    if cured {
                        return Ok(job.course);
                    }
                }
                Decision::HandOn => break,
            }
        }
        job.course.handed_on = true;
        job.course.minutes += world.family().shop.escalation.minutes.get();
        job.course.cost += world.family().escalation_cost().get();
        Ok(job.course)
    }

    /// A reading as weights of the outcomes.
    fn understand(&self, id: MeasurementId, seen: Seen<'_>) -> Option<Vec<u16>> {
        let measurement = self.family.measurement(id);
        let exact = match seen {
            Seen::Word(name) => {
                let outcome = measurement.outcome(name)?;
                let mut exact = vec![0.0; measurement.outcomes.len()];
                exact[outcome.index()] = 1.0;
                exact
            }
            Seen::Number { value, uncertainty } => {
                let bands = bands_on(measurement, self.sheet).ok()?;
                let u = uncertainty;
                weights(Known::Normal { value, u }, &bands)
            }
        };
        let sum: f64 = exact.iter().sum();
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "0 to 1024"
        )]
        let step = |weight: &f64| (weight / sum * STEPS).round() as u16;
        (sum > 0.0).then(|| exact.iter().map(step).collect())
    }

    /// What the program advises, as `diagnose` does at its prompt.
    fn weigh(&self, at: &Position) -> Result<(Decision, Doubt), Unworkable> {
        let model = self.model(&at.done)?;
        let circumstances = Circumstances {
            left_out: at.taken.iter().copied().collect(),
            ..at.circumstances.clone()
        };
        let evidence = evidence(&at.readings);
        let standing = Standing::new(&model, evidence, &circumstances, OrderBy::default())?;
        let again: Vec<MeasurementId> = at.again.iter().copied().collect();
        let advice = standing.advise(&again, false);
        let due = !matches!(advice, Advice::Measure { .. });
        let doubt = Doubt {
            nothing_fits: due && standing.belief.nothing_fits(),
            fits_badly: due && standing.fit.is_poor(),
        };
        let by_hand = |id| standing.taking(id).unwrap_or_default();
        let decision = match advice {
            Advice::Measure {
                recorded: Some(drive),
                measurement,
                ..
            } => Decision::measure(measurement, drive.taking, drive.answers, false),
            Advice::Measure { measurement, .. } => {
                Decision::measure(measurement, by_hand(measurement), Vec::new(), false)
            }
            Advice::TakeAgain(Again { measurement, .. }) => {
                Decision::measure(measurement, by_hand(measurement), Vec::new(), true)
            }
            Advice::Repair {
                first,
                probability,
                goes_on,
                ..
            } => {
                let likeliest = model.by_repairs(&standing.belief);
                let most = likeliest.first().map_or(0.0, |(_, p)| *p);
                Decision::Repair {
                    repairs: first,
                    probability,
                    look: goes_on && probability < most,
                }
            }
            Advice::Escalate => Decision::HandOn,
        };
        Ok((decision, doubt))
    }

    /// To how many sets of repairs every reading together narrows the vehicle down: as few sets, the likeliest
    /// first, as hold `most` of the belief in the listed causes. `None` where the right one is not among them.
    pub(super) fn narrowed(
        &self,
        world: &World<'_>,
        drawn: Drawn,
        most: f64,
    ) -> Result<Option<usize>, Unworkable> {
        let model = self.model(&BTreeSet::new())?;
        let readings: BTreeMap<MeasurementId, Vec<u16>> = world
            .measurements()
            .filter_map(|measurement| {
                let id = self.family.measurement_named(&measurement.name)?;
                let seen = world.read(drawn, &measurement.name, 0)?;
                Some((id, self.understand(id, seen)?))
            })
            .collect();
        let belief = model.update(&evidence(&readings));
        let cure = world.cure(drawn.hypothesis);
        let (mut held, mut right) = (0.0, false);
        for (place, (repairs, believed)) in model.by_repairs(&belief).iter().enumerate() {
            held += believed;
            right |= cure.as_ref() == Some(repairs);
            if held >= most * belief.listed() {
                return Ok(right.then_some(place + 1));
            }
        }
        Ok(None)
    }
}

/// What is known of a key, else what is made of it and then known. Two threads may make the same.
fn known_or<K: Clone + Ord, V: Clone, E>(
    known: &Mutex<BTreeMap<K, V>>,
    key: &K,
    make: impl FnOnce() -> Result<V, E>,
) -> Result<V, E> {
    let lock = || known.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(value) = lock().get(key) {
        return Ok(value.clone());
    }
    let value = make()?;
    lock().insert(key.clone(), value.clone());
    Ok(value)
}

fn evidence(readings: &BTreeMap<MeasurementId, Vec<u16>>) -> Vec<Evidence> {
    let weights = |steps: &[u16]| steps.iter().map(|step| f64::from(*step) / STEPS).collect();
    let readings = readings.iter();
    readings
        .map(|(measurement, steps)| Evidence {
            measurement: *measurement,
            weights: weights(steps),
        })
        .collect()
}

/// A job on its way.
struct Job<'j, 'k, 'w> {
    mechanic: &'j Mechanic<'k>,
    world: &'j World<'w>,
    drawn: Drawn,
    at: Position,
    course: Course,
}

impl Job<'_, '_, '_> {
    fn enter(&mut self, set_ups: &[SetUpId]) {
        for set_up in set_ups {
            self.at.circumstances.enter(self.mechanic.family, *set_up);
        }
    }

    /// Takes a reading, where the vehicle gives one; `way` is what its set-ups take and cost, `None` where it takes no
    /// time at all.
    fn take(&mut self, id: MeasurementId, way: Option<(f64, f64)>, again: u32) {
        self.at.taken.insert(id);
        let (family, own) = (self.world.family(), self.mechanic.family.measurement(id));
        let seen = self.world.read(self.drawn, &own.name, again);
        let Some(steps) = seen.and_then(|seen| self.mechanic.understand(id, seen)) else {
            // What cannot be read on this vehicle costs nothing and says nothing.
            return;
        };
        let theirs = family.measurement_named(&own.name);
        let work = theirs.map_or(own, |id| family.measurement(id)).minutes;
        self.course.readings += 1;
        self.course.taken.push(id);
        if let Some((minutes, cost)) = way {
            self.course.minutes += minutes + work.get();
            self.course.cost += cost + work.at(family.shop.labour_rate).get();
        }
        let reading = Evidence {
            measurement: id,
            weights: steps.iter().copied().map(f64::from).collect(),
        };
        self.at.circumstances.read(self.mechanic.family, &reading);
        self.at.readings.insert(id, steps);
    }

    /// Records a drive and takes all that it answers; `way` is what its set-ups take and cost.
    fn record(&mut self, answers: &[MeasurementId], way: (f64, f64)) {
        let (own, theirs) = (self.mechanic.family, self.world.family());
        let known = |id: &MeasurementId| {
            let theirs = theirs.measurement_known_as(&own.measurement(*id).name);
            theirs.map_or_else(
                || own.measurement(*id),
                |id| self.world.family().measurement(id),
            )
        };
        let longest = answers.iter().map(|id| known(id).minutes);
        let longest = longest.max_by(|a, b| a.get().total_cmp(&b.get()));
        let recorder = theirs.recorder.as_ref().or(own.recorder.as_ref());
        let work = longest
            .into_iter()
            .chain(recorder.map(|of| of.minutes))
            .sum::<Minutes>();
        self.course.minutes += way.0 + work.get();
        self.course.cost += way.1 + work.at(theirs.shop.labour_rate).get();
        for id in answers {
            self.take(*id, None, 0);
        }
    }

    /// Carries repairs out; tells whether the vehicle is cured.
    fn repair(&mut self, repairs: &[RepairId]) -> bool {
        let (own, theirs) = (self.mechanic.family, self.world.family());
        for id in repairs {
            if !self.at.done.insert(*id) {
                continue;
            }
            let (family, id) = (theirs.repair_named(&own.repair(*id).name))
                .map_or((own, *id), |known| (theirs, known));
            self.course.minutes += family.repair_minutes(id).get();
            self.course.cost += family.repair_cost(id).get();
        }
        self.at.circumstances.repaired(own, repairs);
        let cure = self.world.cure(self.drawn.hypothesis);
        cure.is_some_and(|cure| {
            cure.iter().all(|needed| {
                let needed = &theirs.repair(*needed).name;
                let mut done = self.at.done.iter();
                done.any(|done| own.repair(*done).name == *needed)
            })
        })
    }
}
