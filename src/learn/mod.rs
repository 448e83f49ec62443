//! What closed jobs say about the knowledge's figures: `docs/learning.md`.
//!
//! [`Tally`] counts the records, and [`learn`] turns counts into figures with their intervals: an [`Overlay`] carries
//! them to a person who reviews them, and `take_over` writes what was reviewed into the maintainers' files.

mod apply;
mod counts;
mod evidence;
mod files;
mod job;
mod matrix;
mod odds;
mod overlay;
mod overlay_file;
mod posterior;
mod refusal;
mod report;
mod rows;
mod take_over;
mod tally;

pub use apply::{NoFit, apply};
pub use counts::CountsError;
pub use files::{FilesError, records};
pub use job::{Counted, Finding, Reading, counted, readings_of};
pub use overlay::{Moved, Named, Overlay, learn};
pub use overlay_file::OverlayError;
pub use posterior::{PRIOR_JOBS, PRIOR_READINGS, Posterior, Prior, beta_quantile, gamma_quantile};
pub use refusal::{Refusal, Refused};
pub use report::learned;
pub use rows::{Alike, row_posterior};
pub use take_over::{NotWritten, TakenOver, take_over};
pub use tally::{Count, Tally};
