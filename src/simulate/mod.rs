//! How well the knowledge diagnoses: drawn vehicles, diagnosed as the program advises. docs/study.md.
//!
//! [`World`] draws vehicles, a [`Mechanic`] diagnoses them one after the other, `study` sums up, and
//! [`compare`] puts two versions of the knowledge to the same vehicles. What is found is kept in names.

mod calibration;
mod chance;
mod mechanic;
mod mistaken;
mod paired;
mod picture;
mod report;
mod stress;
mod study;
mod summary;
mod world;

pub use calibration::{Calibration, Class};
pub use chance::{Chance, share};
pub use mechanic::{Course, Mechanic, Tried, Unworkable};
pub use mistaken::{Mistaken, Split};
pub use paired::{Difference, Paired, Side, Version, compare};
pub use picture::calibration_svg;
pub use report::{paired_report, study_report, whole_report};
pub use stress::Stress;
pub use study::{
    AIM_CALIBRATION, AIM_FIRST, AIM_WITHIN_TWO, Fault, Isolation, Settings, Stressed, Study, study,
    vehicles_of,
};
pub use summary::{Spread, Summary};
pub use world::{Drawn, Seen, World};
