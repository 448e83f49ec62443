//! What must come first: what a measurement waits for, what a set-up would spoil, what a repair requires.
//! docs/method.md, section 10.

use super::point::{Point, Taking};
use super::prices::each;
use super::problem::Problem;
use super::set_up::{InPlace, Way, WayMemory};
use crate::knowledge::defaults::LEAST_BITS;
use std::collections::BTreeMap;

/// A drive that would answer fewer measurements than this is not recorded.
const FEWEST_RECORDED: usize = 2;

/// Measurements to be taken one after the other, and what that comes to.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Road {
    pub(super) order: Vec<usize>,
    pub(super) cost: f64,
    pub(super) leaves: InPlace,
}

/// What must be read before the repairs of a group.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Before {
    /// Something that cannot be read any more: they may not be done.
    Never,
    /// These, in order, each with its part of the cost.
    Read(Vec<(usize, f64)>),
}

impl Before {
    /// The cost of reading it all; infinite where that is not possible.
    pub(super) fn cost(&self) -> f64 {
        self.left(|_| Some(false))
    }

    /// The cost of what is still to be read, where `read` says of a measurement whether it is read, or nothing
    /// where it cannot be read any more.
    pub(super) fn left(&self, read: impl Fn(usize) -> Option<bool>) -> f64 {
        let cost = |(m, cost): &(usize, f64)| match read(*m) {
            Some(true) => 0.0,
            Some(false) => *cost,
            None => f64::INFINITY,
        };
        match self {
            Self::Never => f64::INFINITY,
            Self::Read(list) => list.iter().map(cost).sum(),
        }
    }
}

/// What may be done at a point of a problem, and where it leads, with memory for what is worked out again and again.
#[derive(Clone, Debug)]
pub(super) struct Rules<'p> {
    problem: &'p Problem,
    ways: WayMemory,
    after: Vec<f64>,
    masses: Vec<f64>,
    /// What is left to do for each candidate once some repairs are done, as [`left_to_do`] numbers it.
    left: Option<(u128, Vec<usize>)>,
    /// The point that `told` belongs to.
    at: Option<Point>,
    told: Vec<Told>,
}

/// What was worked out for a measurement at a point.
#[derive(Clone, Copy, Debug, Default)]
struct Told {
    tells: Option<bool>,
    /// The cost of the road to it, infinite where there is none.
    road: Option<f64>,
}

impl<'p> Rules<'p> {
    pub(super) fn new(problem: &'p Problem) -> Self {
        Self {
            problem,
            ways: WayMemory::default(),
            after: Vec::new(),
            masses: Vec::new(),
            left: None,
            at: None,
            told: Vec::new(),
        }
    }

    /// How a measurement is taken from a point; `None` where there is no way to its set-ups.
    pub(super) fn taking(&mut self, at: &Point, measurement: usize) -> Option<Taking> {
        self.taking_from(at, at.in_place, at.taken.last().copied(), measurement)
    }

    /// As [`Rules::taking`], from other set-ups and after another last measurement.
    pub(super) fn taking_from(
        &mut self,
        at: &Point,
        in_place: InPlace,
        last: Option<usize>,
        measurement: usize,
    ) -> Option<Taking> {
        let problem = self.problem;
        let along = last.is_some_and(|last| problem.foreseen(last).along.contains(&measurement));
        let recorded = at.recorded.contains(&measurement);
        if along || recorded || at.done != 0 && problem.shown(at.done).contains(&measurement) {
            return Some(Taking {
                way: Way {
                    leaves: in_place,
                    ..Way::default()
                },
                shown: true,
                ..Taking::default()
            });
        }
        let way = self.way(in_place, at.closed_set_ups, problem.needed(measurement))?;
        let own = problem.measurement(measurement).minutes;
        Some(Taking {
            minutes: way.minutes + own,
            cost: way.cost + own * problem.per_minute(),
            way,
            ..Taking::default()
        })
    }

    /// How a drive is recorded from a point, with what it answers there: of its measurements those that tell something, wait
    /// for nothing, and are ruled out by no outcome of another, which is read only once the drive is over. `None` where these
    /// are fewer than two, where there is no way to its set-ups, or where that would spoil what can still be read.
    pub(super) fn recording(&mut self, at: &Point, drive: usize) -> Option<Taking> {
        let problem = self.problem;
        let of = &problem.parts().drives[drive];
        let ready = |m: &usize| (problem.foreseen(*m).after.iter()).all(|&m| !at.is_open(m));
        let answers = of.answers.iter().copied().filter(ready);
        let telling: Vec<usize> = answers.filter(|&m| self.tells(at, m)).collect();
        let recorded: Vec<usize> = (telling.iter().copied())
            .filter(|&m| !telling.iter().any(|&other| problem.may_rule_out(other, m)))
            .collect();
        if recorded.len() < FEWEST_RECORDED {
            return None;
        }
        let needed = of.needs.iter().copied().collect();
        let way = self.way(at.in_place, at.closed_set_ups, needed)?;
        if !self.spoiled_by(at, &way.order, &[], None).is_empty() {
            return None;
        }
        let own = of.minutes.get();
        Some(Taking {
            minutes: way.minutes + own,
            cost: way.cost + own * problem.per_minute(),
            way,
            recorded,
            ..Taking::default()
        })
    }

    /// The cheapest way to some set-ups, those closed left out.
    pub(super) fn way(
        &mut self,
        in_place: InPlace,
        closed: InPlace,
        needed: InPlace,
    ) -> Option<Way> {
        let closed = self.problem.closed().joined(closed);
        self.ways
            .cheapest(self.problem.set_ups(), in_place, needed, closed)
    }

    /// The point after an outcome of a measurement taken so; `None` where it cannot come about.
    pub(super) fn read(
        &self,
        at: &Point,
        measurement: usize,
        taking: &Taking,
        outcome: usize,
    ) -> Option<Point> {
        let problem = self.problem;
        let mut weights = vec![0.0; at.weights.len()];
        if problem.after(measurement, outcome, &at.weights, &mut weights) <= 0.0 {
            return None;
        }
        let mut next = Point {
            weights,
            in_place: taking.way.leaves,
            ..at.clone()
        };
        next.taken.push(measurement);
        if !taking.recorded.is_empty() {
            next.recorded.clone_from(&taking.recorded);
        }
        self.spoil(&mut next, &taking.way.order);
        let effects = problem.foreseen(measurement).effects.iter();
        for (_, effect) in effects.filter(|(of, _)| *of == outcome) {
            next.closed.extend(&effect.closes);
            let closed = effect.closes_set_ups.iter().copied().collect();
            next.closed_set_ups = next.closed_set_ups.joined(closed);
            next.in_place = problem.set_ups().put_back(next.in_place, &effect.sets);
        }
        Some(next)
    }

    /// Closes what entering these set-ups spoils.
    fn spoil(&self, at: &mut Point, entered: &[usize]) {
        for &set_up in entered {
            at.closed.extend(self.problem.spoils(set_up));
        }
    }

    /// The cost of what is left of a group's repairs, and the point where they were in vain.
    pub(super) fn in_vain(&mut self, at: &Point, group: usize) -> (f64, Point) {
        let problem = self.problem;
        let left = problem.groups()[group].bits & !at.done;
        let mut next = at.clone();
        next.done = at.done | left;
        next.recorded.clear();
        for cured in problem.cured_with(group, next.done) {
            for &candidate in &problem.groups()[cured].candidates {
                next.weights[candidate] = 0.0;
            }
        }
        if problem.ruled() {
            for needed in problem.dismantles(left) {
                let way = self.way(at.in_place, at.closed_set_ups, needed);
                self.spoil(&mut next, &way.unwrap_or_default().order);
            }
            next.in_place = problem.put_back(left, at.in_place);
        }
        (problem.cost_at(left, at.in_place), next)
    }

    /// The minutes of what is left of a group's repairs.
    pub(super) fn minutes_left(&self, at: &Point, group: usize) -> f64 {
        let left = self.problem.groups()[group].bits & !at.done;
        let minutes = |p| self.problem.repair_minutes(p, at.in_place);
        each(left).map(minutes).sum()
    }

    /// The entropy of what must be done that a measurement is expected to leave.
    pub(super) fn entropy_after(&mut self, at: &Point, measurement: usize) -> f64 {
        let problem = self.problem;
        let mut after = std::mem::take(&mut self.after);
        after.resize(at.weights.len(), 0.0);
        let mut sum = 0.0;
        for outcome in 0..problem.outcomes(measurement) {
            if problem.after(measurement, outcome, &at.weights, &mut after) > 0.0 {
                sum += self.entropy(&after, at.done);
            }
        }
        self.after = after;
        sum
    }

    /// Whether a measurement is open at a point and tells something.
    pub(super) fn tells(&mut self, at: &Point, measurement: usize) -> bool {
        if !at.is_open(measurement) {
            return false;
        }
        self.remember(at);
        if let Some(tells) = self.told[measurement].tells {
            return tells;
        }
        let bits = self.entropy(&at.weights, at.done) - self.entropy_after(at, measurement);
        let tells = bits >= LEAST_BITS * at.weight();
        self.told[measurement].tells = Some(tells);
        tells
    }

    /// The cost of the road to a measurement; `None` where it cannot be taken.
    fn road_cost(&mut self, at: &Point, measurement: usize) -> Option<f64> {
        self.remember(at);
        let known = self.told[measurement].road;
        let cost = known.unwrap_or_else(|| {
            let road = self.road(at, &[measurement]);
            road.map_or(f64::INFINITY, |road| road.cost)
        });
        self.remember(at);
        self.told[measurement].road = Some(cost);
        cost.is_finite().then_some(cost)
    }

    /// What is worked out is remembered for one point.
    fn remember(&mut self, at: &Point) {
        if self.at.as_ref() != Some(at) {
            self.at = Some(at.clone());
            self.told.clear();
            self.told
                .resize(self.problem.measurements(), Told::default());
        }
    }

    /// The entropy of what must be done, in bits times the weight: which repairs are left to do, where those that
    /// cost as much as escalation count as the unlisted cause does.
    pub(super) fn entropy(&mut self, weights: &[f64], done: u128) -> f64 {
        if self.left.as_ref().is_none_or(|left| left.0 != done) {
            self.left = Some((done, left_to_do(self.problem, done)));
        }
        let kinds = self.left.iter().flat_map(|left| &left.1);
        self.masses.clear();
        // The unlisted cause comes last, and is handed on as those of the first kind are.
        for (kind, weight) in kinds.chain(std::iter::repeat(&0)).zip(weights) {
            if *kind >= self.masses.len() {
                self.masses.resize(kind + 1, 0.0);
            }
            self.masses[*kind] += weight;
        }
        let total: f64 = weights.iter().sum();
        times_log(total) - self.masses.iter().copied().map(times_log).sum::<f64>()
    }

    /// What must be read before the repairs of a group, in order; `None` where they may not be done.
    pub(super) fn required(&mut self, at: &Point, group: usize) -> Option<Vec<usize>> {
        match self.before_group(at, group) {
            Before::Never => None,
            Before::Read(list) => Some(list.into_iter().map(|of| of.0).collect()),
        }
    }

    /// What the repairs of a group wait for at a point: what they require, and what their dismantling would spoil.
    pub(super) fn before_group(&mut self, at: &Point, group: usize) -> Before {
        let problem = self.problem;
        if !problem.ruled() {
            return Before::Read(Vec::new());
        }
        let left = problem.groups()[group].bits & !at.done;
        let mut goals: Vec<usize> = Vec::new();
        for rules in problem.rules_of(left) {
            if rules.barred {
                return Before::Never;
            }
            goals.extend(&rules.all);
            let read = |m: &usize| at.taken.contains(m) || goals.contains(m);
            if !rules.any.is_empty() && !rules.any.iter().any(read) {
                let open = rules.any.iter().copied().filter(|&m| at.is_open(m));
                let cheapest = open
                    .filter_map(|m| Some((self.road_cost(at, m)?, m)))
                    .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
                let Some((_, measurement)) = cheapest else {
                    return Before::Never;
                };
                goals.push(measurement);
            }
        }
        goals.retain(|m| !at.taken.contains(m));
        if goals.iter().any(|&m| !at.is_open(m)) {
            return Before::Never;
        }
        let Some(mut road) = self.walk(at, &goals) else {
            return Before::Never;
        };
        let leaves = road.last().map_or(at.in_place, |of| of.2);
        let mut entered = Vec::new();
        for needed in problem.dismantles(left) {
            let Some(way) = self.way(leaves, at.closed_set_ups, needed) else {
                return Before::Never;
            };
            entered.extend(way.order);
        }
        let read: Vec<usize> = road.iter().map(|of| of.0).collect();
        let spoiled = self.spoiled_by(at, &entered, &read, None);
        if !spoiled.is_empty() {
            let mut from = at.clone();
            from.in_place = leaves;
            from.taken.extend(read);
            // What cannot be reached is not waited for.
            for measurement in spoiled {
                let more = self.walk(&from, &[measurement]).into_iter().flatten();
                from.taken.extend(more.clone().map(|of| of.0));
                road.extend(more);
            }
        }
        Before::Read(road.into_iter().map(|(m, cost, _)| (m, cost)).collect())
    }

    /// The way to take some measurements, with what they wait for; `None` where one cannot be taken.
    pub(super) fn road(&mut self, at: &Point, goals: &[usize]) -> Option<Road> {
        let steps = self.walk(at, goals)?;
        Some(Road {
            cost: steps.iter().map(|of| of.1).sum(),
            leaves: steps.last().map_or(at.in_place, |of| of.2),
            order: steps.into_iter().map(|of| of.0).collect(),
        })
    }

    /// The measurements of a road, each with its cost and what is in place after it.
    fn walk(&mut self, at: &Point, goals: &[usize]) -> Option<Vec<(usize, f64, InPlace)>> {
        let problem = self.problem;
        let mut order = Vec::new();
        for &goal in goals {
            self.wait_for(at, goal, &mut order);
        }
        let mut steps: Vec<(usize, f64, InPlace)> = Vec::new();
        let mut brought_forward: Vec<usize> = Vec::new();
        let mut here = at.in_place;
        while steps.len() < order.len() {
            let place = steps.len();
            let measurement = order[place];
            let last = match place {
                0 => at.taken.last(),
                _ => order.get(place - 1),
            };
            let taking = self.taking_from(at, here, last.copied(), measurement);
            let Some(taking) = taking else {
                // What another only waits for is not waited for where it cannot be taken.
                if goals.contains(&measurement) {
                    return None;
                }
                order.remove(place);
                continue;
            };
            let spoiled =
                self.spoiled_by(at, &taking.way.order, &order[..=place], Some(measurement));
            let first = spoiled.into_iter().find(|m| !brought_forward.contains(m));
            if let Some(first) = first {
                brought_forward.push(first);
                order.retain(|m| *m != first);
                let mut before = Vec::new();
                self.wait_for(at, first, &mut before);
                before.retain(|m| !order[..place].contains(m));
                order.retain(|m| !before.contains(m));
                order.splice(place..place, before);
                continue;
            }
            here = taking.way.leaves;
            steps.push((measurement, taking.cost, here));
            // On the way to others it is taken to read as it does where it puts something in place.
            let effects = problem.foreseen(measurement).effects.iter();
            if let Some(sets) = effects
                .map(|(_, of)| &of.sets)
                .find(|sets| !sets.is_empty())
            {
                here = problem.set_ups().put_back(here, sets);
            }
        }
        Some(steps)
    }

    /// Adds what a measurement waits for, and it, behind what is listed.
    fn wait_for(&self, at: &Point, measurement: usize, order: &mut Vec<usize>) {
        if order.contains(&measurement) || !at.is_open(measurement) {
            return;
        }
        for &first in &self.problem.foreseen(measurement).after {
            self.wait_for(at, first, order);
        }
        order.push(measurement);
    }

    /// The open measurements that entering some set-ups would spoil and that tell something, those of `read` left
    /// out, and those that cannot come before `by` since they wait for it or would spoil it.
    fn spoiled_by(
        &mut self,
        at: &Point,
        entered: &[usize],
        read: &[usize],
        by: Option<usize>,
    ) -> Vec<usize> {
        let problem = self.problem;
        let spoiled = entered.iter().flat_map(|&set_up| problem.spoils(set_up));
        let mut list: Vec<usize> = spoiled.copied().filter(|m| !read.contains(m)).collect();
        list.dedup();
        list.retain(|&m| {
            if !self.tells(at, m) || self.taking(at, m).is_none() {
                return false;
            }
            let Some(by) = by else { return true };
            let mut before = Vec::new();
            self.wait_for(at, m, &mut before);
            let mut entered = before
                .iter()
                .filter_map(|&m| self.taking(at, m))
                .flat_map(|of| of.way.order);
            !entered.any(|s| problem.spoils(s).contains(&by)) && !before.contains(&by)
        });
        list
    }
}

/// A number for what is left to do for each candidate once the repairs of these bits are done: from 1, the same for the
/// same; 0 where it costs as much as escalation.
fn left_to_do(problem: &Problem, done: u128) -> Vec<usize> {
    let mut known: BTreeMap<u128, usize> = BTreeMap::new();
    let of_group: Vec<usize> = (problem.groups().iter().enumerate())
        .map(|(place, group)| {
            if problem.prices().left_of(place, done) >= problem.escalation_cost() {
                return 0;
            }
            let next = known.len() + 1;
            *known.entry(group.bits & !done).or_insert(next)
        })
        .collect();
    problem
        .group_of()
        .iter()
        .map(|&group| of_group[group])
        .collect()
}

fn times_log(x: f64) -> f64 {
    if x > 0.0 { x * x.log2() } else { 0.0 }
}
