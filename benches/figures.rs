//! The figures that the papers quote: `cargo bench`.
//!
//! Loading stands beside the YAML crate reading the same text into plain values; the plan stands
//! beside the ways of working it is to beat.

#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]

use std::fs;
use std::time::{Duration, Instant};

use halfsplit::decide::{Circumstances, Effort, Standing, WayOfWorking, compared};
use halfsplit::decide::{Limits, OrderBy, Policy, plan};
use halfsplit::infer::{Complaint, Model};
use halfsplit::knowledge::{Knowledge, SymptomId};
use halfsplit::load::{Source, load};

/// Seconds that the fastest of ten runs takes.
fn fastest(mut run: impl FnMut()) -> f64 {
    (0..10)
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
        "complaint | plan 1 s | plan 10 s | bound | gap 1 s | gap 10 s | nodes/s | MB | taken up at each reading | one step | best fixed | until likely enough | habit | taken up, below best fixed | below it until likely enough"
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
    let weights = standing.belief.weights();
    let within = |seconds: u64| -> Policy {
        let limits = Limits {
            time: Duration::from_secs(seconds),
            ..Limits::default()
        };
        plan(
            &standing.problem,
            &weights,
            standing.in_place,
            &[],
            &limits,
            &mut |_| {},
        )
    };
    let (short, long) = (within(1), within(10));
    let effort = Effort {
        vehicles: 4000,
        first: Limits {
            opened: 2000,
            ..Limits::default()
        },
        each: 4,
        changes: 400,
        tried_on: 1000,
    };
    let start = Instant::now();
    let others = compared(standing, &long, &effort);
    let took = start.elapsed();
    let other = |way: WayOfWorking| {
        let found = others.iter().find(|other| other.way == way);
        found.map_or((0.0, String::new()), |other| {
            let sum = other.comparison;
            (sum.cost, format!("{:.0} ±{:.0}", sum.cost, sum.within))
        })
    };
    let (worked, worked_by) = other(WayOfWorking::Plan);
    let (fixed, best_fixed) = other(WayOfWorking::BestFixed);
    let (listed, until_sure) = other(WayOfWorking::BestFixedUntil);
    println!(
        "{name} | {:.0} | {:.0} | {:.0} | {:.1} % | {:.1} % | {} | {} (peak {}) | {} | {} | {} | {} | {} | {:.1} % | {:.1} %",
        short.expected_cost,
        long.expected_cost,
        long.lower_bound,
        100.0 * short.gap,
        100.0 * long.gap,
        long.opened / 10,
        long.bytes >> 20,
        peak(),
        worked_by,
        other(WayOfWorking::OneStep).1,
        best_fixed,
        until_sure,
        other(WayOfWorking::Habit).1,
        100.0 * (1.0 - worked / fixed),
        100.0 * (1.0 - worked / listed),
    );
    println!("  (compared in {:.1} s)", took.as_secs_f64());
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
