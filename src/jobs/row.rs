//! A job in a line.

use std::path::Path;

use jiff::Timestamp;
use serde::Serialize;

use crate::knowledge::Knowledge;
use crate::record::{History, Record, RecordError};
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
    /// What would most probably cure the vehicle, where that is worked out.
    pub leading: Option<Cure>,
    /// What comes next, where that is worked out.
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
        let stage = match (&state.closed, state.under_verification()) {
            (Some(_), _) => Stage::Closed,
            (None, Some(_)) => Stage::Waiting,
            (None, None) => Stage::Open,
        };
        let file = path.file_name().unwrap_or_default();
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
            leading: None,
            next: None,
        };
        Ok((row, history))
    }

    /// Works out what leads and what comes next, as of the last entry.
    pub fn work_out(&mut self, history: &History, knowledge: &Knowledge) {
        match Session::new(knowledge, history.state(), None, None) {
            Ok(session) => {
                let verdict = Verdict::of(&session.next(history, self.last), history.state());
                self.leading = verdict.leading;
                self.next = verdict.next;
            }
            Err(missing) => self.next = Some(missing.to_string()),
        }
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
