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
/// A small figure is at home beside a large one of the same cause, when a reading strays into the next outcome: from
/// here on that is large.
const LARGE: f64 = 0.3;
/// A small figure is at home where another cause has one nearly as small.
const NEARLY: f64 = 1.2;
/// A judgement goes to hundredths: a family in which fewer than one figure in so many goes further has none that do.
const FINE: usize = 20;
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
                    "of 1,000 {}, is this wrong in {rate}? If so, the family or its part needs a neighbour; \
                     a typing error moves the point",
                    desk.family.jobs
                ),
            );
        }
    }
}

/// Figures that a slip of the point explains. A figure of 0 says that the cause never reads so, and is meant.
fn shows(desk: &Desk<'_>) {
    let all = || {
        let rows = desk
            .family
            .measurements
            .iter()
            .flat_map(|m| m.shows.values());
        rows.flat_map(|row| row.0.values())
            .map(|figure| figure.get())
    };
    let fine = all().filter(|figure| is_fine(*figure)).count();
    let coarse = fine * FINE < all().count();
    for measurement in &desk.family.measurements {
        for (place, outcome) in measurement.outcomes.iter().enumerate() {
            let id = OutcomeId::at(place);
            let figures: Vec<(CauseId, f64)> = measurement
                .shows
                .iter()
                .filter_map(|(cause, row)| Some((*cause, row.0.get(&id)?.get())))
                .filter(|(_, figure)| *figure > 0.0)
                .collect();
            for (cause, figure) in &figures {
                let others = figures.iter().filter(|(other, _)| other != cause);
                let beside = measurement.shows[cause].0.iter();
                let beside: f64 = beside
                    .filter(|(other, _)| **other != id)
                    .map(|(_, figure)| figure.get())
                    .sum();
                let words = if coarse && is_fine(*figure) {
                    "is finer than a judgement: the other figures go to hundredths".to_owned()
                } else if let Some(far) = far_below(
                    *figure,
                    others.clone().map(|(_, figure)| *figure).collect(),
                    beside,
                ) {
                    format!("stands far below the others of `{}`: {far}", outcome.name)
                } else if *figure < SMALL
                    && beside <= 0.0
                    && others.clone().all(|(_, other)| other < figure)
                {
                    format!(
                        "is the highest of `{}`: no cause would show it one time in ten",
                        outcome.name
                    )
                } else {
                    continue;
                };
                let cause = &desk.family.cause(*cause).name;
                let way = [
                    "measurements",
                    &measurement.name,
                    "shows",
                    &outcome.name,
                    cause,
                ];
                desk.at_value(
                    Code::OddFigure,
                    (FileKind::Measurements, &way),
                    format!("{} for `{cause}` {words}", plain(*figure)),
                    "a typing error moves the point; a cause that hardly ever reads so need not be named",
                );
            }
        }
    }
}

/// Whether a figure goes beyond hundredths, as 0.085 does.
fn is_fine(figure: f64) -> bool {
    let hundredths = figure * 100.0;
    (hundredths - hundredths.round()).abs() > 1e-9
}

/// In words, where a figure is far below those of the other causes; `beside` is what its own cause gives the other
/// outcomes.
fn far_below(figure: f64, others: Vec<f64>, beside: f64) -> Option<String> {
    let enough = others.len() >= FIGURES;
    let (lowest, median, _) = range(others).filter(|_| enough)?;
    let small = figure < SMALL;
    let far = median / figure >= BELOW_THE_MEDIAN
        || (small && lowest / figure >= BELOW_THE_LOWEST)
        || (small && beside < LARGE && lowest / figure > NEARLY);
    far.then(|| {
        format!(
            "the next is {}, the middle {}",
            plain(lowest),
            plain(median)
        )
    })
}
