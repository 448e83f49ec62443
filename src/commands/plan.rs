//! `plan`: the whole order, for the foreman.

use std::sync::atomic::{AtomicBool, Ordering};

use clap::Args;
use serde::Serialize;
use serde_json::{Value, json};

use super::args::CaseArguments;
use super::basis;
use super::basis::Basis;
use super::progress;
use super::shop::{self, ShopArguments};
use super::{DONE, Error, Streams};
use crate::decide::{
    OrderBy, Outlook, Plan as Planned, PlanNode, Policy, Standing, Step, Stop, habitual, outlook,
};
use crate::drawing;
use crate::knowledge::{LaidOver, Recorder, RepairId, Workshop};
use crate::terminal;
use crate::text::{Page, figures};

/// Write out what is advised from here on, step by step, and what it comes to.
#[derive(Debug, Args)]
pub(super) struct Plan {
    #[command(flatten)]
    case: CaseArguments,
    /// Accepted and ignored: the plan is no longer searched for
    #[arg(long, value_name = "SECONDS", hide = true)]
    seconds: Option<f64>,
    /// Accepted and ignored: the plan is no longer searched for
    #[arg(long, value_name = "N", hide = true)]
    nodes: Option<u64>,
    /// How many steps deep the plan is written out
    #[arg(long, value_name = "N", default_value_t = 2)]
    depth: usize,
    /// What if this measurement, or all that take this instrument or equipment, could not be taken
    #[arg(long, value_name = "NAME")]
    without: Vec<String>,
    /// What if labour cost so much an hour
    #[arg(long, value_name = "MONEY")]
    labour_rate: Option<f64>,
    /// Write the plan as a drawing in Graphviz's DOT language instead
    #[arg(long, conflicts_with = "json")]
    dot: bool,
    /// Write the plan as a drawing in SVG instead
    #[arg(long, conflicts_with_all = ["json", "dot"])]
    svg: bool,
    /// Write the answer as JSON, at full precision
    #[arg(long)]
    json: bool,
}

/// Set by Ctrl-C.
static ASKED_TO_STOP: AtomicBool = AtomicBool::new(false);

/// From now on Ctrl-C asks to stop; a second one ends the program.
fn stop_when_asked() {
    // Where there is a handler already it does the same.
    let _ = ctrlc::set_handler(|| {
        if ASKED_TO_STOP.swap(true, Ordering::Relaxed) {
            std::process::exit(INTERRUPTED);
        }
    });
}

/// What shells say of a program that Ctrl-C ended.
const INTERRUPTED: i32 = 130;

/// A plan under changed circumstances.
#[derive(Serialize)]
struct Changed {
    change: String,
    first: String,
    expected_cost: f64,
}

impl Plan {
    pub(super) fn execute(
        &self,
        basis: &Basis<'_>,
        streams: &mut Streams<'_>,
    ) -> Result<u8, Error> {
        let mut knowledge = basis::knowledge_on(basis, streams)?;
        let workshop = self
            .case
            .shop(basis.shop, &ShopArguments::default(), &mut knowledge)?;
        let case = self.case.case(&knowledge, &workshop)?;
        let model = case.model()?;
        let standing = case.standing(&model, OrderBy::default())?;
        let changed = self.what_if(&standing)?;
        // Where nobody watches, nobody is kept waiting: Ctrl-C ends the program as it does others.
        let stop = if streams.interactive {
            stop_when_asked();
            Stop::when(&ASKED_TO_STOP)
        } else {
            Stop::never()
        };
        let progress = progress::waiting(
            "Following the plan on drawn vehicles; Ctrl-C prints what there is",
            streams.interactive,
        );
        let plan = Planned::new(&standing.problem, &standing.point(), self.depth, stop);
        if self.dot || self.svg {
            basis::tell_overlay(&knowledge, case.family, streams)?;
            let drawn = if self.dot {
                drawing::plan_dot(&standing, &plan)
            } else {
                drawing::plan_svg(&standing, &plan)
            };
            streams.out.write_all(drawn.as_bytes())?;
            return Ok(DONE);
        }
        let habit: Vec<usize> = case
            .family
            .habit
            .iter()
            .filter_map(|id| {
                (0..standing.problem.measurements()).find(|m| standing.named(*m) == *id)
            })
            .collect();
        let habit = (!habit.is_empty())
            .then(|| habitual(&standing.problem, &standing.point(), &habit, stop));
        progress.finish_and_clear();
        if self.json {
            let overlay = knowledge.overlay_of(case.family);
            let (habit, changed) = (habit.as_ref(), changed.as_ref());
            streams.json(&answer(&standing, &plan, habit, changed, overlay))?;
            return Ok(DONE);
        }
        let mut page = Page::new(streams.out, streams.width);
        terminal::overlay(&mut page, &knowledge, case.family)?;
        terminal::workshop(&mut page, &workshop)?;
        terminal::plan(&mut page, &standing, &plan, habit.as_ref(), self.depth)?;
        if let Some(changed) = &changed {
            let first = step_name(&standing, plan.first);
            let before = (first.as_str(), plan.outlook.cost);
            let after = (changed.first.as_str(), changed.expected_cost);
            terminal::what_if(&mut page, &changed.change, before, after)?;
        }
        Ok(DONE)
    }

    /// The plan under the changes asked for; `None` where none is.
    fn what_if(&self, standing: &Standing<'_, '_>) -> Result<Option<Changed>, Error> {
        let mut words = Vec::new();
        let mut problem = standing.problem.clone();
        let mut start = standing.point();
        for name in &self.without {
            start.taken.extend(barred(standing, name)?);
            if name == Recorder::NAME {
                problem = problem.by_hand();
            }
            words.push(format!("no {name}"));
        }
        if let Some(rate) = self.labour_rate {
            let money = shop::money(rate)?;
            problem = problem
                .at_labour_rate(money)
                .map_err(|error| Error::Usage(error.to_string()))?;
            words.push(format!("labour at {}", figures::money(rate)));
        }
        if words.is_empty() {
            return Ok(None);
        }
        let first = Policy::new(&problem).decide(&start).step;
        Ok(Some(Changed {
            change: words.join(", "),
            first: step_name(standing, first),
            expected_cost: outlook(&problem, &start, Stop::never()).cost,
        }))
    }
}

/// The name of a step.
fn step_name(standing: &Standing<'_, '_>, step: Step) -> String {
    let family = standing.model.family;
    match step {
        Step::Measure(measurement)
        | Step::Record {
            first: measurement, ..
        } => family.measurement(standing.named(measurement)).name.clone(),
        Step::Repair(group) => {
            let repairs = &standing.problem.groups()[group].repairs;
            format!("repair {}", standing.repair_names(repairs))
        }
        Step::Escalate => "hand on".to_owned(),
    }
}

/// The places in the problem of what cannot be taken without something.
fn barred(standing: &Standing<'_, '_>, name: &str) -> Result<Vec<usize>, Error> {
    let family = standing.model.family;
    shop::lacking(std::slice::from_ref(family), name)?;
    let lacks = vec![name.to_owned()];
    let left_out = Workshop {
        lacks,
        ..Workshop::default()
    }
    .left_out(family);
    let all = 0..standing.problem.measurements();
    Ok(all
        .filter(|place| left_out.contains(&standing.named(*place)))
        .collect())
}

/// The answer as other programs read it: docs/planning.md.
fn answer(
    standing: &Standing<'_, '_>,
    plan: &Planned,
    habit: Option<&Outlook>,
    what_if: Option<&Changed>,
    overlay: Option<&LaidOver>,
) -> Value {
    let outlook = &plan.outlook;
    let cures = outlook.cures(standing).into_iter();
    let ends = cures.map(|(repairs, probability)| {
        let repairs = names(standing, repairs.into_iter().map(RepairId::index));
        json!({"repairs": repairs, "probability": probability})
    });
    let habit = habit.map(|habit| {
        json!({
            "name": "the trade's habitual order",
            "cost": habit.cost,
            "within": habit.within,
            "testing": habit.testing,
        })
    });
    let at_once = json!({
        "name": "repair at once",
        "cost": plan.repair_now,
        "within": 0.0,
        "testing": 0.0,
    });
    json!({
        "expected_cost": outlook.cost,
        "within": outlook.within,
        "given_up_after": outlook.given_up_after,
        "expected_minutes": outlook.minutes,
        "most_minutes": outlook.most_minutes,
        "testing": outlook.testing,
        "repair": outlook.repair,
        "escalation": outlook.escalation,
        "lower_bound": plan.lower_bound,
        "repair_now": plan.repair_now,
        "first": step_name(standing, plan.first),
        "ends": ends.collect::<Vec<_>>(),
        "escalates": outlook.handed_on,
        "equipment": outlook.equipment(standing),
        "testing_minutes": {
            "expected": outlook.testing_minutes,
            "most": outlook.most_testing_minutes,
        },
        "beside": habit.into_iter().chain([at_once]).collect::<Vec<_>>(),
        "what_if": what_if,
        "policy": node(standing, &plan.tree),
        "overlay": overlay,
    })
}

fn names<'a>(standing: &'a Standing<'_, '_>, repairs: impl Iterator<Item = usize>) -> Vec<&'a str> {
    let all = &standing.model.family.repairs;
    repairs.map(|repair| all[repair].name.as_str()).collect()
}

/// A node of the plan; no outcomes, and no `then`, where it is not written out so far.
fn node(standing: &Standing<'_, '_>, at: &PlanNode) -> Value {
    let family = standing.model.family;
    let of = |repairs: &[usize]| json!(names(standing, repairs.iter().copied()));
    match at {
        PlanNode::Repair(repair) => {
            let steps = repair.steps.iter().map(|step| of(&step.repairs));
            json!({
                "repair": steps.collect::<Vec<_>>(),
                "escalates": repair.escalates,
                "cost": repair.cost,
            })
        }
        PlanNode::Measure(measure) => {
            let known = family.measurement(standing.named(measure.measurement));
            let set_ups = measure.taking.way.order.iter();
            let set_ups = set_ups.map(|place| &family.set_ups[*place].name);
            let outcomes = measure.branches.iter().map(|branch| {
                json!({
                    "outcome": known.outcomes[branch.outcome].name,
                    "probability": branch.probability,
                    "then": node(standing, &branch.then),
                })
            });
            let mut node = json!({
                "measure": known.name,
                "shown": measure.taking.shown,
                "set_ups": set_ups.collect::<Vec<_>>(),
                "minutes": measure.taking.minutes,
                "outcomes": outcomes.collect::<Vec<_>>(),
            });
            let recorded = measure.taking.recorded.iter();
            let recorded: Vec<&str> = recorded
                .map(|place| family.measurement(standing.named(*place)).name.as_str())
                .collect();
            if !recorded.is_empty() {
                node["recorded"] = json!(recorded);
            }
            node
        }
        PlanNode::RepairOn(on) => json!({
            "repair_on": of(&on.step.repairs),
            "probability": on.step.probability,
            "minutes": on.step.minutes,
            "cost": on.step.cost,
            "then": on.then.as_ref().map(|then| node(standing, then)),
        }),
    }
}
