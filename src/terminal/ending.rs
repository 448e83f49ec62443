//! The end of a diagnosis on the screen: the repair, how sure it is, what speaks against it.

use std::io;

use super::belief::{repair_order, repairs};
use super::proposal::shown_in;
use crate::decide::{Repairing, Standing};
use crate::infer::{Taken, bands_on, counting};
use crate::knowledge::{CauseId, Family, MeasurementId, RepairId, Vehicle};
use crate::text::figures::{minutes, money, percent, plain};
use crate::text::table;
use crate::text::{Page, Tone};
use crate::units::System;
use crate::units::conformity::settling_uncertainty;

/// A reading speaks against a repair where it lowered its belief to less than this share.
const AGAINST: f64 = 0.8;
/// A cause that is not told apart is named while its belief is at least this share of the first's.
const NAMED_WITH: f64 = 0.1;

/// The ranked measurements as a table.
///
/// # Errors
///
/// Whatever writing gives; so for every function of this file.
pub fn ranking(page: &mut Page<'_>, standing: &Standing<'_, '_>, most: usize) -> io::Result<()> {
    let family = standing.model.family;
    let rows: Vec<Vec<String>> = standing
        .ranking
        .iter()
        .take(most)
        .enumerate()
        .map(|(place, ranked)| {
            vec![
                format!("{}", place + 1),
                family.measurement(standing.ranked(ranked)).name.clone(),
                crate::text::figures::count(ranked.separates),
                crate::text::figures::bits(ranked.bits),
                minutes(ranked.minutes),
                money(ranked.saves),
            ]
        })
        .collect();
    if rows.is_empty() {
        return page.text(
            Tone::Plain,
            2,
            "No measurement left would set anything apart.",
        );
    }
    let header = ["", "measurement", "separates", "bits", "time", "saves"];
    page.lines(
        2,
        &table(&header, &rows, &[0, 2, 3, 4, 5], page.width() - 2),
    )?;
    if standing.ranking.len() > most {
        page.text(
            Tone::Faint,
            2,
            &format!("and {} more", standing.ranking.len() - most),
        )?;
    }
    Ok(())
}

/// The repair to do: how sure, what speaks against it, what looks alike, what care it asks, what
/// verifies it.
#[allow(clippy::missing_errors_doc, reason = "said at `ranking`")]
pub fn repair_sheet(
    page: &mut Page<'_>,
    standing: &Standing<'_, '_>,
    now: &Repairing,
) -> io::Result<()> {
    let family = standing.model.family;
    for repair in &now.repairs {
        let known = family.repair(*repair);
        let text = format!(
            "{} [{}]: {}, {} with parts",
            known.title,
            known.name,
            minutes(known.minutes.get()),
            money(family.repair_cost(*repair).get())
        );
        page.item(Tone::Strong, 2, "> ", &text)?;
    }
    page.text(
        Tone::Plain,
        2,
        &format!("How sure: {} that this cures it.", percent(now.probability)),
    )?;
    repairs(page, standing)?;
    against(page, standing, now.group)?;
    alike(page, standing, now.group)?;
    care(page, family, &now.repairs)?;
    look_at(page, standing, now)?;
    for repair in &now.repairs {
        page.item(
            Tone::Plain,
            2,
            "Verify afterwards: ",
            &family.repair(*repair).verify,
        )?;
    }
    if now.goes_on {
        return Ok(());
    }
    if standing.repair_now.steps.len() > 1 || standing.repair_now.escalates.is_some() {
        page.text(Tone::Plain, 2, "The order, where one does not cure it:")?;
        repair_order(page, standing, 4)?;
    }
    Ok(())
}

/// What to look at while the repair has it open.
fn look_at(page: &mut Page<'_>, standing: &Standing<'_, '_>, now: &Repairing) -> io::Result<()> {
    let family = standing.model.family;
    let shown: Vec<String> = standing
        .shown_by(now.group)
        .into_iter()
        .map(|id| {
            let measurement = family.measurement(id);
            format!("{} [{}]", measurement.title, measurement.name)
        })
        .collect();
    if shown.is_empty() {
        return Ok(());
    }
    let why = if now.goes_on {
        "If this does not cure it, that is what decides how to go on."
    } else {
        "If this does not cure it, that can be answered without opening it again."
    };
    let text = format!("{}. {why}", shown.join("; "));
    page.item(Tone::Strong, 2, "Look at, while it is open: ", &text)
}

/// The readings that speak against the group: each lowered the belief in it.
fn against(page: &mut Page<'_>, standing: &Standing<'_, '_>, group: usize) -> io::Result<()> {
    let model = standing.model;
    let candidates = &standing.problem.groups()[group].candidates;
    let share = |posterior: &[f64]| {
        candidates
            .iter()
            .map(|candidate| posterior[*candidate])
            .sum::<f64>()
    };
    let readings = counting(model.family, &standing.evidence);
    let mut said = Vec::new();
    for (place, reading) in readings.iter().enumerate() {
        let others = readings
            .iter()
            .enumerate()
            .filter(|(other, _)| *other != place)
            .map(|(_, other)| *other);
        let without = share(&model.after(others).posterior);
        let with = share(&standing.belief.posterior);
        if with < AGAINST * without {
            let measurement = model.family.measurement(reading.measurement);
            let outcome = &measurement.outcomes[reading.outcome()].name;
            said.push(format!(
                "{} {outcome} (without it {})",
                measurement.name,
                percent(without)
            ));
        }
    }
    if said.is_empty() {
        page.text(Tone::Plain, 2, "No reading speaks against it.")
    } else {
        page.item(
            Tone::Plain,
            2,
            "Against it: ",
            &format!("{}.", said.join("; ")),
        )
    }
}

/// The causes that are not told apart from the group's, and what the family says of such.
fn alike(page: &mut Page<'_>, standing: &Standing<'_, '_>, group: usize) -> io::Result<()> {
    let model = standing.model;
    let family = model.family;
    let first = &standing.problem.groups()[group].candidates;
    let leading = first
        .iter()
        .map(|candidate| standing.belief.posterior[*candidate])
        .fold(0.0, f64::max);
    let causes: Vec<CauseId> = first
        .iter()
        .flat_map(|candidate| model.candidates[*candidate].causes.iter().copied())
        .collect();
    for ambiguity in &family.ambiguities {
        let others: Vec<&str> = ambiguity
            .causes
            .iter()
            .filter(|cause| {
                !causes.contains(cause) && believed(standing, **cause) >= NAMED_WITH * leading
            })
            .map(|cause| family.cause(*cause).name.as_str())
            .collect();
        if others.is_empty() || !ambiguity.causes.iter().any(|cause| causes.contains(cause)) {
            continue;
        }
        let parting: Vec<&str> = ambiguity
            .parted_by
            .iter()
            .filter(|id| {
                !standing
                    .evidence
                    .iter()
                    .any(|reading| reading.measurement == **id)
            })
            .map(|id| family.measurement(*id).name.as_str())
            .collect();
        let by = if parting.is_empty() {
            "no measurement left parts them".to_owned()
        } else {
            format!("only {} would part them", parting.join(" or "))
        };
        let text = format!("{}. {} ({by}).", others.join(", "), ambiguity.why);
        page.item(Tone::Plain, 2, "Looks alike: ", &text)?;
    }
    Ok(())
}

/// The belief in a cause, over all candidates that hold it.
fn believed(standing: &Standing<'_, '_>, cause: CauseId) -> f64 {
    standing
        .model
        .candidates
        .iter()
        .zip(&standing.belief.posterior)
        .filter(|(candidate, _)| candidate.causes.contains(&cause))
        .map(|(_, p)| p)
        .sum()
}

/// The care that repairs ask for, each text once.
fn care(page: &mut Page<'_>, family: &Family, repairs: &[RepairId]) -> io::Result<()> {
    let mut places: Vec<usize> = repairs
        .iter()
        .flat_map(|repair| family.repair(*repair).care.iter().copied())
        .collect();
    places.sort_unstable();
    places.dedup();
    for place in places {
        if let Some(care) = family.care.get(place) {
            page.item(Tone::Caution, 2, "! ", &care.text)?;
        }
    }
    Ok(())
}

/// What would settle a reading too close to a limit: the uncertainty it takes, and an instrument
/// that has it.
#[must_use]
pub fn settling(
    family: &Family,
    vehicle: Option<&Vehicle>,
    id: MeasurementId,
    taken: &Taken,
    system: System,
) -> Option<String> {
    let measurement = family.measurement(id);
    let value = taken.value.as_ref()?;
    let bands = bands_on(measurement, vehicle?).ok()?;
    let now = value.uncertainty?;
    let Some(wanted) = settling_uncertainty(value.number, &bands).filter(|wanted| *wanted > 0.0)
    else {
        return Some(
            "It lies on the limit: no instrument would settle it, only another measurement."
                .to_owned(),
        );
    };
    let shown = shown_in(value.unit, system);
    let in_words = |u: f64| {
        let number = value.unit.convert_difference(u, shown).unwrap_or(u);
        format!("{} {}", plain(number), shown.symbol())
    };
    let finer = value.instrument.and_then(|used| {
        let used = family.instrument(used);
        family.instruments.iter().find(|other| {
            other.name != used.name
                && other.unit.dimension() == used.unit.dimension()
                && value
                    .unit
                    .convert(value.number, other.unit)
                    .is_some_and(|here| {
                        other.range.is_none_or(|range| range.holds(here))
                            && other
                                .unit
                                .convert_difference(
                                    other.accuracy.standard_uncertainty(here),
                                    value.unit,
                                )
                                .is_some_and(|u| u <= wanted)
                    })
        })
    });
    let mut words = format!(
        "Its standard uncertainty is {}; {} would settle it",
        in_words(now),
        in_words(wanted)
    );
    match finer {
        Some(finer) => {
            words = format!("{words}: {} has that (`with {}`).", finer.title, finer.name);
        }
        None => {
            words = format!(
                "{words}, which no instrument listed here has: repeat it, or let another measurement decide."
            );
        }
    }
    Some(words)
}

/// What names repairs and causes in a sentence; `among` are causes of which it was one.
#[must_use]
pub fn found(
    family: &Family,
    repairs: &[RepairId],
    causes: &[CauseId],
    among: &[CauseId],
) -> String {
    let titles = |causes: &[CauseId], between: &str| {
        let titles: Vec<&str> = causes
            .iter()
            .map(|cause| family.cause(*cause).title.as_str())
            .collect();
        titles.join(between)
    };
    let mut parts = Vec::new();
    if !causes.is_empty() {
        parts.push(titles(causes, "; and "));
    }
    if !among.is_empty() {
        parts.push(format!("one of: {}", titles(among, "; ")));
    }
    format!(
        "{} ({})",
        parts.join("; and "),
        family.repair_names(repairs)
    )
}
