//! One answer on its way into the record.

use super::answer::Step;
use super::core::Session;
use super::measure::Measure;
use super::prompt::{Ask, Prompt};
use super::recorded::recorded_case;
use crate::decide::Circumstances;
use crate::entry::yes_or_no;
use crate::knowledge::SetUpId;
use crate::record::{Event, History};

/// What is said where a word has nothing to do at a prompt.
pub(super) const NO_FIT: &str = "That does not fit here. `help` lists what can be typed.";

/// The words for leaving a question unanswered.
pub(super) const WAY_OUT: &str =
    "`skip` passes it over, `cannot` says that it can't be done here, `help` lists the words.";

/// Asks which of several ways an answer is meant.
pub(super) fn which(words: String, ways: &[String]) -> Vec<String> {
    let mut said = vec![words];
    match ways {
        [] => {}
        [_] => said.push("`yes` takes it so; else type it again.".to_owned()),
        several => {
            said.extend(
                (1..)
                    .zip(several)
                    .map(|(place, way)| format!("#{place} {way}")),
            );
            let to = if several.len() == 2 { "or" } else { "to" };
            let last = several.len();
            said.push(format!(
                "Type #1 {to} #{last}, or the reading again with its unit."
            ));
        }
    }
    said
}

/// Which of the ways that were asked about a text takes: `yes` the only one, `#2` the second.
pub(super) fn settled<T: Clone>(meant: &[T], text: &str) -> Option<T> {
    if let [only] = meant
        && yes_or_no(text) == Some(true)
    {
        return Some(only.clone());
    }
    let place: usize = text.strip_prefix('#')?.parse().ok()?;
    meant.get(place.checked_sub(1)?).cloned()
}

/// An answer being taken: in which session, on which record, to which prompt.
///
/// What a method returns as `Err` is said to the technician, and the same prompt stays open.
#[derive(Clone, Copy)]
pub(super) struct Turn<'t> {
    pub(super) session: Session<'t>,
    pub(super) history: &'t History,
    pub(super) prompt: &'t Prompt,
}

impl Turn<'_> {
    /// The measurement that the prompt belongs to.
    pub(super) fn measure(&self) -> Result<&Measure, String> {
        self.prompt.measure.as_deref().ok_or_else(|| NO_FIT.into())
    }

    /// Words, and another question about the same.
    pub(super) fn asking(&self, said: Vec<String>, ask: Ask) -> Step {
        Step {
            said,
            again: Some(Prompt {
                ask,
                ..self.prompt.clone()
            }),
            ..Step::default()
        }
    }

    /// The events that come before the answer to a question of a measurement: the first answer says that its set-ups
    /// are in place.
    pub(super) fn arrival(&self) -> Vec<Event> {
        let measure = self.prompt.measure.as_ref();
        let arriving = measure.map(|measure| &measure.arriving[..]);
        match arriving {
            None | Some([]) => Vec::new(),
            Some(set_ups) => vec![self.in_place(set_ups)],
        }
    }

    /// What is in place after some events that change more than they say: nothing where it stays as it is.
    pub(super) fn changed(&self, change: impl FnOnce(&mut Circumstances)) -> Option<Event> {
        let mut now = recorded_case(self.session.family, self.history.state()).circumstances;
        let measure = self.prompt.measure.as_ref();
        if let Some(measure) = measure.filter(|measure| !measure.arriving.is_empty()) {
            now.in_place.clone_from(&measure.arriving);
        }
        let before = now.in_place.clone();
        change(&mut now);
        (now.in_place != before).then(|| self.in_place(&now.in_place))
    }

    /// Everything that is in place, as an event.
    pub(super) fn in_place(&self, set_ups: &[SetUpId]) -> Event {
        Event::InPlace {
            set_ups: self.session.family.names_of(set_ups),
        }
    }
}
