//! What a session works with.

use super::recorded::{NotKnown, RecordedCase, opened_on};
use crate::decide::{OrderBy, Standing};
use crate::infer::Model;
use crate::knowledge::{Family, Knowledge, Vehicle};
use crate::record::State;
use crate::units::System;

/// A session on a job. From the job's record it says what to ask next, and what an answer adds to the record. It keeps
/// nothing between two questions, reads no clock and writes nowhere.
#[derive(Clone, Copy, Debug)]
pub struct Session<'k> {
    pub(super) knowledge: &'k Knowledge,
    pub(super) family: &'k Family,
    pub(super) vehicle: Option<&'k Vehicle>,
    /// The figure of the ranking to advise by, instead of the policy.
    pub(super) by: Option<OrderBy>,
    /// The units that were asked for, whatever the sheet says.
    wanted: Option<System>,
    pub(super) system: System,
}

impl<'k> Session<'k> {
    /// A session on the job of a record. Limits are shown in the units of `system`, else in those of the vehicle's
    /// sheet.
    pub fn new(
        knowledge: &'k Knowledge,
        state: &State,
        by: Option<OrderBy>,
        system: Option<System>,
    ) -> Result<Self, NotKnown> {
        let (family, vehicle) = opened_on(knowledge, state)?;
        let session = Self {
            knowledge,
            family,
            vehicle: None,
            by,
            wanted: system,
            system: System::default(),
        };
        Ok(session.on(vehicle))
    }

    /// The same session on a vehicle.
    pub(super) fn on(self, vehicle: Option<&'k Vehicle>) -> Self {
        let own = vehicle.map_or(System::Metric, |vehicle| vehicle.units);
        Self {
            vehicle,
            system: self.wanted.unwrap_or(own),
            ..self
        }
    }

    /// The family, and the sheet of the vehicle that the job has come to be on.
    pub fn on_job(&self, state: &State) -> (&'k Family, Option<&'k Vehicle>) {
        (self.family, self.at(state).vehicle)
    }

    /// The same session on the vehicle that the job has come to be on.
    pub(super) fn at(self, state: &State) -> Self {
        let name = state.vehicle.as_deref();
        self.on(name.and_then(|name| self.knowledge.vehicle(name)))
    }

    /// Works a case out; where that fails, says why.
    pub(super) fn with_standing<T>(
        &self,
        case: &RecordedCase,
        then: impl FnOnce(&Standing<'_, '_>) -> T,
    ) -> Result<T, String> {
        let model = Model::new(self.family, self.vehicle, case.complaint.clone())
            .map_err(|error| format!("Nothing fits: {error}."))?;
        let by = self.by.unwrap_or_default();
        let standing = Standing::new(&model, case.evidence.clone(), &case.circumstances, by)
            .map_err(|error| format!("This cannot be worked out: {error}."))?;
        Ok(then(&standing))
    }
}
