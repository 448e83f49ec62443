//! Fault trees as drawings: SVG for the wall, Graphviz DOT for another layout.
//!
//! The symbols are those of IEC 61025: an event is a rectangle with its description, a gate a
//! rectangle with its qualifier (`≥1`, `&`, `≥k/n`, the manner of IEC 60617-12), a basic event a
//! circle, a transfer a triangle. The tree is turned by a quarter, top event at the left, so that every
//! cause has a line of its own with its figures beside it. Nothing rests on colour.

mod chart;
mod dot;
mod layout;
mod legend;
mod outline;
mod plan;
mod sheet;
mod symbols;
mod text;
mod traces;

pub use chart::{Course, CourseStep, Mark, Span, band, course, letter};
pub use dot::dot;
pub use plan::{plan_dot, plan_svg};
pub use sheet::svg;
pub use traces::{sketch, traces, traces_in_page};
