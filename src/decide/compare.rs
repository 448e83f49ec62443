//! What other ways of working come to on the same problem.
//!
//! A strategy says what to do at every point, so it is followed vehicle by vehicle: vehicles are drawn from
//! the belief, each with what it would read at every measurement, and all strategies are tried on the same
//! ones (common random numbers). What a vehicle costs is what was measured on it and `repair_now` under what
//! is then believed; the mean comes with the half-width of its 95 % interval. Small problems are added up
//! exactly instead, branch by branch.

use super::problem::{Group, Problem};
use super::ranking::{FEWEST_BITS, OrderBy, bits, ranking};
use super::repair_now::{RepairScratch, repair_by_probability, repair_now_cost};
use super::set_up::{InPlace, WayMemory};
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use rayon::slice::ParallelSlice;

/// A way of working, to be compared with the plan.
#[derive(Clone, Debug, PartialEq)]
pub enum Strategy {
    /// The measurement that separates most a minute, while some measurement saves one step ahead; then
    /// `repair_now`.
    OneStep,
    /// These measurements in this order, each left out where it tells nothing. Before each it stops and
    /// repairs, unless going on along the list pays within the next [`AHEAD`] measurements.
    Fixed(Vec<usize>),
    /// These measurements in this order, each left out where it tells nothing, until the repairs that lead are
    /// at least so probable; then `repair_now`. What can be written on a sheet.
    FixedUntil(Vec<usize>, f64),
    /// The measurement of fewest minutes from what is in place, stopping as with [`Strategy::Fixed`].
    CheapestFirst,
    /// No measuring: repairs in the order of probability alone, escalation in its best place.
    RepairByProbability,
}

/// What a strategy comes to.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Comparison {
    /// Expected cost.
    pub cost: f64,
    /// Of that, for measuring.
    pub testing: f64,
    /// Half the width of the 95 % interval of the cost; 0 where it was added up exactly.
    pub within: f64,
    /// Points at which the strategy was asked what to do.
    pub nodes: u64,
}

/// How many measurements ahead along its list a strategy looks before it stops: each may be followed by
/// stopping.
pub const AHEAD: usize = 3;

/// Vehicles that share a worker: those that read alike share the work.
const TOGETHER: usize = 1000;

/// 95 % of a normal distribution lie within so many standard deviations.
const NINETY_FIVE: f64 = 1.959_963_984_540_054;

/// Vehicles drawn from a belief: what each would read at every measurement.
#[derive(Clone, Debug)]
pub struct Vehicles {
    outcomes: Vec<u16>,
    /// What is wrong with each: its place among the weights.
    wrong: Vec<usize>,
    measurements: usize,
}

impl Vehicles {
    /// So many vehicles, the same ones for the same seed. What is wrong is drawn evenly along the belief
    /// (systematic sampling), what is read under it by chance.
    #[must_use]
    #[allow(
        clippy::cast_precision_loss,
        reason = "counts of vehicles are small numbers"
    )]
    pub fn drawn(problem: &Problem, weights: &[f64], count: usize, seed: u64) -> Self {
        let measurements = problem.measurements();
        let total: f64 = weights.iter().sum();
        let mut chance = Chance(seed);
        let start = chance.unit();
        let mut outcomes = Vec::with_capacity(count * measurements);
        let mut places = Vec::with_capacity(count);
        let (mut wrong, mut passed) = (0, weights.first().copied().unwrap_or(0.0));
        for vehicle in 0..count {
            let place = (vehicle as f64 + start) / count as f64 * total;
            while passed < place && wrong + 1 < weights.len() {
                wrong += 1;
                passed += weights[wrong];
            }
            places.push(wrong);
            for m in 0..measurements {
                let last = problem.outcomes(m) - 1;
                let mut left = chance.unit();
                let read = (0..last).find(|&outcome| {
                    left -= problem.column(m, outcome)[wrong];
                    left < 0.0
                });
                outcomes.push(u16::try_from(read.unwrap_or(last)).unwrap_or(u16::MAX));
            }
        }
        Self {
            outcomes,
            wrong: places,
            measurements,
        }
    }

    /// The numbers of all of them.
    pub(super) fn all(&self) -> Vec<u32> {
        let numbers = 0..self.wrong.len();
        numbers.filter_map(|v| u32::try_from(v).ok()).collect()
    }

    /// What is wrong with one: its place among the weights.
    pub(super) fn wrong(&self, vehicle: u32) -> usize {
        self.wrong[vehicle as usize]
    }

    pub(super) fn reads(&self, vehicle: u32, measurement: usize) -> usize {
        usize::from(self.outcomes[vehicle as usize * self.measurements + measurement])
    }
}

/// Numbers that look random and are the same every time: Steele, Lea and Flood's `SplitMix` (2014).
#[derive(Clone, Debug)]
pub(super) struct Chance(pub(super) u64);

impl Chance {
    pub(super) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// 0 to 1.
    fn unit(&mut self) -> f64 {
        f64::from(u32::try_from(self.next() >> 32).unwrap_or(0)) / 4_294_967_296.0
    }

    /// 0 to `count − 1`.
    pub(super) fn below(&mut self, count: usize) -> usize {
        usize::try_from(self.next() % (count.max(1) as u64)).unwrap_or(0)
    }
}

/// Follows a strategy on vehicles drawn from these weights, which need not add up to 1. Cost: a node for
/// every point that some vehicle comes to.
#[must_use]
pub fn compare(
    problem: &Problem,
    weights: &[f64],
    in_place: InPlace,
    taken: &[usize],
    strategy: &Strategy,
    vehicles: &Vehicles,
) -> Comparison {
    if *strategy == Strategy::RepairByProbability || weights.iter().sum::<f64>() <= 0.0 {
        return exactly(problem, weights, in_place, taken, strategy);
    }
    let walks: Vec<Walk> = vehicles
        .all()
        .par_chunks(TOGETHER)
        .collect::<Vec<_>>()
        .into_par_iter()
        .map(|some| {
            let mut walk = Walk::new(problem, strategy, Some(vehicles));
            walk.from(weights, in_place, &mut taken.to_vec(), 0.0, some);
            walk
        })
        .collect();
    let mut costs = vec![(0.0, 0.0); vehicles.wrong.len()];
    for end in walks.iter().flat_map(|walk| &walk.ends) {
        for &vehicle in &end.vehicles {
            costs[vehicle as usize] = (end.cost, end.testing);
        }
    }
    summed_up(&costs, walks.iter().map(|walk| walk.nodes).sum())
}

/// The mean of what drawn vehicles cost in all and for measuring, in the order they were drawn. They lie evenly
/// along the belief, so the spread of the mean comes from the differences of neighbours (Wolter, Introduction
/// to Variance Estimation, on systematic samples).
#[allow(clippy::cast_precision_loss, reason = "a count of vehicles")]
pub(super) fn summed_up(costs: &[(f64, f64)], nodes: u64) -> Comparison {
    let count = costs.len() as f64;
    let differences = costs.windows(2).map(|two| (two[1].0 - two[0].0).powi(2));
    let spread = differences.sum::<f64>() / 2.0 / (count - 1.0).max(1.0);
    Comparison {
        cost: costs.iter().map(|of| of.0).sum::<f64>() / count,
        testing: costs.iter().map(|of| of.1).sum::<f64>() / count,
        within: NINETY_FIVE * (spread / count).sqrt(),
        nodes,
    }
}

/// Adds a strategy up over every branch that can come about: for small problems.
#[must_use]
pub fn exactly(
    problem: &Problem,
    weights: &[f64],
    in_place: InPlace,
    taken: &[usize],
    strategy: &Strategy,
) -> Comparison {
    let total: f64 = weights.iter().sum();
    if total <= 0.0 {
        return Comparison::default();
    }
    if *strategy == Strategy::RepairByProbability {
        return Comparison {
            cost: repair_by_probability(problem, weights).cost,
            nodes: 1,
            ..Comparison::default()
        };
    }
    let mut walk = Walk::new(problem, strategy, None);
    walk.from(weights, in_place, &mut taken.to_vec(), 0.0, &[]);
    let sum = |of: &dyn Fn(&End) -> f64| walk.ends.iter().map(|e| e.weight * of(e)).sum::<f64>();
    Comparison {
        cost: sum(&|end| end.cost) / total,
        testing: sum(&|end| end.testing) / total,
        within: 0.0,
        nodes: walk.nodes,
    }
}

/// Where a strategy stops measuring.
struct End {
    /// The vehicles that end here, and their weight.
    vehicles: Vec<u32>,
    weight: f64,
    cost: f64,
    testing: f64,
}

struct Walk<'a> {
    problem: &'a Problem,
    strategy: &'a Strategy,
    /// The vehicles followed; `None` follows every branch.
    vehicles: Option<&'a Vehicles>,
    ways: WayMemory,
    scratch: RepairScratch,
    ends: Vec<End>,
    nodes: u64,
}

/// A measurement to take, its minutes with the set-ups, and what those leave in place.
type Next = (usize, f64, InPlace);

impl<'a> Walk<'a> {
    fn new(problem: &'a Problem, strategy: &'a Strategy, vehicles: Option<&'a Vehicles>) -> Self {
        Self {
            problem,
            strategy,
            vehicles,
            ways: WayMemory::default(),
            scratch: RepairScratch::default(),
            ends: Vec::new(),
            nodes: 0,
        }
    }

    fn from(
        &mut self,
        weights: &[f64],
        in_place: InPlace,
        taken: &mut Vec<usize>,
        testing: f64,
        some: &[u32],
    ) {
        self.nodes += 1;
        let problem = self.problem;
        let weight: f64 = weights.iter().sum();
        let Some((measurement, minutes, leaves)) = self.next(weights, in_place, taken) else {
            let repair = repair_now_cost(problem, weights, &mut self.scratch) / weight;
            self.ends.push(End {
                vehicles: some.to_vec(),
                weight,
                cost: testing + repair,
                testing,
            });
            return;
        };
        let testing = testing + minutes * problem.per_minute();
        let mut after = vec![0.0; weights.len()];
        taken.push(measurement);
        for outcome in 0..problem.outcomes(measurement) {
            let mut these = Vec::new();
            if let Some(vehicles) = self.vehicles {
                let reads = |v: &&u32| vehicles.reads(**v, measurement) == outcome;
                these.extend(some.iter().filter(reads));
                if these.is_empty() {
                    continue;
                }
            }
            if problem.after(measurement, outcome, weights, &mut after) > 0.0 {
                self.from(&after, leaves, taken, testing, &these);
            }
        }
        taken.pop();
    }

    /// What the strategy does: a measurement, or `None` to stop.
    fn next(&mut self, weights: &[f64], in_place: InPlace, taken: &[usize]) -> Option<Next> {
        let problem = self.problem;
        let list: Vec<usize> = match self.strategy {
            Strategy::OneStep => return one_step(problem, weights, in_place, taken),
            Strategy::RepairByProbability => return None,
            Strategy::FixedUntil(order, sure) => {
                if leading(problem, weights) >= *sure {
                    return None;
                }
                let mut open = order.iter().filter(|m| !taken.contains(m));
                return open.find_map(|&m| {
                    if bits(problem, weights, m) < FEWEST_BITS {
                        return None;
                    }
                    let (minutes, leaves) = self.minutes(in_place, m)?;
                    Some((m, minutes, leaves))
                });
            }
            Strategy::Fixed(order) => {
                let open = order.iter().copied().filter(|m| !taken.contains(m));
                open.collect()
            }
            Strategy::CheapestFirst => {
                let mut open: Vec<(f64, usize)> = (0..problem.measurements())
                    .filter(|m| !taken.contains(m))
                    .filter_map(|m| Some((self.minutes(in_place, m)?.0, m)))
                    .collect();
                open.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
                open.into_iter().map(|o| o.1).collect()
            }
        };
        self.along(weights, in_place, &list, AHEAD).1
    }

    /// The least cost of going along a list for so many measurements at most, stopping where that is cheaper,
    /// times the weight; and the first of them, where going on is cheaper than stopping.
    fn along(
        &mut self,
        weights: &[f64],
        in_place: InPlace,
        list: &[usize],
        ahead: usize,
    ) -> (f64, Option<Next>) {
        let problem = self.problem;
        let repair = repair_now_cost(problem, weights, &mut self.scratch);
        let known = known_for_nothing(problem, weights);
        if ahead == 0 || known >= repair {
            return (repair, None);
        }
        let useful = list.iter().enumerate().find_map(|(place, &m)| {
            if bits(problem, weights, m) < FEWEST_BITS {
                return None;
            }
            let (minutes, leaves) = self.minutes(in_place, m)?;
            Some((place, (m, minutes, leaves)))
        });
        let Some((place, next)) = useful else {
            return (repair, None);
        };
        let (measurement, minutes, leaves) = next;
        let mut on = minutes * problem.per_minute() * weights.iter().sum::<f64>();
        // Where even the right end for nothing would not pay for the step, nothing on the list will.
        if known + on >= repair {
            return (repair, None);
        }
        let mut after = vec![0.0; weights.len()];
        for outcome in 0..problem.outcomes(measurement) {
            if problem.after(measurement, outcome, weights, &mut after) > 0.0 {
                on += self.along(&after, leaves, &list[place + 1..], ahead - 1).0;
            }
        }
        if on < repair {
            (on, Some(next))
        } else {
            (repair, None)
        }
    }

    fn minutes(&mut self, in_place: InPlace, m: usize) -> Option<(f64, InPlace)> {
        let way = self
            .ways
            .cheapest(self.problem.set_ups(), in_place, self.problem.needed(m))?;
        Some((
            way.minutes + self.problem.measurement(m).minutes,
            way.leaves,
        ))
    }
}

/// How probable the repairs are that lead.
fn leading(problem: &Problem, weights: &[f64]) -> f64 {
    let of_group = |group: &Group| -> f64 { group.candidates.iter().map(|&h| weights[h]).sum() };
    let most = problem.groups().iter().map(of_group).fold(0.0, f64::max);
    most / weights.iter().sum::<f64>()
}

fn one_step(
    problem: &Problem,
    weights: &[f64],
    in_place: InPlace,
    taken: &[usize],
) -> Option<Next> {
    let list = ranking(
        problem,
        weights,
        in_place,
        taken,
        OrderBy::SeparatesPerMinute,
    );
    let first = list.first()?;
    list.iter().any(|r| r.saves > 0.0).then_some((
        first.measurement,
        first.minutes,
        first.way.leaves,
    ))
}

/// `Σ_H w_H · min(cost(H), escalation)`: the right end if the cause were known for nothing. Method §4.
#[must_use]
pub fn known_for_nothing(problem: &Problem, weights: &[f64]) -> f64 {
    let escalation = problem.escalation_cost();
    let groups = problem.groups();
    let listed: f64 = problem
        .group_of()
        .iter()
        .zip(weights)
        .map(|(&g, w)| w * groups[g].cost.min(escalation))
        .sum();
    listed
        + weights
            .get(problem.candidates())
            .map_or(0.0, |w| w * escalation)
}
