//! A good fixed order of measurements: the yardstick that a plan is to beat.

use super::compare::{Chance, Strategy, Vehicles, compare};
use super::policy::PolicyNode;
use super::problem::Problem;
use super::set_up::InPlace;
use rayon::iter::{IntoParallelIterator, IntoParallelRefIterator, ParallelIterator};

/// What is asked of [`fixed_order`].
#[derive(Clone, Debug)]
pub struct Search<'a> {
    /// The belief.
    pub weights: &'a [f64],
    /// The set-ups in place.
    pub in_place: InPlace,
    /// Orders to begin from.
    pub starts: &'a [Vec<usize>],
    /// How many changes are tried.
    pub changes: usize,
    /// Vehicles that orders are tried on.
    pub vehicles: usize,
}

/// How sure a list may ask to be before it stops.
const SURE: [f64; 6] = [0.5, 0.6, 0.7, 0.8, 0.9, 0.95];

/// The cheapest of the probabilities at which the order may be told to stop, on the vehicles that orders are tried on.
#[must_use]
pub fn until(problem: &Problem, search: &Search<'_>, order: &[usize]) -> Strategy {
    let drawn = Vehicles::drawn(problem, search.weights, search.vehicles, SEED);
    let tried = SURE.map(|sure| {
        let strategy = Strategy::FixedUntil(order.to_vec(), sure);
        let (weights, in_place) = (search.weights, search.in_place);
        let cost = compare(problem, weights, in_place, &[], &strategy, &drawn).cost;
        (cost, strategy)
    });
    tried
        .into_iter()
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or(Strategy::RepairByProbability, |best| best.1)
}

/// How far from the front of the list measurements are moved to: those behind are seldom come to.
const FRONT: usize = 20;

/// The seed of the vehicles that orders are tried on: other ones than those that the order found is judged
/// by, or it would be praised for its luck.
const SEED: u64 = 1;

/// A good order to take measurements in whatever they read, by local improvement from the best of the
/// starts: one measurement at a time is moved to another place, two moves at once are tried, and the better is
/// kept if it costs less on the vehicles drawn. The same every time.
#[must_use]
pub fn fixed_order(problem: &Problem, search: &Search<'_>) -> Vec<usize> {
    let Search {
        weights,
        in_place,
        starts,
        changes,
        vehicles,
    } = *search;
    let drawn = Vehicles::drawn(problem, weights, vehicles, SEED);
    let costs = |order: &Vec<usize>| {
        let strategy = Strategy::Fixed(order.clone());
        compare(problem, weights, in_place, &[], &strategy, &drawn).cost
    };
    let tried: Vec<f64> = starts.par_iter().map(costs).collect();
    let first = (0..starts.len()).min_by(|&a, &b| tried[a].total_cmp(&tried[b]).then(a.cmp(&b)));
    let Some(first) = first else {
        return Vec::new();
    };
    let (mut best, mut least) = (starts[first].clone(), tried[first]);
    let mut chance = Chance(SEED);
    for _ in 0..changes.div_ceil(2) {
        let moved: Vec<Vec<usize>> = (0..2).map(|_| moved(&best, &mut chance)).collect();
        let tried: Vec<(f64, Vec<usize>)> = moved
            .into_par_iter()
            .map(|order| (costs(&order), order))
            .collect();
        for (cost, order) in tried {
            if cost < least {
                (best, least) = (order, cost);
            }
        }
    }
    best
}

/// The order with one measurement moved: to the front part, or within it, or out of it.
fn moved(order: &[usize], chance: &mut Chance) -> Vec<usize> {
    let mut order = order.to_vec();
    if order.len() < 2 {
        return order;
    }
    let front = order.len().min(FRONT);
    let from = match chance.below(3) {
        0 => chance.below(order.len()),
        _ => chance.below(front),
    };
    let measurement = order.remove(from);
    let to = match chance.below(6) {
        0 => order.len(),
        _ => chance.below(front),
    };
    order.insert(to, measurement);
    order
}

/// The measurements of a policy, the likeliest to be taken first, then by index; those never taken last.
#[must_use]
pub fn by_use(problem: &Problem, policy: &PolicyNode) -> Vec<usize> {
    let mut used = vec![0.0; problem.measurements()];
    add_up(policy, 1.0, &mut used);
    let mut order: Vec<usize> = (0..used.len()).collect();
    order.sort_by(|&a, &b| used[b].total_cmp(&used[a]).then(a.cmp(&b)));
    order
}

fn add_up(node: &PolicyNode, probability: f64, used: &mut [f64]) {
    match node {
        PolicyNode::Repair(_) => {}
        PolicyNode::RepairOn(on) => add_up(&on.then, probability * (1.0 - on.probability), used),
        PolicyNode::Measure(measure) => {
            if !measure.shown {
                used[measure.measurement] += probability;
            }
            for branch in &measure.branches {
                add_up(&branch.then, probability * branch.probability, used);
            }
        }
    }
}
