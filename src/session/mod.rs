//! The session: knowledge and a job record in, the next question out; an answer in, events out.
//!
//! No terminal, no clock, no file: the next question follows from the record alone, so that stopping, coming back and
//! going back need nothing of their own. A renderer asks, and keeps what comes of the answer:
//!
//! ```
//! use halfsplit::files::Readers;
//! use halfsplit::record::{Clock, Opened, Record};
//! use halfsplit::session::{Answer, Ask, Session};
//! use halfsplit::{Source, load};
//!
//! let knowledge = load(&Source::embedded()).map_err(|findings| findings.to_string())?.knowledge;
//! let folder = tempfile::tempdir()?;
//! let clock = Clock::system();
//! let mut opened = Opened::new("chain-cvt", knowledge.fingerprints());
//! opened.vehicle = Some("demo-estate".to_owned());
//! let mut record = Record::create_in(folder.path(), &opened, &clock, Readers::Owner)?;
//! let session = Session::new(&knowledge, record.state(), None, None)?;
//!
//! for typed in ["it slips in forward", "slipping"] {
//!     let prompt = session.next(record.history(), clock.now());
//!     let step = session.take(record.history(), &prompt, Answer::Typed(typed.to_owned()));
//!     for event in step.events {
//!         record.append(event)?;
//!     }
//! }
//! let prompt = session.next(record.history(), clock.now());
//! assert!(prompt.measure.is_some() && matches!(prompt.ask, Ask::Reading(_)));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod answer;
mod at_hand;
mod closing;
mod complaint;
mod conditions;
mod core;
mod from_recording;
mod measure;
mod next;
mod on_the_way;
mod other_repair;
mod outlook;
mod prompt;
mod reading;
mod recorded;
mod repair;
mod search;
mod settling;
mod so_far;
mod status;
mod take;
mod turn;
mod vehicle;
mod why;

pub use answer::{Answer, FromRecording, ReadThere, Step};
pub use core::Session;
pub use measure::{
    LimitShown, Measure, NOT_SURE_ENOUGH, Prospect, Reason, RecordedWith, SetUpAsked, Worth,
};
pub use on_the_way::OnTheWay;
pub use outlook::{
    Candidate, Change, Cure, Offer, Outlook, RepairOrder, RepairOrderStep, Shift, Suspect,
};
pub use prompt::{Ask, Choice, PartAsked, Prompt, ReadingAsked, Told};
pub use recorded::{Lost, NotKnown, RecordedCase, opened_on, recorded_case};
pub use repair::{Against, Alike, LIKELIER, NO_WAY, Opened, RepairAsked, RepairSheet};
pub use search::{Hit, called, several_called};
pub use so_far::{Read, SoFar};
pub use status::{Status, minutes_after_each};
pub use vehicle::{Sheet, sheet_called, vehicles};
pub use why::{CauseWay, Moved, Why};
