//! What a technician says at a prompt, and what comes of it.

use super::prompt::Prompt;
use crate::infer::Taken;
use crate::knowledge::{MeasurementId, Vehicle};
use crate::record::{Event, Marked, Picture};
use crate::recording::picture::{KEPT, picture};
use crate::recording::{Drive, Report};
use crate::text::figures::rounded;

/// What is said at a prompt.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// The answer to the question, as typed.
    Typed(String),
    /// Leave this measurement out for now.
    Skip,
    /// It cannot be done here, and why.
    Cannot(Option<String>),
    /// Take this measurement instead: its name, or its place in the list from 1.
    Take(String),
    /// Take back so many answers, at least 1.
    Back(u32),
    /// Take back the reading of this number, from 1, and take it again; the others stay.
    Correct(usize),
    /// Keep a remark.
    Note(String),
    /// A further symptom is present.
    Also(String),
    /// A symptom is confirmed absent.
    Absent(String),
    /// A set-up is in place.
    InPlace(String),
    /// The job is on this vehicle: words of its title, or `none`.
    Vehicle(String),
    /// The instrument in use.
    With(String),
    /// Stop measuring and repair.
    Repair,
    /// A repair was done, advised or not: words of its title.
    Repaired(String),
    /// Take the readings of a recording.
    Recording(Box<FromRecording>),
    /// The stall test begins.
    Start,
    /// The stall test was held so long, in seconds.
    Held(f64),
}

/// What a recording of the scan tool answers.
#[derive(Clone, Debug, PartialEq)]
pub struct FromRecording {
    /// What is kept of it; its windows are those of the readings that are taken.
    pub picture: Picture,
    /// What was read.
    pub readings: Vec<ReadThere>,
}

/// A reading of a recording.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadThere {
    /// The measurement.
    pub measurement: MeasurementId,
    /// What was read; its text says in which file and window.
    pub taken: Taken,
    /// The window.
    pub window: Marked,
}

impl FromRecording {
    /// The readings of a recording that count, with its picture.
    pub fn of(report: &Report, drive: &Drive, vehicle: Option<&Vehicle>) -> Self {
        let readings = report.taken().filter_map(|(row, taken)| {
            let window = row.window()?;
            let (from, to) = (rounded(window.from), rounded(window.to));
            Some(ReadThere {
                measurement: row.id,
                taken: Taken {
                    raw: format!("{} ({}, {from} to {to} s)", taken.raw, report.file),
                    ..taken.clone()
                },
                window,
            })
        });
        Self {
            readings: readings.collect(),
            picture: picture(drive, report, vehicle, KEPT),
        }
    }
}

/// What comes of an answer.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Step {
    /// What goes into the record, in order, before anything else happens.
    pub events: Vec<Event>,
    /// What to do at once, for safety.
    pub caution: Option<String>,
    /// What to tell the technician.
    pub said: Vec<String>,
    /// The question that is still open; none where the record tells what comes next.
    pub again: Option<Prompt>,
}

impl Step {
    /// Events, after which the record tells what comes next.
    pub(super) fn record(events: Vec<Event>) -> Self {
        Self {
            events,
            ..Self::default()
        }
    }

    /// Words, and the same question again.
    pub(super) fn again(prompt: &Prompt, words: impl Into<String>) -> Self {
        Self {
            said: vec![words.into()],
            again: Some(prompt.clone()),
            ..Self::default()
        }
    }

    /// The same with something told.
    pub(super) fn saying(mut self, words: impl Into<String>) -> Self {
        self.said.push(words.into());
        self
    }
}
