//! Which vehicle a job is on, by words of its title; and another one, where it is not the one that was thought.

use super::answer::Step;
use super::core::Session;
use super::prompt::Ask;
use super::turn::Turn;
use crate::entry::{Choice, NoChoice, choose};
use crate::infer::{Typing, bands_on, understand};
use crate::knowledge::{Family, Knowledge, Vehicle};
use crate::record::{Event, Judged, Reading};
use crate::text::quoted;
use crate::units::Unit;
use crate::units::conformity::{Known, weights};

/// What the limits of a vehicle are read from.
#[derive(Clone, Copy, Debug)]
pub enum Sheet<'k> {
    /// The sheet of a model.
    Of(&'k Vehicle),
    /// None: the limits must be looked up.
    Missing,
}

/// The vehicles of a family, in the order of their files.
pub fn vehicles<'k>(knowledge: &'k Knowledge, family: &Family) -> Vec<&'k Vehicle> {
    let vehicles = knowledge.vehicles.iter();
    vehicles
        .filter(|vehicle| vehicle.family == family.name)
        .collect()
}

/// The sheet that a text names: a vehicle by its place in the list, its id, its title or a word that no other has;
/// 0 or `none` for no sheet. The error is the place of the vehicle that was meant perhaps, where there is one.
pub fn sheet_called<'k>(vehicles: &[&'k Vehicle], text: &str) -> Result<Sheet<'k>, Option<usize>> {
    if text == "0" || text.eq_ignore_ascii_case("none") {
        return Ok(Sheet::Missing);
    }
    let place = text.parse::<usize>().ok();
    let place = place.and_then(|place| place.checked_sub(1));
    if let Some(vehicle) = place.and_then(|place| vehicles.get(place)) {
        return Ok(Sheet::Of(vehicle));
    }
    let names = vehicles.iter().map(|vehicle| vehicle.name.as_str());
    let has = |name: &str, word: &str| name.split('-').any(|own| own == word);
    let is_own = |word: &&str| names.clone().filter(|name| has(name, word)).count() == 1;
    let words: Vec<Vec<String>> = names
        .clone()
        .map(|name| name.split('-').filter(is_own).map(str::to_owned).collect())
        .collect();
    let choices = vehicles.iter().zip(&words);
    let choices: Vec<Choice<'_>> = choices
        .map(|(vehicle, words)| Choice {
            name: &vehicle.name,
            gloss: &vehicle.title,
            words,
        })
        .collect();
    match choose(text, &choices, &[]) {
        Ok(place) => Ok(Sheet::Of(vehicles[place])),
        Err(NoChoice::Near(place)) => Err(Some(place)),
        Err(_) => Err(None),
    }
}

impl Turn<'_> {
    /// The job is on another vehicle: what was read is judged again by its sheet.
    pub(super) fn vehicle(&self, text: &str) -> Result<Step, String> {
        let Session {
            knowledge, family, ..
        } = self.session;
        let known = vehicles(knowledge, family);
        let vehicle = match sheet_called(&known, text) {
            Ok(Sheet::Of(vehicle)) => Some(vehicle),
            Ok(Sheet::Missing) => None,
            // It was a customer's sentence.
            Err(_) if matches!(self.prompt.ask, Ask::Complaint) && !text.is_empty() => {
                return Ok(Step::record(vec![Event::Complaint {
                    words: format!("vehicle {text}"),
                }]));
            }
            Err(Some(near)) => {
                return Err(format!("Did you mean {}?", quoted(&known[near].title)));
            }
            Err(None) => {
                let titles = known.iter().map(|vehicle| vehicle.title.as_str());
                let titles: Vec<&str> = titles.chain(["none"]).collect();
                return Err(format!("The vehicles are: {}.", titles.join("; ")));
            }
        };
        let name = vehicle.map(|vehicle| vehicle.name.clone());
        let state = self.history.state();
        if name == state.vehicle {
            return Err("The job is on that vehicle already.".to_owned());
        }
        let entry = |line: u64| self.history.entries().get(usize::try_from(line - 1).ok()?);
        let readings = state.readings.iter().filter_map(|taken| {
            // As it was read: a change of vehicle before this one judged it by another sheet.
            let Event::Reading(reading) = &entry(taken.line)?.event else {
                return None;
            };
            judged_on(&self.session, vehicle, reading, taken.line)
        });
        let readings: Vec<Judged> = readings.collect();
        let mut said = vec![match vehicle {
            Some(vehicle) => {
                format!(
                    "Now {}: what was read is judged by its sheet.",
                    vehicle.title
                )
            }
            None => "Now without a sheet: look the limits up and answer in words.".to_owned(),
        }];
        let lost = readings.iter().filter(|judged| judged.why_not.is_some());
        let lost = lost.filter(|judged| {
            let was = state.readings.iter();
            was.clone()
                .any(|taken| taken.line == judged.reading && taken.reading.counts)
        });
        let lost = lost.count();
        if lost > 0 {
            said.push(format!(
                "{lost} of the readings have no limit there and do not count: `readings` marks them."
            ));
        }
        Ok(Step {
            said,
            ..Step::record(vec![Event::Vehicle {
                vehicle: name,
                readings,
            }])
        })
    }
}

/// A number as it was read, judged on another vehicle; none where its limits are nobody's sheet.
fn judged_on(
    session: &Session<'_>,
    vehicle: Option<&Vehicle>,
    reading: &Reading,
    line: u64,
) -> Option<Judged> {
    let family = session.family;
    let id = family.measurement_known_as(&reading.measurement)?;
    let measurement = family.measurement(id);
    let number = measurement.number()?;
    let value = reading.value?;
    if measurement.sheet_limits().is_empty() {
        return None;
    }
    let as_it_was = |why_not: String| Judged {
        reading: line,
        outcome: reading.outcome.clone(),
        weights: reading.weights.clone(),
        counts: false,
        why_not: Some(why_not),
    };
    let bands = match bands_on(measurement, vehicle) {
        Ok(bands) => bands,
        Err(missing) => return Some(as_it_was(format!("{missing}."))),
    };
    let unit = Unit::named(reading.unit.as_deref()?, number.unit.dimension())?;
    let weights = if let Some(u) = reading.uncertainty {
        let value = unit.convert(value, number.unit)?;
        let u = unit.convert_difference(u, number.unit)?;
        weights(Known::Normal { value, u }, &bands)
    } else {
        // Against the stop of the instrument: only what was typed says so.
        let typing = Typing {
            system: Some(session.system),
            ..Typing::default()
        };
        let taken = understand(family, vehicle, id, &reading.raw, &typing).taken();
        match taken {
            Ok(taken) => taken.evidence.weights,
            Err(words) => return Some(as_it_was(words)),
        }
    };
    let outcomes = measurement.outcomes.iter().map(|outcome| &outcome.name);
    let likeliest = weights.iter().enumerate();
    let likeliest = likeliest.max_by(|(a, one), (b, other)| one.total_cmp(other).then(b.cmp(a)));
    Some(Judged {
        reading: line,
        outcome: measurement.outcomes[likeliest?.0].name.clone(),
        weights: outcomes.cloned().zip(weights).collect(),
        counts: reading.counts,
        why_not: reading.why_not.clone(),
    })
}
