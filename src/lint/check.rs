//! A knowledge folder held to everything that can be said of it without a vehicle in the shop.

use crate::cases;
use crate::cases::CaseRun;
use crate::knowledge::Knowledge;
use crate::lint;
use crate::load::{Findings, Loaded, Source};

/// What came of a check.
#[derive(Clone, Debug)]
pub struct Checked {
    /// What was noticed while loading, then what was judged, then the cases that fail; each part by file,
    /// line and column.
    pub findings: Findings,
    /// Every worked case.
    pub cases: Vec<CaseRun>,
}

/// Judges knowledge that loads and runs its worked cases.
#[must_use]
pub fn check(source: &Source, loaded: &Loaded) -> Checked {
    let knowledge: &Knowledge = &loaded.knowledge;
    let runs: Vec<CaseRun> = knowledge
        .families
        .iter()
        .flat_map(|family| cases::run(knowledge, family))
        .collect();
    let mut findings = loaded.warnings.clone();
    findings.0.extend(lint::judge(source, knowledge).0);
    findings.0.extend(cases::findings(source, &runs).0);
    Checked {
        findings,
        cases: runs,
    }
}
