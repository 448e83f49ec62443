//! The case that a command works on: a complaint, readings, and what is in place.

use super::Result;
use crate::decide::{Circumstances, OrderBy, Standing};
use crate::infer::{Complaint, Evidence, Model};
use crate::knowledge::{Family, Vehicle};

/// A case, every name in it looked up.
pub(super) struct Case<'k> {
    pub(super) family: &'k Family,
    pub(super) vehicle: Option<&'k Vehicle>,
    pub(super) complaint: Complaint,
    pub(super) evidence: Vec<Evidence>,
    pub(super) circumstances: Circumstances,
}

impl<'k> Case<'k> {
    /// What the complaint implies before any reading.
    pub(super) fn model(&self) -> Result<Model<'k>> {
        Ok(Model::new(
            self.family,
            self.vehicle,
            self.complaint.clone(),
        )?)
    }

    /// The belief and the decision after the readings.
    pub(super) fn standing<'m>(
        &self,
        model: &'m Model<'k>,
        by: OrderBy,
    ) -> Result<Standing<'m, 'k>> {
        let evidence = self.evidence.clone();
        Ok(Standing::new(model, evidence, &self.circumstances, by)?)
    }
}
