//! A recording of the scan tool: a table of rows becomes signals over time, derived traces, events, and readings of
//! the measurements that say how they are read from one. docs/method.md, section 14.
//!
//! The way of the bytes: [`table`] finds out how the file is written, [`mapping`] which column is which signal, `blocks`
//! takes the rows apart, [`drive`] joins them to signals, each a [`series`] in few bytes (`packed`), `trace` computes what
//! follows from two signals, `events` looks for what happened, `reading` takes the measurements, and [`report`] says it
//! all. Imports nothing that asks a person.

mod blocks;
mod cell;
pub mod drive;
mod engagement;
pub mod event;
pub mod events;
pub mod mapping;
mod moves;
mod packed;
pub mod picture;
pub mod reading;
pub mod report;
pub mod series;
mod settled;
pub mod spectrum;
pub mod table;
pub mod trace;

pub use drive::Drive;
pub use event::Event;
pub use events::events;
pub use mapping::{Mapping, Mappings};
pub use reading::{Reading, recorded};
pub use report::Report;
pub use settled::{settle, settled_or_proposed};
pub use table::{Refusal, Table};
