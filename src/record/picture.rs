//! What is kept of a recording that readings came from: enough to draw it where the recording itself is not at hand.

use serde::{Deserialize, Serialize};

/// A recording as it is drawn. Times are in seconds from its start.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Picture {
    /// The name of the recording's file.
    pub file: String,
    /// How long it is, in seconds.
    pub seconds: f64,
    /// Its traces, those with a common scale in one panel.
    pub panels: Vec<Panel>,
    /// What happened, in order.
    pub events: Vec<Marked>,
    /// The windows that readings came from. In a record: those of the readings on the lines that follow, in order.
    pub windows: Vec<Marked>,
}

/// Traces with a common scale.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Panel {
    /// The symbol of their unit.
    pub unit: String,
    /// The traces.
    pub traces: Vec<Trace>,
    /// The limits of the vehicle's sheet, as spans in the panel's unit.
    pub limits: Vec<Marked>,
}

/// A quantity over time.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Trace {
    /// What it is.
    pub name: String,
    /// Its points in order: the time, and the value in the panel's unit; no value where the trace is broken.
    pub points: Vec<(f64, Option<f64>)>,
}

/// A span that is marked, and what is said of it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Marked {
    /// Where it begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// What it is.
    pub words: String,
}
