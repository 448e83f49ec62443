//! What is stated of a worked case.

use crate::diff::fact::Effect::Words;
use crate::diff::fact::Facts;
use crate::diff::names::Named;
use crate::diff::thing::Kind;
use crate::knowledge::{Case, CaseReading, Expect};

/// What a case is called: its file, without folder and ending.
pub(in crate::diff) fn case_name(case: &Case) -> &str {
    let file = case
        .file
        .split_once("/cases/")
        .map_or(case.file.as_str(), |(_, file)| file);
    file.strip_suffix(".yaml").unwrap_or(file)
}

/// What is stated of a worked case; `vehicle` is what its vehicle is called.
pub(in crate::diff) fn case(named: Named<'_>, case: &Case, vehicle: Option<&str>) -> Facts {
    let Case {
        title,
        file: _,
        complaint,
        symptoms,
        absent,
        vehicle: _,
        readings,
        first,
        expect,
        found,
    } = case;
    let mut facts = Facts::default();
    facts
        .text("title", &[], title)
        .set(Words, "symptoms", named.symptoms(symptoms))
        .set(Words, "absent", named.symptoms(absent))
        .lines(
            "readings",
            readings.iter().map(|taken| reading(named, taken)).collect(),
            true,
        )
        .word(Words, "expect", &[], &expected(named, expect));
    if let Some(vehicle) = vehicle {
        facts.word(Words, "vehicle", &[], vehicle);
    }
    if let Some(complaint) = complaint {
        facts.text("complaint", &[], complaint);
    }
    if let Some(first) = first {
        facts.word(Words, "first", &[], &named.measurement(*first));
    }
    if let Some(found) = found {
        facts.text("found", &[], found);
    }
    facts
}

/// A reading as one line: `stall-forward = 2950 rpm`.
fn reading(named: Named<'_>, taken: &CaseReading) -> String {
    let CaseReading {
        measurement,
        value,
        parts,
    } = taken;
    let of = named.family.measurement(*measurement);
    let name = named.name(Kind::Measurement, &of.name);
    let value = if parts.is_empty() {
        named.outcome(of, value)
    } else {
        let parts: Vec<String> = parts
            .iter()
            .map(|(part, value)| format!("{part} {value}"))
            .collect();
        format!("{value} {}", parts.join(", ")).trim().to_owned()
    };
    format!("{name} = {value}")
}

/// What a case expects, in words.
fn expected(named: Named<'_>, expect: &Expect) -> String {
    match expect {
        Expect::Repairs(repairs) => {
            let mut listed: Vec<String> = repairs.iter().map(|id| named.repair(*id)).collect();
            listed.sort_unstable();
            listed.join(" + ")
        }
        Expect::Ambiguity(causes) => {
            let mut listed: Vec<String> = causes.iter().map(|id| named.cause(*id)).collect();
            listed.sort_unstable();
            format!("not to be told apart: {}", listed.join(", "))
        }
        Expect::Unlisted => "nothing listed fits".to_owned(),
    }
}
