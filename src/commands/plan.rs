//! `plan`: the whole order, for the foreman.

use std::time::Duration;

use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use serde_json::{Value, json};

use super::args;
use super::args::CaseArguments;
use super::basis;
use super::basis::Basis;
use super::{DONE, Error, Streams};
use crate::decide;
use crate::decide::{
    Ask, Figure, Limits, OrderBy, Policy, PolicyNode, Problem, Progress, Step, sensitivity,
    with_rate,
};
use crate::decide::{Compared, Effort, Outlook, Standing, compared};
use crate::knowledge::{CauseId, Family, MeasurementId, RepairId};
use crate::terminal;
use crate::text::{Page, figures};
use crate::units::Money;

/// Work out the whole test order of least expected cost, and how near to the best it is.
#[allow(
    clippy::struct_excessive_bools,
    reason = "each is a flag of its own on the command line"
)]
#[derive(Debug, Args)]
pub(super) struct Plan {
    #[command(flatten)]
    case: CaseArguments,
    /// How long to search, in seconds
    #[arg(long, value_name = "SECONDS", default_value_t = 10.0)]
    seconds: f64,
    /// End after so many opened nodes, so that every machine finds the same plan
    #[arg(long, value_name = "N")]
    nodes: Option<u64>,
    /// How many measurements deep the plan is written out
    #[arg(long, value_name = "N", default_value_t = 2)]
    depth: usize,
    /// Set the plan beside other ways of working
    #[arg(long)]
    beside: bool,
    /// Look for judged figures that, doubled or halved, change the first step
    #[arg(long)]
    sensitive: bool,
    /// What if this measurement, or every measurement of this instrument, could not be taken
    #[arg(long, value_name = "ID")]
    without: Vec<String>,
    /// What if labour cost so much an hour
    #[arg(long, value_name = "MONEY")]
    labour_rate: Option<f64>,
    /// What if the parts of a repair cost so much
    #[arg(long, value_name = "REPAIR=MONEY")]
    parts: Vec<String>,
    /// What if a cause were twice as common
    #[arg(long, value_name = "CAUSE")]
    twice: Vec<String>,
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

/// A plan under changed circumstances.
struct Changed {
    words: String,
    first: String,
    cost: f64,
}

impl Plan {
    pub(super) fn execute(
        &self,
        basis: &Basis<'_>,
        streams: &mut Streams<'_>,
    ) -> Result<u8, Error> {
        let time = Duration::try_from_secs_f64(self.seconds)
            .map_err(|_| Error::Usage(format!("--seconds {} is no span of time", self.seconds)))?;
        let knowledge = basis::knowledge_on(basis, streams)?;
        let case = self.case.case(&knowledge)?;
        let model = case.model()?;
        let standing = case.standing(&model, OrderBy::default())?;
        let limits = Limits {
            time,
            opened: self.nodes.unwrap_or(u64::MAX),
            ..Limits::default()
        };
        let policy = searched(&standing, &limits, streams.interactive);
        let changed = self.what_if(&standing, &limits)?;
        let beside = if self.beside {
            compared(&standing, &policy, &EFFORT)
        } else {
            Vec::new()
        };
        let hangs_on = if self.sensitive {
            Some(hangs_on(&standing, time)?)
        } else {
            None
        };
        if self.json {
            let mut answer = answer(&standing, &policy, &beside, changed.as_ref());
            answer["overlay"] = basis::overlay_json(&knowledge, case.family);
            streams.json(&answer)?;
            return Ok(DONE);
        }
        if self.dot || self.svg {
            basis::tell_overlay(&knowledge, case.family, streams)?;
        }
        if self.dot {
            streams
                .out
                .write_all(crate::drawing::plan_dot(&standing, &policy, self.depth).as_bytes())?;
            return Ok(DONE);
        }
        if self.svg {
            streams
                .out
                .write_all(crate::drawing::plan_svg(&standing, &policy, self.depth).as_bytes())?;
            return Ok(DONE);
        }
        let mut page = Page::new(streams.out, streams.width);
        terminal::overlay(&mut page, &knowledge, case.family)?;
        terminal::plan(&mut page, &standing, &policy, self.depth)?;
        if self.beside {
            terminal::beside(&mut page, &standing, &policy, &beside)?;
        }
        if let Some(changed) = &changed {
            let first = first_name(&standing, policy.first);
            let before = (first.as_str(), policy.expected_cost);
            terminal::what_if(
                &mut page,
                &changed.words,
                before,
                (changed.first.as_str(), changed.cost),
            )?;
        }
        if let Some((lines, tried, of)) = &hangs_on {
            terminal::sensitive(&mut page, lines, *tried, *of)?;
        }
        Ok(DONE)
    }

    /// The plan under the changes asked for; `None` where none is.
    fn what_if(
        &self,
        standing: &Standing<'_, '_>,
        limits: &Limits,
    ) -> Result<Option<Changed>, Error> {
        let family = standing.model.family;
        let mut words = Vec::new();
        let mut problem = standing.problem.clone();
        let mut weights = standing.belief.weights();
        let mut taken = Vec::new();
        for name in &self.without {
            let barred = barred(standing, name)?;
            words.push(format!("no {name}"));
            taken.extend(barred);
        }
        if let Some(rate) = self.labour_rate {
            let money = Money::new(rate)
                .ok_or_else(|| Error::Usage(format!("{rate} is no labour rate")))?;
            problem = problem
                .at_labour_rate(money)
                .map_err(|error| Error::Usage(error.to_string()))?;
            words.push(format!("labour at {}", figures::money(rate)));
        }
        for given in &self.parts {
            let (repair, price) = price(family, given)?;
            problem = problem
                .with_parts_price(repair.index(), price)
                .map_err(|error| Error::Usage(error.to_string()))?;
            words.push(format!(
                "parts of {} at {}",
                family.repair(repair).name,
                figures::money(price.get())
            ));
        }
        for name in &self.twice {
            let Some(cause) = family.cause_named(name) else {
                return Err(args::unknown(
                    "cause",
                    name,
                    family.causes.iter().map(|cause| cause.name.as_str()),
                ));
            };
            weights = twice_as_common(standing, &problem, &weights, cause);
            words.push(format!("{name} twice as common"));
        }
        if words.is_empty() {
            return Ok(None);
        }
        let policy = decide::plan(
            &problem,
            &weights,
            standing.in_place,
            &taken,
            limits,
            &mut |_| {},
        );
        Ok(Some(Changed {
            words: words.join(", "),
            first: first_name(standing, policy.first),
            cost: policy.expected_cost,
        }))
    }
}

/// The plan, with a bar that shows the gap closing where a person looks on.
fn searched(standing: &Standing<'_, '_>, limits: &Limits, interactive: bool) -> Policy {
    let weights = standing.belief.weights();
    if !interactive {
        return decide::plan(
            &standing.problem,
            &weights,
            standing.in_place,
            &[],
            limits,
            &mut |_| {},
        );
    }
    let bar = ProgressBar::new(u64::try_from(limits.time.as_millis()).unwrap_or(u64::MAX));
    if let Ok(style) = ProgressStyle::with_template("  searching [{bar:30}] {msg}") {
        bar.set_style(style.progress_chars("#> "));
    }
    let mut watch = |progress: &Progress| {
        bar.set_position(u64::try_from(progress.elapsed.as_millis()).unwrap_or(u64::MAX));
        let gap = if progress.upper > 0.0 {
            1.0 - progress.lower / progress.upper
        } else {
            0.0
        };
        bar.set_message(format!(
            "{} expected, gap {}",
            figures::money(progress.upper),
            figures::percent(gap)
        ));
    };
    let policy = decide::plan(
        &standing.problem,
        &weights,
        standing.in_place,
        &[],
        limits,
        &mut watch,
    );
    bar.finish_and_clear();
    policy
}

/// The name of a first step.
fn first_name(standing: &Standing<'_, '_>, step: Step) -> String {
    match step {
        Step::Measure(measurement) => standing
            .model
            .family
            .measurement(standing.named(measurement))
            .name
            .clone(),
        Step::RepairOn(group) => {
            let repairs = &standing.problem.groups()[group].repairs;
            let family = standing.model.family;
            let ids: Vec<RepairId> = repairs.iter().map(|repair| RepairId::at(*repair)).collect();
            format!("repair {}, then on", family.repair_names(&ids))
        }
        Step::RepairNow => "repair".to_owned(),
    }
}

/// The places in the problem of a measurement, or of every measurement that an instrument reads.
fn barred(standing: &Standing<'_, '_>, name: &str) -> Result<Vec<usize>, Error> {
    let family = standing.model.family;
    let instrument = family.instrument_named(name);
    let measurement = family.measurement_named(name);
    if instrument.is_none() && measurement.is_none() {
        let measurements = family
            .measurements
            .iter()
            .map(|measurement| measurement.name.as_str());
        let instruments = family
            .instruments
            .iter()
            .map(|instrument| instrument.name.as_str());
        return Err(args::unknown(
            "measurement or instrument",
            name,
            measurements.chain(instruments),
        ));
    }
    let reads = |id: MeasurementId| {
        family.measurement(id).number().is_some_and(|number| {
            instrument.is_some()
                && (number.instrument == instrument
                    || number
                        .takes
                        .iter()
                        .any(|take| take.instrument == instrument))
        })
    };
    Ok((0..standing.problem.measurements())
        .filter(|place| {
            let id = standing.named(*place);
            Some(id) == measurement || reads(id)
        })
        .collect())
}

/// `REPAIR=MONEY`.
fn price(family: &Family, given: &str) -> Result<(RepairId, Money), Error> {
    let wrong = || Error::Usage(format!("`{given}` is no price: write REPAIR=MONEY"));
    let (name, money) = given.split_once('=').ok_or_else(wrong)?;
    let repair = family.repair_named(name).ok_or_else(|| {
        args::unknown(
            "repair",
            name,
            family.repairs.iter().map(|repair| repair.name.as_str()),
        )
    })?;
    let money = money.parse().ok().and_then(Money::new).ok_or_else(wrong)?;
    Ok((repair, money))
}

/// The weights if a cause were twice as common: every candidate that holds it weighs twice.
fn twice_as_common(
    standing: &Standing<'_, '_>,
    problem: &Problem,
    weights: &[f64],
    cause: CauseId,
) -> Vec<f64> {
    let mut weights = weights.to_vec();
    for (place, candidate) in standing.model.candidates.iter().enumerate() {
        if candidate.causes.contains(&cause) {
            weights = with_rate(problem, &weights, place, 2.0);
        }
    }
    weights
}

/// What is spent on a comparison: the 95 % intervals are then below 2 % of the figures.
const EFFORT: Effort = Effort {
    vehicles: 3000,
    first: Limits {
        time: Duration::MAX,
        opened: 2000,
        bytes: 1 << 30,
    },
    each: 4,
    changes: 40,
    tried_on: 400,
};

/// The judged figures that the first step hangs on, in words; how many were tried, of how many.
fn hangs_on(
    standing: &Standing<'_, '_>,
    time: Duration,
) -> Result<(Vec<String>, usize, usize), Error> {
    let weights = standing.belief.weights();
    let mut candidates: Vec<usize> = (0..standing.model.candidates.len()).collect();
    candidates.sort_by(|a, b| weights[*b].total_cmp(&weights[*a]).then(a.cmp(b)));
    let leading: Vec<usize> = candidates
        .into_iter()
        .filter(|place| standing.belief.is_live(*place))
        .take(8)
        .collect();
    let first: Vec<usize> = standing
        .ranking
        .iter()
        .take(6)
        .map(|ranked| ranked.measurement)
        .collect();
    let mut asked: Vec<Figure> = leading
        .iter()
        .map(|candidate| Figure::Rate {
            candidate: *candidate,
        })
        .collect();
    asked.extend(first.iter().map(|measurement| Figure::MeasurementMinutes {
        measurement: *measurement,
    }));
    for candidate in &leading {
        for repair in standing.model.repairs(*candidate) {
            asked.push(Figure::Price {
                repair: repair.index(),
            });
        }
    }
    for measurement in &first {
        for candidate in &leading {
            for outcome in 0..standing.problem.outcomes(*measurement) {
                asked.push(Figure::Shows {
                    candidate: *candidate,
                    measurement: *measurement,
                    outcome,
                });
            }
        }
    }
    asked.dedup();
    let found = sensitivity(
        &standing.problem,
        &Ask {
            weights: &weights,
            in_place: standing.in_place,
            taken: &[],
            figures: &asked,
            opened: 60,
            time,
        },
    )
    .map_err(|error| Error::Usage(error.to_string()))?;
    let lines = found
        .found
        .iter()
        .map(|sensitive| {
            let times = if sensitive.factor > 1.0 {
                "doubled"
            } else {
                "halved"
            };
            format!(
                "{}, {times}: {} first",
                figure_name(standing, sensitive.figure),
                first_name(standing, sensitive.then)
            )
        })
        .collect();
    Ok((lines, found.tried, found.of))
}

/// A judged figure in words.
fn figure_name(standing: &Standing<'_, '_>, figure: Figure) -> String {
    let family = standing.model.family;
    let measurement = |place: usize| family.measurement(standing.named(place));
    match figure {
        Figure::Rate { candidate } => format!(
            "rate of {}",
            terminal::candidate_name(standing.model, candidate)
        ),
        Figure::Shows {
            candidate,
            measurement: place,
            outcome,
        } => format!(
            "{} {} under {}",
            measurement(place).name,
            measurement(place).outcomes[outcome].name,
            terminal::candidate_name(standing.model, candidate)
        ),
        Figure::Price { repair } => format!("parts price of {}", family.repairs[repair].name),
        Figure::RepairMinutes { repair } => format!("minutes of {}", family.repairs[repair].name),
        Figure::MeasurementMinutes { measurement: place } => {
            format!("minutes of {}", measurement(place).name)
        }
    }
}

/// The answer as other programs read it: docs/planning.md.
fn answer(
    standing: &Standing<'_, '_>,
    policy: &Policy,
    beside: &[Compared],
    changed: Option<&Changed>,
) -> Value {
    let family = standing.model.family;
    let outlook = Outlook::of(standing, policy);
    let names = |repairs: &[RepairId]| -> Vec<&str> {
        repairs
            .iter()
            .map(|repair| family.repair(*repair).name.as_str())
            .collect()
    };
    json!({
        "expected_cost": policy.expected_cost,
        "expected_minutes": policy.expected_minutes,
        "testing": policy.spending.testing,
        "repair": policy.spending.repair,
        "escalation": policy.spending.escalation,
        "lower_bound": policy.lower_bound,
        "gap": policy.gap,
        "proven": policy.proven,
        "repair_now": policy.repair_now,
        "first": first_name(standing, policy.first),
        "ends": outlook.ends.iter().map(|(repairs, p)| json!({"repairs": names(repairs), "probability": p})).collect::<Vec<_>>(),
        "escalates": outlook.handed_on,
        "equipment": outlook.equipment,
        "testing_minutes": {"expected": outlook.testing_minutes, "most": outlook.most_minutes},
        "beside": beside.iter().map(|other| json!({
            "name": terminal::way_of_working(other.way),
            "cost": other.comparison.cost,
            "within": other.comparison.within,
            "testing": other.comparison.testing,
            "order": other.order.iter().map(|id| family.measurement(*id).name.as_str()).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "what_if": changed.map(|changed| json!({"change": changed.words, "first": changed.first, "expected_cost": changed.cost})),
        "policy": node(standing, &policy.tree),
        "opened": policy.opened,
        "bytes": policy.bytes,
    })
}

/// A node of the policy as JSON.
fn node(standing: &Standing<'_, '_>, at: &PolicyNode) -> Value {
    let family = standing.model.family;
    match at {
        PolicyNode::Repair(repair) => {
            let order: Vec<Vec<&str>> = repair
                .steps
                .iter()
                .map(|step| {
                    step.repairs
                        .iter()
                        .map(|repair| family.repairs[*repair].name.as_str())
                        .collect()
                })
                .collect();
            json!({"repair": order, "escalates": repair.escalates, "cost": repair.cost})
        }
        PolicyNode::Measure(measure) => {
            let known = family.measurement(standing.named(measure.measurement));
            let set_ups: Vec<&str> = measure
                .way
                .order
                .iter()
                .map(|place| family.set_ups[*place].name.as_str())
                .collect();
            let outcomes: Vec<Value> = measure
                .branches
                .iter()
                .map(|branch| {
                    json!({
                        "outcome": known.outcomes[branch.outcome].name,
                        "probability": branch.probability,
                        "then": node(standing, &branch.then),
                    })
                })
                .collect();
            json!({"measure": known.name, "shown": measure.shown, "set_ups": set_ups, "minutes": measure.minutes, "outcomes": outcomes})
        }
        PolicyNode::RepairOn(on) => {
            let repairs: Vec<&str> = on
                .repairs
                .iter()
                .map(|repair| family.repairs[*repair].name.as_str())
                .collect();
            json!({
                "repair_on": repairs,
                "probability": on.probability,
                "minutes": on.minutes,
                "cost": on.cost,
                "then": node(standing, &on.then),
            })
        }
    }
}
