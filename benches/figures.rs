//! How long the steps of one job take, in one table with general-purpose libraries beside them: `cargo bench --bench figures`.
//! docs/performance.md says what is measured and how to read it. With `-- policy`: what following the policy comes to on drawn
//! vehicles, beside one step of look-ahead. With `-- recording`: how fast the rows of a recording are read.

#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]

use std::fmt::Write as _;
use std::hint::black_box;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;
use std::{env, fs};

use halfsplit::decide::{
    Circumstances, Course, OrderBy, Plan, Point, Policy, Standing, Step, Stop, Vehicles, bits,
    followed, mean_of_drawn, ranking, repair_now,
};
use halfsplit::infer::{Complaint, Evidence, Model, candidates};
use halfsplit::knowledge::{Family, Knowledge, SymptomId};
use halfsplit::load::{Source, load};
use halfsplit::recording::{Drive, Mapping, Table};
use serde_json::Value;

const COMPLAINT: &str = "slipping";
const VEHICLE: &str = "demo-estate";

/// Seconds that the fastest of some runs takes; short ones are run in batches.
fn fastest(mut run: impl FnMut()) -> f64 {
    let mut timed = |times: u32| {
        let start = Instant::now();
        (0..times).for_each(|_| run());
        start.elapsed().as_secs_f64() / f64::from(times)
    };
    let once = timed(1);
    let times = if once < 1e-4 { 200 } else { 1 };
    (0..30).map(|_| timed(times)).fold(f64::INFINITY, f64::min)
}

fn main() {
    let Ok(loaded) = load(&Source::embedded()) else {
        println!("the shipped knowledge has errors");
        return;
    };
    let knowledge: Knowledge = loaded.knowledge;
    let Some(family) = knowledge.families.first() else {
        return;
    };
    if env::args().any(|argument| argument == "recording") {
        recordings(family);
    } else if env::args().any(|argument| argument == "policy") {
        policies(&knowledge, family);
    } else {
        steps(&knowledge, family);
    }
}

/// How fast the rows of a recording are read.
fn recordings(family: &Family) {
    const ROWS: u32 = 1_000_000;
    let mut table = String::from(
        "Time (s),Engine speed (rpm),Turbine speed (rpm),Primary speed (rpm),Secondary speed (rpm),Throttle (%),\
         Fluid temperature (°C),Selector\n",
    );
    for row in 0..ROWS {
        let speed = 1500 + row % 997;
        let _ = writeln!(
            table,
            "{}.{:02},{speed},{},{},{},{}.5,83,D",
            row / 100,
            row % 100,
            speed - 7,
            speed - 8,
            2 * speed,
            row % 60
        );
    }
    let read = || {
        let (layout, source) = Table::of(table.as_bytes()).ok()?;
        let mapping = Mapping::propose(family, &layout);
        Drive::read(family, &layout, &mapping, source).ok()
    };
    let start = Instant::now();
    let drive = black_box(read());
    let seconds = start.elapsed().as_secs_f64();
    let rows = drive.map_or(0, |drive| drive.rows);
    let megabytes = table.len() / 1_000_000;
    println!("{rows} rows of 8 columns, {megabytes} MB: {seconds:.2} s");
}

/// The steps of a job, each alone.
fn steps(knowledge: &Knowledge, family: &Family) {
    let Some(symptom) = family.symptom_named(COMPLAINT) else {
        return;
    };
    let vehicle = knowledge.vehicles.iter().find(|of| of.name == VEHICLE);
    let complaint = Complaint {
        present: vec![symptom],
        ..Complaint::default()
    };
    let arrival = Circumstances::on_arrival(family);
    let Ok(model) = Model::new(family, vehicle, complaint.clone()) else {
        return;
    };
    let Ok(standing) = Standing::new(&model, Vec::new(), &arrival, OrderBy::default()) else {
        return;
    };
    let memory = peak();
    let (problem, mut start) = (&standing.problem, standing.point());
    let reading = Evidence {
        measurement: standing.named(0),
        weights: vec![0.5; problem.outcomes(0)],
    };
    let embedded = Source::embedded().without_cases();
    let peers = peers();
    let peer = |library: &str, what: &str| peers.get(library)?.get(what)?.as_f64();
    println!(
        "{COMPLAINT} on {VEHICLE}: {} candidates, {} measurements; fastest of 30\n",
        problem.candidates(),
        problem.measurements()
    );
    println!("| step | this program | NumPy | NumPy, entropies kept | pyAgrum | pgmpy |");
    println!("| --- | --- | --- | --- | --- | --- |");
    let line = |name: &str, ours: f64, key: &str| {
        let beside = ["numpy", "numpy_kept", "pyagrum", "pgmpy"].map(|library| {
            peer(library, key).map_or_else(String::new, |theirs| {
                format!("{}, {:.0}x", shown(theirs), theirs / ours)
            })
        });
        println!("| {name} | {} | {} |", shown(ours), beside.join(" | "));
    };
    let all_bits = || -> f64 {
        let all = 0..problem.measurements();
        all.map(|m| bits(problem, &start.weights, m)).sum()
    };
    line(
        "load and check the shipped knowledge",
        fastest(|| drop(black_box(load(&embedded)))),
        "",
    );
    line(
        "candidates of the complaint",
        fastest(|| drop(black_box(candidates(family, &[symptom], &[])))),
        "",
    );
    line(
        "model: candidates, priors, tables",
        fastest(|| {
            drop(black_box(Model::new(family, vehicle, complaint.clone())));
        }),
        "",
    );
    line(
        "belief after one reading",
        fastest(|| drop(black_box(model.update(std::slice::from_ref(&reading))))),
        "belief",
    );
    line(
        "bits of all measurements",
        fastest(|| {
            black_box(all_bits());
        }),
        "bits",
    );
    line(
        "one ranking, costs and set-ups included",
        fastest(|| {
            let mut policy = Policy::new(problem);
            drop(black_box(ranking(&mut policy, &start, OrderBy::Saves)));
        }),
        "",
    );
    // While first looks are open there is nothing to decide.
    start.taken.extend(&problem.parts().first_looks);
    line(
        "one decision, the first looks taken",
        fastest(|| {
            black_box(Policy::new(problem).decide(&start));
        }),
        "",
    );
    let mut next = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    next.args(["next", COMPLAINT, "--vehicle", VEHICLE, "--json"]);
    next.stdout(Stdio::null());
    line(
        "whole process: `halfsplit next --json`",
        fastest(|| drop(black_box(next.status()))),
        "",
    );
    println!("\npeak memory after load, model, ranking: {memory}");
}

/// What the libraries take for the same, where the environment that CI makes for Python is there.
fn peers() -> Value {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let run = Command::new(root.join("target/reference-venv/bin/python"))
        .arg(root.join("tests/reference/peers.py"))
        .args([
            env!("CARGO_BIN_EXE_halfsplit"),
            "knowledge",
            COMPLAINT,
            VEHICLE,
        ])
        .current_dir(root)
        .stderr(Stdio::inherit())
        .output();
    let printed = run.map(|run| run.stdout).unwrap_or_default();
    serde_json::from_slice(&printed).unwrap_or_else(|_| {
        println!("without target/reference-venv no library stands beside: see .ci/run\n");
        Value::Null
    })
}

/// Seconds in a unit that suits them.
fn shown(seconds: f64) -> String {
    match seconds {
        s if s < 1e-3 => format!("{:.1} µs", s * 1e6),
        s => format!("{:.2} ms", s * 1e3),
    }
}

/// Every complaint: a decision, a plan, and what following the policy comes to.
fn policies(knowledge: &Knowledge, family: &Family) {
    println!(
        "complaint | decision, ms | plan, s | policy | one step ahead | saved, paired | peak memory"
    );
    let mut vehicles = knowledge.vehicles.iter();
    let vehicle = vehicles.find(|vehicle| vehicle.family == family.name);
    for (place, symptom) in family.symptoms.iter().enumerate() {
        let complaint = Complaint {
            present: vec![SymptomId::at(place)],
            ..Complaint::default()
        };
        let Ok(model) = Model::new(family, vehicle, complaint) else {
            continue;
        };
        let arrival = Circumstances::on_arrival(family);
        if let Ok(standing) = Standing::new(&model, Vec::new(), &arrival, OrderBy::default()) {
            policy(&symptom.name, &standing);
        }
    }
}

/// One line of that table.
fn policy(name: &str, standing: &Standing<'_, '_>) {
    let (problem, start) = (&standing.problem, standing.point());
    let decision = fastest(|| {
        black_box(Policy::new(problem).decide(&start));
    });
    let begun = Instant::now();
    drop(Plan::new(problem, &start, 2, Stop::never()));
    let plan = begun.elapsed().as_secs_f64();
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
    let problem = &standing.problem;
    let list = ranking(&mut Policy::new(problem), at, OrderBy::Saves);
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

/// The peak memory of this process, where the system tells it.
fn peak() -> String {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let mut lines = status.lines();
    let line = lines.find_map(|line| line.strip_prefix("VmHWM:"));
    let kilobytes = line.and_then(|rest| rest.trim().trim_end_matches(" kB").parse::<u64>().ok());
    kilobytes.map_or_else(
        || "unknown".to_owned(),
        |kilobytes| format!("{} MB", kilobytes >> 10),
    )
}
