//! What a terminal shows: the session and reports, on pages of text.

mod belief;
mod measure;
mod next;
mod opening;
mod overlay;
mod plan;
mod screens;
mod show;
mod talk;
mod visit;
mod word;

pub use belief::{candidate_name, repair_order};
pub use next::next;
pub use opening::{Opening, Sheet, open};
pub use overlay::{overlay, overlay_words};
pub use plan::{plan, what_if};
pub use show::{show, show_all, things};
pub use talk::Talk;
pub use visit::{Ended, Visit, VisitError};
pub use word::{Line, WORDS};
