//! What the technician is doing now, as the end of the record shows it.

use crate::record::{Advice, Entry, Event, History, Phase};

/// What the technician is doing now.
#[derive(Debug, Default)]
pub(super) struct AtHand<'r> {
    /// The measurement that was chosen, or that was proposed and has begun.
    pub(super) measurement: Option<&'r str>,
    /// Whether one of its conditions is answered, or its clock has run.
    pub(super) begun: bool,
    /// The instrument in use, where one was named.
    pub(super) instrument: Option<&'r str>,
    /// The last advice, where only remarks and set-ups were recorded since.
    pub(super) advised: Option<&'r Advice>,
    /// Whether the technician asked to repair now.
    pub(super) repairing: bool,
    /// How long the stall test of this attempt was held, in seconds.
    pub(super) held: Option<f64>,
    /// The line before this attempt: conditions found after it are not asked for again.
    pub(super) since: u64,
}

impl AtHand<'_> {
    /// A measurement that is only proposed: none of its questions is answered.
    pub(super) fn proposed(history: &History) -> Self {
        Self {
            since: u64::try_from(history.entries().len()).unwrap_or(u64::MAX),
            ..Self::default()
        }
    }
}

/// What the technician is doing now. A choice lasts until its reading; a proposal, as long as its conditions and its
/// clock are the last things that were answered.
pub(super) fn at_hand(history: &History) -> AtHand<'_> {
    let mut at = AtHand::default();
    let (mut went_back, mut other_complaint) = (false, false);
    for Entry { line, event, .. } in standing(history) {
        at.since = *line;
        match event {
            Event::Condition(_) => at.begun = true,
            Event::Timed(timed) => {
                at.begun = true;
                if timed.phase == Phase::Ended {
                    at.held = at.held.or(Some(timed.seconds));
                }
            }
            Event::Note { .. }
            | Event::Marked { .. }
            | Event::Vehicle { .. }
            | Event::InPlace { .. }
            | Event::Withdrawn { .. } => {}
            Event::Back { .. } => went_back = true,
            Event::Symptom { .. } => other_complaint = true,
            Event::TakenUp {
                measurement,
                instrument,
            } => {
                if at.measurement.is_some_and(|other| other != measurement) {
                    break;
                }
                at.measurement = Some(measurement);
                at.instrument = at.instrument.or(instrument.as_deref());
                if instrument.is_none() {
                    break;
                }
            }
            // What was advised before going back was about what is taken back.
            Event::Advice(_) if went_back && !at.begun => {}
            Event::Advice(advice) => {
                if at.measurement.is_none() {
                    at.advised = Some(advice).filter(|_| !went_back && !other_complaint);
                    at.repairing = advice.asked && !went_back;
                    if at.begun && !other_complaint {
                        at.measurement = advice.measurement.as_deref();
                    }
                }
                break;
            }
            Event::Opened(_)
            | Event::Complaint { .. }
            | Event::NoSymptom {}
            | Event::Reading(_)
            | Event::SetAside(_)
            | Event::Repair(_)
            | Event::Verification(_)
            | Event::Closed(_)
            | Event::Reopened { .. } => break,
        }
    }
    at
}

/// The events that were not taken back, latest first.
pub(super) fn standing(history: &History) -> impl Iterator<Item = &Entry> {
    let taken_back = &history.state().taken_back;
    history
        .entries()
        .iter()
        .rev()
        .filter(|entry| !taken_back.contains(&entry.line))
}
