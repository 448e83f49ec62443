//! The events of a job and what they amount to, without a file.

use jiff::Timestamp;

use super::event::{Event, Opened};
use super::fingerprint::fingerprint;
use super::line::Entry;
use super::standing::{OutOfPlace, Standing, Why};
use super::state::State;

/// The events of a job, each in its place, and their [`State`].
#[derive(Clone, Debug, PartialEq)]
pub struct History {
    entries: Vec<Entry>,
    state: State,
}

impl History {
    /// A job that is just opened. `salt` tells it from others opened alike at the same time: the
    /// record gives its file name.
    ///
    /// # Errors
    ///
    /// None in fact: an opening is in place as the first event.
    pub fn begin(opened: Opened, time: Timestamp, salt: &str) -> Result<Self, OutOfPlace> {
        let seed = format!("{time}\n{salt}\n{opened:?}");
        let entry = Entry {
            time: to_the_millisecond(time),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            job: fingerprint(seed.as_bytes()),
            line: 1,
            event: Event::Opened(opened),
        };
        Self::of(vec![entry])
    }

    /// A job from its events.
    ///
    /// # Errors
    ///
    /// [`OutOfPlace`] for the first event that cannot come where it stands.
    pub fn of(entries: Vec<Entry>) -> Result<Self, OutOfPlace> {
        let state = State::of(&entries)?;
        Ok(Self { entries, state })
    }

    /// The job with one event more.
    ///
    /// The lines of a going back are filled in.
    ///
    /// # Errors
    ///
    /// [`OutOfPlace`] where the event cannot come now; the job is as it was.
    pub fn add(&mut self, event: Event, time: Timestamp) -> Result<&Entry, OutOfPlace> {
        let entry = self.next(event, time)?;
        self.entries.push(entry);
        match State::of(&self.entries) {
            Ok(state) => self.state = state,
            Err(error) => {
                self.entries.pop();
                return Err(error);
            }
        }
        self.entries.last().ok_or(OutOfPlace {
            line: 1,
            why: Why::NotOpened,
        })
    }

    /// The entry that an event would be, its place not yet judged.
    fn next(&self, mut event: Event, time: Timestamp) -> Result<Entry, OutOfPlace> {
        let line = u64::try_from(self.entries.len())
            .unwrap_or(u64::MAX)
            .saturating_add(1);
        if let Event::Back { steps, lines } = &mut event {
            *lines = Standing::of(&self.entries)?
                .last(*steps)
                .map_err(|why| OutOfPlace { line, why })?;
        }
        Ok(Entry {
            time: to_the_millisecond(time),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            job: self.job().to_owned(),
            line,
            event,
        })
    }

    /// Takes the last event off again: it could not be written.
    pub(super) fn unsay(&mut self) -> Result<(), OutOfPlace> {
        self.entries.pop();
        self.state = State::of(&self.entries)?;
        Ok(())
    }

    /// The job's 16 hexadecimal digits.
    #[must_use]
    pub fn job(&self) -> &str {
        self.entries.first().map_or("", |entry| &entry.job)
    }

    /// All events, those taken back among them.
    #[must_use]
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// What they amount to.
    #[must_use]
    pub const fn state(&self) -> &State {
        &self.state
    }
}

/// Other programs keep microseconds at most; a person's answers need no more than this.
fn to_the_millisecond(time: Timestamp) -> Timestamp {
    Timestamp::from_millisecond(time.as_millisecond()).unwrap_or(time)
}
