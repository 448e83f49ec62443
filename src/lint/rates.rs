//! A rate far from the others of its part.

use super::{Desk, median};
use crate::load::{Code, FileKind};
use crate::text::plain;

/// So many times above or below the middle of the others is far.
const FAR_FROM_THE_MIDDLE: f64 = 8.0;
/// So many times above the highest or below the lowest of the others is far.
const FAR_OUTSIDE: f64 = 3.0;
/// With fewer other rates in its part, a rate is held against those of the whole family.
const NEIGHBOURS: usize = 3;

/// The rates that stand eight times above or below the median of the other rates of their part, or three times
/// outside their range: a slipped decimal point does.
pub(super) fn judge(desk: &Desk<'_>) {
    let causes = &desk.family.causes;
    for (place, cause) in causes.iter().enumerate() {
        let others = |of_part: bool| -> Vec<f64> {
            causes
                .iter()
                .enumerate()
                .filter(|(other, neighbour)| {
                    *other != place && (!of_part || neighbour.part == cause.part)
                })
                .map(|(_, neighbour)| neighbour.rate.get())
                .collect()
        };
        let (neighbours, whose) = match others(true) {
            of_part if of_part.len() >= NEIGHBOURS => (of_part, format!("of `{}`", cause.part)),
            _ => (others(false), "of the family".to_owned()),
        };
        if neighbours.len() < NEIGHBOURS {
            continue;
        }
        let lowest = neighbours.iter().copied().fold(f64::INFINITY, f64::min);
        let highest = neighbours.iter().copied().fold(0.0, f64::max);
        let Some(middle) = median(neighbours) else {
            continue;
        };
        let rate = cause.rate.get();
        let off = (rate / middle).max(middle / rate);
        let outside = (rate / highest).max(lowest / rate);
        if off >= FAR_FROM_THE_MIDDLE || outside >= FAR_OUTSIDE {
            desk.say(
                Code::OddRate,
                desk.value(FileKind::Causes, &["causes", &cause.name, "rate"]),
                format!(
                    "a rate of {} stands alone: the others {whose} run from {} to {}",
                    plain(rate),
                    plain(lowest),
                    plain(highest)
                ),
                format!(
                    "of 1,000 driveline jobs, is this wrong in {}? If so, the family or its part needs a neighbour; \
                     a typing error moves the point",
                    plain(rate)
                ),
            );
        }
    }
}
