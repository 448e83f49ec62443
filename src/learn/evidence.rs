//! What the counted jobs say of the odds: which candidates each complaint has, and which were found.

use std::collections::{BTreeMap, BTreeSet};

use super::job::Finding;
use super::odds::{Odds, Problem, Term, Weighed};
use super::posterior::Prior;
use super::tally::{Count, Tally};
use crate::infer::candidates;
use crate::knowledge::{CauseId, Family, SymptomId};

/// The jobs with one complaint.
struct Asked {
    /// The candidates of the complaint.
    candidates: Vec<Weighed>,
    found: Vec<Found>,
}

/// What was found in some jobs.
struct Found {
    /// What the records say.
    finding: Finding,
    /// The candidates that it can mean; at least one.
    fitting: Vec<Weighed>,
    count: Count,
}

/// What the jobs say.
pub(super) struct Evidence {
    asked: Vec<Asked>,
    /// The jobs in which causes were found that are no candidate of the complaint.
    pub(super) no_candidate: u64,
}

impl Evidence {
    pub(super) fn of(family: &Family, tally: &Tally) -> Self {
        let mut asked: BTreeMap<[&[SymptomId]; 2], Asked> = BTreeMap::new();
        let mut no_candidate = 0;
        for (finding, count) in &tally.findings {
            let complaint = [&finding.present[..], &finding.absent];
            let asked = asked.entry(complaint).or_insert_with(|| Asked {
                candidates: weighed(family, complaint),
                found: Vec::new(),
            });
            let fitting = fitting(finding, &asked.candidates);
            if fitting.is_empty() {
                no_candidate += count.jobs;
            } else {
                asked.found.push(Found {
                    finding: finding.clone(),
                    fitting,
                    count: *count,
                });
            }
        }
        // Of a complaint of which nothing counts nothing is said; it may have no candidate at all.
        let asked = asked.into_values();
        let asked = asked.filter(|asked| !asked.found.is_empty()).collect();
        Self {
            asked,
            no_candidate,
        }
    }

    fn found(&self) -> impl Iterator<Item = &Found> {
        self.asked.iter().flat_map(|asked| &asked.found)
    }

    /// The odds of every cause, in the family's order.
    pub(super) fn odds(&self, family: &Family, prior: Prior, driveline: Option<u64>) -> Vec<Odds> {
        let stated = family.causes.iter().map(|cause| cause.rate.odds());
        let mut problem = Problem {
            stated: stated.collect(),
            weight: prior.jobs(),
            terms: Vec::new(),
            among: None,
        };
        let mut all = 0.0;
        for asked in &self.asked {
            let mut of_complaint = 0.0;
            for found in &asked.found {
                of_complaint += number(found.count.jobs);
                problem.terms.push(Term {
                    jobs: number(found.count.jobs),
                    candidates: found.fitting.clone(),
                });
            }
            problem.terms.push(Term {
                jobs: -of_complaint,
                candidates: asked.candidates.clone(),
            });
            all += of_complaint;
        }
        if let Some(driveline) = driveline {
            let sets = every_candidate(family);
            problem.terms.push(Term {
                jobs: all,
                candidates: sets.clone(),
            });
            problem.among = Some((number(driveline), sets));
        }
        problem.solve()
    }

    /// The jobs whose complaint the cause can bring about.
    pub(super) fn asked_of(&self, cause: CauseId) -> Option<Count> {
        let asked = self.asked.iter();
        let asked = asked.filter(|asked| asked.candidates.iter().any(|one| one.holds(cause)));
        let found = asked.flat_map(|asked| &asked.found);
        Count::sum(found.map(|found| &found.count))
    }

    /// In how many jobs the cause was found for certain.
    pub(super) fn seen(&self, cause: CauseId) -> u64 {
        let found = self
            .found()
            .filter(|found| found.finding.causes.contains(&cause));
        found.map(|found| found.count.jobs).sum()
    }

    /// In how many it was that cause or another, and which others.
    pub(super) fn unstated(&self, cause: CauseId) -> (u64, Vec<CauseId>) {
        let mut jobs = 0;
        let mut others = BTreeSet::new();
        for found in self
            .found()
            .filter(|found| found.finding.among.contains(&cause))
        {
            jobs += found.count.jobs;
            others.extend(&found.finding.among);
        }
        others.remove(&cause);
        (jobs, others.into_iter().collect())
    }
}

impl Weighed {
    fn holds(&self, cause: CauseId) -> bool {
        self.causes.contains(&cause.index())
    }
}

/// The candidates of a complaint, without those that cannot bring it about; none where nothing explains it.
fn weighed(family: &Family, [present, absent]: [&[SymptomId]; 2]) -> Vec<Weighed> {
    let candidates = candidates(family, present, absent).unwrap_or_default();
    let weighed = candidates.into_iter().map(|candidate| {
        let odds = candidate
            .causes
            .iter()
            .map(|id| family.cause(*id).rate.odds());
        Weighed {
            given: candidate.weight / odds.product::<f64>(),
            causes: candidate.causes.iter().map(|id| id.index()).collect(),
        }
    });
    weighed.filter(|one| one.given > 0.0).collect()
}

/// Every candidate of any one complaint, each with the complaint that it brings about most often.
fn every_candidate(family: &Family) -> Vec<Weighed> {
    let mut sets: BTreeMap<Vec<usize>, f64> = BTreeMap::new();
    for symptom in (0..family.symptoms.len()).map(SymptomId::at) {
        for Weighed { causes, given } in weighed(family, [&[symptom], &[]]) {
            let most = sets.entry(causes).or_default();
            *most = given.max(*most);
        }
    }
    let sets = sets.into_iter();
    sets.map(|(causes, given)| Weighed { causes, given })
        .collect()
}

/// The candidates that a finding can mean: those within what was found that hold all that was found for certain. Where
/// there is none, more was found than the complaint needs: then those within it.
fn fitting(finding: &Finding, candidates: &[Weighed]) -> Vec<Weighed> {
    let found = |cause: &usize| {
        let cause = CauseId::at(*cause);
        finding.causes.contains(&cause) || finding.among.contains(&cause)
    };
    let within = candidates.iter().filter(|one| one.causes.iter().all(found));
    let whole = within
        .clone()
        .filter(|one| finding.causes.iter().all(|cause| one.holds(*cause)));
    let whole: Vec<Weighed> = whole.cloned().collect();
    if whole.is_empty() {
        within.cloned().collect()
    } else {
        whole
    }
}

#[allow(clippy::cast_precision_loss, reason = "no shop closes 2^53 jobs")]
fn number(jobs: u64) -> f64 {
    jobs as f64
}
