//! The graph of what may be known: a node is what has been read and what is in place.

use super::bounds::{Bounds, Missing};
use crate::plan::problem::Problem;
use crate::plan::repair_now::{RepairScratch, repair_now_cost};
use crate::plan::set_up::{InPlace, WayMemory};
use rayon::iter::{IntoParallelRefIterator, ParallelIterator};
use std::collections::HashMap;
use std::rc::Rc;

/// What has been read, as codes of (measurement, outcome), ascending.
type Evidence = Box<[u32]>;

/// A child that cannot come about.
pub(super) const NEVER: u32 = u32::MAX;

/// Relative difference below which two bounds are one: rounding.
const CLOSED: f64 = 1e-10;

/// By which measurement the search goes down from a node.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Lead {
    /// The least lower bound: what the optimum might be.
    Lower,
    /// The least likely cost.
    Guess,
    /// What the best known policy does.
    Best,
    /// The most bits for the money.
    Bits,
}

const LEADS: [Lead; 4] = [Lead::Lower, Lead::Guess, Lead::Best, Lead::Bits];

/// A measurement at a node. Costs and bounds are times the weight of the node.
#[derive(Clone, Debug)]
pub(super) struct Action {
    pub(super) measurement: usize,
    /// Of the measurement itself, set-ups included.
    cost: f64,
    lower: f64,
    upper: f64,
    /// What it is likely to come to: no bound.
    guess: f64,
    /// Bits for the money.
    yields: f64,
    /// A node an outcome, once somebody looked further.
    pub(super) children: Option<Box<[u32]>>,
}

/// What the best known policy does at a node.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Choice {
    Repair,
    Measure(usize),
}

#[derive(Clone, Debug)]
pub(super) struct Node {
    pub(super) weights: Box<[f64]>,
    evidence: Evidence,
    pub(super) in_place: InPlace,
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
    /// The measurements still worth weighing; `None` until the node is opened.
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

    pub(super) fn pick(&self, lead: Lead) -> Option<usize> {
        self.picks[lead as usize]
    }

    pub(super) fn urgency(&self, lead: Lead) -> f64 {
        self.urgency[lead as usize]
    }
}

/// Room for sums, used again and again.
#[derive(Clone, Debug, Default)]
struct Room {
    repair: RepairScratch,
    after: Vec<f64>,
    masses: Vec<f64>,
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
    known: HashMap<(Evidence, InPlace), u32>,
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
        graph.add(weights.into(), Box::from([]), in_place);
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

    fn add(&mut self, weights: Box<[f64]>, evidence: Evidence, in_place: InPlace) -> u32 {
        let weight: f64 = weights.iter().sum();
        let repair = repair_now_cost(self.problem, &weights, &mut self.room.repair);
        let known = self.bounds.if_known(&weights);
        let entropy = self.bounds.entropy(&weights, weight, &mut self.room.masses);
        let lower = self.bounds.one_more(&weights, weight, repair);
        let guess = (known + self.bit * entropy).min(repair);
        let number = u32::try_from(self.nodes.len()).unwrap_or(NEVER);
        // The evidence is held twice: by the node and by the memory.
        self.bytes += size_of::<Node>() + weights.len() * 8 + evidence.len() * 8 + 64;
        self.known.insert((evidence.clone(), in_place), number);
        self.nodes.push(Node {
            weights,
            evidence,
            in_place,
            weight,
            repair,
            lower,
            upper: repair,
            guess,
            choice: Choice::Repair,
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

    /// Weighs every measurement at a node one step ahead.
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
        let known = self.bounds.if_known(&node.weights);
        let entropy = self
            .bounds
            .entropy(&node.weights, weight, &mut self.room.masses);
        let mut information = vec![0.0; problem.measurements()];
        for (m, bits) in information.iter_mut().enumerate() {
            if !taken[m] && from.ways[m].is_some() {
                *bits = self.bounds.information(problem, &node.weights, weight, m);
            }
        }
        let priced = self.bounds.priced(
            weight,
            entropy,
            &information,
            &from.missing,
            &self.set_up_cost,
        );
        let rest = self.bounds.after_each(weight, entropy, &information);
        // Each with its cost, and a floor: at least its own cost, and what the bits that it cannot give cost
        // from others. Where even that is no less than repairing now, it would not pay.
        let offers: Vec<(usize, f64, f64)> = from
            .ways
            .iter()
            .enumerate()
            .filter(|(m, _)| !taken[*m])
            .filter_map(|(m, way)| {
                let cost = way.as_ref()?.0 * problem.per_minute() * weight;
                let floor = known + f64::max(cost + rest[m], priced);
                (floor < node.repair).then_some((m, cost, floor))
            })
            .collect();
        let ahead = Ahead {
            problem,
            bounds: &self.bounds,
            node,
            entropy,
            bit: self.bit,
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
        let measurement = actions[action].measurement;
        let from = self.from(self.nodes[n].in_place);
        let Some((_, leaves)) = from.ways[measurement] else {
            return;
        };
        let outcomes = self.problem.outcomes(measurement);
        let mut children = Vec::with_capacity(outcomes);
        for outcome in 0..outcomes {
            let code = self.first_code[measurement] + u32::try_from(outcome).unwrap_or(0);
            let mut evidence = self.nodes[n].evidence.to_vec();
            evidence.insert(evidence.partition_point(|&c| c < code), code);
            let key = (evidence.into_boxed_slice(), leaves);
            if let Some(&known) = self.known.get(&key) {
                children.push(known);
                continue;
            }
            let mut after = vec![0.0; self.problem.weights()];
            let weight =
                self.problem
                    .after(measurement, outcome, &self.nodes[n].weights, &mut after);
            children.push(if weight > 0.0 {
                self.add(after.into_boxed_slice(), key.0, leaves)
            } else {
                NEVER
            });
        }
        self.bytes += children.len() * 4;
        if let Some(actions) = &mut self.nodes[n].actions {
            actions[action].children = Some(children.into_boxed_slice());
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
        let mut choice = Choice::Repair;
        for (a, action) in actions.iter_mut().enumerate() {
            self.sum_up(action);
            lower = lower.min(action.lower);
            guess = guess.min(action.guess);
            if action.upper < upper {
                upper = action.upper;
                choice = Choice::Measure(a);
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

/// One step of look-ahead from a node.
struct Ahead<'a> {
    problem: &'a Problem,
    bounds: &'a Bounds,
    node: &'a Node,
    entropy: f64,
    bit: f64,
}

impl Ahead<'_> {
    fn look(&self, (measurement, cost, floor): (usize, f64, f64), room: &mut Room) -> Action {
        let Self {
            problem,
            bounds,
            node,
            entropy,
            bit,
        } = *self;
        let Room {
            repair,
            after,
            masses,
        } = room;
        after.resize(problem.weights(), 0.0);
        let mut yields = entropy;
        let (mut lower, mut upper, mut guess) = (cost, cost, cost);
        for outcome in 0..problem.outcomes(measurement) {
            let weight = problem.after(measurement, outcome, &node.weights, after);
            if weight > 0.0 {
                let repair = repair_now_cost(problem, after, repair);
                let bits = bounds.entropy(after, weight, masses);
                yields -= bits;
                upper += repair;
                guess += (bounds.if_known(after) + bit * bits).min(repair);
                lower += bounds.one_more(after, weight, repair);
            }
        }
        Action {
            measurement,
            cost,
            lower: lower.max(floor).min(upper),
            upper,
            guess,
            yields: yields / cost.max(f64::MIN_POSITIVE),
            children: None,
        }
    }
}

fn pick(actions: &[Action], upper: f64, choice: Choice, lead: Lead) -> Option<usize> {
    if lead == Lead::Best
        && let Choice::Measure(a) = choice
    {
        return Some(a);
    }
    let mut best: Option<(f64, usize)> = None;
    for (a, action) in actions.iter().enumerate() {
        let value = match lead {
            Lead::Lower => action.lower,
            Lead::Guess => action.guess,
            Lead::Best => action.upper,
            Lead::Bits => -action.yields,
        };
        if action.lower < upper && best.is_none_or(|b| value < b.0) {
            best = Some((value, a));
        }
    }
    best.map(|b| b.1)
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
