//! Time and memory against the size of the knowledge: `cargo bench --bench scale`, or `-- 5000 20000` for some numbers of
//! causes. docs/performance.md has the table.
//!
//! A family is drawn from a seed and written as files: for every fifty causes a complaint, for every four causes a
//! repair and a measurement, and for each cause ten links to measurements spread over all of them. Each size is loaded in a process of
//! its own, so that its peak memory is its own.

#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;
use std::time::Instant;
use std::{env, fs, io};

use halfsplit::decide::{Circumstances, OrderBy, Policy, Standing};
use halfsplit::infer::{Complaint, Model};
use halfsplit::knowledge::SymptomId;
use halfsplit::load::{Source, load};
use tempfile::TempDir;

const SIZES: [usize; 5] = [1250, 2500, 5000, 10_000, 20_000];
const LINKS: usize = 10;
const BY_COMPLAINT: usize = 50;
const BY_REPAIR: usize = 4;

fn main() -> io::Result<()> {
    let arguments: Vec<String> = env::args().skip(1).filter(|of| of != "--bench").collect();
    if let [folder, causes] = arguments.as_slice()
        && Path::new(folder).is_dir()
    {
        measure(Path::new(folder), causes);
        return Ok(());
    }
    let asked: Vec<usize> = arguments.iter().filter_map(|of| of.parse().ok()).collect();
    let sizes = if asked.is_empty() { &SIZES } else { &asked[..] };
    println!(
        "| causes | measurements | links | files | MB | load, s | model, ms | ranking, ms | decision, ms | peak, MB |\n\
         | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |"
    );
    let mut rows: Vec<Vec<f64>> = Vec::new();
    for &causes in sizes {
        let folder = TempDir::new()?;
        let (files, bytes) = write_family(folder.path(), causes)?;
        let output = Command::new(env::current_exe()?)
            .arg(folder.path())
            .arg(causes.to_string())
            .output()?;
        let printed = String::from_utf8_lossy(&output.stdout).into_owned();
        let row: Vec<f64> = printed
            .split(' ')
            .filter_map(|of| of.trim().parse().ok())
            .collect();
        if row.len() != 5 {
            println!("{printed}{}", String::from_utf8_lossy(&output.stderr));
            continue;
        }
        println!(
            "| {causes} | {} | {} | {files} | {:.1} | {:.3} | {:.1} | {:.1} | {:.1} | {:.0} |",
            causes / 4,
            causes * LINKS,
            rounded(bytes) / 1e6,
            row[0],
            row[1],
            row[2],
            row[3],
            row[4],
        );
        rows.push([&[rounded(causes)], row.as_slice()].concat());
    }
    if let [.., _, _] = rows.as_slice() {
        let of = |column: usize| exponent(&rows, column);
        println!(
            "\nfitted: load grows as links^{:.2}, model ^{:.2}, ranking ^{:.2}, decision ^{:.2}, memory ^{:.2}",
            of(1),
            of(2),
            of(3),
            of(4),
            of(5)
        );
    }
    Ok(())
}

#[allow(clippy::cast_precision_loss, reason = "sizes are far below 2^53")]
fn rounded(count: usize) -> f64 {
    count as f64
}

/// The slope of the logarithms by least squares: 1 where a column grows as the first does.
fn exponent(rows: &[Vec<f64>], column: usize) -> f64 {
    let points = rows.iter().map(|row| (row[0].ln(), row[column].ln()));
    let count = rounded(rows.len());
    let (x, y) = points
        .clone()
        .fold((0.0, 0.0), |(sum_x, sum_y), (x, y)| (sum_x + x, sum_y + y));
    let (x, y) = (x / count, y / count);
    let (above, below) = points.fold((0.0, 0.0), |(above, below), (at_x, at_y)| {
        (above + (at_x - x) * (at_y - y), below + (at_x - x).powi(2))
    });
    above / below
}

/// Loads a folder and begins a job on its first complaint: seconds, three times milliseconds, megabytes.
fn measure(folder: &Path, causes: &str) {
    let begun = Instant::now();
    let loaded = match Source::folder(folder).map(|source| load(&source)) {
        Ok(Ok(loaded)) => loaded,
        Ok(Err(findings)) => {
            let findings = findings.to_string();
            let first: String = findings.lines().take(6).collect::<Vec<_>>().join("\n");
            return println!("{causes} causes do not load:\n{first}");
        }
        Err(error) => return println!("{error}"),
    };
    let load = begun.elapsed().as_secs_f64();
    let family = &loaded.knowledge.families[0];
    let complaint = Complaint {
        present: vec![SymptomId::at(0)],
        ..Complaint::default()
    };
    let begun = Instant::now();
    let model = match Model::new(family, None, complaint) {
        Ok(model) => model,
        Err(why) => return println!("{why}"),
    };
    let made = begun.elapsed().as_secs_f64();
    let begun = Instant::now();
    let arrival = Circumstances::on_arrival(family);
    let standing = match Standing::new(&model, Vec::new(), &arrival, OrderBy::default()) {
        Ok(standing) => standing,
        Err(why) => return println!("{why}"),
    };
    let ranked = begun.elapsed().as_secs_f64();
    let begun = Instant::now();
    let _ = Policy::new(&standing.problem).decide(&standing.point());
    let decided = begun.elapsed().as_secs_f64();
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))
        .and_then(|rest| rest.trim().trim_end_matches(" kB").parse::<f64>().ok())
        .map_or(0.0, |kilobytes| kilobytes / 1024.0);
    println!(
        "{load} {} {} {} {peak}",
        made * 1e3,
        ranked * 1e3,
        decided * 1e3
    );
}

/// Numbers that look random and are the same every time (`SplitMix64`: Steele, Lea and Flood 2014).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ mixed >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ mixed >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ mixed >> 31
    }

    /// 0 to `count − 1`.
    fn below(&mut self, count: usize) -> usize {
        usize::try_from(self.next() >> 32).unwrap_or_default() % count
    }

    /// 0.1 to 0.9, in hundredths.
    fn share(&mut self) -> f64 {
        rounded(10 + self.below(81)) / 100.0
    }
}

/// Writes a family of so many causes into a folder: how many files and bytes.
fn write_family(folder: &Path, causes: usize) -> io::Result<(usize, usize)> {
    let mut dice = Dice(1);
    let (measurements, complaints) = (causes / 4, causes / BY_COMPLAINT);
    let (mut files, mut bytes) = (0, 0);
    let mut write = |path: &str, text: String| -> io::Result<()> {
        let path = folder.join(path);
        if let Some(above) = path.parent() {
            fs::create_dir_all(above)?;
        }
        files += 1;
        bytes += text.len();
        fs::write(path, text)
    };
    let family = "family: big\ntitle: Large, invented\nnotice: none\nworth: invented\nmax_order: 2\n\
        shop: {labour_rate: 60, escalation: {minutes: 480, parts: 3000}}\nin_place: [down]\nset_ups:\n\
        \x20 down: {title: On the ground, minutes: 2, group: lift}\n  up: {title: Raised, minutes: 5, group: lift}\n\
        \x20 open: {title: Opened, minutes: 30, needs: [up]}\ninstruments:\n\
        \x20 gauge: {title: Gauge, unit: kPa, range: {from: 0, to: 1000}, accuracy: {class: 1.6}}\n";
    write("big/family.yaml", family.to_owned())?;
    write(
        "vehicles/none.yaml",
        "vehicle: none\ntitle: None\nfamily: big\ninvented: true\nlimits: {}\n".to_owned(),
    )?;
    let mut text = "repairs:\n".to_owned();
    for repair in 0..causes.div_ceil(BY_REPAIR) {
        let (minutes, parts) = (10 + dice.below(200), dice.below(500));
        let _ = writeln!(
            text,
            "  r{repair}: {{title: R, minutes: {minutes}, parts: {parts}, verify: look}}"
        );
    }
    text += "causes:\n";
    for cause in 0..causes {
        let rate = dice.share();
        let _ = writeln!(
            text,
            "  c{cause}: {{title: C, part: p, rate: {rate}, repair: r{}, source: invented}}",
            cause / BY_REPAIR
        );
    }
    write("big/causes.yaml", text)?;
    for complaint in 0..complaints {
        let first = complaint * BY_COMPLAINT;
        let mut text =
            format!("symptom: s{complaint}\ntitle: S\ncomplaints: [s{complaint}]\ntop:\n  any:\n");
        for cause in first..first + BY_COMPLAINT - 10 {
            let _ = writeln!(
                text,
                "    - {{cause: c{cause}, strength: {}}}",
                dice.share()
            );
        }
        for cause in (first + BY_COMPLAINT - 10..first + BY_COMPLAINT).step_by(2) {
            let _ = writeln!(
                text,
                "    - {{event: Both, all: [c{cause}, c{}]}}",
                cause + 1
            );
        }
        write(&format!("big/trees/s{complaint}.yaml"), text)?;
    }
    let mut shows = vec![[String::new(), String::new()]; measurements];
    for cause in 0..causes {
        let mut linked: Vec<usize> = Vec::new();
        while linked.len() < LINKS {
            let measurement = dice.below(measurements);
            if !linked.contains(&measurement) {
                linked.push(measurement);
                let side = dice.below(2);
                let _ = write!(shows[measurement][side], "c{cause}: {}, ", dice.share());
            }
        }
    }
    for (file, part) in shows.chunks(50).enumerate() {
        let mut text = "measurements:\n".to_owned();
        for (place, [low, high]) in part.iter().enumerate() {
            let measurement = file * 50 + place;
            let set_ups = ["[]", "[up]", "[open]"][dice.below(3)];
            let reading = if dice.below(3) == 0 {
                "reading: {quantity: pressure, unit: kPa, instrument: gauge}, \
                 outcomes: {low: {below: 400}, normal: {from: 400, to: 500}, high: {above: 500}}"
            } else {
                "reading: {choices: [normal, low, high]}"
            };
            let _ = writeln!(
                text,
                "  m{measurement}: {{title: M, ask: What?, {reading}, set_ups: {set_ups}, minutes: {}, source: invented, \
                 shows: {{low: {{{low}}}, high: {{{high}}}}}}}",
                1 + dice.below(30)
            );
        }
        write(&format!("big/measurements/f{file}.yaml"), text)?;
    }
    Ok((files, bytes))
}
