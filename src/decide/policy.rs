//! The one policy: what to do next, from the belief, what is in place and the repairs done.
//!
//! It uses no clock and draws nothing, so the prompt, the list, the plan, the study and the cases are all
//! advised alike. Every step considered is valued two steps ahead: its cost, and then the better of ending by
//! [`repair_now`](super::repair_now()) and of one more measurement. Of the steps that save at least
//! [`SHARE`] of the most that any saves, the one that tells most about the repair needed for its money is
//! taken. docs/method.md, section 10.

use super::problem::Problem;
use super::ranking::FEWEST_BITS;
use super::repair_now::{RepairScratch, repair_now_after, repair_now_cost_after, weigh_groups};
use super::set_up::{InPlace, Way, WayMemory};

/// Of the largest saving two steps ahead, the share that a step must save to be considered. Two steps do
/// not see all that a measurement is good for, so the largest saving alone is not followed.
pub const SHARE: f64 = 0.5;

/// Where no more measurements than this can tell anything, two steps see nearly all there is to gain, and
/// the largest saving is followed.
pub const FEW: usize = 4;

/// How many measurements of the most bits for the money are valued two steps ahead. So many and
/// [`BY_SAVING`] more are looked at as the second step.
const BY_BITS: usize = 3;

/// How many measurements that save most one step ahead are valued beside them.
const BY_SAVING: usize = 2;

/// How many repairs are valued two steps ahead: the first of `repair_now`, and those that show something.
const REPAIRS: usize = 4;

/// Differences below this share of the cost are rounding.
const ROUNDING: f64 = 1e-12;

/// Where a job is: all that the policy depends on.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// One weight a candidate, the unlisted cause last; they need not add up to 1.
    pub weights: Vec<f64>,
    /// The set-ups in place.
    pub in_place: InPlace,
    /// The measurements that may not be taken any more, by index.
    pub taken: Vec<usize>,
    /// The repairs done in vain, as bits in the problem's numbering of the repairs in use.
    pub(super) done: u128,
}

impl Point {
    /// A point where no repair of the problem has been done.
    pub fn new(weights: Vec<f64>, in_place: InPlace) -> Self {
        Self {
            weights,
            in_place,
            taken: Vec::new(),
            done: 0,
        }
    }

    /// The sum of the weights.
    pub fn weight(&self) -> f64 {
        self.weights.iter().sum()
    }
}

/// One step of a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Take this measurement.
    Measure(usize),
    /// Do what is left of the repairs of this group; decide again if they do not cure it.
    Repair(usize),
    /// Hand the job on.
    Escalate,
}

/// What the policy does at a point, and why.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decision {
    /// What is done.
    pub step: Step,
    /// What this step saves two steps ahead against ending by `repair_now`; 0 where nothing saves.
    pub saves: f64,
}

/// Way, minutes and cost of a measurement from a point.
#[derive(Clone, Debug, PartialEq)]
pub struct Taking {
    /// The set-ups entered before it.
    pub way: Way,
    /// Minutes of set-ups and measurement.
    pub minutes: f64,
    /// Whether a repair just done has shown it, so that it is read without time.
    pub shown: bool,
}

/// A step and its figures. Costs and bits are times the weight of the point.
struct Valued {
    step: Step,
    /// Expected cost two steps ahead.
    cost: f64,
    /// Bits about the repair needed for the money.
    rate: f64,
}

/// A measurement one step ahead.
struct Look {
    measurement: usize,
    cost: f64,
    leaves: InPlace,
    bits: f64,
    /// Its cost and that of `repair_now` after it.
    then: f64,
}

impl Look {
    fn rate(&self) -> f64 {
        self.bits / self.cost.max(f64::MIN_POSITIVE)
    }
}

/// The policy for a problem, with memory for what is worked out again and again.
#[derive(Clone, Debug)]
pub struct Policy<'p> {
    problem: &'p Problem,
    ways: WayMemory,
    scratch: RepairScratch,
    after: Vec<f64>,
}

impl<'p> Policy<'p> {
    /// The policy for a problem.
    pub fn new(problem: &'p Problem) -> Self {
        Self {
            problem,
            ways: WayMemory::default(),
            scratch: RepairScratch::default(),
            after: Vec::new(),
        }
    }

    /// What to do at a point. Cost: some hundred times [`repair_now_cost`](super::repair_now_cost), a few
    /// milliseconds for 60 measurements and 40 candidates.
    pub fn decide(&mut self, at: &Point) -> Decision {
        if at.weight() <= 0.0 {
            return Decision {
                step: Step::Escalate,
                saves: 0.0,
            };
        }
        let now = self.repair_now(at);
        // What a repair has shown costs nothing to read, and is never worth less than it costs.
        if let Some(measurement) = self.shown(at) {
            let saves = (now - self.ahead(at, &[])) / at.weight();
            return Decision {
                step: Step::Measure(measurement),
                saves,
            };
        }
        let looks = self.looks(at, None);
        let (first, second) = shortlists(&looks);
        let mut options: Vec<Valued> = first
            .iter()
            .map(|&look| self.measured(at, &looks[look], &second))
            .collect();
        let ends = self.first_repair(at);
        for group in self.repairs(at, ends) {
            options.push(self.repaired(at, group, &second));
        }
        let least = options.iter().map(|o| o.cost).fold(now, f64::min);
        let share = if looks.len() <= FEW { 1.0 } else { SHARE };
        let enough = now - share * (now - least) + ROUNDING * now;
        let saving = options
            .iter()
            .filter(|o| o.cost < now * (1.0 - ROUNDING) && o.cost <= enough);
        let best = saving.reduce(|best, o| if o.rate > best.rate { o } else { best });
        match best {
            Some(option) => Decision {
                step: option.step,
                saves: (now - option.cost) / at.weight(),
            },
            None => Decision {
                step: ends,
                saves: 0.0,
            },
        }
    }

    /// The measurements that may be taken at a point: the place for rules that forbid one for now.
    fn open(&self, at: &Point) -> impl Iterator<Item = usize> + use<'_, 'p> {
        let taken = at.taken.clone();
        (0..self.problem.measurements()).filter(move |m| !taken.contains(m))
    }

    /// Whether the repairs of a group may be done at a point: the place for rules that forbid some for now.
    fn may_repair(&self, at: &Point, group: usize) -> bool {
        self.problem.groups()[group].bits & !at.done != 0
    }

    /// How a measurement is taken from a point; `None` where there is no way to its set-ups.
    pub fn taking(&mut self, at: &Point, measurement: usize) -> Option<Taking> {
        let problem = self.problem;
        if at.done != 0 && problem.shown(at.done).contains(&measurement) {
            let leaves = at.in_place;
            return Some(Taking {
                way: Way {
                    leaves,
                    ..Way::default()
                },
                minutes: 0.0,
                shown: true,
            });
        }
        let needed = problem.needed(measurement);
        let way = self.ways.cheapest(problem.set_ups(), at.in_place, needed)?;
        Some(Taking {
            minutes: way.minutes + problem.measurement(measurement).minutes,
            way,
            shown: false,
        })
    }

    /// The point after an outcome; `None` where it cannot come about.
    pub fn read(
        &self,
        at: &Point,
        measurement: usize,
        leaves: InPlace,
        outcome: usize,
    ) -> Option<Point> {
        let mut weights = vec![0.0; at.weights.len()];
        let sum = self
            .problem
            .after(measurement, outcome, &at.weights, &mut weights);
        let mut taken = at.taken.clone();
        taken.push(measurement);
        (sum > 0.0).then_some(Point {
            weights,
            in_place: leaves,
            taken,
            done: at.done,
        })
    }

    /// The cost of what is left of a group's repairs, and the point where they were in vain.
    pub fn in_vain(&self, at: &Point, group: usize) -> (f64, Point) {
        let problem = self.problem;
        let done = at.done | problem.groups()[group].bits;
        let mut weights = at.weights.clone();
        for cured in problem.cured_with(group, done) {
            for &candidate in &problem.groups()[cured].candidates {
                weights[candidate] = 0.0;
            }
        }
        let point = Point {
            weights,
            in_place: at.in_place,
            taken: at.taken.clone(),
            done,
        };
        (problem.left_of(group, at.done), point)
    }

    /// Expected cost of ending without measuring again.
    fn repair_now(&mut self, at: &Point) -> f64 {
        repair_now_cost_after(self.problem, at.done, &at.weights, &mut self.scratch)
    }

    /// The first step of ending without measuring again.
    pub(super) fn first_repair(&self, at: &Point) -> Step {
        let order = repair_now_after(self.problem, at.done, &at.weights);
        order
            .steps
            .first()
            .map_or(Step::Escalate, |step| Step::Repair(step.group))
    }

    /// Every measurement that tells something, one step ahead; with `only`, of those.
    fn looks(&mut self, at: &Point, only: Option<&[usize]>) -> Vec<Look> {
        let entropy = self.entropy(&at.weights, at.done);
        let open: Vec<usize> = self
            .open(at)
            .filter(|m| only.is_none_or(|only| only.contains(m)))
            .collect();
        open.into_iter()
            .filter_map(|m| self.look(at, m, entropy))
            .collect()
    }

    /// A measurement one step ahead; `None` where it cannot be taken or tells nothing.
    fn look(&mut self, at: &Point, measurement: usize, entropy: f64) -> Option<Look> {
        let taking = self.taking(at, measurement)?;
        let (problem, weight) = (self.problem, at.weight());
        let cost = taking.minutes * problem.per_minute() * weight;
        let (mut bits, mut then) = (entropy, cost);
        let mut after = std::mem::take(&mut self.after);
        after.resize(at.weights.len(), 0.0);
        for outcome in 0..problem.outcomes(measurement) {
            if problem.after(measurement, outcome, &at.weights, &mut after) > 0.0 {
                then += repair_now_cost_after(problem, at.done, &after, &mut self.scratch);
                bits -= self.entropy(&after, at.done);
            }
        }
        self.after = after;
        (bits >= FEWEST_BITS * weight).then_some(Look {
            measurement,
            cost,
            leaves: taking.way.leaves,
            bits,
            then,
        })
    }

    /// Whether a measurement can be taken from a point and tells something.
    pub(super) fn tells(&mut self, at: &Point, measurement: usize) -> bool {
        let entropy = self.entropy(&at.weights, at.done);
        !at.taken.contains(&measurement) && self.look(at, measurement, entropy).is_some()
    }

    /// The weight of the group that weighs most.
    pub(super) fn leading(&mut self, at: &Point) -> f64 {
        weigh_groups(self.problem, &at.weights, &mut self.scratch);
        self.scratch.masses().iter().copied().fold(0.0, f64::max)
    }

    /// A measurement that a repair has shown and that tells something.
    fn shown(&mut self, at: &Point) -> Option<usize> {
        if at.done == 0 {
            return None;
        }
        let entropy = self.entropy(&at.weights, at.done);
        let mut shown = self.problem.shown(at.done);
        shown.retain(|m| !at.taken.contains(m));
        shown
            .into_iter()
            .find(|&m| self.look(at, m, entropy).is_some())
    }

    /// The least cost of ending or of one more measurement of a list, once what is shown has been read.
    fn ahead(&mut self, at: &Point, list: &[usize]) -> f64 {
        if at.weight() <= 0.0 {
            return 0.0;
        }
        if let Some(shown) = self.shown(at) {
            return (0..self.problem.outcomes(shown))
                .filter_map(|outcome| self.read(at, shown, at.in_place, outcome))
                .collect::<Vec<_>>()
                .iter()
                .map(|next| self.ahead(next, list))
                .sum();
        }
        let now = self.repair_now(at);
        let looks = self.looks(at, Some(list));
        looks.iter().map(|look| look.then).fold(now, f64::min)
    }

    /// A measurement two steps ahead.
    fn measured(&mut self, at: &Point, look: &Look, second: &[usize]) -> Valued {
        let mut cost = look.cost;
        for outcome in 0..self.problem.outcomes(look.measurement) {
            if let Some(next) = self.read(at, look.measurement, look.leaves, outcome) {
                cost += self.ahead(&next, second);
            }
        }
        Valued {
            step: Step::Measure(look.measurement),
            cost,
            rate: look.rate(),
        }
    }

    /// A repair two steps ahead. Its bits are what its failure and what it shows tell; it is paid for by those
    /// that it does not cure.
    fn repaired(&mut self, at: &Point, group: usize, second: &[usize]) -> Valued {
        let (cost, next) = self.in_vain(at, group);
        let paid = cost * at.weight();
        let known = |policy: &Self, at: &Point| known_after(policy.problem, at.done, &at.weights);
        let wasted = paid + known(self, &next) - known(self, at);
        let bits = self.entropy(&at.weights, at.done) - self.left_after_reading(&next);
        Valued {
            step: Step::Repair(group),
            cost: paid + self.ahead(&next, second),
            rate: bits / wasted.max(f64::MIN_POSITIVE),
        }
    }

    /// The entropy expected once everything that repairs have shown is read.
    fn left_after_reading(&mut self, at: &Point) -> f64 {
        let Some(shown) = self.shown(at) else {
            return self.entropy(&at.weights, at.done);
        };
        (0..self.problem.outcomes(shown))
            .filter_map(|outcome| self.read(at, shown, at.in_place, outcome))
            .collect::<Vec<_>>()
            .iter()
            .map(|next| self.left_after_reading(next))
            .sum()
    }

    /// The repairs worth valuing: the one that ending begins with, and those that show something unread, the
    /// most probable for their cost first.
    fn repairs(&mut self, at: &Point, ends: Step) -> Vec<usize> {
        let problem = self.problem;
        weigh_groups(problem, &at.weights, &mut self.scratch);
        let unread = |group: usize| {
            let shown = problem.shown(problem.groups()[group].bits & !at.done);
            shown.iter().any(|m| !at.taken.contains(m))
        };
        let mut list: Vec<(f64, usize)> = (0..problem.groups().len())
            .filter(|&g| self.scratch.masses()[g] > 0.0 && self.may_repair(at, g))
            .filter(|&g| Step::Repair(g) != ends && unread(g))
            .map(|g| (self.scratch.masses()[g] / problem.left_of(g, at.done), g))
            .collect();
        list.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let first = match ends {
            Step::Repair(group) => Some(group),
            _ => None,
        };
        first
            .into_iter()
            .chain(list.into_iter().map(|of| of.1))
            .take(REPAIRS)
            .collect()
    }

    /// The entropy of what must be done, in bits times the weight: which repairs are left to do, where those that
    /// cost as much as escalation count as the unlisted cause does.
    fn entropy(&mut self, weights: &[f64], done: u128) -> f64 {
        let problem = self.problem;
        let mut other = weigh_groups(problem, weights, &mut self.scratch);
        let total: f64 = weights.iter().sum();
        let masses = self.scratch.masses_mut();
        if done & problem.shared() != 0 {
            // Groups with the same repairs left are one.
            for group in 0..masses.len() {
                let mut before = 0..group;
                let left = problem.groups()[group].bits & !done;
                let same = |&g: &usize| problem.groups()[g].bits & !done == left;
                if let Some(first) = before.find(same) {
                    masses[first] += masses[group];
                    masses[group] = 0.0;
                }
            }
        }
        let mut sum = 0.0;
        for (group, &mass) in masses.iter().enumerate() {
            if problem.left_of(group, done) >= problem.escalation_cost() {
                other += mass;
            } else {
                sum += times_log(mass);
            }
        }
        times_log(total) - sum - times_log(other)
    }
}

fn times_log(x: f64) -> f64 {
    if x > 0.0 { x * x.log2() } else { 0.0 }
}

/// The places in `looks` of the first steps to value, and the measurements looked at as second steps.
fn shortlists(looks: &[Look]) -> (Vec<usize>, Vec<usize>) {
    let mut by_bits: Vec<usize> = (0..looks.len()).collect();
    let mut by_saving = by_bits.clone();
    by_bits.sort_by(|&a, &b| looks[b].rate().total_cmp(&looks[a].rate()).then(a.cmp(&b)));
    by_saving.sort_by(|&a, &b| looks[a].then.total_cmp(&looks[b].then).then(a.cmp(&b)));
    let mut first: Vec<usize> = by_bits.into_iter().take(BY_BITS).collect();
    for look in by_saving.into_iter().take(BY_SAVING) {
        if !first.contains(&look) {
            first.push(look);
        }
    }
    let second = first.iter().map(|&look| looks[look].measurement).collect();
    (first, second)
}

/// `Σ_H w_H · min(cost(H), escalation)`: the right end if the cause were known for nothing, so that no policy
/// costs less.
pub fn known_for_nothing(problem: &Problem, weights: &[f64]) -> f64 {
    known_after(problem, 0, weights)
}

/// As [`known_for_nothing`], where the repairs of these bits are done.
fn known_after(problem: &Problem, done: u128, weights: &[f64]) -> f64 {
    let escalation = problem.escalation_cost();
    let of =
        |(&group, weight): (&usize, &f64)| weight * problem.left_of(group, done).min(escalation);
    let listed: f64 = problem.group_of().iter().zip(weights).map(of).sum();
    listed
        + weights
            .get(problem.candidates())
            .map_or(0.0, |w| w * escalation)
}
