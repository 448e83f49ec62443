//! One thing of the knowledge in full.

use std::io;

use crate::fault_tree::{FaultTree, Gate, Node, NodeId};
use crate::knowledge::{
    CauseId, Family, Knowledge, Measurement, MeasurementId, Reading, RepairId, Rest, SetUpId,
    SymptomId, Vehicle,
};
use crate::text::figures::{minutes, money, percent, plain};
use crate::text::table;
use crate::text::{Page, Tone};

/// What there is, by kind.
///
/// # Errors
///
/// Whatever writing gives; so for every function of this file.
pub fn show_all(page: &mut Page<'_>, knowledge: &Knowledge, family: &Family) -> io::Result<()> {
    page.text(
        Tone::Strong,
        0,
        &format!("{} [{}]", family.title, family.name),
    )?;
    page.text(Tone::Plain, 0, &family.worth)?;
    let mut part = |title: &str, items: Vec<(&str, &str)>| -> io::Result<()> {
        page.heading(title)?;
        for (name, title) in items {
            page.item(Tone::Plain, 2, &format!("{name}: "), title)?;
        }
        Ok(())
    };
    part(
        "Symptoms",
        family
            .symptoms
            .iter()
            .map(|item| (item.name.as_str(), item.title.as_str()))
            .collect(),
    )?;
    part(
        "Vehicles",
        knowledge
            .vehicles
            .iter()
            .map(|item| (item.name.as_str(), item.title.as_str()))
            .collect(),
    )?;
    part(
        "Measurements",
        family
            .measurements
            .iter()
            .map(|item| (item.name.as_str(), item.title.as_str()))
            .collect(),
    )?;
    part(
        "Causes",
        family
            .causes
            .iter()
            .map(|item| (item.name.as_str(), item.title.as_str()))
            .collect(),
    )?;
    part(
        "Repairs",
        family
            .repairs
            .iter()
            .map(|item| (item.name.as_str(), item.title.as_str()))
            .collect(),
    )?;
    part(
        "Set-ups",
        family
            .set_ups
            .iter()
            .map(|item| (item.name.as_str(), item.title.as_str()))
            .collect(),
    )
}

/// A symptom: its patterns and its tree as indented text.
#[allow(clippy::missing_errors_doc, reason = "said at `show_all`")]
pub fn show_symptom(page: &mut Page<'_>, family: &Family, id: SymptomId) -> io::Result<()> {
    let symptom = family.symptom(id);
    page.text(
        Tone::Strong,
        0,
        &format!("{} [{}]", symptom.title, symptom.name),
    )?;
    let single = symptom.tree.cut_sets(1).len();
    let pairs = symptom.tree.cut_sets(2).len() - single;
    let noun = if pairs == 1 { "pair" } else { "pairs" };
    let text = format!(
        "{} causes; {single} can bring it about alone, {pairs} {noun} together.",
        symptom.tree.causes().len()
    );
    page.text(Tone::Plain, 0, &text)?;
    page.gap()?;
    branch(page, family, &symptom.tree, symptom.tree.top(), 0, None)?;
    page.gap()?;
    page.text(
        Tone::Faint,
        0,
        "ANY: one is enough. ALL: every one is needed. A figure behind a cause is how often it brings this \
         about where it is present; none means always.",
    )
}

/// A branch of a tree, deeper branches further in; `sometimes` is the strength of the reference to it.
fn branch(
    page: &mut Page<'_>,
    family: &Family,
    tree: &FaultTree<CauseId>,
    place: NodeId,
    depth: usize,
    sometimes: Option<f64>,
) -> io::Result<()> {
    // Beyond this depth the text would be all margin.
    let indent = (2 * depth).min(page.width() / 2);
    let often = |strength: f64| {
        if strength < 1.0 {
            format!(" {}", plain(strength))
        } else {
            String::new()
        }
    };
    match tree.node(place) {
        Node::Leaf { cause, strength } => {
            let known = family.cause(*cause);
            page.item(
                Tone::Plain,
                indent,
                "- ",
                &format!("{}{}: {}", known.name, often(strength.get()), known.title),
            )
        }
        Node::Sometimes { strength } => {
            for input in tree.inputs(place) {
                branch(page, family, tree, input, depth, Some(strength.get()))?;
            }
            Ok(())
        }
        Node::Gate {
            gate,
            event,
            shared,
        } => {
            let inputs = tree.inputs(place);
            let gate = match gate {
                Gate::Any => "ANY".to_owned(),
                Gate::All => "ALL".to_owned(),
                Gate::AtLeast(k) => format!("AT LEAST {k} of {}", inputs.len()),
            };
            let shared = shared
                .as_ref()
                .map_or_else(String::new, |name| format!(" [shared part {name}]"));
            let often = sometimes.map(often).unwrap_or_default();
            page.item(
                Tone::Strong,
                indent,
                &format!("{gate} "),
                &format!("{event}{shared}{often}"),
            )?;
            for input in inputs {
                branch(page, family, tree, input, depth + 1, None)?;
            }
            Ok(())
        }
    }
}

/// A measurement: how it is taken and what each outcome says.
#[allow(clippy::missing_errors_doc, reason = "said at `show_all`")]
pub fn show_measurement(page: &mut Page<'_>, family: &Family, id: MeasurementId) -> io::Result<()> {
    let measurement = family.measurement(id);
    page.text(
        Tone::Strong,
        0,
        &format!("{} [{}]", measurement.title, measurement.name),
    )?;
    let set_ups: Vec<&str> = measurement
        .set_ups
        .iter()
        .map(|id| family.set_up(*id).name.as_str())
        .collect();
    let needs = if set_ups.is_empty() {
        "nothing".to_owned()
    } else {
        set_ups.join(", ")
    };
    page.text(
        Tone::Plain,
        0,
        &format!("{}; in place: {needs}.", minutes(measurement.minutes.get())),
    )?;
    if let Some(symptoms) = &measurement.offered_for {
        let names: Vec<&str> = symptoms
            .iter()
            .map(|id| family.symptom(*id).name.as_str())
            .collect();
        page.text(
            Tone::Plain,
            0,
            &format!("Offered for: {}.", names.join(", ")),
        )?;
    }
    super::proposal::cautions(page, family, measurement)?;
    super::proposal::steps(page, family, measurement, None)?;
    page.text(Tone::Strong, 2, &measurement.ask)?;
    for condition in &measurement.conditions {
        page.item(
            Tone::Plain,
            2,
            "It counts only if: ",
            &family.condition(*condition).ask,
        )?;
    }
    if let Reading::Number(number) = &measurement.reading {
        if let Some(instrument) = number.instrument {
            page.item(
                Tone::Plain,
                2,
                "Read with: ",
                &family.instrument(instrument).title,
            )?;
        }
        if let Some(formula) = &number.formula {
            page.item(Tone::Plain, 2, "Computed as: ", formula.text())?;
        }
    }
    outcomes(page, measurement)?;
    given(page, family, measurement)?;
    if measurement.rest == Rest::Chance {
        page.text(Tone::Plain, 0, "What a cause leaves over is spread as chance: something unrelated often turns up here.")?;
    }
    page.text(Tone::Faint, 0, &format!("Source: {}.", measurement.source))
}

/// The outcomes of a measurement, and how often each comes by chance.
fn outcomes(page: &mut Page<'_>, measurement: &Measurement) -> io::Result<()> {
    page.heading("Outcomes")?;
    let rows: Vec<Vec<String>> = measurement
        .outcomes
        .iter()
        .zip(&measurement.chance.0)
        .map(|(outcome, chance)| {
            let bands: Vec<String> = outcome.bands.iter().map(band_words).collect();
            let means = if bands.is_empty() {
                outcome.gloss.clone().unwrap_or_default()
            } else {
                bands.join(" or ")
            };
            vec![outcome.name.clone(), means, percent(chance.get())]
        })
        .collect();
    page.lines(
        0,
        &table(
            &["outcome", "means", "by chance"],
            &rows,
            &[2],
            page.width(),
        ),
    )
}

/// How often each cause gives each outcome.
fn given(page: &mut Page<'_>, family: &Family, measurement: &Measurement) -> io::Result<()> {
    page.heading("What each cause gives")?;
    let mut rows: Vec<(String, f64, Vec<String>)> = measurement
        .shows
        .iter()
        .flat_map(|(cause, row)| {
            row.0
                .iter()
                .map(move |(outcome, p)| (*cause, *outcome, p.get()))
        })
        .map(|(cause, outcome, p)| {
            let outcome = measurement.outcomes[outcome.index()].name.clone();
            let cause = family.cause(cause).name.clone();
            (outcome.clone(), p, vec![outcome, cause, percent(p)])
        })
        .collect();
    rows.sort_by(|a, b| {
        a.0.cmp(&b.0)
            .then_with(|| b.1.total_cmp(&a.1))
            .then_with(|| a.2.cmp(&b.2))
    });
    let rows: Vec<Vec<String>> = rows.into_iter().map(|(_, _, row)| row).collect();
    page.lines(
        0,
        &table(
            &["outcome", "cause", "how often"],
            &rows,
            &[2],
            page.width(),
        ),
    )
}

/// A band in words, by the names of its limits.
fn band_words(band: &crate::knowledge::LimitBand) -> String {
    match (&band.lower, &band.upper) {
        (Some(lower), Some(upper)) => format!("{} to {}", lower.limit, upper.limit),
        (Some(lower), None) if lower.inside => format!("at least {}", lower.limit),
        (Some(lower), None) => format!("above {}", lower.limit),
        (None, Some(upper)) if upper.inside => format!("at most {}", upper.limit),
        (None, Some(upper)) => format!("below {}", upper.limit),
        (None, None) => "any value".to_owned(),
    }
}

/// A cause: its rate, its repair, its trees and the measurements that show it.
#[allow(clippy::missing_errors_doc, reason = "said at `show_all`")]
pub fn show_cause(page: &mut Page<'_>, family: &Family, id: CauseId) -> io::Result<()> {
    let cause = family.cause(id);
    page.text(
        Tone::Strong,
        0,
        &format!("{} [{}]", cause.title, cause.name),
    )?;
    let text = format!(
        "Part: {}. Present in {} of 1,000 driveline jobs ({}).",
        cause.part,
        plain(cause.rate.get()),
        cause.source
    );
    page.text(Tone::Plain, 0, &text)?;
    let repair = family.repair(cause.repair);
    page.text(
        Tone::Plain,
        0,
        &format!("Repair: {} [{}].", repair.title, repair.name),
    )?;
    for symptom in family
        .symptoms
        .iter()
        .filter(|symptom| symptom.tree.causes().contains(&id))
    {
        let p = symptom.tree.probability(|other| other == id);
        let text = if p.get() > 0.0 {
            format!("alone brings it about in {} of cases", percent(p.get()))
        } else {
            "only together with another cause".to_owned()
        };
        page.item(Tone::Plain, 2, &format!("{}: ", symptom.name), &text)?;
    }
    page.heading("Shown by")?;
    let rows: Vec<Vec<String>> = family
        .measurements
        .iter()
        .filter_map(|measurement| measurement.shows.get(&id).map(|row| (measurement, row)))
        .flat_map(|(measurement, row)| {
            row.0.iter().map(move |(outcome, p)| {
                let outcome = measurement.outcomes[outcome.index()].name.clone();
                vec![measurement.name.clone(), outcome, percent(p.get())]
            })
        })
        .collect();
    page.lines(
        0,
        &table(
            &["measurement", "outcome", "how often"],
            &rows,
            &[2],
            page.width(),
        ),
    )
}

/// A repair: its work, its care, its verification and what it cures.
#[allow(clippy::missing_errors_doc, reason = "said at `show_all`")]
pub fn show_repair(page: &mut Page<'_>, family: &Family, id: RepairId) -> io::Result<()> {
    let repair = family.repair(id);
    page.text(
        Tone::Strong,
        0,
        &format!("{} [{}]", repair.title, repair.name),
    )?;
    let text = format!(
        "{}, parts {}: {} in all.",
        minutes(repair.minutes.get()),
        money(repair.parts.get()),
        money(family.repair_cost(id).get())
    );
    page.text(Tone::Plain, 0, &text)?;
    for place in &repair.care {
        if let Some(care) = family.care.get(*place) {
            page.item(Tone::Caution, 2, "! ", &care.text)?;
        }
    }
    page.item(Tone::Plain, 2, "Verify afterwards: ", &repair.verify)?;
    let names = |ids: &[MeasurementId]| -> String {
        ids.iter()
            .map(|id| family.measurement(*id).name.as_str())
            .collect::<Vec<_>>()
            .join(", ")
    };
    if !repair.verify_with.is_empty() {
        page.item(Tone::Plain, 2, "Read again: ", &names(&repair.verify_with))?;
    }
    if !repair.reveals.is_empty() {
        page.item(
            Tone::Plain,
            2,
            "Answers on the way: ",
            &names(&repair.reveals),
        )?;
    }
    page.heading("Cures")?;
    for cause in family.causes.iter().filter(|cause| cause.repair == id) {
        page.item(Tone::Plain, 2, &format!("{}: ", cause.name), &cause.title)?;
    }
    Ok(())
}

/// A set-up: its time, its needs, what it leaves.
#[allow(clippy::missing_errors_doc, reason = "said at `show_all`")]
pub fn show_set_up(page: &mut Page<'_>, family: &Family, id: SetUpId) -> io::Result<()> {
    let set_up = family.set_up(id);
    page.text(
        Tone::Strong,
        0,
        &format!("{} [{}]", set_up.title, set_up.name),
    )?;
    page.text(
        Tone::Plain,
        0,
        &format!("{} to enter.", minutes(set_up.minutes.get())),
    )?;
    let names = |ids: Vec<SetUpId>| -> String {
        ids.into_iter()
            .map(|id| family.set_up(id).name.as_str())
            .collect::<Vec<_>>()
            .join(", ")
    };
    if !set_up.needs.is_empty() {
        page.item(
            Tone::Plain,
            2,
            "In place while it is entered: ",
            &names(set_up.needs.clone()),
        )?;
    }
    let left: Vec<SetUpId> = (0..family.set_ups.len())
        .map(SetUpId::at)
        .filter(|other| *other != id)
        .filter(|other| {
            let group = &family.set_up(*other).group;
            set_up.ends.contains(other) || (group.is_some() && *group == set_up.group)
        })
        .collect();
    if !left.is_empty() {
        page.item(Tone::Plain, 2, "Entering it leaves: ", &names(left))?;
    }
    Ok(())
}

/// A vehicle's sheet.
#[allow(clippy::missing_errors_doc, reason = "said at `show_all`")]
pub fn show_vehicle(page: &mut Page<'_>, vehicle: &Vehicle) -> io::Result<()> {
    page.text(
        Tone::Strong,
        0,
        &format!("{} [{}]", vehicle.title, vehicle.name),
    )?;
    if vehicle.invented {
        page.text(
            Tone::Caution,
            0,
            "This sheet is invented for the demonstration: use it on no vehicle.",
        )?;
    }
    page.gap()?;
    let rows: Vec<Vec<String>> = vehicle
        .limits
        .iter()
        .map(|(name, limit)| {
            let numbers: Vec<String> = limit
                .numbers
                .iter()
                .map(|(key, number)| format!("{key} {}", plain(*number)))
                .collect();
            let unit = limit.unit.map_or("", |unit| unit.symbol());
            let words = limit
                .words
                .clone()
                .unwrap_or_else(|| format!("{} {unit}", numbers.join(", ")));
            vec![name.clone(), words, limit.source.clone()]
        })
        .collect();
    page.lines(
        0,
        &table(&["limit", "value", "source"], &rows, &[], page.width()),
    )
}
