//! A `shows` figure far below the others of its outcome.

use super::{Desk, median};
use crate::knowledge::{CauseId, OutcomeId};
use crate::load::{Code, FileKind};
use crate::text::plain;

/// So many times below the middle of the others is far.
const BELOW_THE_MIDDLE: f64 = 9.0;
/// So many times below the lowest of the others is far, for a figure below [`SMALL`].
const BELOW_THE_LOWEST: f64 = 6.0;
/// Figures below this hardly tell from chance.
const SMALL: f64 = 0.1;
/// A figure is held against so many others at least.
const NEIGHBOURS: usize = 2;

/// The figures that stand nine times below the median of the other figures of their outcome; and those below 0.1
/// that stand six times below the lowest of them. A figure of 0 says that the cause never reads so, and is meant.
pub(super) fn judge(desk: &Desk<'_>) {
    for id in desk.measurements() {
        let measurement = desk.family.measurement(id);
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
                if others.len() < NEIGHBOURS {
                    continue;
                }
                let lowest = others.iter().copied().fold(f64::INFINITY, f64::min);
                let Some(middle) = median(others) else {
                    continue;
                };
                if middle / figure >= BELOW_THE_MIDDLE
                    || (*figure < SMALL && lowest / figure >= BELOW_THE_LOWEST)
                {
                    let name = &desk.family.cause(*cause).name;
                    let way = [
                        "measurements",
                        &measurement.name,
                        "shows",
                        &outcome.name,
                        name,
                    ];
                    desk.say(
                        Code::OddFigure,
                        desk.value(FileKind::Measurements, &way),
                        format!(
                            "{} for `{name}` stands far below the others of `{}`: the next is {}, the middle {}",
                            plain(*figure),
                            outcome.name,
                            plain(lowest),
                            plain(middle)
                        ),
                        "a typing error moves the point; a cause that hardly ever reads so need not be named",
                    );
                }
            }
        }
    }
}
