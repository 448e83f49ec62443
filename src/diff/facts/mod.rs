//! What is stated of each kind of thing, by name.
//!
//! Every field of every type is taken apart by name: a new one breaks the build here until it is
//! compared too.

mod case;
mod cause;
mod family;
mod measurement;
mod symptom;
mod vehicle;

pub(super) use case::{case, case_name};
pub(super) use cause::{cause, repair};
pub(super) use family::{ambiguity, code, condition, family, instrument, set_up, text};
pub(super) use measurement::measurement;
pub(super) use symptom::symptom;
pub(super) use vehicle::vehicle;

use crate::knowledge::{Bound, LimitBand};

/// A band in words: `from stall.min, below 3000`.
fn band(band: &LimitBand) -> String {
    let LimitBand { lower, upper } = band;
    let end = |bound: &Option<Bound>, closed: &str, open: &str| {
        bound.as_ref().map(|Bound { limit, inside }| {
            format!("{} {limit}", if *inside { closed } else { open })
        })
    };
    let ends: Vec<String> = [end(lower, "from", "above"), end(upper, "to", "below")]
        .into_iter()
        .flatten()
        .collect();
    if ends.is_empty() {
        "every value".to_owned()
    } else {
        ends.join(" ")
    }
}
