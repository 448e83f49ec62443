//! Findings that a family knows of and means.

use std::collections::BTreeSet;

use crate::knowledge::Knowledge;
use crate::load::{Code, Findings, Places, Report, Severity, Source, Spot};

/// The findings without the warnings that a family accepts. Each warning that is left says by which names it could be
/// accepted.
pub fn without_accepted(source: &Source, knowledge: &Knowledge, findings: Findings) -> Findings {
    sifted(&Places::of(source), knowledge, findings).0
}

/// The same of every finding there is, with one about each acceptance that none of them needs.
pub(super) fn all_without_accepted(
    source: &Source,
    knowledge: &Knowledge,
    findings: Findings,
) -> Findings {
    let places = Places::of(source);
    let (mut findings, unneeded) = sifted(&places, knowledge, findings);
    for (code, at, spot) in unneeded {
        let words = format!("there is no finding `{code}` at {at}");
        let report = Report::new(Code::UnneededAccept, spot, words);
        places.log.add(report.advice(
            "delete the entry; where the finding is still there, copy what `check` says behind `at:`",
        ));
    }
    findings.0.extend(places.log.finish().0);
    findings
}

/// The findings that are not accepted, and the acceptances that none of the findings needs: the code, the names that lead
/// to the place, and where that is written.
fn sifted(
    places: &Places<'_>,
    knowledge: &Knowledge,
    mut findings: Findings,
) -> (Findings, Vec<(String, String, Spot)>) {
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
    let unneeded = (0..).zip(accepted);
    let unneeded = unneeded.filter(|(index, _)| !needed.contains(index));
    (findings, unneeded.map(|(_, entry)| entry).collect())
}
