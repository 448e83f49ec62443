//! The commands: a file each, its arguments and what it calls. The highest room: it may import every other.

mod args;
mod basis;
mod case;
mod check;
mod completions;
mod diagnose;
mod diff;
mod draw;
mod error;
mod job;
mod jobs;
mod keyboard;
mod learn;
mod manual;
mod new;
mod next;
mod paired;
mod pause;
mod plan;
mod program;
mod progress;
mod schema;
mod serve;
mod sheet;
mod shop;
mod show;
mod streams;
mod study;

pub use crate::terminal::Lines;
pub use error::Error;
pub(crate) use error::Result;
pub use keyboard::Keyboard;
pub use pause::pause;
pub use program::run;
pub use shop::shop_file;
pub use streams::{DONE, FINDINGS, Streams, UNUSABLE};
