//! The next question of a job.

use jiff::Timestamp;

use super::at_hand::{AtHand, at_hand};
use super::closing::{closed_prompt, verify_prompt};
use super::complaint::{general_check, symptoms_meant};
use super::conditions::asks;
use super::core::Session;
use super::measure::{Measure, Reason, SetUpAsked};
use super::outlook::{Outlook, change};
use super::prompt::{Ask, Prompt};
use super::recorded::{RecordedCase, lacking, recorded_case};
use super::repair::RepairSheet;
use super::so_far::still;
use super::status::{Status, minutes_so_far};
use super::why::{Why, why};
use crate::decide::{Advice, Standing};
use crate::knowledge::{Family, MeasurementId};
use crate::record::{self, AdviceKind, Event, History, State};

impl Session<'_> {
    /// The next question of a job, at the time `now`.
    pub fn next(&self, history: &History, now: Timestamp) -> Prompt {
        let session = self.at(history.state());
        let mut prompt = session.asked(history, now);
        if prompt.measure.is_some() || !history.state().present.is_empty() {
            prompt.status = Some(Status::of(&session, history));
        }
        prompt
    }

    fn asked(&self, history: &History, now: Timestamp) -> Prompt {
        let state = history.state();
        if let Some(closed) = &state.closed {
            return closed_prompt(self, state, &closed.what);
        }
        let case = recorded_case(self.family, state);
        let lost = unspoken(&case, history);
        if !lost.is_empty() {
            return Prompt::of(Ask::Lost { lost });
        }
        if let Some(ask) = still(self.family, history, now) {
            return Prompt::of(ask);
        }
        if let Some(done) = state.under_verification() {
            return verify_prompt(self, history, &case, done, now);
        }
        if case.complaint.present.is_empty() {
            return match state.complaints.last() {
                _ if state.no_symptom => general_check(self, history, &case, now),
                Some(words) => Prompt::of(symptoms_meant(self.family, words)),
                None => Prompt::of(Ask::Complaint),
            };
        }
        self.with_standing(&case, |standing| {
            self.diagnosis(history, &case, standing, now)
        })
        .unwrap_or_else(|why| Prompt::of(Ask::Stuck { why }))
    }

    /// The measurement that the technician chose and has not read yet.
    pub fn taking(&self, history: &History) -> Option<MeasurementId> {
        let name = at_hand(history).measurement?;
        self.family.measurement_known_as(name)
    }

    /// Explains a measurement, a cause or a repair by its name; without a name, the most probable cause. The error says
    /// why there is nothing to explain.
    pub fn why(&self, history: &History, name: Option<&str>) -> Result<Vec<Why>, String> {
        let case = recorded_case(self.family, history.state());
        let session = self.at(history.state());
        session.with_standing(&case, |standing| why(standing, name))?
    }

    /// The next question while the cause is looked for.
    fn diagnosis(
        &self,
        history: &History,
        case: &RecordedCase,
        standing: &Standing<'_, '_>,
        now: Timestamp,
    ) -> Prompt {
        let (family, state) = (self.family, history.state());
        let at = at_hand(history);
        let at_measurement = at.measurement.and_then(|name| usable(standing, name));
        let begun = at_measurement.is_some() && at.begun;
        let mut prompt = Prompt::of(Ask::Complaint);
        let outlook = Outlook {
            minutes: minutes_so_far(family, history),
            ..Outlook::of(standing)
        };
        let leading = outlook.leading();
        prompt.outlook = Some(Box::new(outlook));
        prompt.change = change(family, history, case, standing);
        let advice =
            (!begun).then(|| standing.advise(&taken_again(family, state), self.by.is_some()));
        let proposed = match &advice {
            _ if at_measurement.is_some() => at_measurement,
            _ if at.repairing => None,
            Some(Advice::Measure { measurement, .. }) => Some(*measurement),
            Some(Advice::TakeAgain(again)) => Some(again.measurement),
            Some(Advice::Repair { .. } | Advice::Escalate) | None => None,
        };
        prompt.advice = advice
            .as_ref()
            .filter(|_| at_measurement.is_none() && !at.repairing)
            .map(|advice| record::Advice {
                leading,
                ..self.recorded(standing, advice)
            });
        if let Some(id) = proposed {
            let mut measure = Measure::of(self, id).weighed(standing);
            measure.number = Some(state.readings.len() + 1);
            if let Some(Advice::Measure {
                measurement,
                recorded: Some(drive),
                ..
            }) = &advice
                && *measurement == id
            {
                measure = measure.recorded_on(family, drive);
            }
            measure.reason = advice
                .as_ref()
                .map(|advice| Reason::of(standing, advice, id, self.by.is_some()));
            let at = if at_measurement.is_some() {
                at
            } else {
                AtHand::proposed(history)
            };
            prompt.ask = asks(self, history, &at, &measure, now);
            prompt.measure = Some(Box::new(measure));
            return prompt;
        }
        prompt.ask = advice
            .as_ref()
            .and_then(|advice| Some((standing.repairing(advice)?, advice)))
            .map_or_else(
                || Ask::HandOn {
                    cost: standing.problem.escalation_cost(),
                    put_back: SetUpAsked::to_put_back(family, standing.in_place),
                },
                |(now, advice)| {
                    let sheet = RepairSheet::of(standing, &now, advice);
                    Ask::Repair(Box::new(sheet.lacking(family, state)))
                },
            );
        prompt
    }

    /// An advice as the record keeps it.
    fn recorded(&self, standing: &Standing<'_, '_>, advice: &Advice) -> record::Advice {
        let mut recorded = record::Advice {
            advice: AdviceKind::Escalate,
            measurement: None,
            repairs: Vec::new(),
            cost: Some(standing.repair_now.cost),
            leading: None,
            asked: false,
        };
        match advice {
            Advice::Measure { measurement, .. } => {
                recorded.advice = AdviceKind::Measure;
                recorded.measurement = Some(self.family.name_of(*measurement));
            }
            Advice::TakeAgain(again) => {
                recorded.advice = AdviceKind::TakeAgain;
                recorded.measurement = Some(self.family.name_of(again.measurement));
            }
            Advice::Repair { first, .. } => {
                recorded.advice = AdviceKind::Repair;
                recorded.repairs = self.family.names_of(first);
            }
            Advice::Escalate => {}
        }
        recorded
    }
}

/// A measurement at hand, where it still fits the complaint and can be judged on the vehicle.
fn usable(standing: &Standing<'_, '_>, name: &str) -> Option<MeasurementId> {
    let model = standing.model;
    let id = model.family.measurement_known_as(name)?;
    let measurement = model.family.measurement(id);
    (measurement.is_for(&model.complaint.present) && model.foreseen(id).is_ok()).then_some(id)
}

/// What the record names, the knowledge no longer has, and the technician has not agreed to go on without.
fn unspoken(case: &RecordedCase, history: &History) -> Vec<String> {
    let agreed = |name: &String| {
        history.entries().iter().any(
            |entry| matches!(&entry.event, Event::Note { without, .. } if without.contains(name)),
        )
    };
    let mut lost: Vec<String> = case.lost.iter().map(ToString::to_string).collect();
    lost.retain(|name| !agreed(name));
    lost
}

/// The measurements that were taken more than once, or set aside: they are not to be taken again.
fn taken_again(family: &Family, state: &State) -> Vec<MeasurementId> {
    let all = (0..family.measurements.len()).map(MeasurementId::at);
    let lacking = lacking(family, state);
    all.filter(|id| {
        let name = &family.measurement(*id).name;
        state.next_attempt(name) > 2 || state.set_aside.contains_key(name) || lacking.contains(id)
    })
    .collect()
}
