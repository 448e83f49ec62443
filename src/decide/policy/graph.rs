//! The graph of what may be known: a node is what has been read, what is in place, and what was repaired in vain.

use super::ahead::{Act, Action, Ahead, LEADS, Lead, Room, pick};
use super::bounds::{At, Bounds, Missing};
use crate::decide::problem::Problem;
use crate::decide::repair_now::{repair_now_cost_after, weigh_groups};
use crate::decide::set_up::{InPlace, WayMemory};
use rayon::iter::{IntoParallelRefIterator, ParallelIterator};
use std::collections::HashMap;
use std::rc::Rc;

/// What has been read, as codes of (measurement, outcome), ascending.
type Evidence = Box<[u32]>;

/// A child that cannot come about.
pub(super) const NEVER: u32 = u32::MAX;

/// Relative difference below which two bounds are one: rounding.
const CLOSED: f64 = 1e-10;

/// What the best known policy does at a node.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Choice {
    /// Measures no more.
    RepairNow,
    /// Takes the action of this place.
    Act(usize),
}

#[derive(Clone, Debug)]
pub(super) struct Node {
    pub(super) weights: Box<[f64]>,
    evidence: Evidence,
    pub(super) in_place: InPlace,
    /// The repairs done in vain, as bits.
    pub(super) done: u128,
    pub(super) weight: f64,
    /// Cost of repairing now.
    pub(super) repair: f64,
    pub(super) lower: f64,
    pub(super) upper: f64,
    guess: f64,
    pub(super) choice: Choice,
    picks: [Option<usize>; 4],
    /// The widest gap of a leaf below, following each lead.
    urgency: [f64; 4],
    /// What is still worth weighing; `None` until the node is opened.
    pub(super) actions: Option<Vec<Action>>,
}

impl Node {
    pub(super) fn gap(&self) -> f64 {
        (self.upper - self.lower).max(0.0)
    }

    /// Whether nothing is left to gain here.
    pub(super) fn closed(&self) -> bool {
        self.gap() <= CLOSED * self.upper
    }

    /// What to do here for whoever searches on from the next point: where the search is not at its end, of all
    /// that saves something against repairing now, what tells most for the money. What an action saves by the
    /// upper bounds counts only as far as the search has come, and so favours what confirms the leading cause
    /// over what tells more in the end. docs/method.md, "Worked by".
    pub(super) fn next_step(&self) -> Choice {
        let open = self.actions.as_ref().filter(|_| !self.closed());
        let Some(actions) = open else {
            return self.choice;
        };
        let mut best: Option<(f64, usize)> = None;
        for (a, action) in actions.iter().enumerate() {
            if action.upper < self.repair && best.is_none_or(|b| action.yields > b.0) {
                best = Some((action.yields, a));
            }
        }
        best.map_or(Choice::RepairNow, |b| Choice::Act(b.1))
    }

    pub(super) fn pick(&self, lead: Lead) -> Option<usize> {
        self.picks[lead as usize]
    }

    pub(super) fn urgency(&self, lead: Lead) -> f64 {
        self.urgency[lead as usize]
    }
}

/// Beliefs with this many weights are worth sharing between the cores.
const WORTH_SHARING: usize = 100;

/// What the set-ups in place mean for every measurement.
struct From {
    /// Minutes of all and what they leave in place; `None` where it cannot be had.
    ways: Vec<Option<(f64, InPlace)>>,
    missing: Missing,
}

pub(super) struct Graph<'a> {
    pub(super) problem: &'a Problem,
    pub(super) nodes: Vec<Node>,
    bounds: Bounds,
    known: HashMap<(Evidence, InPlace, u128), u32>,
    places: HashMap<InPlace, Rc<From>>,
    ways: WayMemory,
    set_up_cost: Vec<f64>,
    first_code: Vec<u32>,
    barred: Vec<bool>,
    /// Likely cost of a bit, for guessing.
    bit: f64,
    room: Room,
    opened: u64,
    bytes: usize,
}

impl<'a> Graph<'a> {
    /// A graph with the root alone, number 0.
    pub(super) fn new(
        problem: &'a Problem,
        weights: &[f64],
        in_place: InPlace,
        taken: &[usize],
        done: u128,
    ) -> Self {
        let mut first_code = Vec::with_capacity(problem.measurements());
        let mut next = 0;
        let mut barred = vec![false; problem.measurements()];
        for (m, bar) in barred.iter_mut().enumerate() {
            first_code.push(next);
            next += u32::try_from(problem.outcomes(m)).unwrap_or(u32::MAX);
            *bar = taken.contains(&m) || tells_nothing(problem, weights, m);
        }
        let set_ups = problem.set_ups().listed().iter();
        let mut graph = Self {
            problem,
            nodes: Vec::new(),
            bounds: Bounds::new(problem, weights, &barred),
            known: HashMap::new(),
            places: HashMap::new(),
            ways: WayMemory::default(),
            set_up_cost: set_ups
                .map(|s| s.minutes.get() * problem.per_minute())
                .collect(),
            first_code,
            barred,
            bit: 0.0,
            room: Room::default(),
            opened: 0,
            bytes: 0,
        };
        graph.bit = graph.price_of_a_bit(weights, in_place);
        graph.add(weights.into(), Box::from([]), in_place, done);
        graph
    }

    /// About how many bytes the graph takes.
    pub(super) fn bytes(&self) -> usize {
        self.bytes
    }

    /// How many nodes have been opened.
    pub(super) fn opened(&self) -> u64 {
        self.opened
    }

    /// The middle one of the measurements by money for a bit, at the start.
    fn price_of_a_bit(&mut self, weights: &[f64], in_place: InPlace) -> f64 {
        let from = self.from(in_place);
        let weight: f64 = weights.iter().sum();
        let mut prices: Vec<f64> = (0..self.problem.measurements())
            .filter_map(|m| {
                let (minutes, _) = from.ways[m]?;
                let bits = self.bounds.information(self.problem, weights, weight, m) / weight;
                (bits > 0.01).then(|| minutes * self.problem.per_minute() / bits)
            })
            .collect();
        prices.sort_unstable_by(f64::total_cmp);
        prices.get(prices.len() / 2).copied().unwrap_or(0.0)
    }

    fn taken(&self, evidence: &[u32]) -> Vec<bool> {
        let mut taken = self.barred.clone();
        for &code in evidence {
            taken[self.first_code.partition_point(|&first| first <= code) - 1] = true;
        }
        taken
    }

    /// The measurements that the repairs done have shown and that are not read yet, ascending: they are read
    /// for nothing before anything else.
    fn open_to_view(&self, done: u128, taken: &[bool]) -> Vec<usize> {
        if done == 0 {
            return Vec::new();
        }
        let mut shown = self.problem.shown(done);
        shown.retain(|&m| !taken[m]);
        shown
    }

    /// Whether a measurement at a node is read for nothing.
    pub(super) fn is_to_view(&self, number: u32, measurement: usize) -> bool {
        let node = &self.nodes[number as usize];
        node.done != 0
            && self
                .open_to_view(node.done, &self.taken(&node.evidence))
                .contains(&measurement)
    }

    fn add(
        &mut self,
        weights: Box<[f64]>,
        evidence: Evidence,
        in_place: InPlace,
        done: u128,
    ) -> u32 {
        let problem = self.problem;
        let weight: f64 = weights.iter().sum();
        let repair = repair_now_cost_after(problem, done, &weights, &mut self.room.repair);
        let known = self.bounds.if_known(problem, done, &weights);
        let entropy = self.bounds.entropy(&weights, weight, &mut self.room.masses);
        let free = done != 0 && !self.open_to_view(done, &self.taken(&evidence)).is_empty();
        let lower = if free {
            known.min(repair)
        } else {
            let after = (repair, self.room.repair.masses());
            self.bounds.one_more(problem, done, &weights, weight, after)
        };
        let guess = (known + self.bit * entropy).min(repair);
        let number = u32::try_from(self.nodes.len()).unwrap_or(NEVER);
        // The evidence is held twice: by the node and by the memory.
        self.bytes += size_of::<Node>() + weights.len() * 8 + evidence.len() * 8 + 64;
        self.known
            .insert((evidence.clone(), in_place, done), number);
        self.nodes.push(Node {
            weights,
            evidence,
            in_place,
            done,
            weight,
            repair,
            lower,
            upper: repair,
            guess,
            choice: Choice::RepairNow,
            picks: [None; 4],
            urgency: [repair - lower; 4],
            actions: None,
        });
        number
    }

    fn from(&mut self, in_place: InPlace) -> Rc<From> {
        if let Some(from) = self.places.get(&in_place) {
            return Rc::clone(from);
        }
        let set_ups = self.problem.set_ups();
        let mut ways = Vec::with_capacity(self.problem.measurements());
        let mut missing = Vec::with_capacity(self.problem.measurements());
        for m in 0..self.problem.measurements() {
            let needed = self.problem.needed(m);
            let way = (!self.barred[m])
                .then(|| self.ways.cheapest(set_ups, in_place, needed))
                .flatten();
            missing.push(set_ups.missing(in_place, needed));
            ways.push(way.map(|w| (w.minutes + self.problem.measurement(m).minutes, w.leaves)));
        }
        let from = Rc::new(From { ways, missing });
        self.bytes += from.ways.len() * 40 + 64;
        self.places.insert(in_place, Rc::clone(&from));
        from
    }

    /// Weighs everything that may be done at a node one step ahead.
    pub(super) fn open(&mut self, number: u32) {
        let n = number as usize;
        if self.nodes[n].actions.is_some() {
            return;
        }
        self.opened += 1;
        let from = self.from(self.nodes[n].in_place);
        let problem = self.problem;
        let node = &self.nodes[n];
        let weight = node.weight;
        let taken = self.taken(&node.evidence);
        let to_view = self.open_to_view(node.done, &taken);
        let known = self.bounds.if_known(problem, node.done, &node.weights);
        let entropy = self
            .bounds
            .entropy(&node.weights, weight, &mut self.room.masses);
        let mut information = vec![0.0; problem.measurements()];
        for (m, bits) in information.iter_mut().enumerate() {
            if !taken[m] && (from.ways[m].is_some() || self.bounds.is_shown(m)) {
                *bits = self.bounds.information(problem, &node.weights, weight, m);
            }
        }
        let at = At {
            weights: &node.weights,
            weight,
            entropy,
            information: &information,
            to_view: &to_view,
        };
        let priced = self.bounds.priced(&at, &from.missing, &self.set_up_cost);
        let rest = self.bounds.after_each(&at);
        // Each with its cost, and a floor: at least its own cost, and what the bits that it cannot give cost
        // from others. Where even that is no less than repairing now, it would not pay.
        let offers: Vec<(usize, f64, f64)> = match to_view.first() {
            Some(&m) => vec![(m, 0.0, known + f64::max(rest[m], 0.0))],
            None => from
                .ways
                .iter()
                .enumerate()
                .filter(|(m, _)| !taken[*m])
                .filter_map(|(m, way)| {
                    let cost = way.as_ref()?.0 * problem.per_minute() * weight;
                    let floor = known + f64::max(cost + rest[m], priced);
                    (floor < node.repair).then_some((m, cost, floor))
                })
                .collect(),
        };
        let ahead = Ahead {
            problem,
            bounds: &self.bounds,
            node,
            known,
            entropy,
            bit: self.bit,
            free: to_view.len() > 1,
        };
        let mut actions: Vec<Action> = if problem.weights() >= WORTH_SHARING {
            offers
                .par_iter()
                .map_init(Room::default, |room, offer| ahead.look(*offer, room))
                .collect()
        } else {
            let mut upper = node.repair;
            let mut actions = Vec::with_capacity(offers.len());
            for offer in offers {
                if offer.2 < upper {
                    let action = ahead.look(offer, &mut self.room);
                    upper = upper.min(action.upper);
                    actions.push(action);
                }
            }
            actions
        };
        if to_view.is_empty() && !self.bounds.revealing.is_empty() {
            // The class of each hypothesis is weighed already; the look ahead has used the room since.
            self.bounds
                .entropy(&node.weights, weight, &mut self.room.masses);
            weigh_groups(problem, &node.weights, &mut self.room.repair);
            for revealing in &self.bounds.revealing {
                actions.extend(ahead.look_behind(revealing, &information, &self.room));
            }
        }
        let upper = actions.iter().map(|a| a.upper).fold(node.repair, f64::min);
        actions.retain(|a| a.lower < upper || a.upper <= upper);
        actions.shrink_to_fit();
        self.bytes += actions.len() * size_of::<Action>();
        let bound = (known + priced).min(node.repair);
        let node = &mut self.nodes[n];
        node.lower = node.lower.max(bound);
        node.actions = Some(actions);
        self.settle(number);
    }

    /// Makes the nodes after an action, or finds them in the memory.
    pub(super) fn look_further(&mut self, number: u32, action: usize) {
        let n = number as usize;
        let Some(actions) = &self.nodes[n].actions else {
            return;
        };
        if actions[action].children.is_some() {
            return;
        }
        let children = match actions[action].act {
            Act::Measure(measurement) => self.read(number, measurement),
            Act::Repair(group) => vec![self.repair_in_vain(number, group)],
        };
        self.bytes += children.len() * 4;
        if let Some(actions) = &mut self.nodes[n].actions {
            actions[action].children = Some(children.into_boxed_slice());
        }
    }

    /// The nodes after a measurement, one an outcome.
    fn read(&mut self, number: u32, measurement: usize) -> Vec<u32> {
        let n = number as usize;
        let done = self.nodes[n].done;
        // What a repair has shown is read where it stands.
        let leaves = if self.is_to_view(number, measurement) {
            self.nodes[n].in_place
        } else {
            let from = self.from(self.nodes[n].in_place);
            let way = from.ways[measurement];
            way.map_or(self.nodes[n].in_place, |way| way.1)
        };
        let outcomes = self.problem.outcomes(measurement);
        let mut children = Vec::with_capacity(outcomes);
        for outcome in 0..outcomes {
            let code = self.first_code[measurement] + u32::try_from(outcome).unwrap_or(0);
            let mut evidence = self.nodes[n].evidence.to_vec();
            evidence.insert(evidence.partition_point(|&c| c < code), code);
            let key = (evidence.into_boxed_slice(), leaves, done);
            if let Some(&known) = self.known.get(&key) {
                children.push(known);
                continue;
            }
            let mut after = vec![0.0; self.problem.weights()];
            let weight =
                self.problem
                    .after(measurement, outcome, &self.nodes[n].weights, &mut after);
            children.push(if weight > 0.0 {
                self.add(after.into_boxed_slice(), key.0, leaves, done)
            } else {
                NEVER
            });
        }
        children
    }

    /// The node after the repairs of a group have not cured it. What is in place stands as it stood: the
    /// minutes of a repair hold the taking apart and the putting back.
    fn repair_in_vain(&mut self, number: u32, group: usize) -> u32 {
        let problem = self.problem;
        let node = &self.nodes[number as usize];
        let done = node.done | problem.groups()[group].bits;
        let key = (node.evidence.clone(), node.in_place, done);
        if let Some(&known) = self.known.get(&key) {
            return known;
        }
        let mut after = node.weights.clone();
        for cured in problem.cured_with(group, done) {
            for &candidate in &problem.groups()[cured].candidates {
                after[candidate] = 0.0;
            }
        }
        if after.iter().sum::<f64>() > 0.0 {
            self.add(after, key.0, key.1, done)
        } else {
            NEVER
        }
    }

    /// The child with the most urgent leaf below, following a lead.
    pub(super) fn most_urgent(&self, number: u32, action: usize, lead: Lead) -> Option<u32> {
        let children = self.nodes[number as usize].actions.as_ref()?[action]
            .children
            .as_ref()?;
        let mut best: Option<(f64, u32)> = None;
        for &child in children.iter().filter(|&&c| c != NEVER) {
            let urgency = self.nodes[child as usize].urgency(lead);
            if best.is_none_or(|b| urgency > b.0) {
                best = Some((urgency, child));
            }
        }
        best.map(|b| b.1)
    }

    /// Brings a node up to date with the nodes after it. Bounds only ever close.
    pub(super) fn settle(&mut self, number: u32) {
        let n = number as usize;
        let Some(mut actions) = self.nodes[n].actions.take() else {
            return;
        };
        let repair = self.nodes[n].repair;
        let (mut lower, mut upper, mut guess) = (repair, repair, repair);
        let mut choice = Choice::RepairNow;
        for (a, action) in actions.iter_mut().enumerate() {
            self.sum_up(action);
            lower = lower.min(action.lower);
            guess = guess.min(action.guess);
            if action.upper < upper {
                upper = action.upper;
                choice = Choice::Act(a);
            }
        }
        let lower = self.nodes[n].lower.max(lower).min(upper);
        let mut picks = [None; 4];
        let mut urgency = [0.0; 4];
        if upper - lower > CLOSED * upper {
            for lead in LEADS {
                let k = lead as usize;
                picks[k] = pick(&actions, upper, choice, lead);
                if let Some(a) = picks[k] {
                    urgency[k] = match &actions[a].children {
                        None => upper - lower,
                        Some(children) => children
                            .iter()
                            .filter(|&&c| c != NEVER)
                            .map(|&c| self.nodes[c as usize].urgency[k])
                            .fold(0.0, f64::max),
                    };
                }
            }
        }
        let node = &mut self.nodes[n];
        node.lower = lower;
        node.upper = upper;
        node.guess = guess.min(upper);
        node.choice = choice;
        node.picks = picks;
        node.urgency = urgency;
        node.actions = Some(actions);
    }

    fn sum_up(&self, action: &mut Action) {
        let Some(children) = &action.children else {
            return;
        };
        let (mut lower, mut upper, mut guess) = (action.cost, action.cost, action.cost);
        for &child in children.iter().filter(|&&c| c != NEVER) {
            let node = &self.nodes[child as usize];
            lower += node.lower;
            upper += node.upper;
            guess += node.guess;
        }
        action.lower = action.lower.max(lower);
        action.upper = upper;
        action.guess = guess;
    }
}

/// Whether every possible hypothesis gives the same row: such a measurement never pays.
fn tells_nothing(problem: &Problem, weights: &[f64], measurement: usize) -> bool {
    (0..problem.outcomes(measurement)).all(|outcome| {
        let column = problem.column(measurement, outcome);
        let mut possible = weights
            .iter()
            .zip(column)
            .filter(|(w, _)| **w > 0.0)
            .map(|(_, p)| *p);
        let first = possible.next();
        possible.all(|p| Some(p) == first)
    })
}
