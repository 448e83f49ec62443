//! Counts made elsewhere say what the records say.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use halfsplit::knowledge::{CauseId, Family, SymptomId};
use halfsplit::learn::{Prior, Tally, learn};
use halfsplit::record::{Closed, Event, Found, History, Opened, Reading, Repair, Verification};
use jiff::Timestamp;
use tempfile::TempDir;

use super::drawn::{Draws, Job, SHIPPED, Shop, truth};
use super::{jobs, records, tally_of};
use crate::record::a_reading;

const HEAD: &str = "present,absent,found,causes,among,fades,measurement,outcome,jobs,first,last\n";

fn shop() -> (Family, Vec<Job>) {
    let truth = truth(&SHIPPED.families[0], Prior::default(), &mut Draws(11));
    let mut shop = Shop::new(&truth, 11);
    let jobs = (0..300).map(|_| shop.job()).collect();
    (truth, jobs)
}

/// The events of a job after its opening.
fn events(family: &Family, job: &Job) -> Vec<Event> {
    let finding = &job.finding;
    let symptom = |present| {
        move |id: &SymptomId| Event::Symptom {
            symptom: family.symptom(*id).name.clone(),
            present,
        }
    };
    let mut events: Vec<Event> = finding.present.iter().map(symptom(true)).collect();
    events.extend(finding.absent.iter().map(symptom(false)));
    for (name, weights) in &job.readings {
        let most = weights.iter().max_by(|a, b| a.1.total_cmp(b.1)).unwrap().0;
        let of = a_reading(name, most);
        // A reading that was replaced, and one taken back.
        let normal = || Event::Reading(Box::new(a_reading(name, most)));
        events.extend([normal(), normal(), Event::back(1)]);
        events.push(Event::Reading(Box::new(Reading {
            weights: weights.clone(),
            ..of
        })));
    }
    let causes = family.names_of(&finding.causes);
    let all = finding.causes.iter().chain(&finding.among);
    let mut repairs: Vec<_> = all.clone().map(|id| family.cause(*id).repair).collect();
    repairs.sort_unstable();
    repairs.dedup();
    let repairs = family.names_of(&repairs);
    events.push(Event::Repair(Repair {
        repairs: repairs.clone(),
        causes: family.names_of(&all.copied().collect::<Vec<CauseId>>()),
        probability: 0.9,
    }));
    events.push(Event::Verification(Verification {
        measurement: family.measurements[0].name.clone(),
        raw: "normal".to_owned(),
        outcome: "normal".to_owned(),
        as_expected: true,
    }));
    events.push(Event::Closed(Closed {
        fixed: true,
        causes,
        repairs,
        found: Some(job.how),
        among: family.names_of(&finding.among),
        words: None,
    }));
    events
}

/// Writes the jobs as records, a job a day.
fn write_records(family: &Family, drawn: &[Job], folder: &Path) {
    for (number, job) in drawn.iter().enumerate() {
        let begun = 1_767_268_800 + 86_400 * i64::try_from(number).unwrap();
        let name = format!("{number:06}.job.jsonl");
        let at = |line: i64| Timestamp::from_second(begun + line).unwrap();
        let mut history = History::begin(Opened::new(&family.name, BTreeMap::new()), at(0), &name);
        for (line, event) in (1..).zip(events(family, job)) {
            history.add(event, at(line)).unwrap();
        }
        let lines = history.entries().iter();
        let lines: Vec<u8> = lines.flat_map(|entry| entry.to_line().unwrap()).collect();
        fs::write(folder.join(name), lines).unwrap();
    }
}

/// A line for every job and every reading of it, not counted together: `jobs` is 1 throughout.
fn one_by_one(family: &Family, drawn: &[Job]) -> String {
    let mut text = HEAD.to_owned();
    for (number, job) in drawn.iter().enumerate() {
        let finding = &job.finding;
        let names = |ids: &[CauseId]| family.names_of(ids).join(" ");
        let found = match job.how {
            Found::Stated => "stated",
            Found::Only => "only",
            Found::Unknown => "unknown",
        };
        let complaint = format!(
            "{},{},{found},{},{}",
            family.names_of(&finding.present).join(" "),
            family.names_of(&finding.absent).join(" "),
            names(&finding.causes),
            names(&finding.among)
        );
        let steps = |weights: &BTreeMap<String, f64>| {
            let each = weights.iter().map(|(name, w)| (name, (20.0 * w).round()));
            let each = each.filter(|(_, steps)| *steps > 0.0);
            let each: Vec<String> = each
                .map(|(name, steps)| format!("{name}:{steps}"))
                .collect();
            each.join("+")
        };
        let day =
            jiff::civil::date(2026, 1, 1) + jiff::Span::new().days(i64::try_from(number).unwrap());
        let fades = job
            .readings
            .iter()
            .find(|(name, _)| name == "present-today");
        let fades = fades.map_or_else(String::new, |(name, w)| format!("{name}={}", steps(w)));
        writeln!(text, "{complaint},,,,1,{day},{day}").unwrap();
        for (name, weights) in &job.readings {
            let outcome = steps(weights);
            writeln!(text, "{complaint},{fades},{name},{outcome},1,{day},{day}").unwrap();
        }
    }
    text
}

fn counted(family: &Family, text: &str) -> Tally {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("counts.csv");
    fs::write(&path, text).unwrap();
    let mut tally = Tally::default();
    tally.read_counts(family, &path).unwrap();
    tally
}

#[test]
fn counts_give_what_the_records_give_to_the_last_digit() {
    let (truth, drawn) = shop();
    let folder = TempDir::new().unwrap();
    write_records(&truth, &drawn, folder.path());
    let of_records = tally_of(&truth, &[folder.path().to_owned()]);
    assert!(of_records.refused.is_empty(), "{:?}", of_records.refused);
    let of_counts = counted(&truth, &one_by_one(&truth, &drawn));
    let [records, counts] = [&of_records, &of_counts]
        .map(|tally| learn(&SHIPPED.families[0], tally, Prior::default(), None));
    assert_eq!(records.jobs, 300);
    assert!(records.shows.0.len() > 20 && records.rates.0.len() > 50);
    assert_eq!(records, counts);
}

#[test]
fn a_line_of_counts_is_so_many_jobs_and_old_names_count_for_new_ones() {
    let mut family = super::family();
    family.causes[0].formerly = vec!["pump-tired".to_owned()];
    family.measurements[0].formerly = vec!["line-pressure".to_owned()];
    family.symptoms[0].formerly = vec!["slips".to_owned()];
    let tally = counted(
        &family,
        &format!(
            "{HEAD}slips,,only,pump-tired,,,,,7,2026-01-05,2026-02-01
slipping,,only,pump-worn,,,,,2,2026-01-01,2026-01-05
slips,,only,pump-tired,,,line-pressure,low,3,2026-01-05,2026-01-07
slipping,,only,pump-worn,,,pressure,low:15+normal:5,2,2026-01-05,2026-01-07
slipping,,unknown,,seal-leak seal-torn,,,,4,2026-01-05,2026-01-07
slipping,,,seal-leak,,,,,1,2026-01-05,2026-01-07
slipping,,,seal-leak,,,pressure,low,1,2026-01-05,2026-01-07
slipping,,only,pump-gone,,,,,4,2026-01-05,2026-01-07
"
        ),
    );
    assert_eq!(
        (jobs(&tally), super::with_cause(&tally, super::PUMP)),
        (14, 9)
    );
    let seals = vec![CauseId::at(2), CauseId::at(3)];
    assert_eq!(super::unstated(&tally), [(seals, 5)]);
    let pump = super::outcomes(&tally, super::PRESSURE, super::PUMP);
    assert_eq!(pump, Some(vec![5, 0, 0]));
    assert_eq!(tally.readings.len(), 1);
    let [refused] = &tally.refused[..] else {
        panic!("{:?}", tally.refused)
    };
    assert!(refused.file.to_string_lossy().ends_with("counts.csv:9"));
    assert_eq!(refused.why.kind(), "unknown-name");
    assert_eq!(
        tally.jobs().unwrap().dates.map(|day| day.to_string()),
        ["2026-01-01", "2026-02-01"]
    );
}

/// A complaint that nothing explains says nothing of any rate, and does not keep the others from moving.
#[test]
fn jobs_whose_complaint_has_no_candidate_move_no_rate() {
    let family = super::family();
    let day = "2026-01-05,2026-01-07";
    let of = |more: &str| {
        let text = format!("{HEAD}slipping,,only,pump-worn,,,,,200,{day}\n{more}");
        learn(&family, &counted(&family, &text), Prior::default(), None)
    };
    let with = of(&format!("slipping,slipping,only,seal-leak,,,,,3,{day}\n"));
    assert_eq!((with.no_candidate, with.jobs), (3, 203));
    assert_eq!(with.rates, of("").rates);
    let pump = &with.rates.0["pump-worn"];
    assert!(pump.now > 1.5 * pump.was, "{pump:?}");
}

#[test]
fn a_cell_that_is_no_weight_is_refused_with_its_line() {
    let family = super::family();
    for cell in ["low:x", "low:0", "low:200", "low:12+normal:0", "low:-3"] {
        let text =
            format!("{HEAD}slipping,,only,pump-worn,,,pressure,{cell},3,2026-01-05,2026-01-07\n");
        let tally = counted(&family, &text);
        assert!(tally.readings.is_empty(), "{cell}");
        let kinds: Vec<_> = tally.refused.iter().map(|of| of.why.kind()).collect();
        assert_eq!(kinds, ["no-weight"], "{cell}");
    }
}

#[test]
fn a_file_that_holds_no_counts_is_refused_with_its_line() {
    let folder = TempDir::new().unwrap();
    for (text, words) in [
        ("jobs\n1\n", "missing field `present`"),
        (
            &format!("{HEAD}slipping,,only,pump-worn,,,,,many,2026-01-05,2026-02-01\n"),
            "line: 2",
        ),
        (
            &format!("{HEAD}slipping,,guessed,pump-worn,,,,,1,2026-01-05,2026-02-01\n"),
            "line: 2",
        ),
    ] {
        let path = folder.path().join("counts.csv");
        fs::write(&path, text).unwrap();
        let error = Tally::default()
            .read_counts(&super::family(), &path)
            .unwrap_err();
        assert!(error.to_string().contains(words), "{error}");
    }
}

#[test]
fn a_record_with_former_names_counts_for_todays() {
    let mut family = super::family();
    let mut shop = super::Records::new();
    shop.job(
        [
            vec![super::reading("pressure", "low")],
            super::ending(&["pump-worn"]),
        ]
        .concat(),
    );
    for (of, name) in [
        (&mut family.causes[0].name, "pump-tired"),
        (&mut family.measurements[0].name, "line-pressure"),
        (&mut family.symptoms[0].name, "slips"),
    ] {
        *of = name.to_owned();
    }
    let refused = shop.tally(&family);
    assert_eq!((jobs(&refused), refused.refused.len()), (0, 1));
    family.causes[0].formerly = vec!["pump-worn".to_owned()];
    family.measurements[0].formerly = vec!["pressure".to_owned()];
    family.symptoms[0].formerly = vec!["slipping".to_owned()];
    let tally = shop.tally(&family);
    assert_eq!(
        (jobs(&tally), super::with_cause(&tally, super::PUMP)),
        (1, 1)
    );
    assert_eq!(
        super::outcomes(&tally, super::PRESSURE, super::PUMP),
        Some(vec![1, 0, 0])
    );
}

#[test]
#[ignore = "writes the records that tests/reference/counts.py counts: .ci/run runs it"]
fn drawn_jobs_are_written_as_records() {
    let (truth, drawn) = shop();
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("target/drawn-jobs");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    write_records(&truth, &drawn, &folder);
    assert_eq!(records(&[folder]).unwrap().len(), 300);
}
