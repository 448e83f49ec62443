//! The job record: what was said, read, repaired and verified on one vehicle, kept so that a crash,
//! a torn line or a second program can lose nothing.
//!
//! A record is one append-only file of JSON lines (`docs/jobs.md` is its description for other
//! programs). Ids of the knowledge are plain strings here: a record must be readable without the
//! knowledge it was made with. May import `files` and `text`.

mod clock;
mod difference;
mod error;
mod event;
mod file;
mod history;
mod line;
mod picture;
mod place;
mod stage;
mod state;

pub use clock::Clock;
pub use difference::Difference;
pub use error::RecordError;
pub use event::{
    Advice, AdviceKind, Closed, Condition, Event, FORMAT, Found, Judged, Leading, Mark, Opened,
    PartReading, Phase, Practice, Reading, Repair, SetAside, SetAsideHow, Timed, Verification,
};
pub use file::{MAX_RECORD, Record, Torn, View};
pub use history::History;
pub use line::{Entry, Fault, MAX_LINE};
pub use picture::{Marked, Panel, Picture, Trace};
pub use place::{ENDING, PRACTICE_ENDING, file_name};
pub use stage::{OutOfPlace, Why};
pub use state::{CoolDown, Dated, Repaired, State, Taken};
