//! The worked cases of a family, played: readings in, and whether the expected answer comes out.
//!
//! A run keeps names, not ids, so that the runs of two versions of a family can be compared.

mod case_run;
mod finding;
mod play;

pub use case_run::{Answer, Believed, CaseRun, Expected, Fault, Proposal, Read, Stage};
pub use finding::findings;
pub use play::{play, run};
