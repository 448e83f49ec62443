//! The session: knowledge and a job record in, the next question out; an answer in, events out.
//!
//! No terminal, no clock, no file: the next question follows from the record alone, so that stopping, coming back and
//! going back need nothing of their own. A renderer asks and appends:
//!
//! ```ignore
//! let prompt = session.next(record.history(), now);
//! let step = session.take(record.history(), &prompt, answer);
//! for event in step.events {
//!     record.append(event)?;
//! }
//! ```

mod answer;
mod at_hand;
mod closing;
mod conditions;
mod core;
mod measure;
mod next;
mod outlook;
mod prompt;
mod reading;
mod recorded;
mod repair;
mod settling;
mod take;
mod why;

pub use answer::{Answer, Step};
pub use core::Session;
pub use measure::{LimitShown, Measure, Prospect, Reason, SetUpAsked, Worth};
pub use outlook::{Change, Cure, Offer, Outlook, RepairOrder, RepairOrderStep, Suspect};
pub use prompt::{Ask, Choice, PartAsked, Prompt, ReadingAsked};
pub use recorded::{Lost, NotKnown, RecordedCase, opened_on, recorded_case};
pub use repair::{Against, Alike, Opened, RepairAsked, RepairSheet};
pub use why::{CauseWay, Moved, Why};
