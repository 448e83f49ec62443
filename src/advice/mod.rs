//! What to do next on a vehicle: the belief put before the plan.
//!
//! Here names meet figures: the candidates and tables of `belief` become the plain problem that
//! `plan` works on, and its answers get their names back. May import `quantity`, `tree`,
//! `knowledge`, `belief`, `plan` and `job`.

mod compared;
mod from_record;
mod outlook;
mod problem;
mod standing;

pub use compared::{Compared, Effort, WayOfWorking, compared};
pub use from_record::{NotKnown, RecordedCase, opened_on, recorded_case};
pub use outlook::{Along, Outlook, PathStep, likeliest_path};
pub use problem::{Circumstances, problem, set_ups};
pub use standing::{Advice, Repairing, Standing};
