//! Findings that a family knows of and means.

use std::collections::BTreeSet;

use crate::knowledge::Knowledge;
use crate::load::{Code, Findings, Places, Report, Severity, Source};

/// The findings without the warnings that a family accepts; with the acceptances that no finding needs any more. Each
/// warning that is left says by which names it could be accepted.
pub(super) fn without_accepted(
    source: &Source,
    knowledge: &Knowledge,
    mut findings: Findings,
) -> Findings {
    let places = Places::of(source);
    for finding in &mut findings.0 {
        if finding.severity == Severity::Warning {
            finding.at = places.at(&finding.place);
        }
    }
    let mut needed = BTreeSet::new();
    let accepted: Vec<_> = knowledge
        .families
        .iter()
        .flat_map(|family| places.accepted(&family.name))
        .collect();
    findings.0.retain(|finding| {
        let is_it = |(code, at, _): &(String, String, _)| {
            code == finding.code.name() && finding.at.as_ref() == Some(at)
        };
        let found = accepted.iter().position(is_it);
        needed.extend(found);
        found.is_none()
    });
    for (index, (code, at, spot)) in accepted.iter().enumerate() {
        if !needed.contains(&index) {
            let words = format!("there is no finding `{code}` at {at}");
            let report = Report::new(Code::UnneededAccept, *spot, words);
            places.log.add(report.advice(
                "delete the entry; where the finding is still there, copy what `check` says behind `at:`",
            ));
        }
    }
    findings.0.extend(places.log.finish().0);
    findings
}
