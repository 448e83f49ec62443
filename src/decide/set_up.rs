//! Set-ups: what must be in place before a measurement, and the cheapest way there.
//!
//! Entering a set-up asks that its `needs` are in place at that moment, takes away the others of its
//! group and whatever it `ends`, and puts in place what it `sets`; each then stays until something takes it
//! away. docs/method.md, section 8.

use crate::units::{Minutes, Money};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap, HashMap};

/// Which set-ups are in place: one bit each, by index.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct InPlace(u64);

impl InPlace {
    /// Nothing in place.
    pub const NOTHING: Self = Self(0);

    /// How many set-ups one family may have.
    pub const MOST: usize = 64;

    /// This and the set-up of that index; an index beyond [`InPlace::MOST`] changes nothing.
    pub fn with(self, set_up: usize) -> Self {
        Self(self.0 | bit(set_up))
    }

    /// Whether the set-up of that index is in place.
    pub fn has(self, set_up: usize) -> bool {
        self.0 & bit(set_up) != 0
    }

    /// Whether all of the others are in place here.
    pub fn covers(self, others: Self) -> bool {
        others.0 & !self.0 == 0
    }

    /// What is in both.
    pub fn common(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    /// What is in either.
    pub fn joined(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// What is in this and not in the other.
    pub fn without(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    /// The indices, ascending.
    pub fn indices(self) -> impl Iterator<Item = usize> {
        let mut left = self.0;
        std::iter::from_fn(move || {
            (left != 0).then(|| {
                let lowest = left.trailing_zeros() as usize;
                left &= left - 1;
                lowest
            })
        })
    }
}

impl FromIterator<usize> for InPlace {
    fn from_iter<I: IntoIterator<Item = usize>>(indices: I) -> Self {
        indices.into_iter().fold(Self::NOTHING, Self::with)
    }
}

fn bit(index: usize) -> u64 {
    if index < InPlace::MOST { 1 << index } else { 0 }
}

/// What entering a set-up takes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Entering {
    /// Minutes of work.
    pub minutes: Minutes,
    /// Minutes that pass with nobody at work.
    pub wait: Minutes,
    /// What must be in place at the moment of entering.
    pub needs: Vec<usize>,
}

/// One set-up, its relations by index into the same list.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SetUp {
    /// What entering it takes.
    pub entering: Entering,
    /// What it takes where one of these is left instead.
    pub from: Vec<(usize, Entering)>,
    /// The price of what it uses up.
    pub parts: Money,
    /// Its group, if any: entering one leaves the others of its group.
    pub group: Option<usize>,
    /// What entering it ends, beside the others of its group.
    pub ends: Vec<usize>,
    /// What entering it puts in place too, as if it were entered itself.
    pub sets: Vec<usize>,
    /// Of ways that cost alike, the one whose places are first is gone.
    pub place: usize,
}

/// The cheapest way from what is in place to what is needed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Way {
    /// The minutes of work of the set-ups entered.
    pub minutes: f64,
    /// The minutes that pass with nobody at work.
    pub wait: f64,
    /// What it costs: work, waiting, and what is used up.
    pub cost: f64,
    /// The set-ups entered, in order.
    pub order: Vec<usize>,
    /// The minutes of work of each, from what is left there.
    pub minutes_of: Vec<f64>,
    /// What is in place afterwards.
    pub leaves: InPlace,
}

/// What entering a set-up takes, made ready for the search.
#[derive(Clone, Debug)]
struct Step {
    minutes: f64,
    wait: f64,
    cost: f64,
    /// The cost in whole millionths: sums of these do not depend on the order of adding, so equal ways tie exactly
    /// and the choice between them is the same everywhere.
    ticks: u64,
    needs: u64,
}

#[derive(Clone, Debug)]
struct Entry {
    general: Step,
    /// By the set-up that is left, as a bit.
    from: Vec<(u64, Step)>,
    removes: u64,
    adds: u64,
    /// The others of its group.
    others: u64,
    place: usize,
}

impl Entry {
    /// What entering takes from here.
    fn step(&self, here: u64) -> &Step {
        let left = self.from.iter().find(|(left, _)| here & left != 0);
        left.map_or(&self.general, |(_, step)| step)
    }

    /// Everything that must be in place for entering it from somewhere.
    fn needs(&self) -> u64 {
        self.from
            .iter()
            .fold(self.general.needs, |all, (_, step)| all | step.needs)
    }

    fn entered(&self, here: u64) -> u64 {
        here & !self.removes | self.adds
    }
}

/// All set-ups of a family, and what time costs.
#[derive(Clone, Debug, Default)]
pub struct SetUps {
    listed: Vec<SetUp>,
    waiting_rate: Money,
    entries: Vec<Entry>,
}

impl SetUps {
    /// The set-ups, at so much an hour of work and of waiting; `None` where there are more than
    /// [`InPlace::MOST`], or one names an index that is not in the list.
    pub fn new(listed: Vec<SetUp>, labour_rate: Money, waiting_rate: Money) -> Option<Self> {
        let known = |indices: &[usize]| indices.iter().all(|&i| i < listed.len());
        let sound = |s: &SetUp| {
            known(&s.entering.needs)
                && known(&s.ends)
                && known(&s.sets)
                && (s.from.iter()).all(|(left, of)| *left < listed.len() && known(&of.needs))
        };
        if listed.len() > InPlace::MOST || !listed.iter().all(sound) {
            return None;
        }
        let removes = |i: usize| {
            let SetUp { group, ends, .. } = &listed[i];
            let leaves =
                |j: &usize| ends.contains(j) || group.is_some() && listed[*j].group == *group;
            let removed = (0..listed.len()).filter(|j| *j != i && leaves(j));
            removed.collect::<InPlace>().0
        };
        let entries = listed
            .iter()
            .enumerate()
            .map(|(i, set_up)| {
                let step = |of: &Entering| {
                    let work = of.minutes.at(labour_rate) + of.wait.at(waiting_rate);
                    let cost = (work + set_up.parts).get();
                    Step {
                        minutes: of.minutes.get(),
                        wait: of.wait.get(),
                        cost,
                        ticks: ticks(cost),
                        needs: of.needs.iter().copied().collect::<InPlace>().0,
                    }
                };
                let of_group = |j: &usize| *j != i && listed[*j].group == set_up.group;
                let others = (0..listed.len()).filter(|j| set_up.group.is_some() && of_group(j));
                Entry {
                    others: others.collect::<InPlace>().0,
                    general: step(&set_up.entering),
                    from: (set_up.from.iter())
                        .map(|(left, of)| (bit(*left), step(of)))
                        .collect(),
                    removes: set_up
                        .sets
                        .iter()
                        .fold(removes(i), |all, &j| all | removes(j)),
                    adds: set_up.sets.iter().fold(bit(i), |all, &j| all | bit(j)),
                    place: set_up.place,
                }
            })
            .collect();
        Some(Self {
            listed,
            waiting_rate,
            entries,
        })
    }

    /// The same set-ups at another rate of labour.
    pub(super) fn at_labour_rate(&self, labour_rate: Money) -> Option<Self> {
        Self::new(self.listed.clone(), labour_rate, self.waiting_rate)
    }

    /// The set-ups as they were given.
    pub fn listed(&self) -> &[SetUp] {
        &self.listed
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// What is in place after entering one; `None` where its needs are not in place.
    pub fn enter(&self, in_place: InPlace, set_up: usize) -> Option<InPlace> {
        let entry = self.entries.get(set_up)?;
        let needs = entry.step(in_place.0).needs;
        (needs & !in_place.0 == 0).then_some(InPlace(entry.entered(in_place.0)))
    }

    /// What is in place once some have been put back, each as if it were entered, its needs aside.
    pub fn put_back(&self, in_place: InPlace, list: &[usize]) -> InPlace {
        let entries = list.iter().filter_map(|&set_up| self.entries.get(set_up));
        InPlace(entries.fold(in_place.0, |here, entry| entry.entered(here)))
    }

    /// The set-up in place that entering another would take away because they are of one group.
    pub(super) fn displaced(&self, in_place: InPlace, by: usize) -> Option<usize> {
        let others = self.entries[by].others & in_place.0;
        (others != 0).then(|| others.trailing_zeros() as usize)
    }

    /// The set-ups worth entering on the way to a goal: the goal and, backwards, whatever those need.
    /// Entering any other adds nothing that is asked for and may take something away.
    pub fn worth_entering(&self, needed: InPlace) -> InPlace {
        self.closure(needed, Entry::needs)
    }

    /// What a goal stands on: itself and, backwards, what entering those needs in general.
    pub(super) fn standing_on(&self, needed: InPlace) -> InPlace {
        self.closure(needed, |entry| entry.general.needs)
    }

    fn closure(&self, from: InPlace, needs: impl Fn(&Entry) -> u64) -> InPlace {
        let mut closure = from;
        loop {
            let entries = closure.indices().filter_map(|i| self.entries.get(i));
            let wider = InPlace(entries.fold(closure.0, |all, entry| all | needs(entry)));
            if wider == closure {
                return closure;
            }
            closure = wider;
        }
    }

    /// The set-ups in place that bear on the way to a goal with this closure: itself, and those from which
    /// entering one of it takes other figures.
    fn seen(&self, closure: InPlace) -> InPlace {
        let entries = closure.indices().filter_map(|i| self.entries.get(i));
        let left = entries.flat_map(|entry| entry.from.iter().map(|(left, _)| left));
        InPlace(left.fold(closure.0, |all, left| all | left))
    }

    /// The cheapest sequence of set-ups after which all that is needed is in place at once, none of `closed`
    /// among them; `None` where there is none. Of ways that cost the same the one with fewer set-ups, then the one
    /// whose places come first. Dijkstra over what is in place; cost grows with the states reachable through
    /// [`SetUps::worth_entering`].
    pub fn cheapest(&self, in_place: InPlace, needed: InPlace, closed: InPlace) -> Option<Way> {
        let worth = self.worth_entering(needed).without(closed);
        let order = self.cheapest_order(in_place, needed, worth)?;
        Some(self.follow(in_place, order))
    }

    /// What an order of set-ups comes to, entered one after the other.
    fn follow(&self, in_place: InPlace, order: Vec<usize>) -> Way {
        let mut way = Way {
            leaves: in_place,
            minutes_of: Vec::with_capacity(order.len()),
            ..Way::default()
        };
        for &set_up in &order {
            let entry = &self.entries[set_up];
            let step = entry.step(way.leaves.0);
            way.minutes += step.minutes;
            way.minutes_of.push(step.minutes);
            way.wait += step.wait;
            way.cost += step.cost;
            way.leaves = InPlace(entry.entered(way.leaves.0));
        }
        way.order = order;
        way
    }

    fn cheapest_order(&self, from: InPlace, needed: InPlace, worth: InPlace) -> Option<Vec<usize>> {
        let mut worth: Vec<usize> = worth
            .indices()
            .filter(|&i| i < self.entries.len())
            .collect();
        worth.sort_by_key(|&i| (self.entries[i].place, i));
        // The least cost and number of set-ups known so far, and whether it is final.
        let mut best: BTreeMap<u64, (u64, usize, bool)> = BTreeMap::new();
        // The order is kept as ranks in `worth`, so that ties go to the places that come first.
        let mut open = BinaryHeap::from([Reverse((0_u64, 0_usize, Vec::new(), from.0))]);
        while let Some(Reverse((ticks, steps, ranks, here))) = open.pop() {
            if needed.0 & !here == 0 {
                return Some(ranks.into_iter().map(|rank: usize| worth[rank]).collect());
            }
            let settled = best.entry(here).or_insert((ticks, steps, false));
            if std::mem::replace(&mut settled.2, true) {
                continue;
            }
            for (rank, &next) in worth.iter().enumerate() {
                let entry = &self.entries[next];
                let step = entry.step(here);
                if here & bit(next) != 0 || step.needs & !here != 0 {
                    continue;
                }
                let there = entry.entered(here);
                let (ticks, steps) = (ticks + step.ticks, steps + 1);
                let known = best.entry(there).or_insert((ticks, steps, false));
                if known.2 || (known.0, known.1) < (ticks, steps) {
                    continue;
                }
                *known = (ticks, steps, false);
                let mut longer = Vec::with_capacity(steps);
                longer.extend_from_slice(&ranks);
                longer.push(rank);
                open.push(Reverse((ticks, steps, longer, there)));
            }
        }
        None
    }
}

/// Millionths of a sum of money, saturating: only for comparing.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "costs are finite and never negative, and `as` saturates at the top"
)]
fn ticks(cost: f64) -> u64 {
    ((cost * 1e6).round() as u64).min(u64::MAX / 1024)
}

/// Cheapest ways already found: what is needed, and what of its closure was in place and was closed, decide the
/// way.
#[derive(Clone, Debug, Default)]
pub struct WayMemory {
    /// The closure of what is needed, and what in place bears on the way to it.
    closures: HashMap<InPlace, (InPlace, InPlace)>,
    orders: HashMap<(InPlace, InPlace, InPlace), Option<Vec<usize>>>,
}

impl WayMemory {
    /// As [`SetUps::cheapest`], remembered. One memory serves one set of set-ups.
    pub fn cheapest(
        &mut self,
        set_ups: &SetUps,
        in_place: InPlace,
        needed: InPlace,
        closed: InPlace,
    ) -> Option<Way> {
        if in_place.covers(needed) {
            return Some(Way {
                leaves: in_place,
                ..Way::default()
            });
        }
        let (closure, seen) = *self.closures.entry(needed).or_insert_with(|| {
            let closure = set_ups.worth_entering(needed);
            (closure, set_ups.seen(closure))
        });
        let key = (needed, in_place.common(seen), closed.common(closure));
        self.orders
            .entry(key)
            .or_insert_with(|| set_ups.cheapest_order(key.1, needed, closure.without(key.2)))
            .clone()
            .map(|order| set_ups.follow(in_place, order))
    }
}
