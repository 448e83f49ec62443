//! The readings of a recording, taken together.

use super::answer::{FromRecording, Step};
use super::reading::recorded;
use super::recorded::recorded_case;
use super::turn::Turn;
use crate::record::{Event, Picture};
use crate::text::counted;

impl Turn<'_> {
    /// Takes all readings of a recording that the complaint has a use for and that nothing read before rules out. An
    /// earlier reading of the same measurement is replaced, as by any other.
    pub(super) fn recording(&self, recording: FromRecording) -> Result<Step, String> {
        if self.prompt.outlook.is_none() {
            return Err(
                "A recording is taken while the cause is looked for, once the complaint is known."
                    .to_owned(),
            );
        }
        let (family, state) = (self.session.family, self.history.state());
        let case = recorded_case(family, state);
        let open: Vec<usize> = self.session.with_standing(&case, |standing| {
            let all = standing.problem.parts().measurements.iter();
            all.map(|measurement| measurement.id).collect()
        })?;
        let read_before = &case.circumstances.left_out;
        let (mut readings, mut passed_over) = (Vec::new(), Vec::new());
        for read in recording.readings {
            let id = read.measurement;
            let measurement = family.measurement(id);
            if !measurement.is_for(&case.complaint.present) {
                continue;
            }
            if open.contains(&id.index()) || read_before.contains(&id) {
                readings.push(read);
            } else {
                passed_over.push(measurement.title.as_str());
            }
        }
        if readings.is_empty() {
            return Err("Nothing in it answers what this complaint asks.".to_owned());
        }
        let count = counted(readings.len(), "reading", "readings");
        let windows = readings.iter().map(|read| read.window.clone());
        let picture = Picture {
            windows: windows.collect(),
            ..recording.picture
        };
        let mut events = vec![Event::Note {
            words: format!("{count} from the recording {}", picture.file),
            without: Vec::new(),
            recording: Some(Box::new(picture)),
        }];
        for read in &readings {
            let attempt = state.next_attempt(&family.measurement(read.measurement).name);
            let reading = recorded(family, read.measurement, &read.taken, None, attempt);
            events.push(Event::Reading(Box::new(reading)));
        }
        events.extend(self.changed(|now| {
            for read in &readings {
                now.read(family, &read.taken.evidence);
            }
        }));
        let mut step = Step::record(events).saying(format!(
            "{count} taken; `back` takes them back one by one, `correct` a single one."
        ));
        if !passed_over.is_empty() {
            step = step.saying(format!(
                "Passed over, as what was read before rules them out: {}.",
                passed_over.join("; ")
            ));
        }
        Ok(step)
    }
}
