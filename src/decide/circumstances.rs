//! The decision problem of a model in the circumstances of a job.

use super::problem::{
    Drive, Effect, FitSoFar, Foreseen, Misshapen, Parts, Problem, RepairRules, RepairWork,
};
use super::set_up::{Entering, InPlace, SetUp, SetUps, Way};
use crate::infer::{Belief, Evidence, Model, counting, surprises};
use crate::knowledge::{
    CauseId, Family, Measurement, MeasurementId, OutcomeId, RepairId, SetUpId, SymptomId, Timed,
    Unless, Workshop,
};
use crate::units::Minutes;
use std::collections::{BTreeMap, BTreeSet};

/// What is in place at this moment, and what is not to be proposed.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Circumstances {
    /// The set-ups in place.
    pub in_place: Vec<SetUpId>,
    /// Measurements that are not offered: taken, skipped, or not possible here.
    pub left_out: Vec<MeasurementId>,
    /// Measurements that a set-up which was entered has spoiled.
    pub spoiled: Vec<MeasurementId>,
    /// What is read before anything else, in order; `None` where the complaints say it.
    pub first_looks: Option<Vec<MeasurementId>>,
    /// Whether nothing can be recorded here.
    pub by_hand: bool,
    /// What was read last, while no set-up was entered since.
    pub last: Option<MeasurementId>,
}

impl Circumstances {
    /// A vehicle that just came in.
    pub fn on_arrival(family: &Family) -> Self {
        Self {
            in_place: family.in_place.clone(),
            ..Self::default()
        }
    }

    /// Leaves out what cannot be done in a workshop, and takes its first looks.
    pub fn work_in(&mut self, workshop: &Workshop, family: &Family) {
        self.left_out.extend(workshop.left_out(family));
        self.first_looks = workshop.first_looks(family);
        self.by_hand |= workshop.lacks_recorder();
    }

    /// Enters a set-up, and what it sets: each leaves the others of its group and ends what it ends. Its needs
    /// are not checked.
    pub fn enter(&mut self, family: &Family, entered: SetUpId) {
        let set_up = family.set_up(entered);
        self.spoiled.extend(&set_up.spoils);
        self.last = None;
        self.stand_with_sets(family, entered);
    }

    /// What stands once a measurement has read so.
    pub fn read(&mut self, family: &Family, reading: &Evidence) {
        self.last = Some(reading.measurement);
        for (outcome, sets) in &family.measurement(reading.measurement).sets {
            if outcome.index() == reading.outcome() {
                for set_up in sets {
                    self.stand(family, *set_up);
                }
            }
        }
    }

    /// What stands once repairs are done and everything is put back. What a verification sets has ended.
    pub fn repaired(&mut self, family: &Family, repairs: &[RepairId]) {
        if family.put_back.is_empty() {
            return;
        }
        self.last = None;
        for set_up in &family.put_back {
            self.stand_with_sets(family, *set_up);
        }
        for repair in repairs {
            let ended = ended_by(family, *repair);
            self.in_place.retain(|standing| !ended.contains(standing));
        }
    }

    /// Puts a set-up in place, and what it sets.
    fn stand_with_sets(&mut self, family: &Family, entered: SetUpId) {
        self.stand(family, entered);
        for set in &family.set_up(entered).sets {
            self.stand(family, *set);
        }
    }

    /// Puts a set-up in place.
    fn stand(&mut self, family: &Family, entered: SetUpId) {
        let set_up = family.set_up(entered);
        self.in_place.retain(|standing| {
            let other = family.set_up(*standing);
            *standing != entered
                && !set_up.ends.contains(standing)
                && (set_up.group.is_none() || set_up.group != other.group)
        });
        self.in_place.push(entered);
        self.in_place.sort_unstable();
    }

    /// The set-ups in place, as the plan counts them.
    pub fn standing(&self) -> InPlace {
        self.in_place
            .iter()
            .fold(InPlace::default(), |in_place, set_up| {
                in_place.with(set_up.index())
            })
    }
}

/// What does not stand any more after a repair: what the readings that verify it would set, and what nobody knew of
/// the vehicle when it came in either, such as how warm its fluid is, unless the repair itself leaves it so.
fn ended_by(family: &Family, repair: RepairId) -> Vec<SetUpId> {
    let known = family.repair(repair);
    let sets = known
        .verifying()
        .flat_map(|id| &family.measurement(id).sets);
    let set = sets.flat_map(|(_, set_ups)| set_ups).copied();
    let group = |id: &SetUpId| family.set_up(*id).group.as_ref();
    let unknown = (0..family.set_ups.len()).map(SetUpId::at).filter(|id| {
        let arrived = &family.in_place;
        group(id).is_some()
            && arrived.iter().all(|other| group(other) != group(id))
            && !known.set_ups.contains(id)
    });
    set.chain(unknown).collect()
}

/// What is in place when a vehicle is handed over: what is put back after a repair, the vehicle standing as it came in.
fn handed_over(family: &Family) -> impl Iterator<Item = SetUpId> {
    family.put_back.iter().map(|id| {
        let group = &family.set_up(*id).group;
        let mut arrived = family.in_place.iter();
        let arrived =
            arrived.find(|other| group.is_some() && family.set_up(**other).group == *group);
        *arrived.unwrap_or(id)
    })
}

/// What must be put back before the vehicle is handed over, in order; `None` where there is no way.
pub fn way_out(family: &Family, in_place: InPlace) -> Option<Way> {
    let goal = handed_over(family).map(SetUpId::index).collect();
    set_ups(family)?.cheapest(in_place, goal, InPlace::NOTHING)
}

/// The set-ups to enter before a repair is begun: those that it names, and what takes off equipment that it does not
/// need, or takes nothing but leaving it, such as a running engine. `None` where there is no way, since what was read
/// closes a set-up of it.
pub fn way_to_repair(
    family: &Family,
    in_place: InPlace,
    repair: RepairId,
    closed: InPlace,
) -> Option<Way> {
    let own = family.repair(repair).set_ups.iter();
    let own: InPlace = own.map(|id| id.index()).collect();
    let group = |place: usize| family.set_ups[place].group.as_ref();
    let touched: Vec<_> = own.indices().filter_map(group).collect();
    let left = family.put_back.iter().filter(|id| {
        let own_group = group(id.index());
        let mut here = in_place.indices();
        let other = here.find(|place| *place != id.index() && group(*place) == own_group);
        let other = other.filter(|_| own_group.is_some_and(|group| !touched.contains(&group)));
        let leaves = |other: usize| {
            family.set_ups[other].equipment.is_some() || family.set_up(**id).needs.is_empty()
        };
        family.in_place.contains(id) && other.is_some_and(leaves)
    });
    let goal = left.map(|id| id.index()).fold(own, InPlace::with);
    set_ups(family)?.cheapest(in_place, goal, closed)
}

/// The family's set-ups, as the plan counts them: in the family's order.
pub fn set_ups(family: &Family) -> Option<SetUps> {
    let mut groups: Vec<&str> = family
        .set_ups
        .iter()
        .filter_map(|set_up| set_up.group.as_deref())
        .collect();
    groups.sort_unstable();
    groups.dedup();
    let entering = |minutes, wait, needs: &[SetUpId]| Entering {
        minutes,
        wait,
        needs: indices(needs),
    };
    let listed = family
        .set_ups
        .iter()
        .map(|set_up| SetUp {
            entering: entering(set_up.minutes, set_up.wait, &set_up.needs),
            from: (set_up.from.iter())
                .map(|(left, of)| (left.index(), entering(of.minutes, of.wait, &of.needs)))
                .collect(),
            parts: set_up.parts,
            group: set_up
                .group
                .as_deref()
                .and_then(|group| groups.binary_search(&group).ok()),
            ends: indices(&set_up.ends),
            sets: indices(&set_up.sets),
            place: set_up.place,
        })
        .collect();
    SetUps::new(listed, family.shop.labour_rate, family.shop.waiting_rate)
}

fn indices(ids: &[SetUpId]) -> Vec<usize> {
    ids.iter().map(|id| id.index()).collect()
}

/// The problem of a model after some readings, and the belief they lead to: its candidates, their repairs, and every measurement that its symptoms,
/// its vehicle, the readings and the circumstances leave on offer. A candidate needs what is left of its repairs
/// once those done are left out, so that two with the same left are one group; what a repair has shown on the way
/// needs no set-up and no time any more.
///
/// # Errors
///
/// [`Misshapen`] where the knowledge is larger than the plan can weigh.
pub fn problem(
    model: &Model<'_>,
    evidence: &[Evidence],
    belief: &Belief,
    circumstances: &Circumstances,
) -> Result<Problem, Misshapen> {
    let family = model.family;
    let set_ups = set_ups(family).ok_or(Misshapen::SetUp(0))?;
    let offer = Offer::new(model, evidence, circumstances, &set_ups);
    let measurements: Vec<Foreseen> = offer
        .list
        .iter()
        .filter_map(|id| offer.foreseen(*id))
        .collect();
    let done = |id: &RepairId| model.complaint.repaired.contains(id);
    let repairs = || (0..family.repairs.len()).map(RepairId::at);
    let looks = circumstances.first_looks.clone().unwrap_or_else(|| {
        let present = model.complaint.present.iter();
        let all = present.flat_map(|symptom| family.symptom(*symptom).first_looks.iter());
        all.copied().collect()
    });
    let mut first_looks: Vec<usize> = Vec::new();
    for look in looks.iter().filter_map(|id| offer.place(*id)) {
        if !first_looks.contains(&look) {
            first_looks.push(look);
        }
    }
    let candidates: Vec<Vec<usize>> = (0..model.candidates.len())
        .map(|candidate| {
            let repairs = model.repairs(candidate).into_iter();
            let left = repairs.filter(|repair| !done(repair));
            left.map(RepairId::index).collect()
        })
        .collect();
    // A family may have far more repairs than one complaint asks for.
    let in_use: BTreeSet<usize> = candidates.iter().flatten().copied().collect();
    Problem::new(Parts {
        candidates,
        repairs: repairs()
            .map(|id| RepairWork {
                minutes: family.repair_minutes(id),
                parts: family.repair(id).parts,
            })
            .collect(),
        opening: repairs()
            .filter(|id| family.repair(*id).opens_unit())
            .map(RepairId::index)
            .collect(),
        fits: (surprises(model, evidence).into_iter())
            .zip(&belief.posterior)
            .map(|(surprise, weight)| FitSoFar {
                weight: *weight,
                surprise,
            })
            .collect(),
        escalation: RepairWork {
            minutes: family.shop.escalation.minutes,
            parts: family.shop.escalation.parts,
        },
        labour_rate: family.shop.labour_rate,
        shows: repairs()
            .map(|id| offer.places(&family.repair(id).reveals))
            .collect(),
        rules: repairs()
            .map(|id| {
                if in_use.contains(&id.index()) {
                    offer.rules(id)
                } else {
                    RepairRules::default()
                }
            })
            .collect(),
        spoils: (family.set_ups.iter())
            .map(|set_up| offer.places(&set_up.spoils))
            .collect(),
        closed: offer.closed.indices().collect(),
        arrival: indices(&family.in_place),
        put_back: indices(&family.put_back),
        first_looks,
        least_saving_share: family.shop.least_saving_share,
        repair_from: family.shop.repair_from,
        least_saving: family.shop.least_saving_minutes.at(family.shop.labour_rate),
        drives: if circumstances.by_hand {
            Vec::new()
        } else {
            offer.drives()
        },
        measurements,
        set_ups,
    })
}

/// Whether the latest reading of a measurement is one of these outcomes.
fn was_read(readings: &[&Evidence], (of, outcomes): &(MeasurementId, Vec<OutcomeId>)) -> bool {
    let latest = readings.iter().rfind(|reading| reading.measurement == *of);
    latest.is_some_and(|reading| {
        let sum: f64 = reading.weights.iter().sum();
        let these = outcomes.iter().map(|id| reading.weights[id.index()]);
        these.sum::<f64>() >= 0.5 * sum
    })
}

/// Whether the latest reading of a measurement rules out another that has no dangers but its own: what is too risky
/// there, such as a second stall on a clamp that gave way at the first, is too risky for itself.
pub(super) fn rules_out_its_like(
    family: &Family,
    evidence: &[Evidence],
    measurement: MeasurementId,
) -> bool {
    let readings = counting(family, evidence);
    let own = &family.measurement(measurement).cautions;
    family.measurements.iter().any(|other| {
        let mut closing = other.unless.outcomes.iter();
        !other.cautions.is_empty()
            && other.cautions.iter().all(|caution| own.contains(caution))
            && closing.any(|of| of.0 == measurement && was_read(&readings, of))
    })
}

/// The set-ups to enter for a measurement that is taken whatever it tells: a general look, or one that verifies
/// `repairs`. `None` where there is no way, or where what was read forbids it. What a cause of these repairs shows or
/// brings about forbids nothing any more: it is taken as cured.
pub fn way_to(
    family: &Family,
    present: &[SymptomId],
    evidence: &[Evidence],
    circumstances: &Circumstances,
    measurement: MeasurementId,
    repairs: &[RepairId],
) -> Option<Way> {
    let readings = counting(family, evidence);
    let cures = |id: &CauseId| repairs.contains(&family.cause(*id).repair);
    let shown = |(of, outcomes): &(MeasurementId, Vec<OutcomeId>)| {
        let rows = family.measurement(*of).shows.iter();
        let mut cured = rows.filter(|(cause, _)| cures(cause));
        cured.any(|(_, row)| row.0.keys().any(|outcome| outcomes.contains(outcome)))
    };
    let forbids = |unless: &Unless| {
        let mut outcomes = unless.outcomes.iter();
        let mut symptoms = unless.symptoms.iter();
        outcomes.any(|of| was_read(&readings, of) && !shown(of))
            || symptoms.any(|id| {
                present.contains(id) && !family.symptom(*id).tree.causes().iter().any(cures)
            })
    };
    let known = family.measurement(measurement);
    if forbids(&known.unless) {
        return None;
    }
    let set_ups = (0..family.set_ups.len()).filter(|&place| forbids(&family.set_ups[place].unless));
    let closed: InPlace = set_ups.collect();
    let all = self::set_ups(family)?;
    let needed: InPlace = indices(&known.set_ups).into_iter().collect();
    if all.standing_on(needed).common(closed) != InPlace::NOTHING {
        return None;
    }
    all.cheapest(circumstances.standing(), needed, closed)
}

/// The measurements that may be taken, and what closes the others.
struct Offer<'m, 'k> {
    model: &'m Model<'k>,
    /// The readings that count.
    readings: Vec<&'m Evidence>,
    /// What is left of the figures of measurements that fade, by these.
    left: f64,
    /// What is on offer.
    list: Vec<MeasurementId>,
    /// For a measurement, the places in the list of those that a reading of it may close.
    closed_by: BTreeMap<MeasurementId, Vec<usize>>,
    /// What was read last, where nothing was entered since.
    last: Option<MeasurementId>,
    /// The set-ups that may not be entered.
    closed: InPlace,
    set_ups: &'m SetUps,
}

impl<'m, 'k> Offer<'m, 'k> {
    fn new(
        model: &'m Model<'k>,
        evidence: &'m [Evidence],
        circumstances: &Circumstances,
        set_ups: &'m SetUps,
    ) -> Self {
        let family = model.family;
        let readings = counting(family, evidence);
        let mut offer = Self {
            model,
            left: model.fading(readings.iter().copied()),
            readings,
            list: Vec::new(),
            closed_by: BTreeMap::new(),
            last: circumstances.last,
            closed: InPlace::NOTHING,
            set_ups,
        };
        offer.closed = (0..family.set_ups.len())
            .filter(|&place| offer.holds(&family.set_ups[place].unless))
            .collect();
        offer.list = (0..family.measurements.len())
            .map(MeasurementId::at)
            .filter(|id| {
                !circumstances.left_out.contains(id)
                    && !circumstances.spoiled.contains(id)
                    && offer.is_asked_for(*id)
                    && !offer.holds(&family.measurement(*id).unless)
                    && offer.stands_on(*id).common(offer.closed) == InPlace::NOTHING
                    && model.foreseen(*id).is_ok()
            })
            .collect();
        for (place, id) in offer.list.iter().enumerate() {
            for (by, _) in &family.measurement(*id).unless.outcomes {
                offer.closed_by.entry(*by).or_default().push(place);
            }
        }
        offer
    }

    /// Whether the complaints ask for a measurement: it is for one of them, and one of its causes is among theirs.
    fn is_asked_for(&self, id: MeasurementId) -> bool {
        let measurement = self.model.family.measurement(id);
        measurement.is_for(&self.model.complaint.present)
    }

    /// Whether something is closed by the complaints or by a reading.
    fn holds(&self, unless: &Unless) -> bool {
        let present = &self.model.complaint.present;
        let mut symptoms = unless.symptoms.iter();
        let mut outcomes = unless.outcomes.iter();
        symptoms.any(|symptom| present.contains(symptom))
            || outcomes.any(|of| was_read(&self.readings, of))
    }

    /// The set-ups that a measurement stands on, itself or by what they need.
    fn stands_on(&self, id: MeasurementId) -> InPlace {
        let needed = self.model.family.measurement(id).set_ups.iter();
        self.set_ups
            .standing_on(needed.map(|set_up| set_up.index()).collect())
    }

    fn place(&self, id: MeasurementId) -> Option<usize> {
        self.list.binary_search(&id).ok()
    }

    fn places(&self, ids: &[MeasurementId]) -> Vec<usize> {
        ids.iter().filter_map(|id| self.place(*id)).collect()
    }

    fn foreseen(&self, id: MeasurementId) -> Option<Foreseen> {
        let table = self.model.foreseen_at(id, self.left).ok()?;
        let measurement = self.model.family.measurement(id);
        let along = in_the_same_go(self.model.family, self.last, id);
        let (minutes, set_ups) = if along || open_to_view(self.model, id) {
            (Minutes::default(), &[][..])
        } else {
            (measurement.minutes, &measurement.set_ups[..])
        };
        let effects = (0..table.outcomes())
            .map(|outcome| (outcome, self.effect(id, OutcomeId::at(outcome))))
            .filter(|(_, effect)| *effect != Effect::default());
        Some(Foreseen {
            id: id.index(),
            minutes,
            needs: indices(set_ups),
            after: self.places(&measurement.after),
            along: self.places(&measurement.along),
            effects: effects.collect(),
            outcomes: table.outcomes(),
            rows: table.numbers().to_vec(),
        })
    }

    /// What an outcome closes and what it puts in place.
    fn effect(&self, id: MeasurementId, outcome: OutcomeId) -> Effect {
        let family = self.model.family;
        let closes = |unless: &Unless| {
            let mut outcomes = unless.outcomes.iter();
            outcomes.any(|(of, closing)| *of == id && closing.contains(&outcome))
        };
        let set_ups: InPlace = (0..family.set_ups.len())
            .filter(|&place| closes(&family.set_ups[place].unless))
            .collect();
        let named = self.closed_by.get(&id).into_iter().flatten().copied();
        let mut closed: Vec<usize> = named
            .filter(|&m| closes(&family.measurement(self.list[m]).unless))
            .collect();
        if set_ups != InPlace::NOTHING {
            let stands =
                |m: &usize| self.stands_on(self.list[*m]).common(set_ups) != InPlace::NOTHING;
            closed.extend((0..self.list.len()).filter(stands));
        }
        closed.sort_unstable();
        closed.dedup();
        let sets = family.measurement(id).sets.iter();
        let set = sets
            .filter(|(of, _)| *of == outcome)
            .flat_map(|(_, set_ups)| set_ups);
        Effect {
            closes: closed,
            closes_set_ups: set_ups.indices().collect(),
            sets: set.map(|set_up| set_up.index()).collect(),
        }
    }

    /// The drives that can be recorded: for each choice of set-ups that a measurement read from a recording needs, all those
    /// that need no more, up to each length. A drive takes as long as the longest of them, and what recording takes.
    fn drives(&self) -> Vec<Drive> {
        let family = self.model.family;
        let Some(recorder) = &family.recorder else {
            return Vec::new();
        };
        let recorded: Vec<(usize, &Measurement)> = (self.list.iter().enumerate())
            .map(|(place, id)| (place, family.measurement(*id)))
            .filter(|(_, measurement)| is_recorded(measurement))
            .collect();
        let standing = |ids: &[SetUpId]| ids.iter().map(|id| id.index()).collect::<InPlace>();
        let always = standing(&recorder.set_ups);
        let ways: BTreeSet<InPlace> = (recorded.iter())
            .map(|(_, measurement)| standing(&measurement.set_ups).joined(always))
            .collect();
        let mut drives = Vec::new();
        for needs in ways {
            let mut of: Vec<(Minutes, usize)> = (recorded.iter())
                .filter(|(_, measurement)| needs.covers(standing(&measurement.set_ups)))
                .map(|(place, measurement)| (measurement.minutes, *place))
                .collect();
            of.sort_by(|a, b| a.0.get().total_cmp(&b.0.get()).then(a.1.cmp(&b.1)));
            let lengths = of.chunk_by(|a, b| a.0 == b.0);
            let mut reach = 0;
            for same in lengths {
                reach += same.len();
                let mut answers: Vec<usize> = of[..reach].iter().map(|of| of.1).collect();
                answers.sort_unstable();
                drives.push(Drive {
                    minutes: same[0].0 + recorder.minutes,
                    needs: needs.indices().collect(),
                    answers,
                });
            }
        }
        drives
    }

    /// What a repair still waits for. What the complaints do not ask for is not waited for; what can no longer be
    /// read is, for good.
    fn rules(&self, id: RepairId) -> RepairRules {
        let family = self.model.family;
        let repair = family.repair(id);
        let read = |id: &MeasurementId| self.readings.iter().any(|of| of.measurement == *id);
        let wanted = |ids: &[MeasurementId]| -> Vec<MeasurementId> {
            let asked = ids.iter().filter(|id| self.is_asked_for(**id));
            asked.copied().collect()
        };
        let (all, any) = (wanted(&repair.requires.all), wanted(&repair.requires.any));
        let missing = |id: &MeasurementId| !read(id) && self.place(*id).is_none();
        let met = any.iter().any(read);
        let barred = all.iter().any(missing) || !met && !any.is_empty() && any.iter().all(missing);
        let unread: Vec<MeasurementId> = all.into_iter().filter(|id| !read(id)).collect();
        RepairRules {
            all: self.places(&unread),
            any: if met { Vec::new() } else { self.places(&any) },
            barred,
            set_ups: indices(&repair.set_ups),
            ends: indices(&ended_by(family, id)),
        }
    }
}

/// Whether a measurement can be one of several that are read from one recording. A stall test has its own time and
/// cool-down.
fn is_recorded(measurement: &Measurement) -> bool {
    measurement.recording.is_some() && !matches!(measurement.timed, Some(Timed::Stall { .. }))
}

/// Whether a repair done in vain has shown a measurement on the way.
pub(super) fn open_to_view(model: &Model<'_>, id: MeasurementId) -> bool {
    let mut repaired = model.complaint.repaired.iter();
    repaired.any(|repair| model.family.repair(*repair).reveals.contains(&id))
}

/// Whether a measurement is read in the same go as the last.
pub(super) fn in_the_same_go(
    family: &Family,
    last: Option<MeasurementId>,
    id: MeasurementId,
) -> bool {
    last.is_some_and(|last| family.measurement(last).along.contains(&id))
}
