//! What people see: pages, tables and figures.
//!
//! May import every room below: `quantity` to `proof`.

mod belief;
pub mod drawing;
mod ending;
pub mod figures;
mod learning;
mod next;
mod page;
mod plan;
mod plan_drawing;
mod proposal;
mod show;
mod table;

pub use belief::{candidate_name, change, repair_names, repair_order, repairs};
pub use ending::{found, ranking, repair_sheet, settling};
pub use learning::learned;
pub use next::next;
pub use page::{Page, Tone, clean};
pub use plan::{beside, plan, sensitive, way_of_working, what_if};
pub use plan_drawing::{plan_dot, plan_svg};
pub use proposal::{
    cautions, in_words, limits, prospects, question, shown_in, steps, way_words, why,
};
pub use show::{
    show_all, show_cause, show_measurement, show_repair, show_set_up, show_symptom, show_vehicle,
};
pub use table::table;
