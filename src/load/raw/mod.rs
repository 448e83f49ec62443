//! The knowledge files as they are written, before anything is checked: one type a kind of file.
//!
//! The comments of the fields become the descriptions in the JSON Schemas, which editors show while a
//! maintainer types.

pub(crate) mod cases;
pub(crate) mod causes;
pub(crate) mod codes;
pub(crate) mod exercises;
pub(crate) mod family;
pub(crate) mod measurements;
pub(crate) mod shop;
pub(crate) mod trees;
pub(crate) mod vehicles;

use crate::knowledge::{EventKind, Role, Statistic};
use crate::load::value::{Placed, records, words};
use crate::units::System;

records! {
    /// A span of numbers.
    Span {
        /// The least number.
        from: Placed<f64>,
        /// The greatest number.
        to: Placed<f64>,
    }
}

words! {
    System {
        "metric" = System::Metric,
        "us" = System::Us,
    }
}

words! { Role, EventKind, Statistic }
