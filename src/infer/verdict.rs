//! What a number says, in words.

use crate::knowledge::Measurement;
use crate::text::figures::{percent, rounded};
use crate::units::Unit;
use crate::units::conformity::{Band, call};

/// `5500 kPa is within 5200 to 5900: normal (87 %).`: where the number lies by the limits of a vehicle without a fault,
/// and the outcome that it most probably is. `written` is the number as it is shown, `at` the same in the measurement's
/// unit, in which the bands count; the limits are written in `shown`.
pub(super) fn verdict(
    measurement: &Measurement,
    written: &str,
    at: f64,
    bands: &[Vec<Band>],
    weights: &[f64],
    shown: Unit,
) -> String {
    let unit = measurement.number().map_or(shown, |number| number.unit);
    let normal = bands.get(measurement.normal.index());
    let place = match normal.map(Vec::as_slice) {
        Some([band]) => place(*band, at, unit, shown),
        _ => String::new(),
    };
    let Some(called) = call(weights) else {
        return format!("{written}{place}.");
    };
    let outcome = measurement.outcomes[called.outcome].words();
    let sure = match percent(called.probability) {
        _ if called.probability >= 0.995 => String::new(),
        sure => format!(" ({sure})"),
    };
    format!("{written}{place}: {outcome}{sure}.")
}

/// Where a number lies by a band: ` is within 700 to 815`.
fn place(band: Band, at: f64, unit: Unit, shown: Unit) -> String {
    let Some(limits) = band.converted(unit, shown) else {
        return String::new();
    };
    let (from, to) = (rounded(limits.lowest()), rounded(limits.highest()));
    let (below, above) = (at < band.lowest(), at > band.highest());
    match (limits.from.is_some(), limits.to.is_some()) {
        (true, true) => {
            let side = match (below, above) {
                (true, _) => "below",
                (_, true) => "above",
                _ => "within",
            };
            format!(" is {side} {from} to {to}")
        }
        (true, false) if below => format!(" is below {from}"),
        (true, false) => format!(" is not below {from}"),
        (false, true) if above => format!(" is above {to}"),
        (false, true) => format!(" is not above {to}"),
        (false, false) => String::new(),
    }
}
