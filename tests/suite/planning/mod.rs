//! The decide room: set-ups, repair order, ranking, the policy.

mod every_policy;
pub(crate) mod models;
mod policies;
mod ranks;
mod recorded;
mod repairs;
mod ruled;
mod rules_tried;
mod set_ups;
