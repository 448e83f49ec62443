//! The foreman's plan on the screen.

use std::io;

use crate::decide::{Outlook, PathStep, Plan, PlanNode, RepairNow, Standing, Step};
use crate::knowledge::{RepairId, SetUpId};
use crate::text::figures::{minutes, money, percent};
use crate::text::table;
use crate::text::{Page, Tone};

/// How many repairs the plan lists before it counts the rest.
const LISTED: usize = 8;

/// The plan: what it costs, its order, what it ties up, where it ends.
pub fn plan(
    page: &mut Page<'_>,
    standing: &Standing<'_, '_>,
    plan: &Plan,
    habit: Option<&Outlook>,
    depth: usize,
) -> io::Result<()> {
    let family = standing.model.family;
    let symptoms: Vec<&str> = standing
        .model
        .complaint
        .present
        .iter()
        .map(|symptom| family.symptom(*symptom).title.as_str())
        .collect();
    page.text(Tone::Strong, 0, &symptoms.join("; "))?;
    if let Some(vehicle) = standing.model.vehicle.filter(|vehicle| vehicle.invented) {
        let text = format!("{}: its sheet is invented.", vehicle.title);
        page.text(Tone::Plain, 0, &text)?;
    }
    page.text(Tone::Faint, 0, &family.worth)?;
    page.heading("What it comes to")?;
    comes_to(page, plan, habit)?;
    page.heading("The order, where each reads as is likeliest")?;
    order(page, standing, &plan.path)?;
    let steps = if depth == 1 { "step" } else { "steps" };
    page.heading(&format!("The plan, {depth} {steps} deep"))?;
    branch(page, standing, &plan.tree, 2)?;
    page.heading("Equipment and time")?;
    let outlook = &plan.outlook;
    let text = format!(
        "Measuring takes {} on average, and no more than {} in 9 jobs of 10.",
        minutes(outlook.testing_minutes),
        minutes(outlook.most_testing_minutes)
    );
    page.text(Tone::Plain, 2, &text)?;
    let mut list: Vec<(String, f64)> = outlook.equipment(standing).into_iter().collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    shares(page, &list)?;
    page.heading("Where it ends")?;
    let mut ends = outlook.cures(standing);
    let rest = ends.split_off(ends.len().min(LISTED));
    let mut list: Vec<(String, f64)> = ends
        .into_iter()
        .map(|(repairs, p)| {
            let places: Vec<usize> = repairs.into_iter().map(RepairId::index).collect();
            (standing.repair_titles(&places), p)
        })
        .collect();
    if !rest.is_empty() {
        let sum = rest.iter().map(|of| of.1).sum();
        list.push((format!("{} other repairs", rest.len()), sum));
    }
    list.push(("handed on".to_owned(), outlook.handed_on));
    shares(page, &list)
}

/// The figures of the plan beside those of other ways of working.
fn comes_to(page: &mut Page<'_>, plan: &Plan, habit: Option<&Outlook>) -> io::Result<()> {
    let cost = |of: &Outlook| {
        if of.within > 0.0 {
            format!("{} \u{b1} {}", money(of.cost), money(of.within))
        } else {
            money(of.cost)
        }
    };
    let outlook = &plan.outlook;
    let text = format!(
        "Expected cost {}: testing {}, repair {}, handing on {}. Expected time {}, and no more than \
         {} in 9 jobs of 10.",
        cost(outlook),
        money(outlook.testing),
        money(outlook.repair),
        money(outlook.escalation),
        minutes(outlook.minutes),
        minutes(outlook.most_minutes)
    );
    page.text(Tone::Plain, 2, &text)?;
    if let Some(count) = outlook.given_up_after {
        let text = format!("Stopped early: these figures are from {count} drawn vehicles only.");
        page.text(Tone::Strong, 2, &text)?;
    }
    let habit = habit.map_or_else(String::new, |habit| {
        format!(" The habitual order would cost {}.", cost(habit))
    });
    let text = format!(
        "Repairing at once would cost {}.{habit} Even if the cause were known it would cost {}.",
        money(plan.repair_now),
        money(plan.lower_bound)
    );
    page.text(Tone::Plain, 2, &text)
}

fn shares(page: &mut Page<'_>, list: &[(String, f64)]) -> io::Result<()> {
    for (name, probability) in list {
        let share = format!("{:>7}  ", percent(*probability));
        page.item(Tone::Plain, 2, &share, name)?;
    }
    Ok(())
}

/// The likeliest path as a table.
fn order(page: &mut Page<'_>, standing: &Standing<'_, '_>, path: &[PathStep]) -> io::Result<()> {
    let family = standing.model.family;
    let rows: Vec<Vec<String>> = path
        .iter()
        .enumerate()
        .map(|(place, at)| {
            let (done, comes_out) = match at.step {
                Step::Measure(measurement)
                | Step::Record {
                    first: measurement, ..
                } => {
                    let measurement = family.measurement(standing.named(measurement));
                    let shown = at.taking.as_ref().is_some_and(|taking| taking.shown);
                    let seen = match at.step {
                        Step::Record { .. } => ", recorded",
                        _ if shown => ", seen there",
                        _ => "",
                    };
                    let outcome = measurement.outcomes[at.outcome].name.as_str();
                    (format!("{}{seen}", measurement.title), outcome)
                }
                Step::Repair(group) => {
                    let repairs = &standing.problem.groups()[group].repairs;
                    let comes_out = if at.outcome == 1 {
                        "cured"
                    } else {
                        "not cured"
                    };
                    (
                        format!("repair: {}", standing.repair_titles(repairs)),
                        comes_out,
                    )
                }
                Step::Escalate => ("hand on".to_owned(), ""),
            };
            let mut equipment: Vec<&str> = at
                .taking
                .iter()
                .flat_map(|taking| &taking.way.order)
                .filter_map(|set_up| family.set_up(SetUpId::at(*set_up)).equipment.as_deref())
                .collect();
            equipment.dedup();
            vec![
                format!("{}", place + 1),
                done,
                format!("{comes_out} {}", percent(at.probability)),
                minutes(at.minutes_so_far),
                equipment.join(", "),
            ]
        })
        .collect();
    if rows.is_empty() {
        return page.text(Tone::Plain, 2, "Nothing is measured: repair at once.");
    }
    let header = ["", "step", "result", "so far", "ties up"];
    page.lines(0, &table(&header, &rows, &[0, 3], page.width()))
}

/// A branch of the plan as indented text.
fn branch(
    page: &mut Page<'_>,
    standing: &Standing<'_, '_>,
    node: &PlanNode,
    indent: usize,
) -> io::Result<()> {
    let family = standing.model.family;
    match node {
        PlanNode::Repair(repair) => page.text(Tone::Strong, indent, &ending(standing, repair)),
        PlanNode::RepairOn(on) => {
            let text = format!(
                "repair: {} ({}), {}",
                standing.repair_titles(&on.step.repairs),
                percent(on.step.probability),
                minutes(on.step.minutes)
            );
            page.text(Tone::Strong, indent, &text)?;
            let Some(then) = &on.then else {
                return page.text(Tone::Faint, indent + 2, "and so on");
            };
            let text = format!("if not cured ({}):", percent(1.0 - on.step.probability));
            page.text(Tone::Plain, indent + 2, &text)?;
            branch(page, standing, then, indent + 4)
        }
        PlanNode::Measure(measure) => {
            let known = family.measurement(standing.named(measure.measurement));
            let set_ups: Vec<&str> = measure
                .taking
                .way
                .order
                .iter()
                .map(|place| family.set_up(SetUpId::at(*place)).title.as_str())
                .collect();
            let after = if set_ups.is_empty() {
                String::new()
            } else {
                format!("; first: {}", set_ups.join("; "))
            };
            let text = if measure.taking.shown {
                format!("{} (seen there)", known.title)
            } else {
                format!(
                    "{} ({}{after})",
                    known.title,
                    minutes(measure.taking.minutes)
                )
            };
            let others = measure.taking.recorded.iter();
            let others = others.filter(|place| **place != measure.measurement);
            let others: Vec<&str> = others
                .map(|place| family.measurement(standing.named(*place)).title.as_str())
                .collect();
            let text = if others.is_empty() {
                text
            } else {
                format!("{text}, recorded with: {}", others.join("; "))
            };
            if measure.branches.is_empty() {
                return page.text(Tone::Plain, indent, &format!("{text}, and so on"));
            }
            page.text(Tone::Plain, indent, &text)?;
            for next in &measure.branches {
                let name = known.outcomes[next.outcome].words();
                let text = format!("if {name} ({}):", percent(next.probability));
                page.text(Tone::Plain, indent + 2, &text)?;
                branch(page, standing, &next.then, indent + 4)?;
            }
            Ok(())
        }
    }
}

/// How a path ends, in a line.
fn ending(standing: &Standing<'_, '_>, repair: &RepairNow) -> String {
    let Some(first) = repair.steps.first() else {
        return "hand on".to_owned();
    };
    let mut text = format!(
        "repair: {} ({})",
        standing.repair_titles(&first.repairs),
        percent(first.probability)
    );
    if let Some(second) = repair.steps.get(1) {
        text = format!("{text}, then {}", standing.repair_titles(&second.repairs));
    }
    if repair.steps.len() > 2 {
        text = format!("{text}, then {} more", repair.steps.len() - 2);
    }
    text
}

/// What a change would do to the plan, in two lines: each the first step and the expected cost.
pub fn what_if(
    page: &mut Page<'_>,
    change: &str,
    before: (&str, f64),
    after: (&str, f64),
) -> io::Result<()> {
    page.heading(&format!("What if: {change}"))?;
    let text = |(first, cost): (&str, f64)| format!("{first} first, {} expected", money(cost));
    let line = format!("as it stands: {}", text(before));
    page.text(Tone::Plain, 2, &line)?;
    let line = format!("then:         {}", text(after));
    page.text(Tone::Strong, 2, &line)
}
