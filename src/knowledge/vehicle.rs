//! Spec sheets: the limits of one model, by name, with where each came from.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::units::{System, Unit};

/// The spec sheet of one model.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Vehicle {
    /// Its id in the files.
    pub name: String,
    /// The model, in words.
    pub title: String,
    /// The name of its family.
    pub family: String,
    /// Whether the sheet is invented for a demonstration.
    pub invented: bool,
    /// The units its readings are shown in.
    pub units: System,
    /// Its limits, by name.
    #[serde(rename = "limit")]
    pub limits: BTreeMap<String, SheetLimit>,
}

/// A limit of the sheet.
#[derive(Clone, Debug, Serialize)]
pub struct SheetLimit {
    /// The numbers by key (`min`, `max`, `far`), in `unit`.
    #[serde(flatten)]
    pub numbers: BTreeMap<String, f64>,
    /// The unit of the numbers; `None` for a limit in words.
    pub unit: Option<Unit>,
    /// The limit in words, where it has no number.
    pub words: Option<String>,
    /// Where it came from.
    pub source: String,
}

impl Vehicle {
    /// The number `key` of the limit `sheet`, converted to `unit`; `None` where the sheet does not
    /// give it, or gives it in another dimension.
    pub fn limit(&self, sheet: &str, key: &str, unit: Unit) -> Option<f64> {
        let limit = self.limits.get(sheet)?;
        limit.unit?.convert(*limit.numbers.get(key)?, unit)
    }
}
