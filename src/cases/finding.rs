//! A failing case as a finding, at its line.

use super::case_run::{CaseRun, Fault};
use crate::load::{Code, FileKind, Findings, Places, Report, Source};

/// A finding for each thing that is not as a case expects; the places are looked up in the source.
pub fn findings(source: &Source, runs: &[CaseRun]) -> Findings {
    if runs.iter().all(CaseRun::passes) {
        return Findings::default();
    }
    let places = Places::of(source);
    for run in runs {
        for fault in &run.faults {
            let reading;
            let way: &[&str] = match fault {
                Fault::NotUnderstood { reading: place, .. } => {
                    reading = place.to_string();
                    &[&run.file, "readings", &reading]
                }
                Fault::OtherFirst(_) => &[&run.file, "first"],
                Fault::TooSoon { repair, .. } => &[&run.file, "not_before", repair],
                Fault::NoVehicle => &[&run.file, "vehicle"],
                Fault::Unexplained(_) | Fault::TooLarge(_) => &[&run.file, "symptoms"],
                _ => &[&run.file, "expect"],
            };
            let (words, advice) = match fault {
                Fault::OtherFirst(_) => (
                    format!(
                        "{} is expected first, but {fault}",
                        run.expected_first.as_deref().unwrap_or_default()
                    ),
                    "see what makes the other step worth more, or correct what the case states"
                        .to_owned(),
                ),
                Fault::TooSoon { .. } => (
                    fault.to_string(),
                    "state under `requires` of the repair what it waits for, or correct the figures that lead to it"
                        .to_owned(),
                ),
                Fault::NotUnderstood { .. }
                | Fault::NoVehicle
                | Fault::Unexplained(_)
                | Fault::TooLarge(_) => (
                    format!("the case cannot be played: {fault}"),
                    "write what a technician would type, so that nothing needs asking back"
                        .to_owned(),
                ),
                _ => (
                    format!("{} is expected, but {fault}", run.expected),
                    where_it_lost(run),
                ),
            };
            let spot = places.key(&run.family, FileKind::Case, way);
            let code = match fault {
                Fault::TooSoon { .. } => Code::RepairTooSoon,
                _ => Code::CaseFails,
            };
            places
                .log
                .add(Report::new(code, spot, words).advice(advice));
        }
    }
    places.log.finish()
}

/// Where to look first.
fn where_it_lost(run: &CaseRun) -> String {
    let stage = run.lost_most.and_then(|place| run.chain.get(place));
    match stage.and_then(|stage| stage.reading.as_ref()) {
        Some(read) => format!(
            "look at the figures of {} = {}: there the expected answer lost most",
            read.measurement, read.outcome
        ),
        None => "look at the rates: no reading spoke against the expected answer".to_owned(),
    }
}
