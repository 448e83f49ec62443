//! What closed jobs say about the knowledge's figures.

#![allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "draws have 53 bits, and counts are small"
)]

mod calibration;
mod counting;
mod counts;
mod drawn;
mod figures;
mod laid_over;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use halfsplit::fault_tree::{Builder, Gate};
use halfsplit::knowledge::{
    Cause, CauseId, Chance, Escalation, Family, Figures, Measurement, MeasurementId, Outcome,
    OutcomeId, RepairId, Rest, Row, Shop, Symptom,
};
use halfsplit::learn::{Moved, Overlay, Tally, records};
use halfsplit::record::{
    Closed, Entry, Event, Found, History, Opened, Reading, Repair, Verification,
};
use halfsplit::units::{Minutes, Money, Probability, Rate};
use jiff::Timestamp;
use tempfile::TempDir;

use crate::record::a_reading;

const PUMP: CauseId = CauseId::at(0);
const STRAINER: CauseId = CauseId::at(1);
const PRESSURE: MeasurementId = MeasurementId::at(0);
const RESIDUE: MeasurementId = MeasurementId::at(1);
const LOW: OutcomeId = OutcomeId::at(0);

/// The figures of `shows` that moved: by measurement, outcome and cause.
fn shown(learned: &Overlay) -> BTreeMap<[&str; 3], &Moved> {
    let mut shown = BTreeMap::new();
    for (measurement, outcomes) in &learned.shows.0 {
        for (outcome, causes) in &outcomes.0 {
            for (cause, moved) in &causes.0 {
                shown.insert([measurement.as_str(), outcome, cause], moved);
            }
        }
    }
    shown
}

/// The jobs counted.
fn jobs(tally: &Tally) -> u64 {
    tally.jobs().map_or(0, |all| all.jobs)
}

/// In how many of them a cause was found for certain.
fn with_cause(tally: &Tally, cause: CauseId) -> u64 {
    let findings = tally.findings.iter();
    let with = findings.filter(|(finding, _)| finding.causes.contains(&cause));
    with.map(|(_, count)| count.jobs).sum()
}

/// In how many nobody saw which of some causes it was.
fn unstated(tally: &Tally) -> Vec<(Vec<CauseId>, u64)> {
    let mut unstated: BTreeMap<Vec<CauseId>, u64> = BTreeMap::new();
    for (finding, count) in &tally.findings {
        if !finding.among.is_empty() {
            *unstated.entry(finding.among.clone()).or_default() += count.jobs;
        }
    }
    unstated.into_iter().collect()
}

/// The jobs where a cause alone was found, by the likeliest outcome of a measurement.
fn outcomes(tally: &Tally, measurement: MeasurementId, cause: CauseId) -> Option<Vec<u64>> {
    let readings = tally.readings.get(&(measurement, cause))?;
    let mut jobs = Vec::new();
    for (reading, count) in readings {
        jobs.resize(reading.weights.len(), 0);
        let most = reading.weights.iter().max().unwrap();
        let place = reading.weights.iter().position(|weight| weight == most);
        jobs[place.unwrap()] += count.jobs;
    }
    Some(jobs)
}

fn p(number: f64) -> Probability {
    Probability::new(number).unwrap()
}

fn minutes(number: f64) -> Minutes {
    Minutes::new(number).unwrap()
}

fn money(number: f64) -> Money {
    Money::new(number).unwrap()
}

fn cause(name: &str, rate: f64, repair: usize) -> Cause {
    Cause {
        name: name.to_owned(),
        formerly: Vec::new(),
        title: name.to_owned(),
        part: "hydraulic supply".to_owned(),
        rate: Rate::per_thousand(rate).unwrap(),
        repair: RepairId::at(repair),
        source: "invented".to_owned(),
    }
}

fn repair(name: &str) -> halfsplit::knowledge::Repair {
    halfsplit::knowledge::Repair {
        name: name.to_owned(),
        formerly: Vec::new(),
        title: name.to_owned(),
        minutes: minutes(60.0),
        parts: money(0.0),
        requires: halfsplit::knowledge::Requires::default(),
        set_ups: Vec::new(),
        cautions: Vec::new(),
        verify: String::new(),
        verify_with: vec![halfsplit::knowledge::Verify::Read(PRESSURE)],
        care: Vec::new(),
        opens_valve_body: false,
        unit_out: false,
        reveals: Vec::new(),
    }
}

/// A measurement in words; `shows` by cause: outcome and probability.
fn measurement(
    name: &str,
    outcomes: &[&str],
    normal: usize,
    rest: Rest,
    shows: &[(CauseId, &[(usize, f64)])],
) -> Measurement {
    let mut chance = vec![p(0.02); outcomes.len()];
    chance[normal] = p(1.0);
    for _ in 1..outcomes.len() {
        chance[normal] = p(chance[normal].get() - 0.02);
    }
    let row = |stated: &[(usize, f64)]| {
        Row(stated
            .iter()
            .map(|(outcome, number)| (OutcomeId::at(*outcome), p(*number)))
            .collect())
    };
    Measurement {
        name: name.to_owned(),
        formerly: Vec::new(),
        title: name.to_owned(),
        ask: name.to_owned(),
        reading: halfsplit::knowledge::Reading::Words,
        outcomes: outcomes
            .iter()
            .map(|outcome| Outcome {
                name: (*outcome).to_owned(),
                gloss: None,
                words: Vec::new(),
                heard: Vec::new(),
                bands: Vec::new(),
            })
            .collect(),
        normal: OutcomeId::at(normal),
        set_ups: Vec::new(),
        after: Vec::new(),
        unless: halfsplit::knowledge::Unless::default(),
        along: Vec::new(),
        sets: Vec::new(),
        unclear: Vec::new(),
        told_by: None,
        only_then: false,
        finds: Vec::new(),
        conditions: Vec::new(),
        minutes: minutes(5.0),
        cautions: Vec::new(),
        unread: Vec::new(),
        ruled_out: Vec::new(),
        offered_for: None,
        limits: Vec::new(),
        note: None,
        steps: Vec::new(),
        shows: shows
            .iter()
            .map(|(cause, stated)| (*cause, row(stated)))
            .collect(),
        chance: Chance(chance),
        rest,
        repeat: false,
        timed: None,
        recording: None,
        source: "invented".to_owned(),
    }
}

/// Four causes, of which two share a repair, two measurements and one complaint.
fn family() -> Family {
    let mut tree = Builder::new();
    let leaves: Vec<_> = (0..4)
        .map(|place| tree.leaf(CauseId::at(place), p(1.0)))
        .collect();
    let top = tree.gate(Gate::Any, "No drive", None, &leaves).unwrap();
    Family {
        accept: Vec::new(),
        jobs: "jobs".to_owned(),
        unfinished: false,
        recorder: None,
        name: "chain-cvt".to_owned(),
        title: "Invented".to_owned(),
        notice: String::new(),
        worth: String::new(),
        figures: Figures {
            max_order: 2,
            unlisted: p(0.02),
            // None, so that the sums are short.
            floor: p(0.0),
            reacts: p(0.25),
            mistold: p(0.0),
            misread: p(0.0),
        },
        fades: Vec::new(),
        shop: Shop {
            labour_rate: money(90.0),
            waiting_rate: money(0.0),
            least_saving_share: p(0.05),
            least_saving_minutes: minutes(10.0),
            repair_from: Probability::ZERO,
            close_out: minutes(0.0),
            escalation: Escalation {
                minutes: minutes(480.0),
                parts: money(0.0),
            },
        },
        in_place: Vec::new(),
        put_back: Vec::new(),
        habit: Vec::new(),
        cautions: Vec::new(),
        dangers: Vec::new(),
        sources: Vec::new(),
        care: Vec::new(),
        set_ups: Vec::new(),
        instruments: Vec::new(),
        signals: Vec::new(),
        conditions: Vec::new(),
        codes: BTreeMap::new(),
        ambiguities: Vec::new(),
        repairs: vec![
            repair("renew-pump"),
            repair("renew-strainer"),
            repair("reseal"),
        ],
        causes: vec![
            cause("pump-worn", 14.0, 0),
            cause("strainer-clogged", 30.0, 1),
            cause("seal-leak", 60.0, 2),
            cause("seal-torn", 20.0, 2),
        ],
        measurements: vec![
            measurement(
                "pressure",
                &["low", "normal", "high"],
                1,
                Rest::Normal,
                &[(PUMP, &[(0, 0.8)]), (STRAINER, &[(0, 0.6), (2, 0.1)])],
            ),
            measurement(
                "residue",
                &["clean", "dark", "metal"],
                0,
                Rest::Chance,
                &[(STRAINER, &[(1, 0.5)])],
            ),
        ],
        symptoms: vec![Symptom {
            name: "slipping".to_owned(),
            formerly: Vec::new(),
            title: "Slipping".to_owned(),
            complaints: Vec::new(),
            examples: Vec::new(),
            first_looks: Vec::new(),
            tree: tree.finish(top),
        }],
        cases: Vec::new(),
        exercises: Vec::new(),
        not_meant: Vec::new(),
        unproved: None,
    }
}

fn names(names: &[&str]) -> Vec<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

fn reading(measurement: &str, outcome: &str) -> Event {
    reading_that(measurement, outcome, true)
}

fn reading_that(measurement: &str, outcome: &str, counts: bool) -> Event {
    Event::Reading(Box::new(Reading {
        counts,
        ..a_reading(measurement, outcome)
    }))
}

fn repaired(causes: &[&str]) -> Event {
    Event::Repair(Repair {
        repairs: names(&["renew-pump"]),
        causes: names(causes),
        probability: 0.9,
    })
}

fn verified(as_expected: bool) -> Event {
    verified_as(if as_expected { "normal" } else { "low" }, as_expected)
}

fn verified_as(outcome: &str, as_expected: bool) -> Event {
    Event::Verification(Verification {
        measurement: "pressure".to_owned(),
        raw: outcome.to_owned(),
        outcome: outcome.to_owned(),
        as_expected,
    })
}

fn closed(causes: &[&str], fixed: bool) -> Event {
    Event::Closed(Closed {
        fixed,
        causes: names(causes),
        repairs: names(&["renew-pump"]),
        found: fixed.then_some(Found::Stated),
        among: Vec::new(),
        words: None,
    })
}

/// A closing as fixed in which nobody said which of some causes it was, or nobody was asked.
fn closed_unseen(found: Option<Found>, causes: &[&str], among: &[&str]) -> Event {
    Event::Closed(Closed {
        fixed: true,
        causes: names(causes),
        repairs: names(&["reseal"]),
        found,
        among: names(among),
        words: None,
    })
}

/// The end of a job on which it counts.
fn ending(causes: &[&str]) -> Vec<Event> {
    vec![repaired(causes), verified(true), closed(causes, true)]
}

fn symptom() -> Event {
    Event::Symptom {
        symptom: "slipping".to_owned(),
        present: true,
    }
}

/// A folder of records that goes away.
struct Records {
    folder: TempDir,
    jobs: u32,
}

impl Records {
    fn new() -> Self {
        Self {
            folder: TempDir::new().unwrap(),
            jobs: 0,
        }
    }

    /// Writes a job of the events after its opening and its symptom; each job a day after the last.
    fn job(&mut self, events: impl IntoIterator<Item = Event>) -> PathBuf {
        self.job_of("chain-cvt", events)
    }

    fn job_of(&mut self, family: &str, events: impl IntoIterator<Item = Event>) -> PathBuf {
        self.jobs += 1;
        // 2026-01-01 12:00:00 UTC is 20,454 days and twelve hours after 1970-01-01.
        let begun = (20_453 + i64::from(self.jobs)) * 86_400 + 43_200;
        let at = |line: i64| Timestamp::from_second(begun + line).unwrap();
        let name = format!("{:06}.job.jsonl", self.jobs);
        let opened = Opened::new(family, BTreeMap::new());
        let mut history = History::begin(opened, at(0), &name);
        for (line, event) in (1..).zip([symptom()].into_iter().chain(events)) {
            history.add(event, at(line)).unwrap();
        }
        let path = self.folder.path().join(name);
        let lines: Vec<u8> = history
            .entries()
            .iter()
            .flat_map(|entry: &Entry| entry.to_line().unwrap())
            .collect();
        fs::write(&path, lines).unwrap();
        path
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn tally(&self, family: &Family) -> Tally {
        tally_of(family, &[self.path().to_owned()])
    }
}

fn tally_of(family: &Family, arguments: &[PathBuf]) -> Tally {
    Tally::of(family, &records(arguments).unwrap(), &mut |_| {})
}
