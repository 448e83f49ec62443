//! What the complaint and the readings say about the candidates.
//!
//! One way through: symptoms make candidates, candidates have priors, readings become weights over
//! outcomes, weights and rows make likelihoods, likelihoods move the belief. Nothing here keeps
//! anything or asks anyone.

mod candidate;
mod instrument;
mod likelihood;
mod misfit;
mod misread;
mod model;
mod prior;
mod reading;
mod update;
mod verdict;

pub use crate::entry::Answer;
pub use candidate::{Candidate, Unexplained, candidates, candidates_within, foreseeable, one_job};
pub use instrument::{foreseen_uncertainty, standard_uncertainty};
pub use likelihood::{
    Table, left_by, mistold, row_left, row_of_chance, row_of_unlisted, row_under,
};
pub use misfit::{Fit, MOST_AGAIN, Misfit, Surprise, misfits, surprises};
pub use misread::{Misread, misread};
pub use model::{Complaint, Model, Unusable, bands_on};
pub use prior::weight;
pub use reading::{Part, Taken, Typing, Value, derive, understand, understand_part};
pub use update::{Belief, Evidence, UNLISTED_KINDS, counting};
