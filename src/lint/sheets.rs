//! Limits of spec sheets: against the instruments that read them, and against those of the other sheets.

use super::desk::Desk;
use crate::infer::foreseen_uncertainty;
use crate::knowledge::{Knowledge, Limit, LimitBand, Measurement, Vehicle};
use crate::load::{Code, FileKind, Spot};
use crate::text::plain;

/// A band this many standard uncertainties wide holds two readings in three that are truly in its middle.
const UNCERTAINTIES: f64 = 2.0;
/// Limits so many times apart are likely of another unit, or have their point moved.
const APART: f64 = 8.0;

pub(super) fn judge(desk: &Desk<'_>, knowledge: &Knowledge) {
    let is_its = |vehicle: &&Vehicle| vehicle.family == desk.family.name;
    let sheets: Vec<&Vehicle> = knowledge.vehicles.iter().filter(is_its).collect();
    for measurement in &desk.family.measurements {
        if !measurement.is_judged_by_a_sheet() {
            narrow(desk, measurement, None);
            continue;
        }
        for sheet in &sheets {
            narrow(desk, measurement, Some(sheet));
        }
    }
    differ(desk, &sheets);
}

/// Bands narrower than what the instrument can tell.
fn narrow(desk: &Desk<'_>, measurement: &Measurement, sheet: Option<&Vehicle>) {
    let Some(number) = measurement.number() else {
        return;
    };
    let bands = |of: &[LimitBand]| -> Option<Vec<_>> {
        of.iter()
            .map(|band| band.on(sheet, number.unit).ok())
            .collect()
    };
    let Some(all) = measurement
        .outcomes
        .iter()
        .map(|outcome| bands(&outcome.bands))
        .collect::<Option<Vec<_>>>()
    else {
        return;
    };
    let u = foreseen_uncertainty(desk.family, number, &all);
    for (outcome, on_sheet) in measurement.outcomes.iter().zip(&all) {
        for (stated, band) in outcome.bands.iter().zip(on_sheet) {
            let (Some(from), Some(to)) = (band.from, band.to) else {
                continue;
            };
            let width = to.at - from.at;
            if width >= UNCERTAINTIES * u {
                continue;
            }
            let unit = number.unit.symbol();
            desk.at(
                Code::NarrowBand,
                place(desk, measurement, &outcome.name, stated, sheet),
                format!(
                    "`{}` of `{}` is {} {unit} wide, and a reading is uncertain by {} {unit} (one standard deviation)",
                    outcome.name,
                    measurement.name,
                    plain(rounded(width)),
                    plain(rounded(u))
                ),
                "look at the unit and the decimal point of the limits; or read it with a better instrument",
            );
        }
    }
}

/// Where a band is limited: in the sheet where a limit is the sheet's, else in the measurement.
fn place(
    desk: &Desk<'_>,
    measurement: &Measurement,
    outcome: &str,
    band: &LimitBand,
    sheet: Option<&Vehicle>,
) -> Spot {
    let named = band.limits().find_map(|limit| match limit {
        Limit::Named { sheet, .. } => Some(sheet),
        Limit::Number(_) => None,
    });
    match (sheet, named) {
        (Some(vehicle), Some(limit)) => {
            let way = [&*vehicle.name, "limits", limit];
            desk.places.key("", FileKind::Vehicle, &way)
        }
        _ => {
            let way = ["measurements", &measurement.name, "outcomes", outcome];
            desk.places
                .key(&desk.family.name, FileKind::Measurements, &way)
        }
    }
}

/// Limits that are many times those of the first other sheet that has them.
fn differ(desk: &Desk<'_>, sheets: &[&Vehicle]) {
    for (index, sheet) in sheets.iter().enumerate() {
        for (name, limit) in &sheet.limits {
            let Some(unit) = limit.unit else { continue };
            for (key, number) in &limit.numbers {
                let others = sheets.iter().enumerate().filter_map(|(place, other)| {
                    let theirs = other.limit(name, key, unit).filter(|_| place != index)?;
                    Some((place, other, theirs))
                });
                let others: Vec<_> = others.filter(|(.., theirs)| *theirs != 0.0).collect();
                let apart = |theirs: f64| (number / theirs).abs().max((theirs / number).abs());
                let far = others.iter().filter(|(.., theirs)| apart(*theirs) >= APART);
                // Of two sheets either may be wrong: the later one is named. Of several, the one that is far from most.
                let is_odd = match &others[..] {
                    [(place, ..)] => *place < index,
                    _ => far.clone().count() * 2 > others.len(),
                };
                let Some((_, other, theirs)) =
                    far.clone().next().filter(|_| is_odd && *number != 0.0)
                else {
                    continue;
                };
                let symbol = unit.symbol();
                let way = [&*sheet.name, "limits", name, key];
                desk.at(
                    Code::SheetsDiffer,
                    desk.places.value("", FileKind::Vehicle, &way),
                    format!(
                        "{} {symbol} for `{name}.{key}`, and {} {symbol} on {}",
                        plain(*number),
                        plain(rounded(*theirs)),
                        other.name
                    ),
                    "look at the unit and the decimal point of both",
                );
            }
        }
    }
}

/// A number to three figures.
fn rounded(number: f64) -> f64 {
    format!("{number:.2e}").parse().unwrap_or(number)
}
