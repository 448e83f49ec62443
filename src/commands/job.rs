//! A job record, for the commands that only look.

use std::path::Path;

use jiff::Timestamp;

use super::case::Case;
use super::{Error, Result};
use crate::decide::OrderBy;
use crate::knowledge::{Knowledge, Workshop};
use crate::record::{Record, State};
use crate::session::{Prompt, Session, opened_on, recorded_case};

/// Refuses a record of practice: what is in it is nobody's vehicle.
pub(super) fn real(state: &State, file: &Path) -> Result<()> {
    match state.opened.practice {
        Some(_) => {
            let why = "this is practice: `halfsplit practice --job` goes on with it";
            Err(Error::of_file(file, why))
        }
        None => Ok(()),
    }
}

/// The case of a job record, read without locking it.
pub(super) fn case<'k>(knowledge: &'k Knowledge, file: &Path) -> Result<Case<'k>> {
    let view = Record::read(file)?;
    let state = view.history.state();
    real(state, file)?;
    let opened = opened_on(knowledge, state);
    let (family, vehicle) = opened.map_err(|error| Error::of_file(file, error))?;
    let recorded = recorded_case(family, state);
    if !recorded.lost.is_empty() {
        let lost: Vec<String> = recorded.lost.iter().map(ToString::to_string).collect();
        let lost = lost.join("; ");
        return Err(Error::of_file(
            file,
            format_args!(
                "the knowledge no longer has what the record names: {lost}; if it has another id now, add `formerly: [old-id]` beside it"
            ),
        ));
    }
    if recorded.complaint.present.is_empty() {
        return Err(Error::of_file(file, "the job has no symptom yet"));
    }
    Ok(Case {
        family,
        vehicle,
        complaint: recorded.complaint,
        evidence: recorded.evidence,
        circumstances: recorded.circumstances,
    })
}

/// The shop that a job record was opened in.
pub(super) fn workshop(file: &Path) -> Result<Workshop> {
    let opened = Record::read(file)?.history.state().opened.clone();
    Ok(opened.shop.unwrap_or_default())
}

/// What `diagnose` would ask next on a job record.
pub(super) fn prompt(
    knowledge: &Knowledge,
    file: &Path,
    by: Option<OrderBy>,
    now: Timestamp,
) -> Result<Prompt> {
    let history = Record::read(file)?.history;
    real(history.state(), file)?;
    let session = Session::new(knowledge, history.state(), by, None)?;
    Ok(session.next(&history, now))
}
