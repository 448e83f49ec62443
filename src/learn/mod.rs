//! What closed jobs say about the knowledge's figures: `docs/learning.md`.
//!
//! [`Tally`] counts the records, [`learn`] turns counts into figures with their intervals, and an
//! [`Overlay`] carries those to a person who reviews them. The maintainers' files are never written.

mod apply;
mod files;
mod job;
mod overlay;
mod overlay_file;
mod posterior;
mod refusal;
mod report;
mod tally;

pub use apply::{NoFit, apply};
pub use files::{FilesError, records};
pub use job::{Counted, counted};
pub use overlay::{Moved, Named, Overlay};
pub use overlay_file::OverlayError;
pub use posterior::{
    Figure, LEVEL, Learned, PRIOR_JOBS, PRIOR_READINGS, Posterior, Prior, Shown, beta_quantile,
    learn, rate_posterior, row_posterior,
};
pub use refusal::{Refusal, Refused};
pub use report::learned;
pub use tally::{Dates, Outcomes, Tally};
