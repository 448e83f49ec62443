//! Figures far from their neighbours: a slipped decimal point, as a rule.

use super::desk::Desk;
use crate::knowledge::{CauseId, OutcomeId};
use crate::load::{Code, FileKind};
use crate::text::plain;

/// A rate so many times above or below the median of the others is far off,
const FAR_FROM_THE_MEDIAN: f64 = 8.0;
/// and one so many times outside their range.
const FAR_OUTSIDE: f64 = 3.0;
/// With fewer other rates in its part, a rate is compared with those of the whole family.
const RATES: usize = 3;

/// A figure of `shows` so many times below the median of the others is far off,
const BELOW_THE_MEDIAN: f64 = 9.0;
/// and one below [`SMALL`] so many times below the lowest of the others.
const BELOW_THE_LOWEST: f64 = 6.0;
/// Figures below this are hardly more than chance.
const SMALL: f64 = 0.1;
/// A figure is compared with so many others at least.
const FIGURES: usize = 2;

pub(super) fn judge(desk: &Desk<'_>) {
    rates(desk);
    shows(desk);
}

/// Lowest, median and highest of some numbers; `None` of none.
fn range(mut numbers: Vec<f64>) -> Option<(f64, f64, f64)> {
    numbers.sort_by(f64::total_cmp);
    let (lowest, highest) = (*numbers.first()?, *numbers.last()?);
    let upper = numbers[numbers.len() / 2];
    let lower = numbers[(numbers.len() - 1) / 2];
    Some((lowest, f64::midpoint(lower, upper), highest))
}

fn rates(desk: &Desk<'_>) {
    let causes = &desk.family.causes;
    for (place, cause) in causes.iter().enumerate() {
        let others = |of_part: bool| -> Vec<f64> {
            let all = causes.iter().enumerate();
            all.filter(|(other, neighbour)| {
                *other != place && (!of_part || neighbour.part == cause.part)
            })
            .map(|(_, neighbour)| neighbour.rate.get())
            .collect()
        };
        let (neighbours, whose) = match others(true) {
            of_part if of_part.len() >= RATES => (of_part, format!("of `{}`", cause.part)),
            _ => (others(false), "of the family".to_owned()),
        };
        let enough = neighbours.len() >= RATES;
        let Some((lowest, median, highest)) = range(neighbours).filter(|_| enough) else {
            continue;
        };
        let rate = cause.rate.get();
        let off = (rate / median).max(median / rate);
        let outside = (rate / highest).max(lowest / rate);
        if off >= FAR_FROM_THE_MEDIAN || outside >= FAR_OUTSIDE {
            let (rate, lowest, highest) = (plain(rate), plain(lowest), plain(highest));
            desk.at_value(
                Code::OddRate,
                (FileKind::Causes, &["causes", &cause.name, "rate"]),
                format!(
                    "a rate of {rate} stands alone: the others {whose} run from {lowest} to {highest}"
                ),
                &format!(
                    "of 1,000 driveline jobs, is this wrong in {rate}? If so, the family or its part needs a neighbour; \
                     a typing error moves the point"
                ),
            );
        }
    }
}

/// A figure of 0 says that the cause never reads so, and is meant.
fn shows(desk: &Desk<'_>) {
    for measurement in &desk.family.measurements {
        for (place, outcome) in measurement.outcomes.iter().enumerate() {
            let figures: Vec<(CauseId, f64)> = measurement
                .shows
                .iter()
                .filter_map(|(cause, row)| Some((*cause, row.0.get(&OutcomeId::at(place))?.get())))
                .filter(|(_, figure)| *figure > 0.0)
                .collect();
            for (cause, figure) in &figures {
                let others: Vec<f64> = figures
                    .iter()
                    .filter(|(other, _)| other != cause)
                    .map(|(_, figure)| *figure)
                    .collect();
                let enough = others.len() >= FIGURES;
                let Some((lowest, median, _)) = range(others).filter(|_| enough) else {
                    continue;
                };
                if median / figure < BELOW_THE_MEDIAN
                    && (*figure >= SMALL || lowest / figure < BELOW_THE_LOWEST)
                {
                    continue;
                }
                let (cause, outcome) = (&desk.family.cause(*cause).name, &outcome.name);
                let way = ["measurements", &measurement.name, "shows", outcome, cause];
                desk.at_value(
                    Code::OddFigure,
                    (FileKind::Measurements, &way),
                    format!(
                        "{} for `{cause}` stands far below the others of `{outcome}`: the next is {}, the middle {}",
                        plain(*figure),
                        plain(lowest),
                        plain(median)
                    ),
                    "a typing error moves the point; a cause that hardly ever reads so need not be named",
                );
            }
        }
    }
}
