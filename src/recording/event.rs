//! Something that happened in a recording.

use serde::Serialize;

use crate::knowledge::EventKind;
use crate::units::Unit;

/// Below this speed of the secondary pulley, in 1/min, the vehicle stands. Judged.
pub(super) const STANDS: f64 = 50.0;

/// Something that happened.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Event {
    /// What.
    pub kind: EventKind,
    /// From when, in seconds from the start of the recording.
    pub from: f64,
    /// Until when.
    pub to: f64,
    /// How large or long it was, in `unit`.
    pub value: f64,
    /// The unit of that.
    pub unit: Unit,
    /// Its standard uncertainty.
    pub u: f64,
    /// It in words.
    pub words: String,
}
