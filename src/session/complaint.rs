//! The customer's words: which symptoms they mean, what they answer already, and what is looked at where they mean none.

use jiff::Timestamp;

use super::answer::Step;
use super::at_hand::at_hand;
use super::closing::{at_place, listed};
use super::conditions::asks;
use super::core::Session;
use super::measure::Measure;
use super::prompt::{Ask, Choice, Prompt, Told};
use super::reading::recorded;
use super::recorded::{RecordedCase, recorded_case};
use super::turn::Turn;
use crate::entry::folded;
use crate::infer::{Typing, understand};
use crate::knowledge::{Family, Listener, MeasurementId, OutcomeId, SymptomId};
use crate::record::{Event, History};

/// Which symptoms a customer's words mean: the likeliest first.
pub(super) fn symptoms_meant(family: &Family, words: &str) -> Ask {
    let meant = Listener::new(family).meant(words).into_iter();
    let choice = |(id, found): (SymptomId, usize)| {
        let symptom = family.symptom(id);
        Choice {
            matches: found > 0,
            ..Choice::new(&symptom.name, &symptom.title)
        }
    };
    Ask::Symptoms {
        words: words.to_owned(),
        choices: meant.map(choice).collect(),
    }
}

/// The next question of a job whose complaint means no symptom: the general looks, then that nothing fits.
pub(super) fn general_check(
    session: &Session<'_>,
    history: &History,
    case: &RecordedCase,
    now: Timestamp,
) -> Prompt {
    let (family, state) = (session.family, history.state());
    let looks = family.general_looks().into_iter();
    let mut looks = looks.filter(|look| !case.circumstances.left_out.contains(look));
    let look = looks.find_map(|look| Some((look, case.way_to(family, look, &[])?)));
    if let Some((look, way)) = look {
        let mut measure = Measure::of(session, look).reached_by(family, &way);
        measure.number = Some(state.readings.len() + 1);
        return Prompt {
            ask: asks(session, history, &at_hand(history), &measure, now),
            measure: Some(Box::new(measure)),
            ..Prompt::of(Ask::Complaint)
        };
    }
    let readings = case.evidence.iter().map(|evidence| {
        let outcome = OutcomeId::at(evidence.outcome());
        (evidence.measurement, outcome)
    });
    let abnormal = readings.filter(|(id, outcome)| family.measurement(*id).normal != *outcome);
    Prompt::of(Ask::NoSymptom {
        words: state.complaints.join("; "),
        found: abnormal
            .map(|(id, outcome)| told(family, id, outcome, String::new()))
            .collect(),
    })
}

fn told(family: &Family, id: MeasurementId, outcome: OutcomeId, words: String) -> Told {
    let measurement = family.measurement(id);
    let outcome = &measurement.outcomes[outcome.index()];
    Told {
        measurement: measurement.name.clone(),
        title: measurement.title.clone(),
        outcome: outcome.name.clone(),
        meaning: outcome.words(),
        words,
    }
}

impl Turn<'_> {
    /// Which of the symptoms were meant. Where the customer's words answer measurements of theirs, whether that is so.
    pub(super) fn symptoms_chosen(
        &self,
        text: &str,
        words: &str,
        choices: &[Choice],
    ) -> Result<Step, String> {
        if ["0", "none", "none of these", "none of them"].contains(&folded(text).as_str()) {
            return Ok(Step::record(vec![Event::NoSymptom {}]));
        }
        let chosen = self.chosen_symptoms(text, choices)?;
        let mut step = self.symptoms(&chosen, true)?;
        let family = self.session.family;
        let case = recorded_case(family, self.history.state());
        let heard = Listener::new(family).told(words, &chosen).into_iter();
        let heard = heard.filter(|(id, ..)| !case.circumstances.left_out.contains(id));
        let told: Vec<Told> = heard
            .map(|(id, outcome, words)| told(family, id, outcome, words))
            .collect();
        step.again = (!told.is_empty()).then(|| Prompt::of(Ask::Told { told }));
        Ok(step)
    }

    /// Which of what the customer's words answer is so: all of it, none of it, or the numbers typed.
    pub(super) fn told(&self, text: &str, told: &[Told]) -> Result<Step, String> {
        let family = self.session.family;
        let so: Vec<&Told> = match text.to_ascii_lowercase().as_str() {
            "" | "yes" | "y" => told.iter().collect(),
            "no" | "n" | "none" | "0" => Vec::new(),
            _ => {
                let all: Vec<&Told> = told.iter().collect();
                let chosen: Option<Vec<&Told>> =
                    listed(text).map(|part| at_place(part, &all)).collect();
                chosen.ok_or("Answer yes or no, or the numbers of those that are so.")?
            }
        };
        let readings = so.into_iter().filter_map(|told| {
            let id = family.measurement_known_as(&told.measurement)?;
            let taken = understand(
                family,
                self.session.vehicle,
                id,
                &told.outcome,
                &Typing::default(),
            )
            .taken()
            .ok()?;
            let attempt = self.history.state().next_attempt(&told.measurement);
            let mut reading = recorded(family, id, &taken, None, attempt);
            reading.raw.clone_from(&told.words);
            Some(Event::Reading(Box::new(reading)))
        });
        Ok(Step::record(readings.collect()))
    }
}
