//! The counting of closed jobs.

use std::collections::{BTreeMap, btree_map};
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use rayon::iter::{IntoParallelRefIterator as _, ParallelIterator as _};

use super::job::{Counted, Finding, Reading, counted};
use super::refusal::{Refusal, Refused};
use crate::knowledge::{CauseId, Family, MeasurementId, SymptomId};
use crate::record::Record;

/// So many records are read before any is counted and dropped: enough for every core, small in memory.
const AT_ONCE: usize = 512;

/// So many jobs, and the days in UTC that the first and the last of them were closed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Count {
    /// The jobs.
    pub jobs: u64,
    /// The first and the last day.
    pub dates: [Date; 2],
}

impl Count {
    /// One job.
    pub const fn one(closed: Date) -> Self {
        Self {
            jobs: 1,
            dates: [closed, closed],
        }
    }

    /// The jobs of both.
    #[must_use = "neither is changed"]
    pub fn and(self, other: Self) -> Self {
        let ([from, to], [first, last]) = (self.dates, other.dates);
        Self {
            jobs: self.jobs + other.jobs,
            dates: [from.min(first), to.max(last)],
        }
    }

    /// All together; `None` of nothing.
    pub fn sum<'c>(counts: impl IntoIterator<Item = &'c Self>) -> Option<Self> {
        counts.into_iter().copied().reduce(Self::and)
    }
}

/// What closed jobs found, counted.
///
/// All counts are whole, so the order of the records moves none of them.
#[derive(Debug, Default)]
pub struct Tally {
    /// The records that do not count, in the order of the files.
    pub refused: Vec<Refused>,
    /// The jobs by complaint and what was found.
    pub findings: BTreeMap<Finding, Count>,
    /// What each measurement read in the jobs where one cause alone was found.
    pub readings: BTreeMap<(MeasurementId, CauseId), BTreeMap<Reading, Count>>,
    /// Every job counted, and the file it was counted from: a copy must not count again.
    seen: BTreeMap<String, PathBuf>,
}

impl Tally {
    /// Counts records on all cores. `progress` is told from time to time how many were read.
    ///
    /// A record that does not count is kept with its reason. Records are read and dropped a few
    /// hundred at a time. Of several files with the same job the first in `files` counts.
    pub fn of(family: &Family, files: &[PathBuf], progress: &mut dyn FnMut(usize)) -> Self {
        let mut tally = Self::default();
        let mut read = 0;
        for some in files.chunks(AT_ONCE) {
            let judged: Vec<Result<Counted, Refusal>> =
                some.par_iter().map(|file| judge(family, file)).collect();
            for (file, judged) in some.iter().zip(judged) {
                match judged {
                    Ok(job) => tally.add(job, file),
                    Err(why) => tally.refuse(file, why),
                }
            }
            read += some.len();
            progress(read);
        }
        tally
    }

    /// Counts one job, unless it was counted before.
    pub fn add(&mut self, job: Counted, file: &Path) {
        match self.seen.entry(job.job) {
            btree_map::Entry::Occupied(first) => {
                let first = first.get().clone();
                self.refuse(file, Refusal::Twice(first));
                return;
            }
            btree_map::Entry::Vacant(new) => new.insert(file.to_owned()),
        };
        let count = Count::one(job.closed);
        // Of several causes together nobody can say which of them moved a reading.
        if let Some(cause) = job.finding.alone() {
            for (measurement, reading) in job.readings {
                self.add_readings(measurement, cause, reading, count);
            }
        }
        self.add_findings(job.finding, count);
    }

    /// Counts jobs with one complaint, for which the same was found.
    pub(super) fn add_findings(&mut self, finding: Finding, count: Count) {
        let all = self.findings.entry(finding);
        all.and_modify(|all| *all = all.and(count)).or_insert(count);
    }

    /// Counts jobs where a cause alone was found and a measurement read the same.
    pub(super) fn add_readings(
        &mut self,
        measurement: MeasurementId,
        cause: CauseId,
        reading: Reading,
        count: Count,
    ) {
        let readings = self.readings.entry((measurement, cause)).or_default();
        let all = readings.entry(reading);
        all.and_modify(|all| *all = all.and(count)).or_insert(count);
    }

    /// Keeps why something does not count.
    pub(super) fn refuse(&mut self, file: &Path, why: Refusal) {
        self.refused.push(Refused {
            file: file.to_owned(),
            why,
        });
    }

    /// The jobs counted; `None` where there is none.
    pub fn jobs(&self) -> Option<Count> {
        Count::sum(self.findings.values())
    }

    /// In how many of them a symptom was confirmed present.
    pub fn with_symptom(&self, symptom: SymptomId) -> u64 {
        let findings = self.findings.iter();
        let with = findings.filter(|(finding, _)| finding.present.contains(&symptom));
        with.map(|(_, count)| count.jobs).sum()
    }
}

/// Reads a record and judges it; its history is dropped again at once.
fn judge(family: &Family, file: &Path) -> Result<Counted, Refusal> {
    counted(family, &Record::read(file)?)
}
