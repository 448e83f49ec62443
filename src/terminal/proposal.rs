//! A measurement on the screen: why it, its cautions, its steps, its limits.

use std::io;

use crate::decide::Standing;
use crate::decide::Way;
use crate::knowledge::{Family, Measurement, MeasurementId, SetUpId, SheetLimit, Vehicle};
use crate::text::figures::{bits, count, minutes, percent, plain, rounded};
use crate::text::table;
use crate::text::{Page, Tone};
use crate::units::{System, Unit};

/// What must be put in place first: `On the lift, secured (4 min)` and so on, in order.
#[must_use]
pub fn way_words(family: &Family, way: &Way) -> Vec<String> {
    way.order
        .iter()
        .map(|place| {
            let set_up = family.set_up(SetUpId::at(*place));
            format!("{} ({})", set_up.title, minutes(set_up.minutes.get()))
        })
        .collect()
}

/// Why a measurement is proposed: what it is expected to set apart, and what each outcome would leave.
///
/// # Errors
///
/// Whatever writing gives; so for every function of this file.
pub fn why(page: &mut Page<'_>, standing: &Standing<'_, '_>, id: MeasurementId) -> io::Result<()> {
    let measurement = standing.model.family.measurement(id);
    if let Some(ranked) = standing.rank_of(id) {
        let set_up = ranked.way.minutes;
        let time = if standing.is_open_to_view(id) {
            "the repair had it open, so that it takes no time now".to_owned()
        } else if set_up > 0.0 {
            format!(
                "{} and {} to set up",
                minutes(measurement.minutes.get()),
                minutes(set_up)
            )
        } else {
            format!("{}, nothing to set up", minutes(measurement.minutes.get()))
        };
        page.text(
            Tone::Plain,
            2,
            &format!(
                "Why: of {} candidates in play it is expected to set apart {} ({} bit); {time}.",
                count(ranked.in_play),
                count(ranked.separates),
                bits(ranked.bits),
            ),
        )?;
    }
    prospects(page, standing, id)
}

/// What each outcome of a measurement would leave.
#[allow(clippy::missing_errors_doc, reason = "said at `why`")]
pub fn prospects(
    page: &mut Page<'_>,
    standing: &Standing<'_, '_>,
    id: MeasurementId,
) -> io::Result<()> {
    let family = standing.model.family;
    let measurement = family.measurement(id);
    let rows: Vec<Vec<String>> = standing
        .prospects(id)
        .iter()
        .map(|prospect| {
            let leading = leading_repair(standing, &prospect.belief.posterior);
            vec![
                measurement.outcomes[prospect.outcome].name.clone(),
                percent(prospect.probability),
                count(prospect.belief.in_play()),
                leading.map_or_else(String::new, |(name, p)| format!("{name} {}", percent(p))),
            ]
        })
        .collect();
    let text = table(
        &["if it reads", "chance", "in play", "then leads"],
        &rows,
        &[1, 2],
        page.width() - 4,
    );
    page.lines(4, &text)
}

/// The repairs of the group that leads, and its probability.
fn leading_repair(standing: &Standing<'_, '_>, posterior: &[f64]) -> Option<(String, f64)> {
    let family = standing.model.family;
    standing
        .problem
        .groups()
        .iter()
        .map(|group| {
            (
                group,
                group
                    .candidates
                    .iter()
                    .map(|candidate| posterior[*candidate])
                    .sum::<f64>(),
            )
        })
        .fold(None, |best: Option<(_, f64)>, (group, p)| match best {
            Some((_, most)) if most >= p => best,
            _ => Some((group, p)),
        })
        .map(|(group, p)| {
            let names: Vec<&str> = group
                .repairs
                .iter()
                .map(|repair| family.repairs[*repair].name.as_str())
                .collect();
            (names.join(" + "), p)
        })
}

/// The cautions of a measurement, each before anything is done.
#[allow(clippy::missing_errors_doc, reason = "said at `why`")]
pub fn cautions(page: &mut Page<'_>, family: &Family, measurement: &Measurement) -> io::Result<()> {
    for caution in measurement.caution_texts(family) {
        page.item(Tone::Caution, 2, "! CAUTION  ", &caution.text)?;
    }
    Ok(())
}

/// The set-ups still to enter and the steps of the measurement, numbered through.
#[allow(clippy::missing_errors_doc, reason = "said at `why`")]
pub fn steps(
    page: &mut Page<'_>,
    family: &Family,
    measurement: &Measurement,
    way: Option<&Way>,
) -> io::Result<()> {
    let first = way.map(|way| way_words(family, way)).unwrap_or_default();
    if !first.is_empty() {
        page.text(
            Tone::Plain,
            2,
            &format!("First: {}.", first.join(", then ")),
        )?;
    }
    for (number, step) in (1..).zip(&measurement.steps) {
        page.item(Tone::Plain, 2, &format!("{number}. "), step)?;
    }
    if let Some(note) = &measurement.note {
        page.item(Tone::Plain, 2, "Note: ", note)?;
    }
    Ok(())
}

/// The limits of the vehicle's sheet that judge a measurement, with where each came from.
#[allow(clippy::missing_errors_doc, reason = "said at `why`")]
pub fn limits(
    page: &mut Page<'_>,
    measurement: &Measurement,
    vehicle: Option<&Vehicle>,
    system: System,
) -> io::Result<()> {
    let names = measurement.sheet_limits();
    let Some(vehicle) = vehicle else {
        if names.is_empty() {
            return Ok(());
        }
        let text = format!(
            "no sheet named: look up {} in the vehicle's service information.",
            names.join(", ")
        );
        return page.item(Tone::Plain, 2, "Limit: ", &text);
    };
    for name in names {
        match vehicle.limits.get(&name) {
            Some(limit) => {
                let text = format!(
                    "{name} {} ({})",
                    limit_words(limit, measurement, system),
                    limit.source
                );
                page.item(Tone::Plain, 2, "Limit: ", &text)?;
            }
            None => page.item(
                Tone::Plain,
                2,
                "Limit: ",
                &format!("{name} is not on the sheet of {}", vehicle.name),
            )?,
        }
    }
    Ok(())
}

/// A limit in words: `5200 to 5900 kPa`, `at most 250 kPa, far from 600 kPa`.
fn limit_words(limit: &SheetLimit, measurement: &Measurement, system: System) -> String {
    if let Some(words) = &limit.words {
        return words.clone();
    }
    let Some(unit) = limit.unit else {
        return String::new();
    };
    // A reading shows its limits in the unit it will be typed in, when no system asks for another.
    let unit_shown = measurement
        .number()
        .map_or(unit, |number| shown_in(number.unit, system));
    let shown = if unit.convert(0.0, unit_shown).is_some() {
        unit_shown
    } else {
        unit
    };
    let number = |key: &str| {
        limit
            .numbers
            .get(key)
            .and_then(|number| unit.convert(*number, shown))
            .map(if shown == unit { plain } else { rounded })
    };
    let mut words = match (number("min"), number("max")) {
        (Some(min), Some(max)) => format!("{min} to {max} {}", shown.symbol()),
        (Some(min), None) => format!("at least {min} {}", shown.symbol()),
        (None, Some(max)) => format!("at most {max} {}", shown.symbol()),
        (None, None) => String::new(),
    };
    if let Some(far) = number("far") {
        words = format!("{words}, far from {far} {}", shown.symbol());
    }
    words
}

/// The unit that a quantity is shown in.
#[must_use]
pub fn shown_in(unit: Unit, system: System) -> Unit {
    match system {
        System::Metric => unit,
        System::Us => unit.dimension().unit(system),
    }
}

/// The question of a measurement and what can be answered.
#[allow(clippy::missing_errors_doc, reason = "said at `why`")]
pub fn question(page: &mut Page<'_>, measurement: &Measurement) -> io::Result<()> {
    page.text(Tone::Strong, 2, &measurement.ask)?;
    in_words(page, measurement)?;
    if measurement.number().is_none() {
        for (number, outcome) in (1..).zip(&measurement.outcomes) {
            let gloss = outcome
                .gloss
                .as_deref()
                .filter(|gloss| *gloss != outcome.name);
            let text = gloss.map_or_else(
                || outcome.name.clone(),
                |gloss| format!("{}: {gloss}", outcome.name),
            );
            page.item(Tone::Plain, 4, &format!("{number} "), &text)?;
        }
    }
    Ok(())
}

/// The outcomes that no number stands for, of a measurement that reads one.
#[allow(clippy::missing_errors_doc, reason = "said at `why`")]
pub fn in_words(page: &mut Page<'_>, measurement: &Measurement) -> io::Result<()> {
    if measurement.number().is_none() {
        return Ok(());
    }
    for outcome in measurement
        .outcomes
        .iter()
        .filter(|outcome| outcome.bands.is_empty())
    {
        let gloss = outcome.gloss.as_deref().unwrap_or_default();
        page.item(Tone::Plain, 4, "or ", &format!("{}: {gloss}", outcome.name))?;
    }
    Ok(())
}
