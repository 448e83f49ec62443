//! The one policy: what to do next, from the belief, what is in place and the repairs done.
//!
//! It uses no clock and draws nothing, so the prompt, the list, the plan, the study and the cases all give the
//! same advice. What must come first does ([`rules`](super::rules)): the first looks, what a measurement waits for,
//! what a repair requires. Every other step considered is valued two steps ahead: its cost, and then the better of ending by
//! [`repair_now`](super::repair_now()) and of one more measurement. Of the steps that save at least
//! [`SHARE`] of the most that any saves, the one that tells most about the repair needed for its money is
//! taken. Where that ends the measuring on less than the shop repairs from, measuring on is preferred where it hardly costs
//! more, and then the likeliest repair. docs/method.md, section 10.

use super::point::{Point, Step, Taking};
use super::prices::Prices;
use super::problem::Problem;
use super::repair_now::{
    RepairNow, RepairScratch, repair_now_after, repair_now_cost_after, weigh_groups,
};
use super::rules::{Before, Road, Rules};
use super::set_up::{InPlace, Way};
use crate::knowledge::defaults::LEAST_BITS;
use std::collections::HashMap;
use std::sync::Arc;

/// Of the largest saving two steps ahead, the share that a step must save to be considered. Two steps do
/// not see all that a measurement is good for, so the largest saving alone is not followed.
pub const SHARE: f64 = 0.5;

/// Where no more measurements than this can tell anything, two steps see nearly all there is to gain, and
/// the largest saving is followed.
pub const FEW: usize = 4;

/// What measuring on, or a likelier repair, may cost more, as a share, than a repair that is less likely than the shop
/// repairs from.
const PATIENCE: f64 = 0.1;

/// The share of the doubt that the shop repairs on which may be left where the unit is opened or taken out.
const DOUBT_OPENED: f64 = 1.0 / 3.0;

/// How likely it must be that a repair cures which opens the unit, before it is done rather than the job handed on.
const RATHER_OPENED: f64 = 0.6;

/// How many measurements of the most bits for the money are valued two steps ahead. So many and
/// [`BY_SAVING`] more are looked at as the second step.
const BY_BITS: usize = 3;

/// How many measurements that save most one step ahead are valued beside them.
const BY_SAVING: usize = 2;

/// How many repairs are valued two steps ahead: the first of `repair_now`, and those that show something.
const REPAIRS: usize = 4;

/// Of what a recorded drive may read, a branch less likely than this is not followed further: it counts as ended there, which
/// is never worth more than going on.
const LEAST_BRANCH: f64 = 0.02;

/// Differences below this share of the cost are rounding.
const ROUNDING: f64 = 1e-12;

/// What the policy does at a point, and why.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decision {
    /// What is done.
    pub step: Step,
    /// What this step saves two steps ahead against ending by `repair_now`; 0 where nothing saves, below it where no repair
    /// is likely enough and it costs hardly more.
    pub saves: f64,
}

/// A step and its figures. Costs and bits are times the weight of the point.
struct Valued {
    step: Step,
    /// Whether it takes work.
    takes_work: bool,
    /// Expected cost two steps ahead.
    cost: f64,
    /// Bits about the repair needed for the money.
    rate: f64,
}

/// A measurement one step ahead.
struct Look {
    measurement: usize,
    /// What is read first on the way to it; itself where nothing is.
    first: usize,
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
    rules: Rules<'p>,
    scratch: RepairScratch,
    after: Vec<f64>,
    /// The point that was looked around at last.
    around: Option<Point>,
    /// What groups wait for at that point: each list once, and by group its place among them.
    before: Vec<Before>,
    before_of: Vec<usize>,
    prices: Prices,
    /// What repairs cost, by what is in place.
    repairs: HashMap<InPlace, Arc<[(f64, f64)]>>,
}

impl<'p> Policy<'p> {
    /// The policy for a problem.
    pub fn new(problem: &'p Problem) -> Self {
        Self {
            problem,
            rules: Rules::new(problem),
            scratch: RepairScratch::default(),
            after: Vec::new(),
            around: None,
            before: Vec::new(),
            before_of: Vec::new(),
            prices: problem.prices().clone(),
            repairs: HashMap::new(),
        }
    }

    /// The problem it decides.
    pub(super) const fn problem(&self) -> &'p Problem {
        self.problem
    }

    /// How a measurement is taken from a point; `None` where there is no way to its set-ups.
    pub fn taking(&mut self, at: &Point, measurement: usize) -> Option<Taking> {
        self.rules.taking(at, measurement)
    }

    /// The point after an outcome of a measurement taken so; `None` where it cannot come about.
    pub fn read(
        &self,
        at: &Point,
        measurement: usize,
        taking: &Taking,
        outcome: usize,
    ) -> Option<Point> {
        self.rules.read(at, measurement, taking, outcome)
    }

    /// The measurement that a step takes first and how it is taken; `None` for a step that measures nothing, and where there
    /// is no way to its set-ups.
    pub fn begin(&mut self, at: &Point, step: Step) -> Option<(usize, Taking)> {
        let measurement = step.measures()?;
        let taking = match step {
            Step::Record { drive, .. } => self.rules.recording(at, drive),
            _ => self.rules.taking(at, measurement),
        };
        Some((measurement, taking?))
    }

    /// The cost of what is left of a group's repairs, and the point where they were in vain.
    pub fn in_vain(&mut self, at: &Point, group: usize) -> (f64, Point) {
        self.rules.in_vain(at, group)
    }

    /// What must be read before the repairs of a group, in order; `None` where they may not be done.
    pub fn required(&mut self, at: &Point, group: usize) -> Option<Vec<usize>> {
        self.rules.required(at, group)
    }

    /// Whether a measurement is open at a point and tells something.
    pub(super) fn tells(&mut self, at: &Point, measurement: usize) -> bool {
        self.rules.tells(at, measurement)
    }

    /// The minutes of what is left of a group's repairs.
    pub(super) fn minutes_left(&self, at: &Point, group: usize) -> f64 {
        self.rules.minutes_left(at, group)
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
        // What is shown costs nothing to read, and is never worth less than it costs.
        if let Some(measurement) = self.shown(at).or_else(|| self.first_look(at)) {
            return Decision {
                step: Step::Measure(measurement),
                saves: 0.0,
            };
        }
        self.look_around(at);
        let now = self.repair_now(at);
        let looks = self.looks(at, None);
        let (first, second) = shortlists(&looks);
        let mut options: Vec<Valued> = first
            .iter()
            .map(|&look| self.measured(at, &looks[look], &second))
            .collect();
        options.extend(self.recorded(at, &looks, &second));
        let ends = self.first_group(at);
        for group in self.repairs(at, ends) {
            options.push(self.repaired(at, group, &second));
        }
        let least = options.iter().map(|o| o.cost).fold(now, f64::min);
        let share = if looks.len() <= FEW { 1.0 } else { SHARE };
        let enough = now - share * (now - least) + ROUNDING * now;
        let worth_it = now - self.least_saving(at, now);
        let saving = options.iter().filter(|o| match o.step {
            Step::Measure(_) | Step::Record { .. } if o.takes_work => {
                o.cost <= worth_it && o.cost <= enough
            }
            _ => o.cost < now * (1.0 - ROUNDING) && o.cost <= enough,
        });
        let best = most_telling(saving);
        let (mut step, mut cost) = match (best, ends) {
            (Some(option), _) => (option.step, option.cost),
            (None, Some(group)) => (self.towards(at, group), now),
            (None, None) => (Step::Escalate, now),
        };
        if self.is_a_try(at, step) {
            let most = cost * (1.0 + PATIENCE);
            let rather = options.iter();
            let rather = rather.filter(|o| o.step.measures().is_some() && o.cost <= most);
            if let Some(option) = most_telling(rather) {
                (step, cost) = (option.step, option.cost);
            } else if let Some((likelier, dearer)) = self.likelier(at, step, most, &second) {
                (step, cost) = (self.towards(at, likelier), dearer);
            }
        }
        Decision {
            step,
            saves: (now - cost) / at.weight(),
        }
    }

    /// Whether a step ends the measuring on less than a shop repairs from: a repair that is less likely to cure, or handing
    /// on what is less likely to be unlisted.
    fn is_a_try(&mut self, at: &Point, step: Step) -> bool {
        let repair_from = self.problem.parts().repair_from.get();
        match step {
            Step::Measure(_) | Step::Record { .. } => false,
            Step::Repair(group) => {
                let opened = self
                    .problem
                    .opens(self.problem.groups()[group].bits & !at.done);
                let share = if opened && repair_from > 0.0 {
                    DOUBT_OPENED
                } else {
                    1.0
                };
                let least = 1.0 - (1.0 - repair_from) * share;
                weigh_groups(self.problem, &at.weights, &mut self.scratch);
                // What it completes is cured as well.
                let done = at.done | self.problem.groups()[group].bits;
                let cured = self.problem.cured_with(group, done);
                cured.map(|g| self.scratch.masses()[g]).sum::<f64>() < least * at.weight()
            }
            Step::Escalate => self.problem.unlisted(&at.weights) < repair_from * at.weight(),
        }
    }

    /// The likeliest repairs that cost at most so much two steps ahead, where they are likelier to cure than those of a
    /// step, or than the unlisted cause is where the step hands the job on; and what they cost. A unit is opened rather
    /// than handed on only where that cures it with [`RATHER_OPENED`].
    ///
    /// A group is weighed by what needs all its repairs: with what it completes, two repairs would pass for likelier than
    /// the one of them that is enough.
    fn likelier(
        &mut self,
        at: &Point,
        than: Step,
        most: f64,
        second: &[usize],
    ) -> Option<(usize, f64)> {
        let problem = self.problem;
        self.price(at, at.in_place, None, &[]);
        let unlisted = weigh_groups(problem, &at.weights, &mut self.scratch);
        let mass = self.scratch.masses().to_vec();
        let opens = |group: usize| problem.opens(problem.groups()[group].bits & !at.done);
        let (least, opened) = match than {
            Step::Repair(group) => (mass[group], 0.0),
            _ => (unlisted, RATHER_OPENED * at.weight()),
        };
        // What may not be done, as nothing is opened while the readings fit badly, has no price.
        let mut likelier: Vec<usize> = (0..mass.len())
            .filter(|&group| self.prices.left_of(group, at.done).is_finite())
            .filter(|&group| mass[group] > least && (mass[group] > opened || !opens(group)))
            .collect();
        likelier.sort_by(|&a, &b| mass[b].total_cmp(&mass[a]).then(a.cmp(&b)));
        likelier.into_iter().find_map(|group| {
            let cost = self.repaired(at, group, second).cost;
            (cost <= most).then_some((group, cost))
        })
    }

    /// What a measurement must save, times the weight of the point.
    fn least_saving(&self, at: &Point, now: f64) -> f64 {
        let parts = self.problem.parts();
        let share = parts.least_saving_share.get().max(ROUNDING) * now;
        share.max(parts.least_saving.get() * at.weight())
    }

    /// Takes in what the groups wait for at a point, and which are not opened.
    fn look_around(&mut self, at: &Point) {
        if self.problem.ruled() && self.around.as_ref() != Some(at) {
            self.around = Some(at.clone());
            // Nothing is opened while the readings fit nothing well.
            let fits_badly = self.problem.fits_badly(at);
            self.before.clear();
            self.before_of.clear();
            for (place, group) in self.problem.groups().iter().enumerate() {
                let before = if fits_badly && self.problem.opens(group.bits & !at.done) {
                    Before::Never
                } else {
                    self.rules.before_group(at, place)
                };
                let known = self.before.iter().position(|of| *of == before);
                self.before_of.push(known.unwrap_or(self.before.len()));
                if known.is_none() {
                    self.before.push(before);
                }
            }
        }
    }

    /// The prices of repairs where some set-ups are in place, at a point or once one more measurement was read there,
    /// whose outcome closes some.
    fn price(&mut self, at: &Point, in_place: InPlace, also: Option<usize>, closes: &[usize]) {
        if self.problem.ruled() {
            let read = |m: usize| match at.taken.contains(&m) || also == Some(m) {
                false if closes.contains(&m) || at.closed.contains(&m) => None,
                read => Some(read),
            };
            let problem = self.problem;
            let repairs = self.repairs.entry(in_place);
            let repairs = repairs.or_insert_with(|| problem.repairs_at(in_place));
            let left: Vec<f64> = self.before.iter().map(|of| of.left(read)).collect();
            let groups = problem.groups().iter().zip(&self.before_of);
            let groups = groups.map(|(group, of)| (group.bits, left[*of]));
            self.prices = Prices::new(Arc::clone(repairs), groups);
        }
    }

    /// The first measurement on the way to the first look that is still to be taken.
    fn first_look(&mut self, at: &Point) -> Option<usize> {
        let looks = self.problem.parts().first_looks.iter();
        let open: Vec<usize> = looks.copied().filter(|&m| at.is_open(m)).collect();
        open.into_iter()
            .find_map(|m| Some(self.rules.road(at, &[m])?.order[0]))
    }

    /// The step towards a measurement that can be taken: what it waits for, else it itself.
    pub(super) fn towards_measuring(&mut self, at: &Point, measurement: usize) -> Step {
        let road = self.rules.road(at, &[measurement]);
        Step::Measure(road.map_or(measurement, |road| road.order[0]))
    }

    /// The step towards the repairs of a group: of what they wait for the reading that costs least one step ahead,
    /// else they themselves.
    fn towards(&mut self, at: &Point, group: usize) -> Step {
        let Before::Read(list) = self.rules.before_group(at, group) else {
            return Step::Escalate;
        };
        if list.is_empty() {
            return Step::Repair(group);
        }
        let mut least: Option<(f64, usize)> = None;
        for (measurement, _) in list {
            let Some(road) = self.rules.road(at, &[measurement]) else {
                continue;
            };
            if road.order[0] == measurement {
                let then = self.then(at, &road, measurement);
                if least.is_none_or(|(cost, _)| then < cost * (1.0 - ROUNDING)) {
                    least = Some((then, measurement));
                }
            }
        }
        least.map_or(Step::Escalate, |(_, measurement)| {
            Step::Measure(measurement)
        })
    }

    /// Expected cost of ending without measuring again, but for what must be read first.
    fn repair_now(&mut self, at: &Point) -> f64 {
        self.price(at, at.in_place, None, &[]);
        let scratch = &mut self.scratch;
        repair_now_cost_after(self.problem, &self.prices, at.done, &at.weights, scratch)
    }

    /// The cheapest way to end without measuring again, but for what must be read first.
    pub fn end_now(&mut self, at: &Point) -> RepairNow {
        self.look_around(at);
        self.price(at, at.in_place, None, &[]);
        repair_now_after(self.problem, &self.prices, at.done, &at.weights)
    }

    /// The first group of ending without measuring again.
    fn first_group(&mut self, at: &Point) -> Option<usize> {
        self.price(at, at.in_place, None, &[]);
        let order = repair_now_after(self.problem, &self.prices, at.done, &at.weights);
        order.steps.first().map(|step| step.group)
    }

    /// The first step of ending without measuring again: what must be read first, a repair, or escalation.
    pub fn end(&mut self, at: &Point) -> Decision {
        self.look_around(at);
        let group = self.first_group(at);
        Decision {
            step: group.map_or(Step::Escalate, |group| self.towards(at, group)),
            saves: 0.0,
        }
    }

    /// What ending now costs at a point, times its weight: for [`Policy::one_step`].
    pub(super) fn ending(&mut self, at: &Point) -> f64 {
        self.look_around(at);
        self.repair_now(at)
    }

    /// A measurement one step ahead: what comes before it, and what it saves against ending at the cost `now` at the
    /// same point; `None` where it cannot be taken.
    pub(super) fn one_step(
        &mut self,
        at: &Point,
        now: f64,
        measurement: usize,
    ) -> Option<(Vec<usize>, f64)> {
        let mut road = self.rules.road(at, &[measurement])?;
        let then = self.then(at, &road, measurement);
        road.order.retain(|m| *m != measurement);
        Some((road.order, (now - then) / at.weight()))
    }

    /// The expected cost of a road and of ending after its last measurement, times the weight of the point.
    fn then(&mut self, at: &Point, road: &Road, measurement: usize) -> f64 {
        let problem = self.problem;
        let mut then = road.cost * at.weight();
        let mut after = std::mem::take(&mut self.after);
        after.resize(at.weights.len(), 0.0);
        let effects = &problem.foreseen(measurement).effects;
        let mut priced = false;
        for outcome in 0..problem.outcomes(measurement) {
            if problem.after(measurement, outcome, &at.weights, &mut after) > 0.0 {
                let effect = effects.iter().find(|(of, _)| *of == outcome);
                if !priced || !effects.is_empty() {
                    priced = true;
                    let closes = effect.map_or(&[][..], |(_, effect)| &effect.closes);
                    self.price(at, road.leaves, Some(measurement), closes);
                }
                let scratch = &mut self.scratch;
                then += repair_now_cost_after(problem, &self.prices, at.done, &after, scratch);
            }
        }
        self.after = after;
        then
    }

    /// Every measurement that tells something, one step ahead; with `only`, of those.
    fn looks(&mut self, at: &Point, only: Option<&[usize]>) -> Vec<Look> {
        let entropy = self.rules.entropy(&at.weights, at.done);
        (0..self.problem.measurements())
            .filter(|m| only.is_none_or(|only| only.contains(m)) && at.is_open(*m))
            .filter_map(|m| self.look(at, m, entropy))
            .collect()
    }

    /// A measurement one step ahead, with what it waits for; `None` where it cannot be taken or tells nothing.
    fn look(&mut self, at: &Point, measurement: usize, entropy: f64) -> Option<Look> {
        let weight = at.weight();
        let bits = entropy - self.rules.entropy_after(at, measurement);
        if bits < LEAST_BITS * weight {
            return None;
        }
        let road = self.rules.road(at, &[measurement])?;
        Some(Look {
            measurement,
            first: road.order[0],
            cost: road.cost * weight,
            leaves: road.leaves,
            bits,
            then: self.then(at, &road, measurement),
        })
    }

    /// The weight of the group that weighs most.
    pub(super) fn leading(&mut self, at: &Point) -> f64 {
        weigh_groups(self.problem, &at.weights, &mut self.scratch);
        self.scratch.masses().iter().copied().fold(0.0, f64::max)
    }

    /// A measurement that is shown for nothing, by the last one, by a repair or by a recording, and that tells something.
    fn shown(&mut self, at: &Point) -> Option<usize> {
        let last = at.taken.last();
        let mut shown = last.map_or(Vec::new(), |&last| {
            self.problem.foreseen(last).along.clone()
        });
        if at.done != 0 {
            shown.extend(self.problem.shown(at.done));
        }
        shown.extend(&at.recorded);
        shown.into_iter().find(|&m| self.rules.tells(at, m))
    }

    /// The least cost of ending or of one more measurement of a list, once what is shown has been read; a point that weighs
    /// less than `least` is read no further.
    fn ahead(&mut self, at: &Point, list: &[usize], least: f64) -> f64 {
        if at.weight() <= 0.0 {
            return 0.0;
        }
        if at.weight() < least {
            return self.repair_now(at);
        }
        if let Some(shown) = self.shown(at) {
            return self
                .outcomes_of(at, shown)
                .iter()
                .map(|next| self.ahead(next, list, least))
                .sum();
        }
        let now = self.repair_now(at);
        let looks = self.looks(at, Some(list));
        looks.iter().map(|look| look.then).fold(now, f64::min)
    }

    /// A measurement two steps ahead.
    fn measured(&mut self, at: &Point, look: &Look, second: &[usize]) -> Valued {
        let mut cost = look.cost;
        let taking = leaving(look.leaves);
        for outcome in 0..self.problem.outcomes(look.measurement) {
            if let Some(next) = self.rules.read(at, look.measurement, &taking, outcome) {
                cost += self.ahead(&next, second, 0.0);
            }
        }
        Valued {
            step: Step::Measure(look.first),
            takes_work: look.cost > 0.0,
            cost,
            rate: look.rate(),
        }
    }

    /// Of the drives that can be recorded the one that tells most for its money, two steps ahead: all that it answers, then
    /// one more measurement.
    fn recorded(&mut self, at: &Point, looks: &[Look], second: &[usize]) -> Option<Valued> {
        let least = LEAST_BRANCH * at.weight();
        let entropy = self.rules.entropy(&at.weights, at.done);
        let mut best: Option<(Valued, Point)> = None;
        for drive in 0..self.problem.parts().drives.len() {
            let Some(taking) = self.rules.recording(at, drive) else {
                continue;
            };
            let answered = looks
                .iter()
                .filter(|look| taking.recorded.contains(&look.measurement));
            let Some(first) = answered.max_by(|a, b| a.bits.total_cmp(&b.bits)) else {
                continue;
            };
            let mut next = at.clone();
            next.in_place = taking.way.leaves;
            next.recorded = taking.recorded;
            let bits = entropy - self.left_after_reading(&next, least);
            let cost = taking.cost * at.weight();
            let rate = bits / cost.max(f64::MIN_POSITIVE);
            if best.as_ref().is_none_or(|(best, _)| rate > best.rate) {
                let step = Step::Record {
                    drive,
                    first: first.measurement,
                };
                let valued = Valued {
                    step,
                    takes_work: true,
                    cost,
                    rate,
                };
                best = Some((valued, next));
            }
        }
        let (mut valued, next) = best?;
        valued.cost += self.ahead(&next, second, least);
        Some(valued)
    }

    /// The points that reading what is shown leads to.
    fn outcomes_of(&self, at: &Point, shown: usize) -> Vec<Point> {
        let taking = leaving(at.in_place);
        (0..self.problem.outcomes(shown))
            .filter_map(|outcome| self.rules.read(at, shown, &taking, outcome))
            .collect()
    }

    /// A repair two steps ahead. Its bits are what its failure and what it shows tell; it is paid for by those
    /// that it does not cure.
    fn repaired(&mut self, at: &Point, group: usize, second: &[usize]) -> Valued {
        let (work, next) = self.rules.in_vain(at, group);
        let first = self.rules.before_group(at, group);
        let paid = (first.cost() + work) * at.weight();
        let known = |policy: &Self, at: &Point| known_after(policy.problem, at.done, &at.weights);
        let wasted = paid + known(self, &next) - known(self, at);
        let bits = self.rules.entropy(&at.weights, at.done) - self.left_after_reading(&next, 0.0);
        Valued {
            takes_work: true,
            step: self.towards(at, group),
            cost: paid + self.ahead(&next, second, 0.0),
            rate: bits / wasted.max(f64::MIN_POSITIVE),
        }
    }

    /// The entropy expected once everything that is shown is read; a point that weighs less than `least` is read no further.
    fn left_after_reading(&mut self, at: &Point, least: f64) -> f64 {
        let shown = (at.weight() >= least).then(|| self.shown(at)).flatten();
        let Some(shown) = shown else {
            return self.rules.entropy(&at.weights, at.done);
        };
        self.outcomes_of(at, shown)
            .iter()
            .map(|next| self.left_after_reading(next, least))
            .sum()
    }

    /// The repairs worth valuing: the one that ending begins with, and those that show something unread, the
    /// most probable for their cost first.
    fn repairs(&mut self, at: &Point, ends: Option<usize>) -> Vec<usize> {
        let problem = self.problem;
        self.price(at, at.in_place, None, &[]);
        weigh_groups(problem, &at.weights, &mut self.scratch);
        let unread = |group: usize| {
            let shown = problem.shown(problem.groups()[group].bits & !at.done);
            shown.iter().any(|&m| at.is_open(m))
        };
        let left = |g: usize| self.prices.left_of(g, at.done);
        let mut list: Vec<(f64, usize)> = (0..problem.groups().len())
            .filter(|&g| self.scratch.masses()[g] > 0.0 && left(g).is_finite())
            .filter(|&g| Some(g) != ends && problem.groups()[g].bits & !at.done != 0 && unread(g))
            .map(|g| (self.scratch.masses()[g] / left(g), g))
            .collect();
        list.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        ends.into_iter()
            .chain(list.into_iter().map(|of| of.1))
            .take(REPAIRS)
            .collect()
    }
}

/// Of some steps the one that tells most for its money, the first of equals.
fn most_telling<'o>(options: impl Iterator<Item = &'o Valued>) -> Option<&'o Valued> {
    options.reduce(|best, option| {
        if option.rate > best.rate {
            option
        } else {
            best
        }
    })
}

/// A measurement that is taken with this in place, without what it costs.
fn leaving(leaves: InPlace) -> Taking {
    Taking {
        way: Way {
            leaves,
            ..Way::default()
        },
        ..Taking::default()
    }
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
    let of = |(&group, weight): (&usize, &f64)| {
        weight * problem.prices().left_of(group, done).min(escalation)
    };
    let listed: f64 = problem.group_of().iter().zip(weights).map(of).sum();
    listed + problem.unlisted(weights) * escalation
}
