//! What can be wrong, and what puts it right.

use serde::Serialize;

use super::ids::{MeasurementId, RepairId, SetUpId};
use super::order::Requires;
use crate::units::{Minutes, Money, Rate};

/// A basic event: one thing that can be wrong.
#[derive(Clone, Debug, Serialize)]
pub struct Cause {
    /// Its id in the files.
    pub name: String,
    /// Ids it had before, by which older records may name it.
    pub formerly: Vec<String>,
    /// What is wrong, in the trade's words.
    pub title: String,
    /// The part of the vehicle it belongs to.
    pub part: String,
    /// In how many of 1,000 jobs it is present.
    pub rate: Rate,
    /// What puts it right.
    pub repair: RepairId,
    /// Who says so.
    pub source: String,
}

/// What puts a cause right.
#[derive(Clone, Debug, Serialize)]
pub struct Repair {
    /// Its id in the files.
    pub name: String,
    /// Ids it had before, by which older records may name it.
    pub formerly: Vec<String>,
    /// What is done.
    pub title: String,
    /// Hands-on time, its verification included.
    pub minutes: Minutes,
    /// The price of its parts.
    pub parts: Money,
    /// What must have been read before it is advised.
    pub requires: Requires,
    /// The dismantling it begins with; the minutes hold it.
    pub set_ups: Vec<SetUpId>,
    /// The cautions before it: places in the family's list of caution texts.
    pub cautions: Vec<usize>,
    /// What to verify afterwards, in words.
    pub verify: String,
    /// What verifies it, in order.
    pub verify_with: Vec<Verify>,
    /// The care it asks for: places in the family's list of care texts.
    pub care: Vec<usize>,
    /// Whether the valve body is opened, or the tray taken off.
    pub opens_valve_body: bool,
    /// Whether the unit is taken out, or opened up elsewhere than at the valve body.
    pub unit_out: bool,
    /// The measurements it answers on the way.
    pub reveals: Vec<MeasurementId>,
}

/// One thing that verifies a repair.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(untagged)]
pub enum Verify {
    /// A reading.
    Read(MeasurementId),
    /// What somebody confirms, in words.
    Confirm(String),
}

impl Repair {
    /// Whether the unit is opened or taken out for it: such a repair wants readings that fit.
    pub fn opens_unit(&self) -> bool {
        self.unit_out || self.opens_valve_body
    }

    /// The measurements that verify it, in order.
    pub fn verifying(&self) -> impl Iterator<Item = MeasurementId> {
        self.verify_with.iter().filter_map(|verify| match verify {
            Verify::Read(id) => Some(*id),
            Verify::Confirm(_) => None,
        })
    }
}
