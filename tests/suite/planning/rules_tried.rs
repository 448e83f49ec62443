//! Rules of deciding beside one another: the table of docs/method.md, section 10. Run on request:
//! `cargo test --release --test suite rules_tried -- --ignored --nocapture`.

use super::every_policy::least;
use super::models::hard_model;
use crate::by_name::{chain_cvt, shipped};
use halfsplit::decide::{
    Circumstances, Course, OrderBy, Point, Policy, Problem, Ranked, Standing, Step, Vehicles,
    exactly, followed, mean_of_drawn, ranking,
};
use halfsplit::infer::{Complaint, Model};
use halfsplit::units::{Minutes, Probability};
use std::time::Instant;

/// How many models, and how many drawn vehicles a complaint.
const MODELS: u64 = 300;
const VEHICLES: usize = 400;

/// Of what saves one step ahead, by what is best of it.
fn one_step(problem: &Problem, at: &Point, best: impl Fn(&Ranked) -> f64) -> Step {
    let list = ranking(&mut Policy::new(problem), at, OrderBy::Saves);
    let saving = list.iter().filter(|ranked| ranked.saves > 0.0);
    let first = saving.reduce(|a, b| if best(b) > best(a) { b } else { a });
    first.map_or_else(
        || Policy::new(problem).end(at).step,
        |ranked| Step::Measure(*ranked.before.first().unwrap_or(&ranked.measurement)),
    )
}

fn least_cost(problem: &Problem, at: &Point) -> Step {
    one_step(problem, at, |ranked| ranked.saves)
}

fn most_bits(problem: &Problem, at: &Point) -> Step {
    one_step(problem, at, |ranked| ranked.bits / ranked.minutes.max(1e-9))
}

fn ours(problem: &Problem, at: &Point) -> Step {
    Policy::new(problem).decide(at).step
}

/// The step after which following `most_bits` to the end costs least.
fn rollout(problem: &Problem, at: &Point) -> Step {
    let mut policy = Policy::new(problem);
    let rest = |at: &Point| cost(problem, at, most_bits) * at.weight();
    let mut best = (rest(at), most_bits(problem, at));
    for m in (0..problem.measurements()).filter(|m| at.is_open(*m)) {
        let Some(taking) = policy.taking(at, m) else {
            continue;
        };
        let after = (0..problem.outcomes(m)).filter_map(|o| policy.read(at, m, &taking, o));
        let found = taking.cost * at.weight() + after.map(|next| rest(&next)).sum::<f64>();
        if found < best.0 * (1.0 - 1e-12) {
            best = (found, Step::Measure(m));
        }
    }
    best.1
}

fn cost(problem: &Problem, at: &Point, rule: fn(&Problem, &Point) -> Step) -> f64 {
    if at.weight() <= 0.0 {
        return 0.0;
    }
    let courses = exactly(problem, at, |at: &Point| rule(problem, at));
    courses.iter().map(|c| c.probability * c.cost()).sum()
}

type Rule = (&'static str, fn(&Problem, &Point) -> Step);

const RULES: [Rule; 4] = [
    ("least cost one step ahead", least_cost),
    (
        "most bits for the money of what saves one step ahead",
        most_bits,
    ),
    ("this rule", ours),
    ("rollout of the second", rollout),
];

#[test]
#[ignore = "minutes of reckoning: for the table of the paper"]
fn rules_tried_on_models_and_on_the_shipped_complaints() {
    let models: Vec<_> = (0..MODELS).map(hard_model).collect();
    let best: Vec<f64> = models.iter().map(least).collect();
    for (name, rule) in RULES {
        let start = Instant::now();
        let mut excess: Vec<f64> = models
            .iter()
            .zip(&best)
            .map(|(model, best)| {
                let at = Point::new(model.weights.clone(), model.in_place);
                100.0 * (cost(&model.problem, &at, rule) / best - 1.0)
            })
            .collect();
        excess.sort_by(f64::total_cmp);
        let count = excess.len();
        println!(
            "{name}: mean {:.2} %, 95th percentile {:.2} %, worst {:.1} %, {:.1} s",
            excess.iter().sum::<f64>() / MODELS as f64,
            excess[count * 95 / 100],
            excess[count - 1],
            start.elapsed().as_secs_f64()
        );
    }
    let family = chain_cvt();
    let vehicle = shipped().vehicle("demo-estate").unwrap();
    for (place, symptom) in family.symptoms.iter().enumerate() {
        let complaint = Complaint {
            present: vec![halfsplit::knowledge::SymptomId::at(place)],
            ..Complaint::default()
        };
        let model = Model::new(family, Some(vehicle), complaint).unwrap();
        let circumstances = Circumstances {
            first_looks: Some(Vec::new()),
            ..Circumstances::on_arrival(family)
        };
        let standing = Standing::new(&model, vec![], &circumstances, OrderBy::Saves).unwrap();
        let at = standing.point();
        let free = |share: f64, minutes: f64, repair_from: f64| {
            let mut parts = standing.problem.parts().clone();
            parts.least_saving_share = Probability::new(share).unwrap();
            parts.least_saving = Minutes::new(minutes).unwrap().at(parts.labour_rate);
            parts.repair_from = Probability::new(repair_from).unwrap();
            Problem::new(parts).unwrap()
        };
        let costs = |problem: &Problem, rule: fn(&Problem, &Point) -> Step| -> Vec<f64> {
            let vehicles = Vehicles::drawn(problem, &at.weights, VEHICLES, 7);
            let courses = followed(&at, &vehicles, || |at: &Point| rule(problem, at));
            courses.iter().map(Course::cost).collect()
        };
        let whole = free(0.0, 0.0, 0.0);
        let own = costs(&whole, ours);
        println!(
            "{}: {:.0} ± {:.0}",
            symptom.name,
            mean_of_drawn(&own).0,
            mean_of_drawn(&own).1
        );
        let beside = |name: &str, other: &[f64]| {
            let more: Vec<f64> = other.iter().zip(&own).map(|(a, b)| a - b).collect();
            let (mean, within) = mean_of_drawn(&more);
            println!("  {name}: {mean:+.0} ± {within:.0}");
        };
        for (name, rule) in &RULES[..2] {
            beside(name, &costs(&whole, *rule));
        }
        beside(
            "with the least saving",
            &costs(&free(0.05, 10.0, 0.0), ours),
        );
        beside("with both", &costs(&free(0.05, 10.0, 0.75), ours));
    }
}
