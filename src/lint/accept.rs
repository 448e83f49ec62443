//! Findings that a family knows of and means.

use std::collections::BTreeSet;

use crate::knowledge::{Accepted, Knowledge};
use crate::load::{Code, FileKind, Findings, Places, Report, Severity, Source, Spot};

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
    for (Accepted { code, at, .. }, spot) in unneeded {
        let words = format!("there is no finding `{code}` at {at}");
        let report = Report::new(Code::UnneededAccept, spot, words);
        places.log.add(report.advice(
            "delete the entry; where the finding is still there, copy what `check` says behind `at:`",
        ));
    }
    findings.0.extend(places.log.finish().0);
    findings
}

/// The findings that are not accepted, and the acceptances that none of the findings needs, with where they are written.
fn sifted<'k>(
    places: &Places<'_>,
    knowledge: &'k Knowledge,
    mut findings: Findings,
) -> (Findings, Vec<(&'k Accepted, Spot)>) {
    for finding in &mut findings.0 {
        if finding.severity == Severity::Warning {
            finding.at = places.at(&finding.place);
        }
    }
    let mut needed = BTreeSet::new();
    let accepted = knowledge.families.iter().flat_map(|family| {
        let spot = |item: usize| {
            let way = ["accept", &item.to_string()];
            places.value(&family.name, FileKind::Family, &way)
        };
        let accepted = family.accept.iter().enumerate();
        accepted.map(move |(item, accepted)| (accepted, spot(item)))
    });
    let mut accepted: Vec<_> = accepted.collect();
    findings.0.retain(|finding| {
        let is_it = |(accepted, _): &(&Accepted, _)| {
            accepted.code == finding.code.name() && finding.at.as_ref() == Some(&accepted.at)
        };
        let found = accepted.iter().position(is_it);
        needed.extend(found);
        found.is_none()
    });
    let mut item = 0..;
    accepted.retain(|_| item.next().is_some_and(|item| !needed.contains(&item)));
    (findings, accepted)
}
