//! A recording that was sent for a job, until its readings are taken.

use std::io::{self, Cursor};
use std::path::Path;

use hyper::body::Bytes;

use super::form::Form;
use super::upload::Upload;
use crate::knowledge::{Family, Vehicle};
use crate::recording::{Drive, Mapping, Report, Table, settle, settled_or_proposed};
use crate::session::FromRecording;

/// A recording, and what it says.
#[derive(Clone)]
pub(super) struct Offer {
    /// Tells it from the ones before it, so that a yes is to what was looked at.
    pub(super) number: u64,
    name: String,
    bytes: Bytes,
    pub(super) table: Table,
    pub(super) mapping: Mapping,
    /// Whether these are the columns that were settled for its layout.
    pub(super) settled: bool,
    /// The vehicle by whose sheet its numbers are judged.
    vehicle: Option<String>,
    /// What it says, and what of that is taken; or why it cannot be read with these columns.
    pub(super) says: Result<(Report, FromRecording), String>,
}

impl Offer {
    /// Reads a file that was sent for a job on a vehicle; `mappings` is the file of what columns are. The error says why it
    /// is no recording.
    pub(super) fn of(
        upload: &Upload,
        mappings: Option<&Path>,
        family: &Family,
        vehicle: Option<&Vehicle>,
    ) -> Result<Self, String> {
        let table = Table::of(Cursor::new(upload.bytes.clone()));
        let (table, _) = table.map_err(|why| format!("{}: {why}", upload.name))?;
        let (mapping, settled) = settled_or_proposed(mappings, family, &table)
            .map_err(|why| format!("what the columns of recordings are: {why}"))?;
        let offer = Self {
            number: 0,
            name: upload.name.clone(),
            bytes: upload.bytes.clone(),
            says: Err(String::new()),
            vehicle: None,
            table,
            mapping,
            settled,
        };
        Ok(offer.read(family, vehicle))
    }

    /// What it says with its columns on a vehicle.
    fn read(mut self, family: &Family, vehicle: Option<&Vehicle>) -> Self {
        self.vehicle = vehicle.map(|vehicle| vehicle.name.clone());
        let source = Cursor::new(self.bytes.clone());
        let drive = Drive::read(family, &self.table, &self.mapping, source);
        self.says = drive.map_err(|why| why.to_string()).map(|drive| {
            let columns = (self.table.clone(), &self.mapping);
            let report = Report::of(family, vehicle, &self.name, columns, &drive);
            let readings = FromRecording::of(&report, &drive, vehicle);
            (report, readings)
        });
        self
    }

    /// The recording read again, where the job is on another vehicle by now.
    pub(super) fn on_another(&self, family: &Family, vehicle: Option<&Vehicle>) -> Option<Self> {
        let other = vehicle.map(|vehicle| &vehicle.name) != self.vehicle.as_ref();
        other.then(|| self.clone().read(family, vehicle))
    }

    /// The recording read again with the columns that a form names.
    pub(super) fn with_columns(
        &self,
        form: &Form,
        family: &Family,
        vehicle: Option<&Vehicle>,
    ) -> Result<Self, String> {
        let mut mapping = Mapping::default();
        for signal in &family.signals {
            let column = form.field(&column_of(&signal.name));
            let before = mapping.0.len();
            if column.is_empty() {
                continue;
            }
            mapping.set(family, &self.table, &format!("{}={column}", signal.name))?;
            if mapping.0.len() == before {
                return Err(format!(
                    "{}: that column is another signal already",
                    signal.title
                ));
            }
        }
        let offer = Self {
            settled: self.settled && mapping == self.mapping,
            mapping,
            ..self.clone()
        };
        Ok(offer.read(family, vehicle))
    }

    /// Keeps what its columns are, for its layout.
    pub(super) fn settle(&self, mappings: Option<&Path>, family: &Family) -> io::Result<()> {
        settle(mappings, family, &self.table, &self.mapping)
    }
}

/// The field of a form that names the column of a signal.
pub(super) fn column_of(signal: &str) -> String {
    format!("column {signal}")
}
