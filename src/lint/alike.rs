//! Two causes with different repairs that nothing tells apart.

use std::collections::BTreeMap;

use super::{Desk, shown};
use crate::infer::row_under;
use crate::knowledge::{CauseId, SymptomId};
use crate::load::{Code, FileKind};

/// Where no measurement reads at least so many of 100 vehicles differently, nothing tells two causes apart.
const TELLS: f64 = 0.3;

/// Each pair of causes that a symptom can lead to, whose repairs differ, and of which no measurement offered for
/// it tells which: half the sum of the differences of their rows (the total variation distance) stays below
/// [`TELLS`]. A pair that the family states as an ambiguity is known already; a cause that nothing shows is
/// another finding.
pub(super) fn judge(desk: &Desk<'_>) {
    let mut alike: BTreeMap<(CauseId, CauseId), Vec<SymptomId>> = BTreeMap::new();
    for symptom in desk.symptoms() {
        let causes: Vec<CauseId> = desk
            .causes_of(symptom)
            .into_iter()
            .filter(|cause| shown::is_shown(desk, *cause, symptom))
            .collect();
        let rows: Vec<Vec<Vec<f64>>> = desk
            .family
            .measurements
            .iter()
            .filter(|measurement| measurement.is_for(&[symptom]))
            .map(|measurement| {
                causes
                    .iter()
                    .map(|cause| row_under(measurement, &[*cause]))
                    .collect()
            })
            .collect();
        for (place, one) in causes.iter().enumerate() {
            for (after, other) in causes.iter().enumerate().skip(place + 1) {
                let family = desk.family;
                if family.cause(*one).repair != family.cause(*other).repair
                    && rows
                        .iter()
                        .all(|rows| distance(&rows[place], &rows[after]) < TELLS)
                    && !stated(desk, *one, *other)
                {
                    alike.entry((*one, *other)).or_default().push(symptom);
                }
            }
        }
    }
    for ((one, other), symptoms) in alike {
        let (one, other) = (desk.family.cause(one), desk.family.cause(other));
        desk.say(
            Code::CausesAlike,
            desk.key(FileKind::Causes, &["causes", &one.name]),
            format!(
                "no measurement offered for {} tells `{}` from `{}`, and their repairs differ",
                desk.symptom_names(&symptoms),
                one.name,
                other.name
            ),
            "describe what would tell them apart, or state them under `ambiguities` in family.yaml",
        );
    }
}

/// Whether the family states that the two look alike.
fn stated(desk: &Desk<'_>, one: CauseId, other: CauseId) -> bool {
    desk.family
        .ambiguities
        .iter()
        .any(|stated| stated.causes.contains(&one) && stated.causes.contains(&other))
}

/// The total variation distance of two rows: of 100 vehicles of each kind, how many read differently.
fn distance(one: &[f64], other: &[f64]) -> f64 {
    one.iter()
        .zip(other)
        .map(|(a, b)| (a - b).abs())
        .sum::<f64>()
        / 2.0
}
