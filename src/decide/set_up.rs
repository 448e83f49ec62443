//! Set-ups: what must be in place before a measurement, and the cheapest way there.
//!
//! Entering a set-up asks that its `needs` are in place at that moment, takes away the others of its
//! group and whatever it `ends`; it then stays until something takes it away. docs/method.md, section 8.

use crate::units::Minutes;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, BinaryHeap, HashMap};

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

    /// The indices, ascending.
    pub fn indices(self) -> impl Iterator<Item = usize> {
        (0..Self::MOST).filter(move |&i| self.has(i))
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

/// One set-up, its relations by index into the same list.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SetUp {
    /// Minutes to enter it.
    pub minutes: Minutes,
    /// Its group, if any: entering one leaves the others of its group.
    pub group: Option<usize>,
    /// What must be in place at the moment of entering.
    pub needs: Vec<usize>,
    /// What entering it ends, beside the others of its group.
    pub ends: Vec<usize>,
}

/// The cheapest way from what is in place to what is needed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Way {
    /// The minutes of the set-ups entered.
    pub minutes: f64,
    /// The set-ups entered, in order.
    pub order: Vec<usize>,
    /// What is in place afterwards.
    pub leaves: InPlace,
}

#[derive(Clone, Debug)]
struct Entry {
    minutes: f64,
    /// The minutes in whole millionths: sums of these do not depend on the order of adding, so equal ways
    /// tie exactly and the choice between them is the same everywhere.
    ticks: u64,
    needs: u64,
    removes: u64,
}

/// All set-ups of a family.
#[derive(Clone, Debug, Default)]
pub struct SetUps {
    listed: Vec<SetUp>,
    entries: Vec<Entry>,
}

impl SetUps {
    /// The set-ups; `None` where there are more than [`InPlace::MOST`], or one names an index that is not
    /// in the list.
    pub fn new(listed: Vec<SetUp>) -> Option<Self> {
        let known = |indices: &[usize]| indices.iter().all(|&i| i < listed.len());
        if listed.len() > InPlace::MOST || !listed.iter().all(|s| known(&s.needs) && known(&s.ends))
        {
            return None;
        }
        let entries = listed
            .iter()
            .enumerate()
            .map(|(i, set_up)| {
                let others = (0..listed.len()).filter(|&j| {
                    j != i && set_up.group.is_some() && listed[j].group == set_up.group
                });
                let removes = others.chain(set_up.ends.iter().copied().filter(|&j| j != i));
                Entry {
                    minutes: set_up.minutes.get(),
                    ticks: ticks(set_up.minutes.get()),
                    needs: set_up.needs.iter().copied().collect::<InPlace>().0,
                    removes: removes.collect::<InPlace>().0,
                }
            })
            .collect();
        Some(Self { listed, entries })
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
        (entry.needs & !in_place.0 == 0)
            .then_some(InPlace(in_place.0 & !entry.removes | bit(set_up)))
    }

    /// The set-ups worth entering on the way to a goal: the goal and, backwards, whatever those need.
    /// Entering any other adds nothing that is asked for and may take something away.
    pub fn worth_entering(&self, needed: InPlace) -> InPlace {
        let mut closure = needed.0;
        loop {
            let wider = self
                .entries
                .iter()
                .enumerate()
                .fold(closure, |all, (i, entry)| {
                    if closure & bit(i) == 0 {
                        all
                    } else {
                        all | entry.needs
                    }
                });
            if wider == closure {
                return InPlace(closure);
            }
            closure = wider;
        }
    }

    /// What must be entered at least once, whatever the way, before all that is needed is in place: the
    /// needed set-ups that are missing, and backwards whatever is missing for entering those.
    pub fn missing(&self, in_place: InPlace, needed: InPlace) -> InPlace {
        let mut missing = needed.0 & !in_place.0;
        loop {
            let wider = self
                .entries
                .iter()
                .enumerate()
                .fold(missing, |all, (i, entry)| {
                    if missing & bit(i) == 0 {
                        all
                    } else {
                        all | entry.needs & !in_place.0
                    }
                });
            if wider == missing {
                return InPlace(missing);
            }
            missing = wider;
        }
    }

    /// The cheapest sequence of set-ups after which all that is needed is in place at once; `None` where
    /// there is none. Of equal ways the one with fewer set-ups, then the one whose order of indices is
    /// first. Dijkstra over what is in place; cost grows with the states reachable through
    /// [`SetUps::worth_entering`].
    pub fn cheapest(&self, in_place: InPlace, needed: InPlace) -> Option<Way> {
        let order = self.cheapest_order(in_place, needed, self.worth_entering(needed))?;
        Some(self.follow(in_place, order))
    }

    /// What an order of set-ups comes to, entered one after the other.
    fn follow(&self, in_place: InPlace, order: Vec<usize>) -> Way {
        let mut minutes = 0.0;
        let mut leaves = in_place;
        for &set_up in &order {
            let entry = &self.entries[set_up];
            minutes += entry.minutes;
            leaves = InPlace(leaves.0 & !entry.removes | bit(set_up));
        }
        Way {
            minutes,
            order,
            leaves,
        }
    }

    fn cheapest_order(
        &self,
        from: InPlace,
        needed: InPlace,
        closure: InPlace,
    ) -> Option<Vec<usize>> {
        let worth: Vec<usize> = closure
            .indices()
            .filter(|&i| i < self.entries.len())
            .collect();
        let mut settled: BTreeSet<u64> = BTreeSet::new();
        let mut best: BTreeMap<u64, (u64, usize)> = BTreeMap::new();
        let mut open = BinaryHeap::from([Reverse((0_u64, 0_usize, Vec::new(), from.0))]);
        while let Some(Reverse((ticks, steps, order, here))) = open.pop() {
            if needed.0 & !here == 0 {
                return Some(order);
            }
            if !settled.insert(here) {
                continue;
            }
            for &next in &worth {
                let entry = &self.entries[next];
                if here & bit(next) != 0 || entry.needs & !here != 0 {
                    continue;
                }
                let there = here & !entry.removes | bit(next);
                let cost = (ticks + entry.ticks, steps + 1);
                if settled.contains(&there) || best.get(&there).is_some_and(|&b| b < cost) {
                    continue;
                }
                best.insert(there, cost);
                let mut longer: Vec<usize> = order.clone();
                longer.push(next);
                open.push(Reverse((cost.0, cost.1, longer, there)));
            }
        }
        None
    }
}

/// Millionths of a minute, saturating: only for comparing.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "minutes are finite and never negative, and `as` saturates at the top"
)]
fn ticks(minutes: f64) -> u64 {
    ((minutes * 1e6).round() as u64).min(u64::MAX / 1024)
}

/// Cheapest ways already found: what is needed and what of its closure was in place decide the way.
#[derive(Clone, Debug, Default)]
pub struct WayMemory {
    closures: HashMap<InPlace, InPlace>,
    orders: HashMap<(InPlace, InPlace), Option<Vec<usize>>>,
}

impl WayMemory {
    /// As [`SetUps::cheapest`], remembered. One memory serves one set of set-ups.
    pub fn cheapest(
        &mut self,
        set_ups: &SetUps,
        in_place: InPlace,
        needed: InPlace,
    ) -> Option<Way> {
        if in_place.covers(needed) {
            return Some(Way {
                minutes: 0.0,
                order: Vec::new(),
                leaves: in_place,
            });
        }
        let closure = *self
            .closures
            .entry(needed)
            .or_insert_with(|| set_ups.worth_entering(needed));
        let key = (needed, in_place.common(closure));
        self.orders
            .entry(key)
            .or_insert_with(|| set_ups.cheapest_order(key.1, needed, closure))
            .clone()
            .map(|order| set_ups.follow(in_place, order))
    }
}
