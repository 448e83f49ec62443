//! What a policy comes to in names: which repair it ends in, what it ties up, how long it takes.

use std::collections::BTreeMap;

use super::standing::Standing;
use super::{Policy, PolicyNode};
use crate::knowledge::{MeasurementId, RepairId, SetUpId};

/// What a policy comes to, added up over all its paths.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outlook {
    /// How probable it is that the job ends in these repairs, the most probable first.
    pub ends: Vec<(Vec<RepairId>, f64)>,
    /// How probable it is that the job is handed on.
    pub handed_on: f64,
    /// How probable it is that a piece of equipment is tied up, by its name.
    pub equipment: BTreeMap<String, f64>,
    /// Expected minutes of measuring, set-ups included.
    pub testing_minutes: f64,
    /// The minutes of measuring that 19 jobs in 20 do not exceed.
    pub most_minutes: f64,
}

/// What is done in one step along a path, and how it comes out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Along {
    /// A measurement is taken, or read off what a repair has shown.
    Read {
        /// What is measured.
        measurement: MeasurementId,
        /// The outcome, by its place in the measurement.
        outcome: usize,
        /// Whether a repair has shown it.
        shown: bool,
    },
    /// Repairs are done that show something.
    Repaired {
        /// The repairs.
        repairs: Vec<RepairId>,
        /// Whether they cure it.
        cured: bool,
    },
}

/// One step along the likeliest path of a policy.
#[derive(Clone, Debug, PartialEq)]
pub struct PathStep {
    /// What is done, and how it comes out.
    pub along: Along,
    /// How probable it is that it comes out so, once it comes to this step.
    pub probability: f64,
    /// The minutes from the start to the end of this step.
    pub minutes_so_far: f64,
    /// The set-ups entered for it, in order.
    pub entered: Vec<SetUpId>,
}

impl Outlook {
    /// Adds up a policy.
    #[must_use]
    pub fn of(standing: &Standing<'_, '_>, policy: &Policy) -> Self {
        let mut sum = Sum {
            standing,
            ends: BTreeMap::new(),
            outlook: Self::default(),
            paths: Vec::new(),
        };
        sum.walk(&policy.tree, 1.0, 0.0, &mut Vec::new());
        let mut outlook = sum.outlook;
        outlook.ends = sum.ends.into_iter().collect();
        outlook
            .ends
            .sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        sum.paths.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut reached = 0.0;
        for (minutes, probability) in sum.paths {
            outlook.most_minutes = minutes;
            reached += probability;
            if reached >= 0.95 {
                break;
            }
        }
        outlook
    }
}

/// The sum over the paths of a policy.
struct Sum<'s, 'm, 'k> {
    standing: &'s Standing<'m, 'k>,
    ends: BTreeMap<Vec<RepairId>, f64>,
    outlook: Outlook,
    paths: Vec<(f64, f64)>,
}

impl Sum<'_, '_, '_> {
    fn walk(&mut self, node: &PolicyNode, probability: f64, minutes: f64, used: &mut Vec<String>) {
        match node {
            PolicyNode::Measure(measure) => {
                let before = used.len();
                for place in &measure.way.order {
                    let set_up = self.standing.model.family.set_up(SetUpId::at(*place));
                    if let Some(equipment) = &set_up.equipment
                        && !used.contains(equipment)
                    {
                        *self.outlook.equipment.entry(equipment.clone()).or_default() +=
                            probability;
                        used.push(equipment.clone());
                    }
                }
                self.outlook.testing_minutes += probability * measure.minutes;
                for branch in &measure.branches {
                    self.walk(
                        &branch.then,
                        probability * branch.probability,
                        minutes + measure.minutes,
                        used,
                    );
                }
                used.truncate(before);
            }
            PolicyNode::RepairOn(on) => {
                let cured = probability * on.probability;
                self.paths.push((minutes, cured));
                let repairs = self.standing.problem.groups()[on.group].repairs.iter();
                let repairs = repairs.map(|repair| RepairId::at(*repair)).collect();
                *self.ends.entry(repairs).or_default() += cured;
                self.walk(&on.then, probability - cured, minutes, used);
            }
            PolicyNode::Repair(repair) => {
                self.paths.push((minutes, probability));
                for step in &repair.steps {
                    let group = &self.standing.problem.groups()[step.group];
                    let repairs = group
                        .repairs
                        .iter()
                        .map(|repair| RepairId::at(*repair))
                        .collect();
                    *self.ends.entry(repairs).or_default() += probability * step.probability;
                }
                self.outlook.handed_on += probability * repair.escalates.unwrap_or(0.0);
            }
        }
    }
}

/// The likeliest outcome each time, from the first step to the repair.
#[must_use]
pub fn likeliest_path(standing: &Standing<'_, '_>, policy: &Policy) -> Vec<PathStep> {
    let mut path = Vec::new();
    let mut node = &policy.tree;
    let mut minutes = 0.0;
    loop {
        match node {
            PolicyNode::Measure(measure) => {
                minutes += measure.minutes;
                let likeliest = measure.branches.iter().reduce(|best, branch| {
                    if branch.probability > best.probability {
                        branch
                    } else {
                        best
                    }
                });
                let Some(likeliest) = likeliest else {
                    return path;
                };
                let entered = measure.way.order.iter();
                path.push(PathStep {
                    along: Along::Read {
                        measurement: standing.named(measure.measurement),
                        outcome: likeliest.outcome,
                        shown: measure.shown,
                    },
                    probability: likeliest.probability,
                    minutes_so_far: minutes,
                    entered: entered.map(|place| SetUpId::at(*place)).collect(),
                });
                node = &likeliest.then;
            }
            PolicyNode::RepairOn(on) => {
                minutes += on.minutes;
                let cured = on.probability >= 0.5;
                let repairs = on.repairs.iter();
                path.push(PathStep {
                    along: Along::Repaired {
                        repairs: repairs.map(|repair| RepairId::at(*repair)).collect(),
                        cured,
                    },
                    probability: on.probability.max(1.0 - on.probability),
                    minutes_so_far: minutes,
                    entered: Vec::new(),
                });
                if cured {
                    return path;
                }
                node = &on.then;
            }
            PolicyNode::Repair(_) => return path,
        }
    }
}
