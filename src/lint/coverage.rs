//! What no measurement shows, what none tells apart, and what is there for nothing.

use std::collections::{BTreeMap, BTreeSet};

use super::desk::Desk;
use crate::infer::{row_of_chance, row_under};
use crate::knowledge::{CauseId, Measurement, MeasurementId, RepairId, SymptomId};
use crate::load::{Code, FileKind};

/// Two causes count as told apart from this total variation distance of their rows on: of 100 vehicles of each
/// kind, so many read differently.
const TELLS: f64 = 0.3;
/// A measurement whose outcomes' probabilities differ by less between any two candidates tells nothing.
const SEPARATES: f64 = 0.05;

pub(super) fn judge(desk: &Desk<'_>) {
    unshown_causes(desk);
    causes_alike(desk);
    for (place, measurement) in desk.family.measurements.iter().enumerate() {
        idle(desk, MeasurementId::at(place), measurement);
        unused_figures(desk, measurement);
        unshown_outcomes(desk, measurement);
    }
    unused_repairs(desk);
}

/// For each cause, the symptoms that it can bring about for which no measurement on offer shows it.
fn unshown_causes(desk: &Desk<'_>) {
    for (place, cause) in desk.family.causes.iter().enumerate() {
        let id = CauseId::at(place);
        let brings: Vec<SymptomId> = desk
            .symptoms()
            .filter(|symptom| desk.family.symptom(*symptom).tree.holds(id))
            .collect();
        let unseen: Vec<SymptomId> = brings
            .iter()
            .copied()
            .filter(|symptom| !is_shown(desk, id, *symptom))
            .collect();
        if unseen.is_empty() {
            continue;
        }
        let words = if unseen == brings {
            format!("no measurement shows the cause `{}`", cause.name)
        } else {
            format!(
                "no measurement offered for {} shows the cause `{}`",
                desk.symptom_names(&unseen),
                cause.name
            )
        };
        desk.at_name(
            Code::UnshownCause,
            (FileKind::Causes, &["causes", &cause.name]),
            words,
            "name it under `shows` of a measurement that it changes, or describe a measurement that finds it",
        );
    }
}

/// Whether a measurement on offer for the symptom reads differently with the cause.
fn is_shown(desk: &Desk<'_>, cause: CauseId, symptom: SymptomId) -> bool {
    desk.family.measurements.iter().any(|measurement| {
        measurement.is_for(&[symptom])
            && measurement
                .shows
                .get(&cause)
                .is_some_and(|row| row.0.values().any(|figure| figure.get() > 0.0))
    })
}

/// Pairs of causes that a symptom can lead to, whose repairs differ, and that no measurement offered for it tells
/// apart. A pair that the family states as an ambiguity is known already; a cause that nothing shows is another
/// finding.
fn causes_alike(desk: &Desk<'_>) {
    let family = desk.family;
    let stated = |one, other| {
        let both = |causes: &[CauseId]| causes.contains(&one) && causes.contains(&other);
        family.ambiguities.iter().any(|stated| both(&stated.causes))
    };
    let mut alike: BTreeMap<(CauseId, CauseId), Vec<SymptomId>> = BTreeMap::new();
    for symptom in desk.symptoms() {
        let mut causes = desk.causes_of(symptom);
        causes.retain(|cause| is_shown(desk, *cause, symptom));
        let offered: Vec<&Measurement> = family
            .measurements
            .iter()
            .filter(|measurement| measurement.is_for(&[symptom]))
            .collect();
        for (place, one) in causes.iter().enumerate() {
            for other in possibly_alike(&offered, *one, &causes[place + 1..]) {
                if family.cause(*one).repair != family.cause(other).repair
                    && offered.iter().all(|of| !tells(of, *one, other))
                    && !stated(*one, other)
                {
                    alike.entry((*one, other)).or_default().push(symptom);
                }
            }
        }
    }
    for ((one, other), symptoms) in alike {
        let (one, other) = (&family.cause(one).name, &family.cause(other).name);
        desk.at_name(
            Code::CausesAlike,
            (FileKind::Causes, &["causes", one]),
            format!(
                "no measurement offered for {} tells `{one}` from `{other}`, and their repairs differ",
                desk.symptom_names(&symptoms)
            ),
            "describe what would tell them apart, or state them under `ambiguities` in family.yaml",
        );
    }
}

/// Those of the causes that the measurement which shows one of them best does not tell from it. It tells all from it that it
/// does not name, so that most of them are never looked at.
fn possibly_alike(offered: &[&Measurement], one: CauseId, others: &[CauseId]) -> Vec<CauseId> {
    let shown = |of: &&Measurement| distance(&row_under(of, &[one]), &row_of_chance(of));
    let named = offered.iter().filter(|of| of.shows.contains_key(&one));
    let strengths = named.map(|of| (of, shown(of)));
    let best = strengths.max_by(|a, b| a.1.total_cmp(&b.1));
    match best.filter(|(_, strength)| *strength >= TELLS) {
        Some((best, _)) => {
            let named = best.shows.keys().copied();
            let named = named.filter(|other| others.binary_search(other).is_ok());
            named.filter(|other| !tells(best, one, *other)).collect()
        }
        None => others.to_vec(),
    }
}

fn tells(measurement: &Measurement, one: CauseId, other: CauseId) -> bool {
    let row = |cause| row_under(measurement, &[cause]);
    distance(&row(one), &row(other)) >= TELLS
}

/// The total variation distance of two rows, 0 to 1.
pub(super) fn distance(one: &[f64], other: &[f64]) -> f64 {
    let differences = one.iter().zip(other).map(|(a, b)| (a - b).abs());
    differences.sum::<f64>() / 2.0
}

/// A measurement whose outcomes are equally frequent under every candidate of each symptom it is offered for:
/// no belief can make its reading worth anything.
fn idle(desk: &Desk<'_>, own: MeasurementId, measurement: &Measurement) {
    let offered: Vec<SymptomId> = desk
        .symptoms()
        .filter(|symptom| measurement.is_for(&[*symptom]))
        .collect();
    let idle_for: Vec<SymptomId> = offered
        .iter()
        .copied()
        .filter(|symptom| spread(desk, measurement, *symptom) < SEPARATES)
        .collect();
    if idle_for.len() < offered.len() {
        // One that is for every complaint names none of them, and is proposed only where it tells something.
        for symptom in idle_for {
            if measurement.offered_for.is_some() && !is_read_for_another(desk, own, symptom) {
                idle_offer(desk, measurement, symptom);
            }
        }
        return;
    }
    let whom = match &measurement.offered_for {
        Some(_) => format!("for {}", desk.symptom_names(&offered)),
        None => "for any symptom".to_owned(),
    };
    desk.at_name(
        Code::IdleMeasurement,
        (FileKind::Measurements, &["measurements", &measurement.name]),
        format!("`{}` sets no candidates apart {whom}", measurement.name),
        "name under `shows` what it finds, offer it for the symptoms of those causes, or delete it",
    );
}

/// A measurement that tells something for other complaints and nothing for this one.
fn idle_offer(desk: &Desk<'_>, measurement: &Measurement, symptom: SymptomId) {
    let (name, symptom) = (&measurement.name, &desk.family.symptom(symptom).name);
    desk.at_value(
        Code::IdleOffer,
        (
            FileKind::Measurements,
            &["measurements", name, "for", symptom],
        ),
        format!("`{name}` sets no candidates of `{symptom}` apart, and is offered for it"),
        "take the symptom out of `for`, or name under `shows` a cause that brings it about",
    );
}

/// Whether a measurement is read for a complaint because something else waits for it: a first look, a repair, another
/// measurement.
fn is_read_for_another(desk: &Desk<'_>, own: MeasurementId, symptom: SymptomId) -> bool {
    let family = desk.family;
    let causes = desk.causes_of(symptom);
    let asks = |cause: &CauseId| {
        let repair = family.repair(family.cause(*cause).repair);
        let required = repair.requires.all.iter().chain(&repair.requires.any);
        required
            .copied()
            .chain(repair.verifying())
            .any(|id| id == own)
    };
    family.symptom(symptom).first_looks.contains(&own)
        || causes.iter().any(asks)
        || family.measurements.iter().any(|other| {
            other.is_for(&[symptom])
                && (other.after.contains(&own)
                    || other.unless.outcomes.iter().any(|(id, _)| *id == own))
        })
}

/// Figures of causes that no complaint of the measurement leads to, and that it does not find by itself.
fn unused_figures(desk: &Desk<'_>, measurement: &Measurement) {
    let used: BTreeSet<CauseId> = desk
        .symptoms()
        .filter(|symptom| measurement.is_for(&[*symptom]))
        .flat_map(|symptom| desk.family.symptom(symptom).tree.causes())
        .collect();
    let found = || measurement.finds.iter().flat_map(|(_, causes)| causes);
    for (cause, row) in &measurement.shows {
        if used.contains(cause) || found().any(|found| found == cause) {
            continue;
        }
        let Some(outcome) = row.0.keys().next() else {
            continue;
        };
        let outcome = &measurement.outcomes[outcome.index()].name;
        let (name, cause) = (&measurement.name, &desk.family.cause(*cause).name);
        desk.at_name(
            Code::UnusedFigure,
            (FileKind::Measurements, &["measurements", name, "shows", outcome, cause]),
            format!("no complaint that `{name}` is offered for leads to `{cause}`"),
            "offer it for a complaint of that cause, put the cause into a tree, or delete the figure",
        );
    }
}

/// The widest difference that an outcome's probability has between two candidates of a symptom.
fn spread(desk: &Desk<'_>, measurement: &Measurement, symptom: SymptomId) -> f64 {
    let rows: Vec<Vec<f64>> = desk.candidates[symptom.index()]
        .iter()
        .map(|candidate| row_under(measurement, &candidate.causes))
        .collect();
    (0..measurement.outcomes.len())
        .map(|outcome| {
            let of = |start, pick: fn(f64, f64) -> f64| {
                rows.iter().map(|row| row[outcome]).fold(start, pick)
            };
            of(f64::NEG_INFINITY, f64::max) - of(f64::INFINITY, f64::min)
        })
        .fold(0.0, f64::max)
}

/// Abnormal outcomes that no figure of `shows` gives. Where the family states the outcome's `chance`, somebody has
/// thought of how it comes about without any listed cause.
fn unshown_outcomes(desk: &Desk<'_>, measurement: &Measurement) {
    let name = measurement.name.as_str();
    let kind = FileKind::Measurements;
    let stands = |way: &[&str]| desk.places.stands(&desk.family.name, kind, way);
    for (place, outcome) in measurement.outcomes.iter().enumerate() {
        let shown = measurement.shows.values().any(|row| {
            let mut figures = row.0.iter();
            figures.any(|(shown, figure)| shown.index() == place && figure.get() > 0.0)
        });
        let chance = ["measurements", name, "chance", &outcome.name];
        if place == measurement.normal.index() || shown || stands(&chance) {
            continue;
        }
        let banded = ["measurements", name, "outcomes", &outcome.name];
        let chosen = ["measurements", name, "reading", "choices", &outcome.name];
        let way: &[&str] = if stands(&banded) { &banded } else { &chosen };
        desk.at_name(
            Code::UnshownOutcome,
            (kind, way),
            format!("no cause gives the outcome `{}` of `{name}`", outcome.name),
            "say under `shows` which causes give it; where it only comes by chance, state its `chance`",
        );
    }
}

/// Repairs that no cause names.
fn unused_repairs(desk: &Desk<'_>) {
    for (place, repair) in desk.family.repairs.iter().enumerate() {
        let id = RepairId::at(place);
        if !desk.family.causes.iter().any(|cause| cause.repair == id) {
            desk.at_name(
                Code::UnusedRepair,
                (FileKind::Causes, &["repairs", &repair.name]),
                format!("no cause is put right by `{}`", repair.name),
                "name it as the repair of a cause, or delete it",
            );
        }
    }
}
