//! What a decision needs, and no more: repairs, measurements and set-ups by index.

use super::point::Point;
use super::prices::{Prices, each};
use super::set_up::{InPlace, SetUps};
use crate::infer::Surprise;
use crate::units::{Minutes, Money, Probability};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The work of one repair, or of escalation.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RepairWork {
    /// Hands-on minutes, verification included.
    pub minutes: Minutes,
    /// Price of the parts.
    pub parts: Money,
}

impl RepairWork {
    /// `minutes · labour_rate / 60 + parts`. docs/method.md, section 9.
    pub fn cost(self, labour_rate: Money) -> f64 {
        (self.minutes.at(labour_rate) + self.parts).get()
    }
}

/// A measurement as foreseen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Foreseen {
    /// The caller's own number for it; the room only carries it.
    pub id: usize,
    /// Minutes of its own, set-ups apart.
    pub minutes: Minutes,
    /// The set-ups it needs, by index.
    pub needs: Vec<usize>,
    /// The measurements that must be read before it, as long as they may be taken.
    pub after: Vec<usize>,
    /// The measurements that can be read in the same go, for nothing.
    pub along: Vec<usize>,
    /// What an outcome, by index, does beside moving the belief.
    pub effects: Vec<(usize, Effect)>,
    /// How many outcomes it has.
    pub outcomes: usize,
    /// `P(o | H)`, floored and blurred: one row a candidate, then one for each kind of unlisted cause, at least one; each
    /// row is `outcomes` long and adds up to 1.
    pub rows: Vec<f64>,
}

/// A drive that is recorded: set-ups and minutes once, for everything that is read from it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drive {
    /// Its minutes, set-ups apart.
    pub minutes: Minutes,
    /// The set-ups it needs, by index: all that its measurements need.
    pub needs: Vec<usize>,
    /// The measurements that it answers, by index.
    pub answers: Vec<usize>,
}

/// What reading an outcome does beside moving the belief.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Effect {
    /// The measurements that may not be taken any more.
    pub closes: Vec<usize>,
    /// The set-ups that may not be entered any more.
    pub closes_set_ups: Vec<usize>,
    /// The set-ups that are in place then, without work.
    pub sets: Vec<usize>,
}

/// What a repair waits for and what it does to the set-ups.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RepairRules {
    /// The measurements that must all be read before it.
    pub all: Vec<usize>,
    /// The measurements one of which must be read before it; nothing where it is empty.
    pub any: Vec<usize>,
    /// It may not be done at all: something that it waits for cannot be read.
    pub barred: bool,
    /// The dismantling it begins with, which its minutes hold.
    pub set_ups: Vec<usize>,
    /// What does not stand after it, though it is among what is put back.
    pub ends: Vec<usize>,
}

/// The parts of a problem, to be checked by [`Problem::new`].
#[derive(Clone, Debug, Default)]
pub struct Parts {
    /// For each candidate the repairs it needs, by index into `repairs`.
    pub candidates: Vec<Vec<usize>>,
    /// The repairs.
    pub repairs: Vec<RepairWork>,
    /// The repairs that open the unit or take it out, by index: not done while the readings fit nothing well.
    pub opening: Vec<usize>,
    /// How the readings so far fit each candidate; empty where that is not looked at.
    pub fits: Vec<FitSoFar>,
    /// What ends the job whatever is wrong.
    pub escalation: RepairWork,
    /// Labour per hour.
    pub labour_rate: Money,
    /// The measurements that may still be taken.
    pub measurements: Vec<Foreseen>,
    /// The drives that can be recorded.
    pub drives: Vec<Drive>,
    /// The set-ups of the family.
    pub set_ups: SetUps,
    /// For each repair the measurements that doing it shows on the way, by index into `measurements`;
    /// a repair beyond the list shows none.
    pub shows: Vec<Vec<usize>>,
    /// What each repair waits for; a repair beyond the list waits for nothing.
    pub rules: Vec<RepairRules>,
    /// For each set-up the measurements that cannot be taken any more once it was entered; a set-up beyond the
    /// list spoils none.
    pub spoils: Vec<Vec<usize>>,
    /// The set-ups that may not be entered.
    pub closed: Vec<usize>,
    /// The set-ups that stand when a vehicle comes in.
    pub arrival: Vec<usize>,
    /// The set-ups that stand once a repair is done; empty where a repair changes nothing.
    pub put_back: Vec<usize>,
    /// The measurements that are taken before anything else, in order.
    pub first_looks: Vec<usize>,
    /// A measurement is worth taking where it saves this share of the expected cost
    pub least_saving_share: Probability,
    /// and this much money.
    pub least_saving: Money,
    /// How likely a repair must be to cure before it is advised, as long as measuring on hardly costs more.
    pub repair_from: Probability,
}

/// How the readings that a problem starts from fit a candidate.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FitSoFar {
    /// The weight of the candidate after them.
    pub weight: f64,
    /// Their surprise under it.
    pub surprise: Surprise,
}

/// Why some parts make no problem.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Misshapen {
    /// A candidate without repairs, or with one that is not listed.
    #[error("candidate {0} needs at least one repair, each of them listed")]
    Candidate(usize),
    /// More different repairs in use than the search can tell apart.
    #[error("{0} repairs are more than the {most} that a plan can weigh", most = Problem::MOST_REPAIRS)]
    Repairs(usize),
    /// A measurement that needs a set-up that is not listed.
    #[error("measurement {0} needs a set-up that is not listed")]
    SetUp(usize),
    /// A repair, a set-up, a drive or the first looks that name a measurement or a set-up that is not listed.
    #[error("a rule names a measurement or a set-up that is not listed")]
    Rule,
    /// A measurement without outcomes, or whose table has the wrong size.
    #[error(
        "the table of measurement {0} must have a row of outcomes for each candidate and for each kind of unlisted cause"
    )]
    Table(usize),
    /// A row with a negative or unbounded entry, or that does not add up to 1.
    #[error("row {row} of measurement {measurement} is no distribution")]
    Row {
        /// The measurement.
        measurement: usize,
        /// The row: a candidate, or after the last an unlisted cause.
        row: usize,
    },
}

/// Candidates with the same set of repairs: done whole.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// The repairs, ascending.
    pub repairs: Vec<usize>,
    /// The candidates, ascending.
    pub candidates: Vec<usize>,
    /// Cost of all its repairs.
    pub cost: f64,
    /// Minutes of all its repairs.
    pub minutes: f64,
    /// The repairs as bits, in the numbering of the repairs in use.
    pub(super) bits: u128,
    /// Whether a repair of it belongs to another group as well.
    pub(super) overlaps: bool,
    /// The groups that share a repair with it, itself among them, ascending.
    pub(super) neighbours: Vec<usize>,
}

/// A measurement made ready for the search.
#[derive(Clone, Debug)]
pub(super) struct Measurement {
    pub(super) minutes: f64,
    pub(super) needed: InPlace,
    pub(super) outcomes: usize,
    /// Outcome after outcome, each with one entry a candidate and one for each kind of unlisted cause.
    columns: Vec<f64>,
    /// The entropy of each row, in bits.
    row_entropies: Vec<f64>,
}

/// Everything a decision needs. The belief is handed in beside it, so that one problem serves all the
/// readings of a job: one weight a candidate, the kinds of unlisted cause last.
#[derive(Clone, Debug)]
pub struct Problem {
    parts: Parts,
    groups: Vec<Group>,
    group_of: Vec<usize>,
    /// The candidates and the kinds of unlisted cause.
    hypotheses: usize,
    overlapping: Vec<usize>,
    used_cost: Vec<f64>,
    used_minutes: Vec<f64>,
    used: Vec<usize>,
    /// What each repair in use shows, in their numbering.
    shows: Vec<Vec<usize>>,
    /// The repairs that more than one group needs, as bits.
    shared: u128,
    escalation_cost: f64,
    per_minute: f64,
    measurements: Vec<Measurement>,
    prices: Prices,
    dismantling: Vec<Dismantling>,
    put_back: Vec<PutBack>,
    closed: InPlace,
    ruled: bool,
}

/// The dismantling that a repair in use begins with.
#[derive(Clone, Copy, Debug, Default)]
struct Dismantling {
    /// The set-ups that it needs.
    needed: InPlace,
    /// Those, and all that entering them takes when a vehicle comes in.
    closure: InPlace,
    /// Of these what does not stand when a vehicle comes in: each that stands already is work done.
    saved: InPlace,
}

/// A set-up of the vehicle as it came in, that must stand again after a repair.
#[derive(Clone, Copy, Debug)]
struct PutBack {
    set_up: usize,
    minutes: f64,
    cost: f64,
}

impl Parts {
    /// The dismantling that a repair begins with.
    fn dismantling(&self, repair: usize, arrival: InPlace) -> Dismantling {
        let set_ups = self
            .rules
            .get(repair)
            .map_or(&[][..], |rules| &rules.set_ups);
        let needed: InPlace = set_ups.iter().copied().collect();
        let listed = self.set_ups.listed();
        let mut closure = needed;
        loop {
            // What stands when a vehicle comes in is not taken apart to be put there.
            let entered = closure.without(arrival).indices();
            let needs = entered.flat_map(|set_up| &listed[set_up].entering.needs);
            let wider = needs.fold(closure, |all, &set_up| all.with(set_up));
            if wider == closure {
                break;
            }
            closure = wider;
        }
        Dismantling {
            needed,
            closure,
            saved: closure.without(arrival),
        }
    }

    /// What stood when the vehicle came in and must stand again after a repair.
    fn standing_again(&self, arrival: InPlace) -> Vec<PutBack> {
        let stood = self.put_back.iter().filter(|&&set_up| arrival.has(set_up));
        stood
            .map(|&set_up| {
                let listed = &self.set_ups.listed()[set_up];
                let minutes = listed.entering.minutes;
                PutBack {
                    set_up,
                    minutes: minutes.get(),
                    cost: (minutes.at(self.labour_rate) + listed.parts).get(),
                }
            })
            .collect()
    }

    /// Whether everything that rules name is listed.
    fn rules_are_listed(&self) -> bool {
        let measured = |list: &[usize]| list.iter().all(|&m| m < self.measurements.len());
        let entered = |list: &[usize]| list.iter().all(|&s| s < self.set_ups.len());
        let effect = |(_, of): &(usize, Effect)| {
            measured(&of.closes) && entered(&of.closes_set_ups) && entered(&of.sets)
        };
        self.shows
            .iter()
            .chain(&self.spoils)
            .all(|list| measured(list))
            && measured(&self.first_looks)
            && (self.drives.iter()).all(|of| measured(&of.answers) && entered(&of.needs))
            && [&self.closed, &self.arrival, &self.put_back]
                .iter()
                .all(|list| entered(list))
            && self.measurements.iter().all(|of| {
                measured(&of.after) && measured(&of.along) && of.effects.iter().all(effect)
            })
            && self.rules.iter().all(|of| {
                measured(&of.all) && measured(&of.any) && entered(&of.set_ups) && entered(&of.ends)
            })
    }
}

impl Problem {
    /// How many different repairs the candidates may need between them.
    pub const MOST_REPAIRS: usize = 128;

    /// Checks the parts and puts them in order.
    ///
    /// # Errors
    ///
    /// [`Misshapen`]: an index without its thing, a table of the wrong size, a row that is no distribution.
    pub fn new(mut parts: Parts) -> Result<Self, Misshapen> {
        for (i, repairs) in parts.candidates.iter_mut().enumerate() {
            repairs.sort_unstable();
            repairs.dedup();
            if repairs.is_empty() || repairs.iter().any(|&r| r >= parts.repairs.len()) {
                return Err(Misshapen::Candidate(i));
            }
        }
        // Without a measurement it does not matter how many kinds of unlisted cause there are.
        let rows = |of: &Foreseen| of.rows.len() / of.outcomes.max(1);
        let hypotheses = parts.measurements.first().map_or(0, rows);
        let hypotheses = hypotheses.max(parts.candidates.len() + 1);
        let measurements = parts
            .measurements
            .iter()
            .enumerate()
            .map(|(i, m)| make_ready(i, m, hypotheses, parts.set_ups.len()))
            .collect::<Result<Vec<_>, _>>()?;
        if !parts.rules_are_listed() {
            return Err(Misshapen::Rule);
        }
        let mut used: Vec<usize> = parts.candidates.iter().flatten().copied().collect();
        used.sort_unstable();
        used.dedup();
        if used.len() > Self::MOST_REPAIRS {
            return Err(Misshapen::Repairs(used.len()));
        }
        let used_cost: Vec<f64> = used
            .iter()
            .map(|&r| parts.repairs[r].cost(parts.labour_rate))
            .collect();
        let used_minutes: Vec<f64> = used
            .iter()
            .map(|&r| parts.repairs[r].minutes.get())
            .collect();
        let (groups, group_of) = grouped(&parts, &used, &used_cost, &used_minutes);
        let mut seen = 0;
        let mut shared = 0;
        for group in &groups {
            shared |= seen & group.bits;
            seen |= group.bits;
        }
        let shows = used
            .iter()
            .map(|&r| parts.shows.get(r).cloned().unwrap_or_default())
            .collect();
        let overlapping = (0..groups.len()).filter(|&g| groups[g].overlaps).collect();
        let escalation_cost = parts.escalation.cost(parts.labour_rate);
        let per_minute = parts.labour_rate.get() / 60.0;
        let closed = parts.closed.iter().copied().collect();
        let arrival: InPlace = parts.arrival.iter().copied().collect();
        let dismantling = used
            .iter()
            .map(|&r| parts.dismantling(r, arrival))
            .collect();
        let put_back = parts.standing_again(arrival);
        let ruled = !parts.put_back.is_empty()
            || !parts.opening.is_empty()
            || (parts.rules.iter()).any(|rules| *rules != RepairRules::default());
        let mut problem = Self {
            parts,
            groups,
            group_of,
            hypotheses,
            overlapping,
            used_cost,
            used_minutes,
            used,
            shows,
            shared,
            escalation_cost,
            per_minute,
            measurements,
            prices: Prices::default(),
            dismantling,
            put_back,
            closed,
            ruled,
        };
        let groups = problem.groups.iter().map(|group| (group.bits, 0.0));
        problem.prices = Prices::new(problem.repairs_at(arrival), groups);
        Ok(problem)
    }

    /// Whether what a repair costs depends on where the job is.
    pub(super) fn ruled(&self) -> bool {
        self.ruled
    }

    /// What repairs cost when a vehicle comes in, with nothing to be read before them.
    pub(super) fn prices(&self) -> &Prices {
        &self.prices
    }

    /// The cost and the minutes of each repair in use where some set-ups are in place.
    pub(super) fn repairs_at(&self, in_place: InPlace) -> Arc<[(f64, f64)]> {
        let of = |used| {
            (
                self.repair_cost(used, in_place),
                self.repair_minutes(used, in_place),
            )
        };
        (0..self.used.len()).map(of).collect()
    }

    /// The minutes that dismantling which stands already saves a repair in use, and the minutes and cost of putting
    /// back what is dismantled beyond it.
    fn dismantled(&self, used: usize, in_place: InPlace) -> (f64, f64, f64) {
        if !self.ruled {
            return (0.0, 0.0, 0.0);
        }
        let of = self.dismantling[used];
        let listed = self.set_ups().listed();
        let standing = of.saved.common(in_place).indices();
        let saved: f64 = standing.map(|s| listed[s].entering.minutes.get()).sum();
        let beyond = self.put_back.iter().filter(|back| {
            let instead = self.set_ups().displaced(in_place, back.set_up);
            !in_place.has(back.set_up) && instead.is_none_or(|s| !of.closure.has(s))
        });
        let (minutes, cost) = beyond.fold((0.0, 0.0), |sum, back| {
            (sum.0 + back.minutes, sum.1 + back.cost)
        });
        (saved.min(self.used_minutes[used]), minutes, cost)
    }

    /// What a repair in use costs where some set-ups are in place.
    pub(super) fn repair_cost(&self, used: usize, in_place: InPlace) -> f64 {
        let (saved, _, back) = self.dismantled(used, in_place);
        self.used_cost[used] - saved * self.per_minute + back
    }

    /// The cost of the repairs of these bits where some set-ups are in place.
    pub(super) fn cost_at(&self, bits: u128, in_place: InPlace) -> f64 {
        each(bits).map(|p| self.repair_cost(p, in_place)).sum()
    }

    /// The minutes of a repair in use where some set-ups are in place.
    pub(super) fn repair_minutes(&self, used: usize, in_place: InPlace) -> f64 {
        let (saved, back, _) = self.dismantled(used, in_place);
        self.used_minutes[used] - saved + back
    }

    /// Whether one of the repairs of these bits opens the unit or takes it out.
    pub(super) fn opens(&self, bits: u128) -> bool {
        each(bits).any(|p| self.parts.opening.contains(&self.used[p]))
    }

    /// Whether the readings fit nothing well at a point: the unlisted cause outweighs all listed ones together, or the
    /// readings are too surprising under the candidate that leads. What was read since the start is in the weights: they have grown
    /// by `P(readings | H)`. docs/method.md, section 9.
    pub(super) fn fits_badly(&self, at: &Point) -> bool {
        let listed = &at.weights[..self.candidates()];
        let largest = listed.iter().copied().fold(0.0, f64::max);
        let leads = listed.iter().position(|weight| *weight >= largest);
        let Some((leads, so_far)) =
            leads.and_then(|leads| Some((leads, self.parts.fits.get(leads)?)))
        else {
            return false;
        };
        if self.unlisted(&at.weights) > listed.iter().sum() {
            return true;
        }
        let mut surprise = so_far.surprise;
        surprise.excess -= (largest / so_far.weight).log2();
        for &measurement in &at.taken {
            let outcomes = 0..self.outcomes(measurement);
            let row = outcomes.map(|outcome| self.column(measurement, outcome)[leads]);
            surprise = surprise.and(Surprise::expected(row));
        }
        surprise.is_poor()
    }

    /// What the repairs of these bits wait for.
    pub(super) fn rules_of(&self, bits: u128) -> impl Iterator<Item = &RepairRules> {
        each(bits).filter_map(|p| self.parts.rules.get(self.used[p]))
    }

    /// The set-ups that each repair of these bits begins with.
    pub(super) fn dismantles(&self, bits: u128) -> impl Iterator<Item = InPlace> {
        each(bits).map(|p| self.dismantling[p].needed)
    }

    /// What is in place once the repairs of these bits are done.
    pub(super) fn put_back(&self, bits: u128, in_place: InPlace) -> InPlace {
        if self.parts.put_back.is_empty() {
            return in_place;
        }
        let ends = self
            .rules_of(bits)
            .flat_map(|rules| rules.ends.iter().copied());
        let ends: InPlace = ends.collect();
        self.set_ups()
            .put_back(in_place, &self.parts.put_back)
            .without(ends)
    }

    /// The set-ups that may not be entered.
    pub(super) fn closed(&self) -> InPlace {
        self.closed
    }

    /// The measurements that entering a set-up spoils.
    pub(super) fn spoils(&self, set_up: usize) -> &[usize] {
        self.parts.spoils.get(set_up).map_or(&[], Vec::as_slice)
    }

    /// What a measurement waits for, what can be read with it, and what its outcomes do.
    pub(super) fn foreseen(&self, measurement: usize) -> &Foreseen {
        &self.parts.measurements[measurement]
    }

    /// The same problem at another labour rate.
    ///
    /// # Errors
    ///
    /// [`Misshapen`] never, as the parts were checked before.
    pub fn at_labour_rate(&self, labour_rate: Money) -> Result<Self, Misshapen> {
        let mut parts = self.parts.clone();
        parts.labour_rate = labour_rate;
        parts.set_ups = (parts.set_ups.at_labour_rate(labour_rate)).ok_or(Misshapen::SetUp(0))?;
        Self::new(parts)
    }

    /// Whether an outcome of a measurement rules another out, or a set-up that the other needs.
    pub(super) fn may_rule_out(&self, measurement: usize, other: usize) -> bool {
        let needs = &self.foreseen(other).needs;
        let rules_out = |effect: &Effect| {
            effect.closes.contains(&other)
                || effect.closes_set_ups.iter().any(|s| needs.contains(s))
        };
        measurement != other
            && (self.foreseen(measurement).effects.iter()).any(|(_, effect)| rules_out(effect))
    }

    /// The same problem where nothing is recorded.
    #[must_use]
    pub fn by_hand(mut self) -> Self {
        self.parts.drives.clear();
        self
    }

    /// The parts it was made from.
    pub fn parts(&self) -> &Parts {
        &self.parts
    }

    /// How many candidates are listed.
    pub fn candidates(&self) -> usize {
        self.group_of.len()
    }

    /// How many weights a belief has: the candidates and the kinds of unlisted cause.
    pub fn weights(&self) -> usize {
        self.hypotheses
    }

    /// The weight of the unlisted cause, of all its kinds together.
    pub(super) fn unlisted(&self, weights: &[f64]) -> f64 {
        weights.iter().skip(self.candidates()).sum()
    }

    /// The groups of candidates with the same repairs, in the order of their first candidate.
    pub fn groups(&self) -> &[Group] {
        &self.groups
    }

    /// The group of each candidate.
    pub fn group_of(&self) -> &[usize] {
        &self.group_of
    }

    /// How many measurements there are.
    pub fn measurements(&self) -> usize {
        self.measurements.len()
    }

    /// How many outcomes a measurement has.
    pub fn outcomes(&self, measurement: usize) -> usize {
        self.measurements[measurement].outcomes
    }

    /// What a measurement needs in place.
    pub fn needed(&self, measurement: usize) -> InPlace {
        self.measurements[measurement].needed
    }

    /// The set-ups.
    pub fn set_ups(&self) -> &SetUps {
        &self.parts.set_ups
    }

    /// What escalation costs.
    pub fn escalation_cost(&self) -> f64 {
        self.escalation_cost
    }

    /// What a minute costs: `labour_rate / 60`.
    pub fn per_minute(&self) -> f64 {
        self.per_minute
    }

    /// `P(outcome | H)` for each candidate, the kinds of unlisted cause last.
    pub fn column(&self, measurement: usize, outcome: usize) -> &[f64] {
        let weights = self.weights();
        &self.measurements[measurement].columns[outcome * weights..(outcome + 1) * weights]
    }

    /// The entropy of the outcome under each candidate, the kinds of unlisted cause last, in bits.
    pub(super) fn row_entropies(&self, measurement: usize) -> &[f64] {
        &self.measurements[measurement].row_entropies
    }

    /// The measurements that doing the repairs of a group shows on the way, ascending.
    pub fn shown_by(&self, group: usize) -> Vec<usize> {
        self.shown(self.groups[group].bits)
    }

    /// The measurements that doing the repairs of these bits shows on the way, ascending.
    pub(super) fn shown(&self, bits: u128) -> Vec<usize> {
        let mut shown: Vec<usize> = each(bits)
            .flat_map(|p| self.shows[p].iter().copied())
            .collect();
        shown.sort_unstable();
        shown.dedup();
        shown
    }

    /// The repairs that more than one group needs, as bits.
    pub(super) fn shared(&self) -> u128 {
        self.shared
    }

    /// The groups that are cured once the repairs of these bits are done, of those that share one with the
    /// given group: itself among them.
    pub(super) fn cured_with(&self, group: usize, done: u128) -> impl Iterator<Item = usize> {
        let neighbours = self.groups[group].neighbours.iter().copied();
        neighbours.filter(move |&o| self.groups[o].bits & !done == 0)
    }

    pub(super) fn measurement(&self, index: usize) -> &Measurement {
        &self.measurements[index]
    }

    pub(super) fn overlapping(&self) -> &[usize] {
        &self.overlapping
    }

    /// The repairs of these bits, ascending.
    pub(super) fn repairs_of(&self, bits: u128) -> Vec<usize> {
        each(bits).map(|p| self.used[p]).collect()
    }

    /// The belief after an outcome, not normalised: `after[H] = before[H] · P(outcome | H)`. Gives its sum,
    /// the probability of the outcome times the sum before.
    pub fn after(
        &self,
        measurement: usize,
        outcome: usize,
        before: &[f64],
        after: &mut [f64],
    ) -> f64 {
        let column = self.column(measurement, outcome);
        let mut sum = 0.0;
        for ((new, old), p) in after.iter_mut().zip(before).zip(column) {
            *new = old * p;
            sum += *new;
        }
        sum
    }
}

/// The candidates with the same repairs, and the group of each; repairs in use are bits.
fn grouped(
    parts: &Parts,
    used: &[usize],
    used_cost: &[f64],
    used_minutes: &[f64],
) -> (Vec<Group>, Vec<usize>) {
    let mut groups: Vec<Group> = Vec::new();
    let mut group_of = Vec::with_capacity(parts.candidates.len());
    let mut known: BTreeMap<&[usize], usize> = BTreeMap::new();
    for (candidate, repairs) in parts.candidates.iter().enumerate() {
        let index = *known.entry(repairs).or_insert_with(|| {
            let places = || repairs.iter().filter_map(|r| used.binary_search(r).ok());
            groups.push(Group {
                repairs: repairs.clone(),
                candidates: Vec::new(),
                cost: places().map(|p| used_cost[p]).sum(),
                minutes: places().map(|p| used_minutes[p]).sum(),
                bits: places().fold(0, |bits, p| bits | 1 << p),
                overlaps: false,
                neighbours: Vec::new(),
            });
            groups.len() - 1
        });
        groups[index].candidates.push(candidate);
        group_of.push(index);
    }
    let bits: Vec<u128> = groups.iter().map(|g| g.bits).collect();
    for (i, group) in groups.iter_mut().enumerate() {
        group.neighbours = (0..bits.len())
            .filter(|&j| bits[j] & bits[i] != 0)
            .collect();
        group.overlaps = group.neighbours.len() > 1;
    }
    (groups, group_of)
}

fn make_ready(
    index: usize,
    foreseen: &Foreseen,
    hypotheses: usize,
    set_ups: usize,
) -> Result<Measurement, Misshapen> {
    let Foreseen {
        minutes,
        needs,
        outcomes,
        rows,
        ..
    } = foreseen;
    if needs.iter().any(|&s| s >= set_ups) {
        return Err(Misshapen::SetUp(index));
    }
    if *outcomes == 0 || rows.len() != hypotheses * outcomes {
        return Err(Misshapen::Table(index));
    }
    let mut columns = vec![0.0; rows.len()];
    let mut row_entropies: Vec<f64> = Vec::with_capacity(hypotheses);
    let mut last: &[f64] = &[];
    for (h, row) in rows.chunks_exact(*outcomes).enumerate() {
        // Most rows are those of a candidate that the measurement does not name, like the one before.
        let entropy = match row_entropies.last() {
            Some(entropy) if row == last => *entropy,
            _ => -Surprise::expected(row.iter().copied()).excess,
        };
        row_entropies.push(entropy);
        last = row;
        let sum: f64 = row.iter().sum();
        if row.iter().any(|p| !(p.is_finite() && *p >= 0.0)) || (sum - 1.0).abs() > 1e-6 {
            return Err(Misshapen::Row {
                measurement: index,
                row: h,
            });
        }
        for (o, p) in row.iter().enumerate() {
            columns[o * hypotheses + h] = *p;
        }
    }
    Ok(Measurement {
        minutes: minutes.get(),
        needed: needs.iter().copied().collect(),
        outcomes: *outcomes,
        columns,
        row_entropies,
    })
}
