//! How long the steps of one job take, in one table with general-purpose libraries beside them: `cargo bench --bench figures`.
//! docs/performance.md says what is measured and how to read it. With `-- policy`: what following the policy comes to on drawn
//! vehicles, beside one step of look-ahead. With `-- recording`: how long a recording of a million rows takes.

#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]

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
use halfsplit::recording::{Drive, Mapping, Report, Table};
use serde_json::Value;

use driveline::{Faults, Leg, Recorder, drive as driven, road_test};

#[allow(
    dead_code,
    clippy::unwrap_used,
    clippy::cast_precision_loss,
    clippy::similar_names,
    clippy::too_many_lines,
    clippy::format_push_string,
    reason = "it is of the tests"
)]
#[path = "../tests/suite/recording/driveline.rs"]
mod driveline;

const COMPLAINT: &str = "slipping";
const VEHICLE: &str = "demo-estate";
/// The file that a process of its own reads.
const RECORDING: &str = "HALFSPLIT_BENCH_RECORDING";

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
    if let Some(file) = env::var_os(RECORDING) {
        if read_recording(&knowledge, family, Path::new(&file)).is_none() {
            println!("the recording cannot be read");
        }
    } else if env::args().any(|argument| argument == "recording") {
        recordings();
    } else if env::args().any(|argument| argument == "policy") {
        policies(&knowledge, family);
    } else {
        steps(&knowledge, family);
    }
}

/// How long a recording of a million rows takes, and how much memory: written by the driveline model of the tests, with
/// all of its fourteen signals and with the seven of a short list.
fn recordings() {
    const ROWS: usize = 1_000_000;
    let legs: Vec<Leg> = (0..54).flat_map(|_| road_test()).collect();
    let faults = Faults {
        flare: Some([92.0, 240.0, 0.9]),
        judder: Some([3000.0, 3010.0, 7.0, 30.0]),
        ..Faults::default()
    };
    let all = Recorder::at(100.0, 7).table(&driven(&legs, &faults));
    let rows = || all.lines().take(1 + ROWS);
    let few = |row: &str| -> String {
        let cells: Vec<&str> = row.split(',').collect();
        [0, 1, 2, 3, 4, 11, 12, 13]
            .map(|place| cells[place])
            .join(",")
    };
    println!("seconds of three runs are the fastest\n");
    println!("columns | MB | rows read, s | events, traces, readings, s | peak memory");
    one_recording(&rows().map(few).collect::<Vec<_>>());
    one_recording(&rows().map(str::to_owned).collect::<Vec<_>>());
}

/// Reads rows in a process of its own, which prints its line of the table.
fn one_recording(rows: &[String]) {
    let file = env::temp_dir().join(format!("halfsplit-{}.csv", std::process::id()));
    let read = |file: &Path| {
        fs::write(file, rows.join("\n"))?;
        Command::new(env::current_exe()?)
            .env(RECORDING, file)
            .status()
    };
    if let Err(error) = read(&file) {
        println!("{}: {error}", file.display());
    }
    // It is in the folder of what may be lost.
    let _ = fs::remove_file(&file);
}

/// Reads a recording, and prints how long that took.
fn read_recording(knowledge: &Knowledge, family: &Family, file: &Path) -> Option<()> {
    let vehicle = knowledge.vehicles.iter().find(|of| of.name == VEHICLE);
    let mut best = [f64::INFINITY; 2];
    let mut columns = 0;
    for _ in 0..3 {
        let start = Instant::now();
        let (table, source) = Table::open(file).ok()?;
        let mapping = Mapping::propose(family, &table);
        let drive = Drive::read(family, &table, &mapping, source).ok()?;
        let read = start.elapsed().as_secs_f64();
        columns = table.columns.len();
        drop(black_box(Report::of(
            family,
            vehicle,
            "",
            (table, &mapping),
            &drive,
        )));
        let told = start.elapsed().as_secs_f64() - read;
        best = [best[0].min(read), best[1].min(told)];
    }
    let megabytes = fs::metadata(file).ok()?.len() / 1_000_000;
    let [read, told] = best;
    println!(
        "{columns} | {megabytes} | {read:.2} | {told:.2} | {}",
        peak()
    );
    Some(())
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
