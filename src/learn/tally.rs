//! The counting of closed jobs.

use std::collections::{BTreeMap, btree_map};
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rayon::iter::{IntoParallelRefIterator as _, ParallelIterator as _};

use super::job::{Counted, counted};
use super::refusal::{Refusal, Refused};
use crate::knowledge::{CauseId, Family, MeasurementId, SymptomId};
use crate::record::Record;

/// So many records are read before any is counted and dropped: enough for every core, small in memory.
const AT_ONCE: usize = 512;

/// The first and the last closing of some jobs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dates {
    /// The first.
    pub from: Timestamp,
    /// The last.
    pub to: Timestamp,
}

/// How often each outcome of a measurement turned up in jobs where one cause alone was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outcomes {
    /// Jobs by outcome, in the measurement's order.
    pub jobs: Vec<u64>,
    /// When those jobs were closed.
    pub dates: Dates,
}

/// What closed jobs found, counted.
///
/// All counts are whole, so the order of the records moves none of them.
#[derive(Debug, Default)]
pub struct Tally {
    /// The jobs counted.
    pub jobs: u64,
    /// When they were closed; `None` where none counted.
    pub dates: Option<Dates>,
    /// The records that do not count, in the order of the files.
    pub refused: Vec<Refused>,
    /// The jobs that nobody said the cause of, by the causes of which it was one, or several.
    pub unstated: BTreeMap<Vec<CauseId>, u64>,
    symptoms: BTreeMap<SymptomId, u64>,
    causes: BTreeMap<CauseId, u64>,
    outcomes: BTreeMap<(MeasurementId, CauseId), Outcomes>,
    /// Every job counted, and the file it was counted from: a copy must not count again.
    seen: BTreeMap<String, PathBuf>,
}

impl Dates {
    fn at(time: Timestamp) -> Self {
        Self {
            from: time,
            to: time,
        }
    }

    fn stretch(&mut self, time: Timestamp) {
        self.from = self.from.min(time);
        self.to = self.to.max(time);
    }

    /// The days, in UTC.
    pub fn days(self) -> [Date; 2] {
        [self.from, self.to].map(|time| TimeZone::UTC.to_datetime(time).date())
    }
}

impl Outcomes {
    /// In how many of the jobs the measurement was taken.
    pub fn taken(&self) -> u64 {
        self.jobs.iter().sum()
    }
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
                    Ok(job) => tally.add(family, job, file),
                    Err(why) => tally.refuse(file, why),
                }
            }
            read += some.len();
            progress(read);
        }
        tally
    }

    /// Counts one job, unless it was counted before.
    pub fn add(&mut self, family: &Family, job: Counted, file: &Path) {
        let Counted {
            job,
            closed,
            symptoms,
            causes,
            among,
            outcomes,
        } = job;
        match self.seen.entry(job) {
            btree_map::Entry::Occupied(first) => {
                let first = first.get().clone();
                self.refuse(file, Refusal::Twice(first));
                return;
            }
            btree_map::Entry::Vacant(new) => new.insert(file.to_owned()),
        };
        self.jobs += 1;
        self.dates
            .get_or_insert_with(|| Dates::at(closed))
            .stretch(closed);
        for symptom in symptoms {
            *self.symptoms.entry(symptom).or_default() += 1;
        }
        for cause in &causes {
            *self.causes.entry(*cause).or_default() += 1;
        }
        if !among.is_empty() {
            *self.unstated.entry(among).or_default() += 1;
            return;
        }
        // Of several causes together nobody can say which of them moved a reading.
        let [alone] = causes[..] else { return };
        for (measurement, outcome) in outcomes {
            let count = self
                .outcomes
                .entry((measurement, alone))
                .or_insert_with(|| Outcomes {
                    jobs: vec![0; family.measurement(measurement).outcomes.len()],
                    dates: Dates::at(closed),
                });
            count.jobs[outcome.index()] += 1;
            count.dates.stretch(closed);
        }
    }

    fn refuse(&mut self, file: &Path, why: Refusal) {
        self.refused.push(Refused {
            file: file.to_owned(),
            why,
        });
    }

    /// In how many of them a symptom was confirmed present.
    pub fn with_symptom(&self, symptom: SymptomId) -> u64 {
        self.symptoms.get(&symptom).copied().unwrap_or(0)
    }

    /// In how many of them a cause was found, alone or with others.
    pub fn with_cause(&self, cause: CauseId) -> u64 {
        self.causes.get(&cause).copied().unwrap_or(0)
    }

    /// What a measurement gave in the jobs where a cause alone was found; `None` where it was taken in none.
    pub fn outcomes(&self, measurement: MeasurementId, cause: CauseId) -> Option<&Outcomes> {
        self.outcomes.get(&(measurement, cause))
    }
}

/// Reads a record and judges it; its history is dropped again at once.
fn judge(family: &Family, file: &Path) -> Result<Counted, Refusal> {
    counted(family, &Record::read(file)?)
}
