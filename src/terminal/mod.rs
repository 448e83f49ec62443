//! What a terminal shows: pages of the session and of reports.

pub mod bay;
mod belief;
mod ending;
mod next;
mod overlay;
mod plan;
mod proposal;
mod show;

pub use belief::{candidate_name, change, repair_order, repairs};
pub use ending::{found, ranking, repair_sheet, settling};
pub use next::next;
pub use overlay::{overlay, overlay_words};
pub use plan::{beside, plan, sensitive, way_of_working, what_if};
pub use proposal::{
    cautions, in_words, limits, prospects, question, shown_in, steps, way_words, why,
};
pub use show::{show, show_all, things};
