//! A job in a line.

use std::path::Path;

use jiff::Timestamp;
use serde::Serialize;

use crate::knowledge::{Family, Knowledge};
use crate::record::{Advice, AdviceKind, Event, History, Record, RecordError};
use crate::session::{Cure, Session};
use crate::sheet::{Stage, Verdict};

/// A job in a line.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    /// The name of its file.
    pub file: String,
    /// The job's 16 hexadecimal digits.
    pub job: String,
    /// Where it is.
    pub stage: Stage,
    /// When it was opened.
    pub opened: Timestamp,
    /// When its last entry was recorded.
    pub last: Timestamp,
    /// The shop's own words for it.
    pub order: Option<String>,
    /// The vehicle's title; its name where the knowledge has it no longer.
    pub vehicle: Option<String>,
    /// The vehicle's name.
    pub vehicle_id: Option<String>,
    /// The complaints that were settled on, else the customer's words.
    pub complaint: Vec<String>,
    /// What was found, of a closed job.
    pub found: Vec<String>,
    /// What would most probably cure the vehicle: worked out, or as the record's last advice has it.
    pub leading: Option<Cure>,
    /// What comes next: worked out, or the record's last advice where nothing was read since.
    pub next: Option<String>,
}

impl Row {
    /// A job by its record, and the record; what comes next is not worked out.
    pub fn read(path: &Path, knowledge: &Knowledge) -> Result<(Self, History), RecordError> {
        let history = Record::read(path)?.history;
        let state = history.state();
        let family = knowledge.family(&state.opened.family);
        let title = |name: &String| {
            let id = family.and_then(|family| Some((family, family.symptom_known_as(name)?)));
            id.map_or_else(
                || name.clone(),
                |(family, id)| family.symptom(id).title.clone(),
            )
        };
        let complaint = if state.present.is_empty() {
            state
                .complaints
                .last()
                .map(|words| format!("“{words}”"))
                .into_iter()
                .collect()
        } else {
            state.present.iter().map(title).collect()
        };
        let vehicle_id = state.vehicle.clone();
        let vehicle = vehicle_id.as_ref().map(|name| {
            let known = knowledge.vehicle(name);
            known.map_or_else(|| name.clone(), |vehicle| vehicle.title.clone())
        });
        let cause = |name: &String| {
            let id = family.and_then(|family| Some((family, family.cause_known_as(name)?)));
            id.map_or_else(
                || name.clone(),
                |(family, id)| family.cause(id).title.clone(),
            )
        };
        let closed = state.closed.iter().flat_map(|closed| &closed.what.causes);
        let mut stage = match (&state.closed, state.under_verification()) {
            (Some(_), _) => Stage::Closed,
            (None, Some(_)) => Stage::Waiting,
            (None, None) => Stage::Open,
        };
        let file = path.file_name().unwrap_or_default();
        let advised = family.filter(|_| stage == Stage::Open);
        let advised = advised.and_then(|family| Advised::last(&history, family));
        if advised.as_ref().is_some_and(Advised::is_to_hand_on) {
            stage = Stage::ToHandOn;
        }
        let (leading, next) = advised.map_or((None, None), |found| (found.leading, found.next));
        let row = Self {
            file: file.to_string_lossy().into_owned(),
            job: history.job().to_owned(),
            stage,
            opened: state.opened_at,
            last: history
                .entries()
                .last()
                .map_or(state.opened_at, |entry| entry.time),
            order: state.opened.ticket.clone(),
            vehicle,
            vehicle_id,
            complaint,
            found: closed.map(cause).collect(),
            leading,
            next,
        };
        Ok((row, history))
    }

    /// Works out what leads and what comes next, as of the last entry.
    pub fn work_out(&mut self, history: &History, knowledge: &Knowledge) {
        match Session::new(knowledge, history.state(), None, None) {
            Ok(session) => {
                let verdict = Verdict::of(&session.next(history, self.last), history.state());
                self.stage = verdict.stage;
                self.leading = verdict.leading;
                self.next = verdict.next;
            }
            Err(missing) => self.next = Some(missing.to_string()),
        }
    }
}

/// The last advice of a record.
struct Advised {
    kind: AdviceKind,
    leading: Option<Cure>,
    /// What it was; none where anything was read since.
    next: Option<String>,
}

impl Advised {
    /// None where a repair was done since.
    fn last(history: &History, family: &Family) -> Option<Self> {
        let mut gone_on = false;
        for entry in history.entries().iter().rev() {
            match &entry.event {
                Event::Advice(advice) => return Some(Self::of(advice, gone_on, family)),
                Event::Repair(_) => return None,
                Event::Note { .. }
                | Event::Condition(_)
                | Event::InPlace { .. }
                | Event::Timed(_) => {}
                _ => gone_on = true,
            }
        }
        None
    }

    fn of(advice: &Advice, gone_on: bool, family: &Family) -> Self {
        let titles = |repairs: &[String]| {
            let titles = repairs.iter().map(|name| {
                let id = family.repair_known_as(name);
                id.map_or(name.as_str(), |id| family.repair(id).title.as_str())
            });
            titles.collect::<Vec<_>>().join("; and ")
        };
        let leading = advice.leading.as_ref().map(|leading| Cure {
            repairs: leading.repairs.clone(),
            title: titles(&leading.repairs),
            probability: leading.probability,
        });
        let measurement = advice.measurement.as_ref().map(|name| {
            let id = family.measurement_known_as(name);
            id.map_or_else(|| name.clone(), |id| family.measurement(id).title.clone())
        });
        let next = measurement.unwrap_or_else(|| match advice.repairs.as_slice() {
            [] => "hand the job on".to_owned(),
            repairs => format!("repair: {}", titles(repairs)),
        });
        Self {
            kind: advice.advice,
            leading,
            next: (!gone_on).then_some(next),
        }
    }

    fn is_to_hand_on(&self) -> bool {
        self.kind == AdviceKind::Escalate && self.next.is_some()
    }
}

/// How long ago something was: `12 min`, `5 h`, `3 d`.
pub fn age(then: Timestamp, now: Timestamp) -> String {
    let minutes = now.duration_since(then).as_secs().max(0) / 60;
    match minutes {
        0..=90 => format!("{minutes} min"),
        91..=2880 => format!("{} h", minutes / 60),
        _ => format!("{} d", minutes / 1440),
    }
}
