//! What closed jobs say about the knowledge's figures: `docs/learning.md`.
//!
//! [`Tally`] counts the records, and [`learn`] turns counts into figures with their intervals: an [`Overlay`] carries
//! them to a person who reviews them. The maintainers' files are never written.

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
pub use overlay::{Moved, Named, Overlay, learn};
pub use overlay_file::OverlayError;
pub use posterior::{
    LEVEL, PRIOR_JOBS, PRIOR_READINGS, Posterior, Prior, beta_quantile, rate_posterior,
    row_posterior,
};
pub use refusal::{Refusal, Refused};
pub use report::learned;
pub use tally::{Dates, Outcomes, Tally};
