//! Where a job stands after its readings, and what to do next.

use super::circumstances::{
    Circumstances, in_the_same_go, open_to_view, problem, rules_out_its_like, way_to, way_to_repair,
};
use super::point::{Point, Step, Taking};
use super::policy::Policy;
use super::problem::{Group, Misshapen, Problem};
use super::ranking::{OrderBy, Ranked, ranking};
use super::repair_now::RepairNow;
use super::set_up::{InPlace, Way};
use crate::infer::{Belief, Evidence, Fit, Misfit, Model, Unusable, counting, misfits, misread};
use crate::knowledge::{MeasurementId, RepairId};

/// Where a job stands: the belief after its readings, the measurements on offer, the way to end.
#[derive(Clone, Debug)]
pub struct Standing<'m, 'k> {
    /// What the complaint implies.
    pub model: &'m Model<'k>,
    /// The readings, in the order they were taken.
    pub evidence: Vec<Evidence>,
    /// The belief after them.
    pub belief: Belief,
    /// How well they fit the candidate that leads.
    pub fit: Fit,
    /// The decision as plain figures.
    pub problem: Problem,
    /// The set-ups in place.
    pub in_place: InPlace,
    /// The measurements on offer, in order.
    pub ranking: Vec<Ranked>,
    /// The cheapest way to end without measuring again.
    pub repair_now: RepairNow,
    circumstances: Circumstances,
}

/// What to do next.
#[derive(Clone, Debug, PartialEq)]
pub enum Advice {
    /// Take this measurement.
    Measure {
        /// The measurement.
        measurement: MeasurementId,
        /// What going on is expected to save against repairing now, in the shop's currency.
        saves: f64,
        /// Where a recorded drive is advised: what it answers beside that measurement, and what it takes.
        recorded: Option<RecordedDrive>,
    },
    /// Repair, these first.
    Repair {
        /// The repairs of the first group, each with what is left to do of it.
        first: Vec<RepairId>,
        /// How probable it is that they cure it.
        probability: f64,
        /// The group, by its place in the problem.
        group: usize,
        /// Whether measuring is expected to go on, with what they show on the way, if they do not cure it.
        goes_on: bool,
    },
    /// End the job at the price of handing it on.
    Escalate,
    /// Take a reading again before anything is dismantled.
    TakeAgain(Again),
}

/// A reading to take again.
#[derive(Clone, Debug, PartialEq)]
pub struct Again {
    /// What was measured.
    pub measurement: MeasurementId,
    /// Why.
    pub why: WhyAgain,
}

/// Why a reading is to be taken again.
#[derive(Clone, Debug, PartialEq)]
pub enum WhyAgain {
    /// Nothing listed fits, and it stands most in the way.
    NothingFits {
        /// The belief in all listed causes as it stands.
        listed: f64,
        /// What it would be without this reading.
        without: f64,
    },
    /// Nothing fits well, and it is among those that fit worst.
    FitsWorst,
    /// A repair that is due hangs on it.
    HangsOn {
        /// The repairs that are due.
        repairs: Vec<RepairId>,
        /// How probable it is that they cure the vehicle.
        probability: f64,
        /// How probable it is that it was taken wrongly.
        misread: f64,
        /// How probable it is that the repairs cure the vehicle where it was.
        cures: f64,
    },
}

impl From<Misfit> for Again {
    fn from(misfit: Misfit) -> Self {
        let Misfit {
            measurement,
            listed,
            without,
            leads,
        } = misfit;
        let why = if leads {
            WhyAgain::FitsWorst
        } else {
            WhyAgain::NothingFits { listed, without }
        };
        Self { measurement, why }
    }
}

/// A drive that is recorded and answers several measurements.
#[derive(Clone, Debug, PartialEq)]
pub struct RecordedDrive {
    /// What it answers, the measurement to begin with first.
    pub answers: Vec<MeasurementId>,
    /// What it takes.
    pub taking: Taking,
}

/// The repairs to do now.
#[derive(Clone, Debug, PartialEq)]
pub struct Repairing {
    /// The group, by its place in the problem.
    pub group: usize,
    /// Its repairs, each with what is left to do of it.
    pub repairs: Vec<RepairId>,
    /// How probable it is that they cure it.
    pub probability: f64,
    /// Whether measuring is expected to go on, with what they show on the way, if they do not cure it.
    pub goes_on: bool,
    /// Whether they come before what would be cheapest to begin with, since they are likelier to cure it.
    pub likelier: bool,
}

/// What one outcome of a measurement would leave.
#[derive(Clone, Debug, PartialEq)]
pub struct Prospect {
    /// The outcome, by its place in the measurement.
    pub outcome: usize,
    /// How probable it is, the unlisted cause counted.
    pub probability: f64,
    /// The belief after it.
    pub belief: Belief,
}

impl<'m, 'k> Standing<'m, 'k> {
    /// Where a job stands.
    ///
    /// # Errors
    ///
    /// [`Misshapen`] where the knowledge is larger than a plan can weigh.
    pub fn new(
        model: &'m Model<'k>,
        evidence: Vec<Evidence>,
        circumstances: &Circumstances,
        by: OrderBy,
    ) -> Result<Self, Misshapen> {
        let belief = model.update(&evidence);
        let problem = problem(model, &evidence, &belief, circumstances)?;
        let in_place = circumstances.standing();
        let point = Point::new(belief.weights(), in_place);
        let mut policy = Policy::new(&problem);
        Ok(Self {
            fit: Fit::of(model, &belief, &evidence),
            ranking: ranking(&mut policy, &point, by),
            repair_now: policy.end_now(&point),
            model,
            evidence,
            belief,
            problem,
            in_place,
            circumstances: circumstances.clone(),
        })
    }

    /// The measurements that the vehicle's sheet makes unusable, among those its symptoms ask for.
    pub fn unusable(&self) -> Vec<(MeasurementId, &Unusable)> {
        let family = self.model.family;
        (0..family.measurements.len())
            .map(MeasurementId::at)
            .filter(|id| {
                family
                    .measurement(*id)
                    .is_for(&self.model.complaint.present)
            })
            .filter_map(|id| self.model.foreseen(id).err().map(|why| (id, why)))
            .collect()
    }

    /// The measurement that stands at a place of the ranking.
    pub fn ranked(&self, ranked: &Ranked) -> MeasurementId {
        self.named(ranked.measurement)
    }

    /// The name of a measurement of the problem.
    pub fn named(&self, measurement: usize) -> MeasurementId {
        MeasurementId::at(self.problem.parts().measurements[measurement].id)
    }

    /// The place of a measurement in the ranking.
    pub fn rank_of(&self, measurement: MeasurementId) -> Option<&Ranked> {
        self.ranking
            .iter()
            .find(|ranked| self.ranked(ranked) == measurement)
    }

    /// What each outcome of a measurement would leave, in the measurement's order; empty where the
    /// vehicle's sheet makes it unusable.
    pub fn prospects(&self, measurement: MeasurementId) -> Vec<Prospect> {
        let left = self
            .model
            .fading(counting(self.model.family, &self.evidence));
        let Ok(table) = self.model.foreseen_at(measurement, left) else {
            return Vec::new();
        };
        let weights = self.belief.weights();
        (0..table.outcomes())
            .map(|outcome| {
                let after: Vec<f64> = weights
                    .iter()
                    .enumerate()
                    .map(|(row, weight)| weight * table.row(row)[outcome])
                    .collect();
                Prospect {
                    outcome,
                    probability: after.iter().sum(),
                    belief: Belief::normalised(after),
                }
            })
            .collect()
    }

    /// The reading to take again, where nothing listed fits.
    pub fn misfit(&self) -> Option<Misfit> {
        misfits(self.model, &self.evidence).into_iter().next()
    }

    /// Where the job is, as the policy sees it.
    pub fn point(&self) -> Point {
        Point::new(self.belief.weights(), self.in_place)
    }

    /// What to do next.
    ///
    /// With `plain`, the first of the ranking, whatever it saves; else the policy decides. Before a repair or handing on,
    /// where nothing listed fits, the readings that stand in the way are to be taken again, and where nothing fits well
    /// those that fit worst, one after the other; before a repair that hangs on one reading, that one. None is taken again that was
    /// already, is among `taken_again`, or may not be any more. docs/method.md, sections 9 and 10.
    pub fn advise(&self, taken_again: &[MeasurementId], plain: bool) -> Advice {
        if plain && let Some(ranked) = self.ranking.first() {
            let first = ranked.before.first().unwrap_or(&ranked.measurement);
            return Advice::Measure {
                measurement: self.named(*first),
                saves: ranked.saves,
                recorded: None,
            };
        }
        let mut policy = Policy::new(&self.problem);
        let decision = if plain {
            policy.end(&self.point())
        } else {
            policy.decide(&self.point())
        };
        if decision.step.measures().is_none() {
            let worst = self.fit.again(self.model, &self.belief, &self.evidence);
            let odd = misfits(self.model, &self.evidence);
            let again = |id| !taken_again.contains(&id) && self.may_be_read_again(id);
            if let Some(odd) = odd
                .into_iter()
                .chain(worst)
                .find(|odd| again(odd.measurement))
            {
                return Advice::TakeAgain(odd.into());
            }
            if let Step::Repair(group) = decision.step
                && let Some(second) = self.second_reading(group, again)
            {
                return Advice::TakeAgain(second);
            }
        }
        match decision.step {
            Step::Measure(first) | Step::Record { first, .. } => Advice::Measure {
                measurement: self.named(first),
                saves: decision.saves,
                recorded: self.recorded(&mut policy, decision.step),
            },
            Step::Repair(group) => {
                let shows = !self.problem.shown_by(group).is_empty();
                self.repair_of(group, shows && decision.saves > 0.0)
            }
            Step::Escalate => Advice::Escalate,
        }
    }

    /// Whether a measurement that was read may be taken a second time: not if it was already, if what was read or entered
    /// since forbids it, or if what it read itself does.
    pub fn may_be_read_again(&self, measurement: MeasurementId) -> bool {
        let readings = self.evidence.iter();
        let readings = readings.filter(|reading| reading.measurement == measurement);
        let present = &self.model.complaint.present;
        let (family, now) = (self.model.family, &self.circumstances);
        readings.count() < 2
            && !rules_out_its_like(family, &self.evidence, measurement)
            && !now.spoiled.contains(&measurement)
            && way_to(family, present, &self.evidence, now, measurement, &[]).is_some()
    }

    /// The reading to take a second time before the repairs of a group: the one by which most is gained, where what they
    /// cost in vain, times how probable it is that they are in vain because it was misread, is more than it costs.
    fn second_reading(&self, group: usize, again: impl Fn(MeasurementId) -> bool) -> Option<Again> {
        let bits = self.problem.groups()[group].bits;
        let in_vain = self.problem.cost_at(bits, self.in_place);
        let readings = misread(self.model, &self.evidence).into_iter();
        let worth_it = readings.filter_map(|of| {
            let cures = self.cured(group, &of.belief);
            let most = of.probability * (1.0 - cures) * in_vain;
            if most <= 0.0 || !again(of.measurement) {
                return None;
            }
            let gain = most - self.taking(of.measurement)?.cost;
            let why = WhyAgain::HangsOn {
                repairs: self.repairs_of(group),
                probability: self.cures(group),
                misread: of.probability,
                cures,
            };
            let measurement = of.measurement;
            let second = Again { measurement, why };
            (gain > 0.0).then_some((gain, second))
        });
        // The first of equals: the earliest reading.
        let best = worth_it.reduce(|best, other| if other.0 > best.0 { other } else { best });
        best.map(|(_, second)| second)
    }

    /// The drive that a step records.
    fn recorded(&self, policy: &mut Policy<'_>, step: Step) -> Option<RecordedDrive> {
        let Step::Record { first, .. } = step else {
            return None;
        };
        let (_, taking) = policy.begin(&self.point(), step)?;
        let others = taking.recorded.iter().copied().filter(|m| *m != first);
        let answers = std::iter::once(first).chain(others);
        Some(RecordedDrive {
            answers: answers.map(|m| self.named(m)).collect(),
            taking,
        })
    }

    fn repair_of(&self, group: usize, goes_on: bool) -> Advice {
        Advice::Repair {
            first: self.repairs_of(group),
            probability: self.cures(group),
            group,
            goes_on,
        }
    }

    /// How probable it is that the repairs of a group cure the vehicle. A repair that completes another group as well
    /// ends the job for either.
    pub fn cures(&self, group: usize) -> f64 {
        self.cured(group, &self.belief)
    }

    /// The same by another belief.
    fn cured(&self, group: usize, belief: &Belief) -> f64 {
        let groups = self.problem.groups();
        let completed = self.problem.cured_with(group, groups[group].bits);
        let candidates = completed.flat_map(|g| &groups[g].candidates);
        let believed = candidates.map(|candidate| belief.posterior[*candidate]);
        believed.sum()
    }

    /// What to prepare before each of some repairs, one after the other, as far as what was read leaves a way to them.
    pub fn ways_to(&self, repairs: &[RepairId]) -> Vec<Option<Way>> {
        let mut here = self.in_place;
        let ways = repairs.iter().map(|repair| {
            let way = way_to_repair(self.model.family, here, *repair, self.problem.closed())?;
            here = way.leaves;
            Some(way)
        });
        ways.collect()
    }

    /// The repairs to do now: what the advice names, else the first of `repair_now`; `None` where nothing
    /// is worth repairing.
    pub fn repairing(&self, advice: &Advice) -> Option<Repairing> {
        if let Advice::Repair {
            first,
            probability,
            group,
            goes_on,
        } = advice
        {
            let cheapest = self.repair_now.steps.first().map(|_| self.repairs(0));
            return Some(Repairing {
                group: *group,
                repairs: first.clone(),
                probability: *probability,
                goes_on: *goes_on,
                likelier: !goes_on && cheapest.as_ref() != Some(first),
            });
        }
        let step = self.repair_now.steps.first()?;
        Some(Repairing {
            group: step.group,
            repairs: self.repairs(0),
            probability: step.probability,
            goes_on: false,
            likelier: false,
        })
    }

    /// What must be read before the repairs of a group, in order; `None` where they may not be done, since something
    /// that they require cannot be read.
    pub fn required(&self, group: usize) -> Option<Vec<MeasurementId>> {
        let list = Policy::new(&self.problem).required(&self.point(), group)?;
        Some(list.into_iter().map(|m| self.named(m)).collect())
    }

    /// The measurements that the repairs of a group show on the way, of those still on offer.
    pub fn shown_by(&self, group: usize) -> Vec<MeasurementId> {
        let shown = self.problem.shown_by(group).into_iter();
        shown.map(|place| self.named(place)).collect()
    }

    /// Whether a repair done in vain has shown a measurement on the way, so that it takes no time any more.
    pub fn is_open_to_view(&self, measurement: MeasurementId) -> bool {
        open_to_view(self.model, measurement)
    }

    /// Whether a measurement is read in the same go as the last, where the vehicle stands.
    pub fn is_in_the_same_go(&self, measurement: MeasurementId) -> bool {
        in_the_same_go(self.model.family, self.circumstances.last, measurement)
    }

    /// How a measurement is taken from here, offered or not; `None` where there is no way to its set-ups.
    pub fn taking(&self, measurement: MeasurementId) -> Option<Taking> {
        let list = &self.problem.parts().measurements;
        if let Some(place) = list.iter().position(|of| of.id == measurement.index()) {
            let mut taking = Policy::new(&self.problem).taking(&self.point(), place)?;
            taking.shown |= self.is_open_to_view(measurement);
            return Some(taking);
        }
        let known = self.model.family.measurement(measurement);
        let shown = self.is_open_to_view(measurement);
        let needed = known.set_ups.iter().filter(|_| !shown).map(|of| of.index());
        let set_ups = self.problem.set_ups();
        let needed: InPlace = needed.collect();
        let way = |closed| set_ups.cheapest(self.in_place, needed, closed);
        // What was read is kept to where that leaves a way; the technician may have chosen what it forbids.
        let way = way(self.problem.closed()).or_else(|| way(InPlace::NOTHING))?;
        let own = if shown { 0.0 } else { known.minutes.get() };
        Some(Taking {
            minutes: way.minutes + own,
            cost: way.cost + own * self.problem.per_minute(),
            way,
            shown,
            ..Taking::default()
        })
    }

    /// The repairs of a group of the problem.
    pub fn repairs_of(&self, group: usize) -> Vec<RepairId> {
        let repairs = self.problem.groups()[group].repairs.iter();
        repairs.map(|repair| RepairId::at(*repair)).collect()
    }

    /// The names of some repairs of the problem, joined.
    pub fn repair_names(&self, repairs: &[usize]) -> String {
        let ids: Vec<RepairId> = repairs.iter().map(|repair| RepairId::at(*repair)).collect();
        self.model.family.repair_names(&ids)
    }

    /// The titles of repairs, by index.
    pub fn repair_titles(&self, repairs: &[usize]) -> String {
        let ids: Vec<RepairId> = repairs.iter().map(|repair| RepairId::at(*repair)).collect();
        self.model.family.repair_titles(&ids)
    }

    /// The repairs of a step of `repair_now`.
    pub fn repairs(&self, step: usize) -> Vec<RepairId> {
        self.repair_now.steps[step]
            .repairs
            .iter()
            .map(|repair| RepairId::at(*repair))
            .collect()
    }

    /// The repairs that would cure the vehicle, by how probable each set of them is: the most probable
    /// first, then in the family's order. The probabilities leave out the unlisted cause's share.
    pub fn repairs_by_probability(&self) -> Vec<(Vec<RepairId>, f64)> {
        let believed = |group: &Group| -> f64 {
            let candidates = group.candidates.iter();
            candidates
                .map(|candidate| self.belief.posterior[*candidate])
                .sum()
        };
        let all = self.problem.groups().iter().enumerate();
        let mut groups: Vec<(Vec<RepairId>, f64)> = all
            .map(|(place, group)| (self.repairs_of(place), believed(group)))
            .collect();
        groups.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        groups
    }
}
