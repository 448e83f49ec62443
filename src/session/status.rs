//! The job at a glance.

use serde::Serialize;

use super::core::Session;
use crate::knowledge::Family;
use crate::record::{Entry, Event, History};
use crate::text::few_words;

/// The job at a glance: one line for the top of a screen.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Status {
    /// The vehicle's title; none without a sheet.
    pub vehicle: Option<String>,
    /// The shop's own words for the job.
    pub order: Option<String>,
    /// How many readings were taken, those that do not count among them.
    pub readings: usize,
    /// The minutes that the readings, set-ups and repairs so far take by the knowledge.
    pub minutes: f64,
    /// What is in place and was not when the vehicle came in, each in a few words.
    pub in_place: Vec<String>,
}

impl Status {
    pub(super) fn of(session: &Session<'_>, history: &History) -> Self {
        let (family, state) = (session.family, history.state());
        let arrived = family.names_of(&family.in_place);
        let here = state.in_place.iter().filter(|name| !arrived.contains(name));
        let here = here.filter_map(|name| family.set_up_known_as(name));
        Self {
            vehicle: session.vehicle.map(|vehicle| vehicle.title.clone()),
            order: state.opened.ticket.clone(),
            readings: state.readings.len(),
            minutes: minutes_so_far(family, history),
            in_place: here
                .map(|id| in_few_words(&family.set_up(id).title))
                .collect(),
        }
    }
}

/// A title in a few words, as it stands inside a sentence.
fn in_few_words(title: &str) -> String {
    let words = few_words(title);
    let mut letters = words.chars();
    match (letters.next(), letters.clone().next()) {
        // `TCM awake` keeps its capitals.
        (Some(first), Some(second)) if !second.is_uppercase() => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => words,
    }
}

/// The minutes that a job took so far by the knowledge: its readings, the set-ups entered, its repairs.
pub(super) fn minutes_so_far(family: &Family, history: &History) -> f64 {
    let each = minutes_after_each(family, history.entries());
    each.last().copied().unwrap_or(0.0)
}

/// Whether an entry answers a question of a measurement.
fn is_for_a_measurement(entry: Option<&Entry>) -> bool {
    entry.is_some_and(|entry| {
        matches!(
            entry.event,
            Event::Condition(_) | Event::Timed(_) | Event::Reading(_) | Event::Verification(_)
        )
    })
}

/// The same after each of some entries.
pub fn minutes_after_each(family: &Family, entries: &[Entry]) -> Vec<f64> {
    let arrived = family.names_of(&family.in_place);
    let mut in_place = &arrived;
    let mut minutes = 0.0;
    // Entered, and nothing read since: a measurement that is left before its reading takes no minutes.
    let mut entered: Vec<(&String, f64)> = Vec::new();
    // What a reading sets, or is put back after a repair, takes no minutes of its own.
    let mut for_nothing: Vec<String> = Vec::new();
    let took = |entered: &mut Vec<(&String, f64)>| -> f64 {
        entered.drain(..).map(|(_, minutes)| minutes).sum()
    };
    let entering = |name: &String, left: &[String]| {
        let set_up = family.set_up_known_as(name).map(|id| family.set_up(id));
        set_up.map_or(0.0, |set_up| {
            let mut from = set_up.from.iter();
            let from = from.find(|(of, _)| left.contains(&family.name_of(*of)));
            from.map_or(set_up.minutes, |(_, entering)| entering.minutes)
                .get()
        })
    };
    let each = entries.iter().enumerate().map(|(place, entry)| {
        let before = place.checked_sub(1).map(|place| &entries[place].event);
        let prepared = matches!(before, Some(Event::Marked { .. }));
        match &entry.event {
            Event::InPlace { set_ups } => {
                let for_nothing = std::mem::take(&mut for_nothing);
                let new = set_ups.iter().filter(|name| !in_place.contains(name));
                let new = new.filter(|name| !for_nothing.contains(name));
                // What is entered for a measurement comes with an answer to it; else somebody said that it stands.
                if prepared || is_for_a_measurement(entries.get(place + 1)) {
                    entered.extend(new.map(|name| (name, entering(name, in_place))));
                }
                entered.retain(|(name, _)| set_ups.contains(name));
                in_place = set_ups;
                if prepared {
                    minutes += took(&mut entered);
                }
            }
            Event::Timed(_) | Event::Verification(_) => minutes += took(&mut entered),
            Event::Reading(reading) => {
                minutes += took(&mut entered);
                let id = family.measurement_known_as(&reading.measurement);
                if let Some(measurement) = id.map(|id| family.measurement(id)) {
                    minutes += measurement.minutes.get();
                    let sets = measurement.sets.iter().flat_map(|(_, set_ups)| set_ups);
                    for_nothing = sets.map(|id| family.set_up(*id).name.clone()).collect();
                }
            }
            Event::Repair(repair) => {
                for_nothing = family.names_of(&family.put_back);
                let names = repair.repairs.iter();
                let ids = names.filter_map(|name| family.repair_known_as(name));
                minutes += ids.map(|id| family.repair_minutes(id).get()).sum::<f64>();
            }
            _ => {}
        }
        minutes
    });
    each.collect()
}
