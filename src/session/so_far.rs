//! What was read so far, and what still stands when a job is taken up again.

use jiff::Timestamp;
use serde::Serialize;

use super::answer::Step;
use super::closing::listed;
use super::core::Session;
use super::prompt::{Ask, Choice};
use super::turn::Turn;
use crate::knowledge::{Family, SetUpId};
use crate::record::{Event, History};

/// After so many minutes without a word it is asked what still stands: nothing stays warm, and others use the lift.
const AWAY: f64 = 60.0;

/// A job so far.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SoFar {
    /// The complaint: what is wrong, and then the customer's words.
    pub complaint: Vec<String>,
    /// The readings in order, without those taken back.
    pub readings: Vec<Read>,
}

/// A reading of the job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Read {
    /// Its number, from 1.
    pub number: usize,
    /// What was measured.
    pub title: String,
    /// What it read.
    pub words: String,
    /// Whether it counts: its conditions held, and no later one replaced it.
    pub counts: bool,
}

impl Session<'_> {
    /// The notice that stands before any work.
    pub fn notice(&self) -> &str {
        &self.family.notice
    }

    /// A job so far.
    pub fn so_far(&self, history: &History) -> SoFar {
        let state = history.state();
        let present = state.present.iter();
        let symptoms = present.filter_map(|name| self.family.symptom_known_as(name));
        let titles = symptoms.map(|id| self.family.symptom(id).title.clone());
        let words = state.complaints.last().map(|words| format!("“{words}”"));
        SoFar {
            complaint: titles.chain(words).collect(),
            readings: self.readings(history),
        }
    }

    fn readings(&self, history: &History) -> Vec<Read> {
        let readings = history.state().readings.iter().zip(1..);
        readings
            .map(|(taken, number)| {
                let (name, outcome) = (&taken.reading.measurement, &taken.reading.outcome);
                let id = self.family.measurement_known_as(name);
                let known = id.map(|id| self.family.measurement(id));
                let words = known.and_then(|known| {
                    let mut outcomes = known.outcomes.iter();
                    Some(outcomes.find(|of| of.name == *outcome)?.words())
                });
                Read {
                    number,
                    title: known.map_or_else(|| name.clone(), |known| known.title.clone()),
                    words: words.unwrap_or_else(|| outcome.clone()),
                    counts: taken.reading.counts && taken.replaced_by.is_none(),
                }
            })
            .collect()
    }
}

/// Asks what still stands, where the job was left for long and more stands than when the vehicle came in.
pub(super) fn still(family: &Family, history: &History, now: Timestamp) -> Option<Ask> {
    let last = history.entries().last()?.time;
    let away = now.duration_since(last).as_secs_f64() / 60.0;
    let arrived = family.names_of(&family.in_place);
    let here = history.state().in_place.iter();
    let here = here.filter(|name| !arrived.contains(name));
    let here = here.filter_map(|name| family.set_up_known_as(name));
    let choices: Vec<Choice> = here
        .map(|id| Choice::new(&family.name_of(id), &family.set_up(id).title))
        .collect();
    (away >= AWAY && !choices.is_empty()).then_some(Ask::Still { choices })
}

impl Turn<'_> {
    /// What still stands: `all`, `none`, or numbers of the list. What does not stand gives way to what stood of its
    /// group when the vehicle came in.
    pub(super) fn stands(&self, choices: &[Choice], text: &str) -> Result<Step, String> {
        let family = self.session.family;
        let number = |part: &str| {
            let place = part.parse::<usize>().ok()?.checked_sub(1)?;
            (place < choices.len()).then_some(place)
        };
        let all = 0..choices.len();
        let standing: Option<Vec<usize>> = match text.to_ascii_lowercase().as_str() {
            "all" | "all of it" => Some(all.collect()),
            "none" | "nothing" | "none of it" => Some(Vec::new()),
            "" => None,
            text => listed(text).map(number).collect(),
        };
        let standing =
            standing.ok_or("Look, and type the numbers of what still stands; `all`, or `none`.")?;
        let gone = |name: &String| {
            let place = choices.iter().position(|choice| choice.name == *name);
            place.is_some_and(|place| !standing.contains(&place))
        };
        let state = self.history.state();
        let here = state.in_place.iter().filter(|name| !gone(name));
        let mut here: Vec<SetUpId> = here
            .filter_map(|name| family.set_up_known_as(name))
            .collect();
        for arrived in &family.in_place {
            let group = &family.set_up(*arrived).group;
            let taken = here.iter().any(|id| family.set_up(*id).group == *group);
            if !here.contains(arrived) && (group.is_none() || !taken) {
                here.push(*arrived);
            }
        }
        here.sort_unstable();
        Ok(Step::record(vec![self.in_place(&here)]))
    }

    /// Takes a reading back, whatever came after it, and asks for it again.
    pub(super) fn correct(&self, number: usize) -> Result<Step, String> {
        let readings = &self.history.state().readings;
        let taken = number.checked_sub(1).and_then(|place| readings.get(place));
        let taken = taken.ok_or_else(|| {
            format!("There is no reading {number}: `readings` lists them with their numbers.")
        })?;
        if self.history.state().under_verification().is_some() {
            return Err("A repair is done: `back` takes it back first.".to_owned());
        }
        Ok(Step::record(vec![
            Event::Withdrawn {
                reading: taken.line,
            },
            Event::TakenUp {
                measurement: taken.reading.measurement.clone(),
                instrument: None,
            },
        ])
        .saying("Taken back, and asked again; the other readings stay."))
    }
}
