//! What people see: pages, tables and figures.
//!
//! May import every room below: `quantity` to `proof`.

mod belief;
mod calibration_drawing;
mod checking;
mod comparison;
pub mod drawing;
mod ending;
pub mod figures;
mod learning;
mod next;
mod overlay;
mod page;
mod paper;
mod plan;
mod plan_drawing;
mod proposal;
mod show;
mod study;
mod table;

pub use belief::{candidate_name, change, repair_names, repair_order, repairs};
pub use calibration_drawing::calibration_svg;
pub use checking::{failing_case, findings, summary as check_summary};
pub use comparison::comparison;
pub use ending::{found, ranking, repair_sheet, settling};
pub use learning::learned;
pub use next::next;
pub use overlay::{overlay, overlay_words};
pub use page::{Page, Tone, clean};
pub use paper::Paper;
pub use plan::{beside, plan, sensitive, way_of_working, what_if};
pub use plan_drawing::{plan_dot, plan_svg};
pub use proposal::{
    cautions, in_words, limits, prospects, question, shown_in, steps, way_words, why,
};
pub use show::{
    show_all, show_cause, show_measurement, show_repair, show_set_up, show_symptom, show_vehicle,
};
pub use study::{in_words as stress_in_words, paired, study, weak_spots};
pub use table::table;
