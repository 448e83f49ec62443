//! Counts made elsewhere, from a CSV file: docs/learning.md.

use std::path::{Path, PathBuf};

use jiff::civil::Date;
use serde::Deserialize;

use super::job::{Finding, Reading, STEPS, left};
use super::refusal::Refusal;
use super::tally::{Count, Tally};
use crate::files;
use crate::knowledge::{Family, Measurement, MeasurementId};
use crate::record::Found;

/// The largest file of counts, in bytes.
const LARGEST: u64 = 64_000_000;

/// A file of counts that cannot be used.
#[derive(Debug, thiserror::Error)]
#[error("{path}: {source}")]
pub struct CountsError {
    /// The file.
    path: PathBuf,
    /// What is wrong, and on which line.
    source: csv::Error,
}

/// A line: so many jobs with this complaint, of which the same was found, or those of them in which a measurement read
/// the same.
#[derive(Deserialize)]
struct Line {
    present: String,
    absent: String,
    found: Option<Found>,
    causes: String,
    among: String,
    fades: String,
    measurement: String,
    outcome: String,
    jobs: u64,
    first: Date,
    last: Date,
}

impl Tally {
    /// Adds the counts of a file. A line that names what today's knowledge lacks is kept with its reason.
    ///
    /// # Errors
    ///
    /// [`CountsError`] where the file cannot be read, lacks a column or has a value that is none.
    pub fn read_counts(&mut self, family: &Family, path: &Path) -> Result<(), CountsError> {
        let failed = |source| CountsError {
            path: path.to_owned(),
            source,
        };
        let bytes = files::read(path, LARGEST).map_err(|error| failed(error.into()))?;
        let mut reader = csv::Reader::from_reader(&bytes[..]);
        for (number, line) in (2..).zip(reader.deserialize()) {
            let line: Line = line.map_err(failed)?;
            if let Err(why) = self.add_line(family, &line) {
                let place = format!("{}:{number}", path.display());
                self.refuse(Path::new(&place), why);
            }
        }
        Ok(())
    }

    fn add_line(&mut self, family: &Family, line: &Line) -> Result<(), Refusal> {
        let count = Count {
            jobs: line.jobs,
            dates: [line.first, line.last],
        };
        let names = |text: &str| text.split_whitespace().map(str::to_owned).collect();
        let [present, absent, causes, among]: [Vec<String>; 4] =
            [&line.present, &line.absent, &line.causes, &line.among].map(|text| names(text));
        let finding = Finding::of(family, [&present, &absent], line.found, [&causes, &among])?;
        if line.measurement.is_empty() {
            self.add_findings(finding, count);
        } else if let Some(cause) = finding.alone() {
            let (id, mut reading) = reading(family, &line.measurement, &line.outcome)?;
            let fades = line.fades.split_whitespace();
            let fades = fades.map(|one| {
                let (name, outcome) = one.split_once('=').unwrap_or((one, ""));
                self::reading(family, name, outcome)
            });
            let fades: Vec<(MeasurementId, Reading)> = fades.collect::<Result<_, _>>()?;
            let of = |id| fades.iter().find(|(other, _)| *other == id);
            let left = left(family, |id| of(id).map(|(_, reading)| reading));
            reading.fade(family.measurement(id), left);
            self.add_readings(id, cause, reading, count);
        }
        Ok(())
    }
}

/// What a measurement read: an outcome, or several with their weights in twentieths, `low:14+normal:6`.
fn reading(family: &Family, name: &str, text: &str) -> Result<(MeasurementId, Reading), Refusal> {
    let id = family.measurement_known_as(name);
    let id = id.ok_or_else(|| Refusal::Unknown {
        kind: "measurement",
        name: name.to_owned(),
    })?;
    let measurement: &Measurement = family.measurement(id);
    let weights = text.split('+').map(|one| {
        let (outcome, steps) = one.split_once(':').unwrap_or((one, "20"));
        // What is no weight weighs nothing, and is refused below.
        let steps = steps
            .parse()
            .ok()
            .filter(|steps| (1.0..=STEPS).contains(steps));
        (outcome, steps.unwrap_or(0.0) / STEPS)
    });
    let weights: Vec<(&str, f64)> = weights.collect();
    if weights.iter().any(|(_, weight)| *weight <= 0.0) {
        return Err(Refusal::NoWeight(measurement.name.clone()));
    }
    Ok((id, Reading::of(measurement, weights)?))
}
