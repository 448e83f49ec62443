//! Every lint and every worked case of a knowledge folder.

use serde::Serialize;

use super::desk::Desk;
use super::{accept, coverage, exercises, figures, set_ups, sheets, sources, texts, wording};
use crate::cases::{self, CaseRun};
use crate::knowledge::{Family, Knowledge};
use crate::load::{Findings, Loaded, Places, Severity, Source};

/// What came of a check.
#[derive(Clone, Debug)]
pub struct Checked {
    /// What was noticed while loading, then the lints, then the cases that fail; each part by file, line and column.
    /// What the families accept is left out.
    pub findings: Findings,
    /// Every worked case.
    pub cases: Vec<CaseRun>,
}

/// How much was checked, and how it came out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// Families.
    pub families: usize,
    /// Symptoms in all families.
    pub symptoms: usize,
    /// Causes.
    pub causes: usize,
    /// Repairs.
    pub repairs: usize,
    /// Measurements.
    pub measurements: usize,
    /// Spec sheets.
    pub vehicles: usize,
    /// Worked cases.
    pub cases: usize,
    /// Those that do not come out as expected.
    pub cases_failing: usize,
    /// Findings that are errors.
    pub errors: usize,
    /// Findings that are warnings.
    pub warnings: usize,
}

impl Counts {
    /// Counts; knowledge that does not load counts for nothing but its findings.
    pub fn of(knowledge: Option<&Knowledge>, checked: &Checked) -> Self {
        let families = knowledge.map_or(&[][..], |knowledge| &knowledge.families);
        let sum = |of: fn(&Family) -> usize| -> usize { families.iter().map(of).sum() };
        let found = &checked.findings.0;
        let of = |severity| found.iter().filter(|one| one.severity == severity).count();
        Self {
            families: families.len(),
            symptoms: sum(|family| family.symptoms.len()),
            causes: sum(|family| family.causes.len()),
            repairs: sum(|family| family.repairs.len()),
            measurements: sum(|family| family.measurements.len()),
            vehicles: knowledge.map_or(0, |knowledge| knowledge.vehicles.len()),
            cases: checked.cases.len(),
            cases_failing: checked.cases.iter().filter(|run| !run.passes()).count(),
            errors: of(Severity::Error),
            warnings: of(Severity::Warning),
        }
    }
}

/// Lints knowledge that loads and runs its worked cases.
pub fn check(source: &Source, loaded: &Loaded) -> Checked {
    let knowledge = &loaded.knowledge;
    let runs: Vec<CaseRun> = knowledge
        .families
        .iter()
        .flat_map(|family| cases::run(knowledge, family))
        .collect();
    let mut findings = loaded.warnings.clone();
    findings.0.extend(judge(source, knowledge).0);
    findings.0.extend(cases::findings(source, &runs).0);
    let findings = accept::all_without_accepted(source, knowledge, findings);
    Checked {
        findings,
        cases: runs,
    }
}

/// The lints alone, on knowledge that the source loads into.
pub fn judge(source: &Source, knowledge: &Knowledge) -> Findings {
    let places = Places::of(source);
    for family in &knowledge.families {
        let desk = Desk::new(family, &places);
        coverage::judge(&desk);
        exercises::judge(&desk);
        figures::judge(&desk);
        set_ups::judge(&desk);
        sheets::judge(&desk, knowledge);
        sources::judge(&desk);
        wording::judge(&desk);
        texts::judge(&desk);
    }
    sources::judge_sheets(knowledge, &places);
    places.eaten(source);
    places.log.finish()
}
