//! The policy written out, and what following it comes to.

use super::drawn::{Course, Vehicles, exactly, followed, mean_of_drawn};
use super::point::{Point, Step, Taking};
use super::policy::{Policy, known_for_nothing};
use super::problem::Problem;
use super::repair_now::{RepairNow, RepairStep};
use super::set_up::InPlace;
use super::standing::Standing;
use super::stop::Stop;
use crate::knowledge::{RepairId, SetUpId};
use std::collections::{BTreeMap, BTreeSet};

/// How many vehicles a plan is followed on: at most, and at least where the problem is large.
const VEHICLES: usize = 400;
const FEWEST_VEHICLES: usize = 24;

/// Of the vehicles one in so many is followed first, whatever happens: what there is if the rest is given up.
const FIRST_ONE_IN: usize = 8;

/// Candidates times measurements times vehicles: what keeps a plan to two seconds.
const WORK: usize = 450_000;

/// The seed of those vehicles.
const SEED: u64 = 1;

/// Where all outcomes of all measurements come to no more combinations than this, every branch is followed.
const COMBINATIONS: usize = 300;

/// A shop that works by its habit stops measuring when the leading repair is this probable.
const SURE: f64 = 0.8;

/// The policy from a point on.
#[derive(Clone, Debug, PartialEq)]
pub enum PlanNode {
    /// A measurement.
    Measure(Box<Measure>),
    /// A repair, and measuring goes on if it does not cure the vehicle.
    RepairOn(Box<RepairOn>),
    /// No more measuring: these repairs in this order, then escalation.
    Repair(RepairNow),
}

/// A measurement of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Measure {
    /// The measurement, by index.
    pub measurement: usize,
    /// How it is taken.
    pub taking: Taking,
    /// Each outcome that can come about, ascending; empty where the plan is not written out so far.
    pub branches: Vec<Branch>,
}

/// Repairs of one group after which measuring goes on.
#[derive(Clone, Debug, PartialEq)]
pub struct RepairOn {
    /// The group, by index.
    pub group: usize,
    /// What is done, and the probability that the job ends here.
    pub step: RepairStep,
    /// What follows if it does not; `None` where the plan is not written out so far.
    pub then: Option<PlanNode>,
}

/// An outcome and what the policy does then.
#[derive(Clone, Debug, PartialEq)]
pub struct Branch {
    /// The outcome, by index.
    pub outcome: usize,
    /// Its probability once the measurement is taken.
    pub probability: f64,
    /// What follows.
    pub then: PlanNode,
}

/// What following a way of working comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct Outlook {
    /// Expected cost of everything.
    pub cost: f64,
    /// Half the width of the 95 % interval of the cost; 0 where every branch was followed.
    pub within: f64,
    /// On how many drawn vehicles it was followed, if the rest was given up.
    pub given_up_after: Option<usize>,
    /// Expected minutes of everything, escalation included.
    pub minutes: f64,
    /// The minutes of everything that nine jobs in ten do not exceed.
    pub most_minutes: f64,
    /// Expected cost of measuring.
    pub testing: f64,
    /// Expected cost of repairs.
    pub repair: f64,
    /// Expected cost of escalation.
    pub escalation: f64,
    /// Expected minutes of measuring.
    pub testing_minutes: f64,
    /// The minutes of measuring that nine jobs in ten do not exceed.
    pub most_testing_minutes: f64,
    /// How probable it is that each group is the cure.
    pub ends: Vec<f64>,
    /// How probable it is that the job is handed on.
    pub handed_on: f64,
    /// The set-ups entered and how probable each combination of them is.
    pub entered: Vec<(InPlace, f64)>,
}

/// The policy from a belief on.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The first step.
    pub first: Step,
    /// The policy, written out so many steps deep.
    pub tree: PlanNode,
    /// The steps where each reads as is likeliest.
    pub path: Vec<PathStep>,
    /// What following the policy comes to.
    pub outlook: Outlook,
    /// What repairing at once would cost.
    pub repair_now: f64,
    /// No way of working costs less.
    pub lower_bound: f64,
}

/// One step along the likeliest path of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct PathStep {
    /// What is done: a measurement, a recorded drive or a repair.
    pub step: Step,
    /// How a measurement is taken.
    pub taking: Option<Taking>,
    /// The likeliest outcome of a measurement; of a repair 1 if it is the likelier cure, else 0.
    pub outcome: usize,
    /// How probable that is, once it comes to this step.
    pub probability: f64,
    /// The minutes from the start to the end of this step.
    pub minutes_so_far: f64,
}

impl Outlook {
    /// How probable it is that each piece of equipment is needed, by its name.
    pub fn equipment(&self, standing: &Standing<'_, '_>) -> BTreeMap<String, f64> {
        let mut sums: BTreeMap<String, f64> = BTreeMap::new();
        for (entered, probability) in &self.entered {
            let set_ups = entered.indices().map(SetUpId::at);
            let used: BTreeSet<&String> = set_ups
                .filter_map(|id| standing.model.family.set_up(id).equipment.as_ref())
                .collect();
            for name in used {
                *sums.entry(name.clone()).or_default() += probability;
            }
        }
        sums
    }

    /// How probable it is that each set of repairs is the cure, the most probable first; those that never are
    /// left out.
    pub fn cures(&self, standing: &Standing<'_, '_>) -> Vec<(Vec<RepairId>, f64)> {
        let mut cures: Vec<(Vec<RepairId>, f64)> = (0..self.ends.len())
            .filter(|&group| self.ends[group] > 0.0)
            .map(|group| (standing.repairs_of(group), self.ends[group]))
            .collect();
        cures.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        cures
    }
}

impl Plan {
    /// The policy from a point on, written out so many steps deep. Once `stop` is asked for, what following it comes
    /// to is told from fewer vehicles.
    pub fn new(problem: &Problem, start: &Point, depth: usize, stop: Stop<'_>) -> Self {
        let mut policy = Policy::new(problem);
        let weight = start.weight().max(f64::MIN_POSITIVE);
        Self {
            first: policy.decide(start).step,
            tree: written_out(&mut policy, problem, start, depth),
            path: likeliest_path(&mut policy, problem, start),
            outlook: outlook(problem, start, stop),
            repair_now: policy.end_now(start).cost,
            lower_bound: known_for_nothing(problem, &start.weights) / weight,
        }
    }
}

/// What following the policy comes to.
pub fn outlook(problem: &Problem, start: &Point, stop: Stop<'_>) -> Outlook {
    expected(problem, start, stop, || {
        let mut policy = Policy::new(problem);
        move |at: &Point| policy.decide(at).step
    })
}

/// What following a list of measurements comes to: each is left out where it tells nothing, and measuring stops
/// where a repair is sure enough or the list is at its end.
pub fn habitual(problem: &Problem, start: &Point, list: &[usize], stop: Stop<'_>) -> Outlook {
    expected(problem, start, stop, || {
        let mut policy = Policy::new(problem);
        move |at: &Point| {
            let sure = policy.leading(at) >= SURE * at.weight();
            let mut list = list.iter().copied().filter(|_| !sure);
            match list.find(|&m| policy.tells(at, m) && policy.taking(at, m).is_some()) {
                Some(next) => policy.towards_measuring(at, next),
                None => policy.end(at).step,
            }
        }
    })
}

fn expected<D: FnMut(&Point) -> Step>(
    problem: &Problem,
    start: &Point,
    stop: Stop<'_>,
    make: impl Fn() -> D + Sync,
) -> Outlook {
    let mut policy = Policy::new(problem);
    let combinations = (0..problem.measurements())
        .filter(|&m| policy.tells(start, m))
        .fold(1_usize, |all, m| all.saturating_mul(problem.outcomes(m)));
    if start.weight() <= 0.0 || combinations <= COMBINATIONS {
        return summed_up(problem, &exactly(problem, start, make()), 0.0, None);
    }
    let size = problem.weights() * problem.measurements().max(1);
    let count = (WORK / size).clamp(FEWEST_VEHICLES, VEHICLES);
    let drawn = |count| Vehicles::drawn(problem, &start.weights, count, SEED);
    let of_drawn = |courses: &[Course], given_up| {
        let costs: Vec<f64> = courses.iter().map(Course::cost).collect();
        summed_up(problem, courses, mean_of_drawn(&costs).1, given_up)
    };
    let few = drawn(count / FIRST_ONE_IN);
    let first = (!stop.is_never()).then(|| followed(start, &few, &make));
    let courses = followed(start, &drawn(count).until(stop), &make);
    match first {
        Some(first) if courses.len() < count => of_drawn(&first, Some(few.count())),
        _ => of_drawn(&courses, None),
    }
}

fn summed_up(
    problem: &Problem,
    courses: &[Course],
    within: f64,
    given_up_after: Option<usize>,
) -> Outlook {
    let mean = |of: &dyn Fn(&Course) -> f64| -> f64 {
        courses.iter().map(|c| c.probability * of(c)).sum::<f64>() + 0.0
    };
    let mut ends = vec![0.0; problem.groups().len()];
    let mut entered: Vec<(InPlace, f64)> = Vec::new();
    for course in courses {
        if let Some(group) = course.cured_by {
            ends[group] += course.probability;
        }
        match entered.iter_mut().find(|of| of.0 == course.entered) {
            Some(of) => of.1 += course.probability,
            None => entered.push((course.entered, course.probability)),
        }
    }
    Outlook {
        cost: mean(&Course::cost),
        within,
        given_up_after,
        minutes: mean(&|course| course.minutes),
        most_minutes: nine_in_ten(courses, |course| course.minutes),
        testing: mean(&|course| course.testing),
        repair: mean(&|course| course.repair),
        escalation: mean(&|course| course.escalation),
        testing_minutes: mean(&|course| course.testing_minutes),
        most_testing_minutes: nine_in_ten(courses, |course| course.testing_minutes),
        ends,
        handed_on: mean(&|course| f64::from(u8::from(course.cured_by.is_none()))),
        entered,
    }
}

/// What nine jobs in ten do not exceed.
fn nine_in_ten(courses: &[Course], of: impl Fn(&Course) -> f64) -> f64 {
    let mut all: Vec<(f64, f64)> = courses
        .iter()
        .map(|course| (of(course), course.probability))
        .collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut reached = 0.0;
    let most = all.iter().find(|(_, probability)| {
        reached += probability;
        reached >= 0.9 - 1e-9
    });
    most.map_or(0.0, |of| of.0)
}

/// The policy from a point on, so many steps deep.
fn written_out(policy: &mut Policy<'_>, problem: &Problem, at: &Point, depth: usize) -> PlanNode {
    let weight = at.weight();
    match policy.decide(at).step {
        step @ (Step::Measure(_) | Step::Record { .. }) => {
            let Some((measurement, taking)) = policy.begin(at, step) else {
                return ended(problem, weight);
            };
            let branches = if depth == 0 {
                0
            } else {
                problem.outcomes(measurement)
            };
            let branches = (0..branches)
                .filter_map(|outcome| {
                    let next = policy.read(at, measurement, &taking, outcome)?;
                    Some(Branch {
                        outcome,
                        probability: next.weight() / weight,
                        then: written_out(policy, problem, &next, depth - 1),
                    })
                })
                .collect();
            PlanNode::Measure(Box::new(Measure {
                measurement,
                taking,
                branches,
            }))
        }
        Step::Repair(group) => {
            let (cost, next) = policy.in_vain(at, group);
            let left = next.weight() / weight;
            let step = RepairStep {
                group,
                repairs: problem.repairs_of(problem.groups()[group].bits & !at.done),
                probability: 1.0 - left,
                reached: 1.0,
                cost,
                minutes: policy.minutes_left(at, group),
            };
            let then = if left > 0.0 {
                written_out(policy, problem, &next, depth.saturating_sub(1))
            } else {
                ended(problem, 0.0)
            };
            match then {
                PlanNode::Repair(rest) => PlanNode::Repair(before(step, left, rest)),
                then => PlanNode::RepairOn(Box::new(RepairOn {
                    group,
                    step,
                    then: (depth > 0).then_some(then),
                })),
            }
        }
        Step::Escalate => ended(problem, weight),
    }
}

/// The end without any repair: escalation, unless there is nothing left.
fn ended(problem: &Problem, weight: f64) -> PlanNode {
    let some = weight > 0.0;
    PlanNode::Repair(RepairNow {
        cost: if some { problem.escalation_cost() } else { 0.0 },
        minutes: if some {
            problem.parts().escalation.minutes.get()
        } else {
            0.0
        },
        steps: Vec::new(),
        escalates: some.then_some(1.0),
        exact: false,
    })
}

/// A repair before others that it is followed by with the probability `left`.
fn before(step: RepairStep, left: f64, rest: RepairNow) -> RepairNow {
    let later = rest.steps.into_iter().map(|later| RepairStep {
        probability: later.probability * left,
        reached: later.reached * left,
        ..later
    });
    RepairNow {
        cost: step.cost + left * rest.cost,
        minutes: step.minutes + left * rest.minutes,
        escalates: rest.escalates.map(|share| share * left),
        exact: false,
        steps: std::iter::once(step).chain(later).collect(),
    }
}

/// The likeliest outcome each time, from the first step to the last measurement or the likely cure.
fn likeliest_path(policy: &mut Policy<'_>, problem: &Problem, start: &Point) -> Vec<PathStep> {
    let mut path = Vec::new();
    let mut at = start.clone();
    let mut minutes = 0.0;
    let mut measured = 0;
    loop {
        let weight = at.weight();
        let step = policy.decide(&at).step;
        let (outcome, next, taking) = match step {
            Step::Measure(_) | Step::Record { .. } => {
                let Some((measurement, taking)) = policy.begin(&at, step) else {
                    break;
                };
                let likeliest = (0..problem.outcomes(measurement))
                    .filter_map(|o| Some((o, policy.read(&at, measurement, &taking, o)?)))
                    .reduce(|best, next| {
                        if next.1.weight() > best.1.weight() {
                            next
                        } else {
                            best
                        }
                    });
                let Some((outcome, next)) = likeliest else {
                    break;
                };
                minutes += taking.minutes;
                (outcome, next, Some(taking))
            }
            Step::Repair(group) => {
                minutes += policy.minutes_left(&at, group);
                let next = policy.in_vain(&at, group).1;
                (usize::from(next.weight() <= 0.5 * weight), next, None)
            }
            Step::Escalate => break,
        };
        let probability = match (step, outcome) {
            (Step::Repair(_), 1) => 1.0 - next.weight() / weight,
            _ => next.weight() / weight,
        };
        let cured = taking.is_none() && outcome == 1;
        path.push(PathStep {
            step,
            taking,
            outcome,
            probability,
            minutes_so_far: minutes,
        });
        if step.measures().is_some() {
            measured = path.len();
        }
        if cured || next.weight() <= 0.0 {
            break;
        }
        at = next;
    }
    // Repairs in a row at the end are no part of the order of measurements.
    path.truncate(measured);
    path
}
