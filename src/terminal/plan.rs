//! The foreman's plan on the screen.

use std::io;

use crate::decide::{Along, Compared, Outlook, Standing, WayOfWorking, likeliest_path};
use crate::decide::{Policy, PolicyNode};
use crate::knowledge::{RepairId, SetUpId};
use crate::text::figures::{count, minutes, money, percent};
use crate::text::table;
use crate::text::{Page, Tone};

/// How many repairs the plan lists before it counts the rest.
const LISTED: usize = 8;

/// A way of working, in the trade's words.
#[must_use]
pub const fn way_of_working(way: WayOfWorking) -> &'static str {
    match way {
        WayOfWorking::Plan => "the plan, taken up at each reading",
        WayOfWorking::OneStep => "one step ahead, by the ranking",
        WayOfWorking::BestFixed => "the best fixed order found",
        WayOfWorking::BestFixedUntil => "the same until a repair is likely enough",
        WayOfWorking::Habit => "the trade's habitual order",
        WayOfWorking::CheapestFirst => "cheapest measurement first",
        WayOfWorking::AtOnce => "repair at once, likeliest first",
    }
}

/// The plan: what it costs, how near to the best it is, its order, what it ties up, where it ends.
///
/// # Errors
///
/// Whatever writing gives; so for every function of this file.
pub fn plan(
    page: &mut Page<'_>,
    standing: &Standing<'_, '_>,
    policy: &Policy,
    depth: usize,
) -> io::Result<()> {
    let family = standing.model.family;
    let outlook = Outlook::of(standing, policy);
    let symptoms: Vec<&str> = standing
        .model
        .complaint
        .present
        .iter()
        .map(|symptom| family.symptom(*symptom).title.as_str())
        .collect();
    page.text(Tone::Strong, 0, &symptoms.join("; "))?;
    if let Some(vehicle) = standing.model.vehicle.filter(|vehicle| vehicle.invented) {
        page.text(
            Tone::Plain,
            0,
            &format!("{}: its sheet is invented.", vehicle.title),
        )?;
    }
    page.text(Tone::Faint, 0, &family.worth)?;
    page.heading("What it comes to")?;
    let text = format!(
        "Expected cost {}: testing {}, repair {}, handing on {}. Expected time {}.",
        money(policy.expected_cost),
        money(policy.spending.testing),
        money(policy.spending.repair),
        money(policy.spending.escalation),
        minutes(policy.expected_minutes)
    );
    page.text(Tone::Plain, 2, &text)?;
    let near = if policy.proven {
        "Proven: no plan costs less.".to_owned()
    } else {
        format!(
            "No plan can cost less than {}: at most {} is left to gain.",
            money(policy.lower_bound),
            percent(policy.gap)
        )
    };
    page.text(Tone::Plain, 2, &near)?;
    page.text(
        Tone::Plain,
        2,
        &format!("Repairing at once would cost {}.", money(policy.repair_now)),
    )?;

    page.heading("The order, where each reads as is likeliest")?;
    order(page, standing, policy)?;
    page.heading(&format!("The plan, {depth} steps deep"))?;
    branch(page, standing, &policy.tree, 2, depth)?;

    page.heading("Equipment and time")?;
    let text = format!(
        "Measuring takes {} on average, and no more than {} in 19 jobs of 20.",
        minutes(outlook.testing_minutes),
        minutes(outlook.most_minutes)
    );
    page.text(Tone::Plain, 2, &text)?;
    let mut equipment: Vec<(&String, &f64)> = outlook.equipment.iter().collect();
    equipment.sort_by(|a, b| b.1.total_cmp(a.1).then_with(|| a.0.cmp(b.0)));
    for (name, probability) in equipment {
        page.item(
            Tone::Plain,
            2,
            &format!("{:>7}  ", percent(*probability)),
            name,
        )?;
    }

    page.heading("Where it ends")?;
    for (repairs, probability) in outlook.ends.iter().take(LISTED) {
        page.item(
            Tone::Plain,
            2,
            &format!("{:>7}  ", percent(*probability)),
            &family.repair_names(repairs),
        )?;
    }
    if outlook.ends.len() > LISTED {
        let rest: f64 = outlook.ends[LISTED..]
            .iter()
            .map(|(_, probability)| probability)
            .sum();
        let text = format!("{} other repairs", outlook.ends.len() - LISTED);
        page.item(Tone::Plain, 2, &format!("{:>7}  ", percent(rest)), &text)?;
    }
    page.item(
        Tone::Plain,
        2,
        &format!("{:>7}  ", percent(outlook.handed_on)),
        "handed on",
    )
}

/// The likeliest path as a table.
fn order(page: &mut Page<'_>, standing: &Standing<'_, '_>, policy: &Policy) -> io::Result<()> {
    let family = standing.model.family;
    let rows: Vec<Vec<String>> = likeliest_path(standing, policy)
        .iter()
        .enumerate()
        .map(|(place, step)| {
            let (done, comes_out) = match &step.along {
                Along::Read {
                    measurement,
                    outcome,
                    shown,
                } => {
                    let measurement = family.measurement(*measurement);
                    let seen = if *shown { ", seen there" } else { "" };
                    (
                        format!("{}{seen}", measurement.name),
                        measurement.outcomes[*outcome].name.as_str(),
                    )
                }
                Along::Repaired { repairs, cured } => (
                    format!("repair {}", family.repair_names(repairs)),
                    if *cured { "cured" } else { "not cured" },
                ),
            };
            let mut equipment: Vec<&str> = step
                .entered
                .iter()
                .filter_map(|set_up| family.set_up(*set_up).equipment.as_deref())
                .collect();
            equipment.dedup();
            vec![
                format!("{}", place + 1),
                done,
                format!("{comes_out} {}", percent(step.probability)),
                minutes(step.minutes_so_far),
                equipment.join(", "),
            ]
        })
        .collect();
    if rows.is_empty() {
        return page.text(Tone::Plain, 2, "Nothing is measured: repair at once.");
    }
    let header = ["", "measurement", "reads", "so far", "ties up"];
    page.lines(0, &table(&header, &rows, &[0, 3], page.width()))
}

/// A branch of the policy as indented text.
fn branch(
    page: &mut Page<'_>,
    standing: &Standing<'_, '_>,
    node: &PolicyNode,
    indent: usize,
    depth: usize,
) -> io::Result<()> {
    let family = standing.model.family;
    match node {
        PolicyNode::Repair(repair) => page.text(Tone::Strong, indent, &ending(standing, repair)),
        PolicyNode::RepairOn(on) => {
            let ids: Vec<RepairId> = on
                .repairs
                .iter()
                .map(|repair| RepairId::at(*repair))
                .collect();
            let text = format!(
                "repair: {} ({}), {}, and see what it shows",
                family.repair_names(&ids),
                percent(on.probability),
                minutes(on.minutes)
            );
            page.text(Tone::Strong, indent, &text)?;
            if depth == 0 {
                let text = format!("and on: up to {} more", on.then.depth());
                return page.text(Tone::Faint, indent + 2, &text);
            }
            let text = format!(
                "if it is not cured ({}), what it showed:",
                percent(1.0 - on.probability)
            );
            page.text(Tone::Plain, indent + 2, &text)?;
            branch(page, standing, &on.then, indent + 4, depth - 1)
        }
        PolicyNode::Measure(measure) => {
            let known = family.measurement(standing.named(measure.measurement));
            let set_ups: Vec<&str> = measure
                .way
                .order
                .iter()
                .map(|place| family.set_up(SetUpId::at(*place)).name.as_str())
                .collect();
            let after = if set_ups.is_empty() {
                String::new()
            } else {
                format!(" after {}", set_ups.join(", "))
            };
            let text = if measure.shown {
                format!("{} (seen there)", known.name)
            } else {
                format!("{} ({}{after})", known.name, minutes(measure.minutes))
            };
            page.text(Tone::Plain, indent, &text)?;
            if depth == 0 {
                let text = format!("and on: up to {} more", node.depth());
                return page.text(Tone::Faint, indent + 2, &text);
            }
            for next in &measure.branches {
                let text = format!(
                    "if {} ({}):",
                    known.outcomes[next.outcome].name,
                    percent(next.probability)
                );
                page.text(Tone::Plain, indent + 2, &text)?;
                branch(page, standing, &next.then, indent + 4, depth - 1)?;
            }
            Ok(())
        }
    }
}

/// How a path ends, in a line.
fn ending(standing: &Standing<'_, '_>, repair: &crate::decide::RepairNow) -> String {
    let family = standing.model.family;
    let Some(first) = repair.steps.first() else {
        return "hand on".to_owned();
    };
    let names = |repairs: &[usize]| {
        let ids: Vec<RepairId> = repairs.iter().map(|repair| RepairId::at(*repair)).collect();
        family.repair_names(&ids)
    };
    let mut text = format!(
        "repair: {} ({})",
        names(&first.repairs),
        percent(first.probability)
    );
    if let Some(second) = repair.steps.get(1) {
        text = format!("{text}, then {}", names(&second.repairs));
    }
    if repair.steps.len() > 2 {
        text = format!("{text}, then {} more", repair.steps.len() - 2);
    }
    text
}

/// The plan beside other ways of working.
#[allow(clippy::missing_errors_doc, reason = "said at `plan`")]
pub fn beside(
    page: &mut Page<'_>,
    standing: &Standing<'_, '_>,
    policy: &Policy,
    others: &[Compared],
) -> io::Result<()> {
    page.heading("Beside other ways of working")?;
    let mut rows = vec![vec![
        "the plan as written out".to_owned(),
        money(policy.expected_cost),
        String::new(),
        String::new(),
    ]];
    let worked = others.iter().find(|o| o.way == WayOfWorking::Plan);
    let worked = worked.map_or(policy.expected_cost, |plan| plan.comparison.cost);
    for other in others {
        let sum = &other.comparison;
        let saved = 1.0 - worked / sum.cost;
        let saved = if other.way == WayOfWorking::Plan {
            String::new()
        } else if saved >= 0.0 {
            format!("{} less", percent(saved))
        } else {
            format!("{} more", percent(-saved))
        };
        rows.push(vec![
            way_of_working(other.way).to_owned(),
            money(sum.cost),
            if sum.within >= 0.5 {
                format!("\u{b1}{}", money(sum.within))
            } else {
                String::new()
            },
            saved,
        ]);
    }
    rows.push(vec![
        "no plan below".to_owned(),
        money(policy.lower_bound),
        String::new(),
        String::new(),
    ]);
    page.lines(
        0,
        &table(
            &["way of working", "costs", "95 %", "plan taken up"],
            &rows,
            &[1, 2],
            page.width(),
        ),
    )?;
    let fixed = others.iter().find(|o| o.way == WayOfWorking::BestFixed);
    let family = standing.model.family;
    let order: Vec<&str> = fixed
        .iter()
        .flat_map(|other| &other.order)
        .take(LISTED)
        .map(|id| family.measurement(*id).name.as_str())
        .collect();
    if order.is_empty() {
        return Ok(());
    }
    let text = format!("{}, and so on.", order.join(", "));
    page.item(Tone::Plain, 2, "The fixed order: ", &text)
}

/// What a change would do to the plan, in two lines.
#[allow(clippy::missing_errors_doc, reason = "said at `plan`")]
pub fn what_if(
    page: &mut Page<'_>,
    change: &str,
    before: (&str, f64),
    after: (&str, f64),
) -> io::Result<()> {
    page.heading(&format!("What if: {change}"))?;
    page.text(
        Tone::Plain,
        2,
        &format!(
            "as it stands: {} first, {} expected",
            before.0,
            money(before.1)
        ),
    )?;
    page.text(
        Tone::Strong,
        2,
        &format!(
            "then:         {} first, {} expected",
            after.0,
            money(after.1)
        ),
    )
}

/// The judged figures that the first step hangs on.
#[allow(clippy::missing_errors_doc, reason = "said at `plan`")]
pub fn sensitive(page: &mut Page<'_>, lines: &[String], tried: usize, of: usize) -> io::Result<()> {
    page.heading("Figures that the first step hangs on")?;
    for line in lines {
        page.item(Tone::Plain, 2, "- ", line)?;
    }
    if lines.is_empty() {
        page.text(
            Tone::Plain,
            2,
            "None of those tried: doubled or halved, the first step stays.",
        )?;
    }
    #[allow(clippy::cast_precision_loss, reason = "a count for a person")]
    page.text(
        Tone::Faint,
        2,
        &format!(
            "{} of {} tried both ways.",
            count(tried as f64),
            count(of as f64)
        ),
    )
}
