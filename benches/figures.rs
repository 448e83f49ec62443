//! The figures that the papers quote: `cargo bench`.
//!
//! Loading stands beside the YAML crate reading the same text into plain values; the policy beside one step of
//! look-ahead on the same drawn vehicles.

#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]

use std::fs;
use std::time::Instant;

use halfsplit::decide::{
    Circumstances, Course, OrderBy, Plan, Point, Policy, Standing, Step, Stop, Vehicles, followed,
    mean_of_drawn, ranking, repair_now,
};
use halfsplit::infer::{Complaint, Model};
use halfsplit::knowledge::{Knowledge, SymptomId};
use halfsplit::load::{Source, load};

/// Seconds that the fastest of ten runs takes.
fn fastest(run: impl FnMut()) -> f64 {
    fastest_of(10, run)
}

/// Seconds that the fastest of some runs takes.
fn fastest_of(runs: usize, mut run: impl FnMut()) -> f64 {
    (0..runs)
        .map(|_| {
            let start = Instant::now();
            run();
            start.elapsed().as_secs_f64()
        })
        .fold(f64::INFINITY, f64::min)
}

fn main() {
    let Ok(loaded) = load(&Source::embedded()) else {
        println!("the shipped knowledge has errors");
        return;
    };
    loading();
    println!(
        "complaint | decision, ms | plan, s | policy | one step ahead | saved, paired | peak MB"
    );
    let knowledge: Knowledge = loaded.knowledge;
    for family in &knowledge.families {
        let vehicle = knowledge
            .vehicles
            .iter()
            .find(|vehicle| vehicle.family == family.name);
        for (place, symptom) in family.symptoms.iter().enumerate() {
            let complaint = Complaint {
                present: vec![SymptomId::at(place)],
                ..Complaint::default()
            };
            let Ok(model) = Model::new(family, vehicle, complaint) else {
                continue;
            };
            let arrival = Circumstances::on_arrival(family);
            let Ok(standing) = Standing::new(&model, Vec::new(), &arrival, OrderBy::default())
            else {
                continue;
            };
            figures(&symptom.name, &standing);
        }
    }
}

/// Loading and checking, beside reading alone.
fn loading() {
    let source = Source::embedded();
    let ours = fastest(|| drop(load(&source)));
    let peer = fastest(|| {
        for (_, text) in source.files() {
            drop(serde_yaml::from_str::<serde_json::Value>(text));
        }
    });
    println!(
        "load and check {:.1} ms; the YAML crate alone, into plain values {:.1} ms",
        ours * 1e3,
        peer * 1e3
    );
}

/// One line of the table.
fn figures(name: &str, standing: &Standing<'_, '_>) {
    let (problem, start) = (&standing.problem, standing.point());
    let mut policy = Policy::new(problem);
    let decision = fastest(|| {
        policy.decide(&start);
    });
    let plan = fastest_of(2, || drop(Plan::new(problem, &start, 2, Stop::never())));
    let drawn = Vehicles::drawn(problem, &start.weights, 2000, 5);
    let costs = |courses: &[Course]| -> Vec<f64> { courses.iter().map(Course::cost).collect() };
    let ours = costs(&followed(&start, &drawn, || {
        let mut policy = Policy::new(problem);
        move |at: &Point| policy.decide(at).step
    }));
    let one_step = costs(&followed(&start, &drawn, || {
        move |at: &Point| one_step(standing, at)
    }));
    let saved: Vec<f64> = one_step.iter().zip(&ours).map(|(a, b)| a - b).collect();
    let told = |costs: &[f64]| {
        let (mean, within) = mean_of_drawn(costs);
        format!("{mean:.0} ±{within:.0}")
    };
    println!(
        "{name} | {:.1} | {:.1} | {} | {} | {} | {}",
        decision * 1e3,
        plan,
        told(&ours),
        told(&one_step),
        told(&saved),
        peak()
    );
}

/// Of what saves money one step ahead, what separates most a minute; else the first repair.
fn one_step(standing: &Standing<'_, '_>, at: &Point) -> Step {
    let by = OrderBy::Saves;
    let problem = &standing.problem;
    let list = ranking(problem, at, by);
    let saving = list.iter().find(|ranked| ranked.saves > 0.0);
    saving.map_or_else(
        || {
            let order = repair_now(problem, &at.weights);
            let first = order.steps.first();
            first.map_or(Step::Escalate, |step| Step::Repair(step.group))
        },
        |ranked| Step::Measure(ranked.measurement),
    )
}

/// The peak memory of the process in MB, where the system tells it.
fn peak() -> String {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))
        .and_then(|rest| rest.trim().trim_end_matches(" kB").parse::<u64>().ok())
        .map_or_else(
            || "unknown".to_owned(),
            |kilobytes| (kilobytes >> 10).to_string(),
        )
}
