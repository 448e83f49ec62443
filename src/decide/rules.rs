//! What must come first: what a measurement waits for, what a set-up would spoil, what a repair requires.
//! docs/method.md, section 10.

use super::policy::{Point, Policy};
use super::set_up::InPlace;

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

impl Policy<'_> {
    /// What each group waits for at a point.
    pub(super) fn before_groups(&mut self, at: &Point) -> Vec<Before> {
        let groups = 0..self.problem.groups().len();
        groups.map(|group| self.before_group(at, group)).collect()
    }

    /// What must be read before the repairs of a group, in order; `None` where they may not be done.
    pub fn required(&mut self, at: &Point, group: usize) -> Option<Vec<usize>> {
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
                    .filter_map(|m| Some((self.road(at, &[m])?.cost, m)))
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
