//! What a terminal shows: the session and reports, on pages of text.

mod basis;
mod belief;
mod complaint;
mod measure;
mod next;
mod opening;
mod pages;
mod plan;
mod practice;
mod recording;
mod screens;
mod show;
mod streams;
mod visit;
mod word;

pub use basis::{laid_over_words, overlay, overlay_words, workshop};
pub use next::next;
pub use opening::{Opening, open};
pub use pages::Room;
pub use plan::{plan, what_if};
pub use practice::Trainee;
pub use recording::{Columns, RecordingError, piped_recording, recording};
pub use screens::{Shown, pages};
pub use show::{show, show_all, things};
pub use streams::{Lines, Streams};
pub use visit::{Visit, VisitError};
pub use word::{Line, WORDS};
