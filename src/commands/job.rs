//! A case from a job record, for the commands that only look.

use std::path::Path;

use super::Error;
use super::case::Case;
use crate::knowledge::Knowledge;
use crate::record::{Record, State};
use crate::session::{opened_on, recorded_case};

/// The case of a job record, read without locking it.
pub(super) fn case<'k>(knowledge: &'k Knowledge, file: &Path) -> Result<Case<'k>, Error> {
    let view = Record::read(file)?;
    let state =
        State::of(view.history.entries()).map_err(|error| Error::Files(error.to_string()))?;
    let (family, vehicle) = opened_on(knowledge, &state)
        .map_err(|error| Error::Files(format!("{}: {error}", file.display())))?;
    let recorded = recorded_case(family, &state);
    if !recorded.lost.is_empty() {
        let lost: Vec<String> = recorded.lost.iter().map(ToString::to_string).collect();
        return Err(Error::Files(format!(
            "{}: the knowledge no longer has what the record names: {}; if it has another id now, add `formerly: [old-id]` beside it",
            file.display(),
            lost.join("; ")
        )));
    }
    if recorded.complaint.present.is_empty() {
        return Err(Error::Files(format!(
            "{}: the job has no symptom yet",
            file.display()
        )));
    }
    Ok(Case {
        family,
        vehicle,
        complaint: recorded.complaint,
        evidence: recorded.evidence,
        circumstances: recorded.circumstances,
    })
}
