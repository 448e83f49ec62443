//! How the chances of the leading repairs went, step by step.

use std::collections::BTreeMap;

use crate::drawing::{Course, CourseStep};
use crate::infer::Model;
use crate::knowledge::{Family, Knowledge, RepairId};
use crate::record::{Entry, Event, State};
use crate::session::{opened_on, recorded_case};

/// How many repairs are followed.
const FOLLOWED: usize = 4;
/// How many steps are shown: the last ones, where there are more.
const SHOWN: usize = 40;

/// The belief in each repair after a step.
struct Believed {
    after: String,
    repairs: BTreeMap<Vec<RepairId>, f64>,
    unlisted: f64,
}

/// The chances after the complaint, after each reading that counts and after each repair in vain, of the repairs that
/// came to lead most; `entries` are those of a job without the ones taken back.
pub(super) fn course(
    knowledge: &Knowledge,
    family: &Family,
    entries: &[Entry],
    number_of: &BTreeMap<u64, usize>,
) -> Course {
    let moves = |entry: &Entry| match &entry.event {
        Event::Symptom { .. } | Event::Vehicle { .. } => true,
        Event::Reading(reading) => reading.counts,
        Event::Closed(closed) => !closed.fixed,
        _ => false,
    };
    let moves: Vec<usize> = (0..entries.len())
        .filter(|place| moves(&entries[*place]))
        .collect();
    let mut steps: Vec<Believed> = Vec::new();
    for place in moves[moves.len().saturating_sub(SHOWN)..].iter().copied() {
        let entry = &entries[place];
        let after = match &entry.event {
            Event::Symptom { .. } => "the complaint".to_owned(),
            Event::Vehicle { .. } => "another vehicle".to_owned(),
            Event::Closed(_) => "a repair that did not cure".to_owned(),
            _ => {
                let number = number_of.get(&entry.line).copied().unwrap_or(0);
                format!("reading {number}")
            }
        };
        let Some(believed) = believed(knowledge, &entries[..=place], after) else {
            continue;
        };
        // Several complaints in a row are one step.
        if matches!(entry.event, Event::Symptom { .. }) {
            steps.pop_if(|last| last.after == believed.after);
        }
        steps.push(believed);
    }
    let mut most: BTreeMap<&Vec<RepairId>, f64> = BTreeMap::new();
    for step in &steps {
        for (repairs, chance) in &step.repairs {
            let most = most.entry(repairs).or_default();
            *most = most.max(*chance);
        }
    }
    let mut most: Vec<(&Vec<RepairId>, f64)> = most.into_iter().collect();
    most.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(b.0)));
    most.truncate(FOLLOWED);
    let chances = |step: &Believed| {
        let chances = most.iter().map(|(repairs, _)| step.repairs.get(*repairs));
        chances
            .map(|chance| chance.copied().unwrap_or(0.0))
            .collect()
    };
    Course {
        followed: most
            .iter()
            .map(|(repairs, _)| family.repair_titles(repairs))
            .collect(),
        steps: steps
            .iter()
            .map(|step| CourseStep {
                after: step.after.clone(),
                chances: chances(step),
                unlisted: step.unlisted,
            })
            .collect(),
    }
}

/// The belief after some entries; none before there is a complaint, and where nothing explains it.
fn believed(knowledge: &Knowledge, entries: &[Entry], after: String) -> Option<Believed> {
    let state = State::of(entries).ok()?;
    let (family, vehicle) = opened_on(knowledge, &state).ok()?;
    let case = recorded_case(family, &state);
    if case.complaint.present.is_empty() {
        return None;
    }
    let model = Model::new(family, vehicle, case.complaint).ok()?;
    let belief = model.update(&case.evidence);
    Some(Believed {
        after,
        repairs: model.by_repairs(&belief).into_iter().collect(),
        unlisted: belief.unlisted,
    })
}
