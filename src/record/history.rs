//! The events of a job and what they amount to, without a file.

use jiff::Timestamp;

use super::event::{Event, Opened};
use super::line::Entry;
use super::stage::{OutOfPlace, Why};
use super::state::State;
use crate::files::fingerprint;

/// The events of a job, each in its place, and their [`State`].
#[derive(Clone, Debug, PartialEq)]
pub struct History {
    entries: Vec<Entry>,
    state: State,
}

impl History {
    /// A job that is just opened. `salt` tells it from others that are opened at the same time: the
    /// record passes its file name.
    pub fn begin(opened: Opened, time: Timestamp, salt: &str) -> Self {
        let seed = format!("{time}\n{salt}\n{opened:?}");
        let entry = Entry {
            time: to_the_millisecond(time),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            job: fingerprint(seed.as_bytes()),
            line: 1,
            event: Event::Opened(opened.clone()),
        };
        Self {
            state: State::begin(opened, entry.time),
            entries: vec![entry],
        }
    }

    /// A job from its events.
    ///
    /// # Errors
    ///
    /// [`OutOfPlace`] for the first event that is out of place.
    pub fn of(entries: Vec<Entry>) -> Result<Self, OutOfPlace> {
        let state = State::of(&entries)?;
        Ok(Self { entries, state })
    }

    /// Adds an event; the lines of a going back are filled in. Where the event cannot come now, the job is as it was.
    pub fn add(&mut self, mut event: Event, time: Timestamp) -> Result<&Entry, Why> {
        if let Event::Back { steps, lines } = &mut event {
            *lines = self.state.last_answers(*steps)?;
        }
        let before = u64::try_from(self.entries.len()).unwrap_or(u64::MAX);
        let entry = Entry {
            time: to_the_millisecond(time),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            job: self.job().to_owned(),
            line: before.saturating_add(1),
            event,
        };
        self.state.add(&self.entries, &entry)?;
        self.entries.push(entry);
        self.entries.last().ok_or(Why::NotOpened)
    }

    /// Takes the last event off again: it could not be written.
    pub(super) fn unsay(&mut self) -> Result<(), OutOfPlace> {
        self.entries.pop();
        self.state = State::of(&self.entries)?;
        Ok(())
    }

    /// The job's 16 hexadecimal digits.
    pub fn job(&self) -> &str {
        self.entries.first().map_or("", |entry| &entry.job)
    }

    /// All events, those taken back among them.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// What they amount to.
    pub const fn state(&self) -> &State {
        &self.state
    }
}

/// Other programs keep microseconds at most; a person's answers need no more than this.
fn to_the_millisecond(time: Timestamp) -> Timestamp {
    Timestamp::from_millisecond(time.as_millisecond()).unwrap_or(time)
}
