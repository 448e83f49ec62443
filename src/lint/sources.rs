//! A source that says nothing, or refers to something that is not there.

use super::desk::Desk;
use crate::knowledge::{Knowledge, NamedText};
use crate::load::{Code, FileKind, Places, Report};

/// Words that stand where a source was to be filled in.
const NOTHING: [&str; 18] = [
    "to be filled in",
    "tbd",
    "tba",
    "todo",
    "to do",
    "fixme",
    "xxx",
    "none",
    "no source",
    "source",
    "unknown",
    "not known",
    "n/a",
    "na",
    "nil",
    "same",
    "see above",
    "ditto",
];

/// Every source of the family says something, and where family.yaml lists what sources there are, it is one of
/// these, alone or with more after a comma, a colon, a semicolon or in brackets.
pub(super) fn judge(desk: &Desk<'_>) {
    let family = desk.family;
    let check = |kind: FileKind, section: &str, name: &str, source: &str| {
        let way = [section, name, "source"];
        let listed = Some(&family.sources[..]);
        judge_one(desk.places, &family.name, (kind, &way), source, listed);
    };
    for cause in &family.causes {
        check(FileKind::Causes, "causes", &cause.name, &cause.source);
    }
    for item in &family.measurements {
        check(
            FileKind::Measurements,
            "measurements",
            &item.name,
            &item.source,
        );
    }
    for item in &family.conditions {
        check(FileKind::Family, "conditions", &item.name, &item.source);
    }
    for (code, meaning) in &family.codes {
        check(FileKind::Codes, "codes", code, &meaning.source);
    }
}

/// The sources of the spec sheets: each is a vehicle's own document, so they are only to say something.
pub(super) fn judge_sheets(knowledge: &Knowledge, places: &Places<'_>) {
    for vehicle in &knowledge.vehicles {
        for (name, limit) in &vehicle.limits {
            let way = [&vehicle.name, "limits", name, "source"];
            judge_one(places, "", (FileKind::Vehicle, &way), &limit.source, None);
        }
    }
}

fn judge_one(
    places: &Places<'_>,
    family: &str,
    (kind, way): (FileKind, &[&str]),
    source: &str,
    listed: Option<&[NamedText]>,
) {
    let spot = || places.value(family, kind, way);
    if says_nothing(source) {
        let words = format!("the source `{source}` says nothing");
        places.log.add(
            Report::new(Code::DanglingSource, spot(), words)
                .advice("say who judged it, or in which document it stands"),
        );
    } else if let Some(listed) = listed.filter(|listed| !listed.is_empty())
        && !listed.iter().any(|word| refers(source, &word.name))
    {
        let names: Vec<&str> = listed.iter().map(|word| word.name.as_str()).collect();
        let words = format!("the family lists no source `{source}`");
        places.log.add(
            Report::new(Code::DanglingSource, spot(), words)
                .nearest(places.log.nearest(source, names.iter().copied()))
                .advice(format!(
                    "start it with one of {}, or add what it stands for to `sources` in family.yaml",
                    names.join(", ")
                )),
        );
    }
}

/// Whether a source is a word that fills a gap, or has no letter and no digit at all.
fn says_nothing(source: &str) -> bool {
    let plain = source
        .trim()
        .trim_end_matches(['.', '?', '!'])
        .to_lowercase();
    NOTHING.contains(&plain.as_str()) || !plain.chars().any(char::is_alphanumeric)
}

/// Whether a source is a listed one, alone or with more about it.
fn refers(source: &str, listed: &str) -> bool {
    source
        .strip_prefix(listed)
        .is_some_and(|rest| rest.is_empty() || rest.trim_start().starts_with([',', ':', ';', '(']))
}
