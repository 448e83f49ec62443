//! A job without a file, a terminal or a clock.

use halfsplit::Knowledge;
use halfsplit::record::{Event, History, Opened};
use halfsplit::session::{Answer, Prompt, Session, Step};
use jiff::{SignedDuration, Timestamp};

/// A job on a vehicle that just came in.
pub(crate) struct Job {
    pub(crate) session: Session<'static>,
    pub(crate) history: History,
    pub(crate) now: Timestamp,
    /// How long an event takes.
    pub(crate) pace: SignedDuration,
    /// What was said to the last answer.
    pub(crate) said: Vec<String>,
}

impl Job {
    pub(crate) fn on(knowledge: &'static Knowledge, vehicle: &str) -> Self {
        let now: Timestamp = "2026-03-02T08:00:00Z".parse().unwrap();
        let mut opened = Opened::new("chain-cvt", knowledge.fingerprints());
        opened.vehicle = Some(vehicle.to_owned());
        opened.ticket = Some("118734".to_owned());
        let history = History::begin(opened, now, "test");
        Self {
            session: Session::new(knowledge, history.state(), None, None).unwrap(),
            history,
            now,
            pace: SignedDuration::from_secs(1),
            said: Vec::new(),
        }
    }

    /// The same with a symptom.
    pub(crate) fn with(mut self, symptom: &str) -> Self {
        let symptom = symptom.to_owned();
        let present = true;
        self.adds(Event::Symptom { symptom, present });
        self
    }

    pub(crate) fn adds(&mut self, event: Event) {
        self.history.add(event, self.now).unwrap();
        self.now += self.pace;
    }

    pub(crate) fn prompt(&self) -> Prompt {
        self.session.next(&self.history, self.now)
    }

    /// Says something; the prompt that is still open, where one is.
    pub(crate) fn says(&mut self, prompt: &Prompt, answer: Answer) -> Option<Prompt> {
        let Step {
            events,
            said,
            again,
            ..
        } = self.session.take(&self.history, prompt, answer);
        self.said = said;
        for event in events {
            self.adds(event);
        }
        again
    }
}
