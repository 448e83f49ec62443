//! How a cell is read as a number or a time, and how the clock of a column counts.

use serde::Serialize;

use super::packed::TENS;
use super::series::median;
use crate::units::Unit;

/// No tool samples more seldom than this, in seconds: whole numbers that step by more are milliseconds. Judged.
const SLOWEST: f64 = 10.0;

/// How a column tells the time.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Clock {
    /// How many seconds one of its units is.
    pub seconds: f64,
}

impl Clock {
    /// A clock by its unit, and by how its first times step where it has none.
    pub(super) fn of(unit: Option<Unit>, stamps: &[(f64, bool)]) -> Self {
        let stated = unit.and_then(|unit| unit.convert(1.0, Unit::Second));
        let mut steps: Vec<f64> = stamps
            .windows(2)
            .map(|pair| pair[1].0 - pair[0].0)
            .filter(|step| *step > 0.0)
            .collect();
        let step = median(&mut steps).unwrap_or(0.0);
        let of_day = stamps.iter().any(|(_, of_day)| *of_day);
        let seconds = match stated {
            _ if of_day => 1.0,
            Some(seconds) => seconds,
            None if step >= SLOWEST => 1e-3,
            None => 1.0,
        };
        Self { seconds }
    }
}

/// The number in a cell, with how many digits stand behind its decimal sign. `None` for anything else.
pub(super) fn number(cell: &[u8], comma: bool) -> Option<(f64, u8)> {
    let cell = cell.trim_ascii();
    let sign = if comma { b',' } else { b'.' };
    let (negative, digits) = match cell {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] | rest => (false, rest),
    };
    let (mut whole, mut count, mut behind) = (0_u64, 0_u8, None);
    for byte in digits {
        match byte {
            b'0'..=b'9' if count < 15 => {
                whole = 10 * whole + u64::from(byte - b'0');
                count += 1;
                behind = behind.map(|behind: u8| behind + 1);
            }
            _ if *byte == sign && behind.is_none() => behind = Some(0),
            _ => return unusual(cell, comma),
        }
    }
    if count == 0 {
        return None;
    }
    let behind = behind.unwrap_or(0);
    #[allow(clippy::cast_precision_loss, reason = "of at most 15 digits")]
    let value = whole as f64 / TENS[usize::from(behind)];
    Some((if negative { -value } else { value }, behind))
}

/// A number with an exponent, or of more digits than count.
fn unusual(cell: &[u8], comma: bool) -> Option<(f64, u8)> {
    if !cell
        .iter()
        .all(|byte| matches!(byte, b'0'..=b'9' | b'.' | b',' | b'-' | b'+' | b'e' | b'E'))
    {
        return None;
    }
    let text = std::str::from_utf8(cell).ok()?;
    let text = if comma {
        text.replace(',', ".")
    } else {
        text.to_owned()
    };
    let value: f64 = text.parse().ok()?;
    value.is_finite().then_some((value, 6))
}

/// The time in a cell, in the units of its column or in seconds, and whether it is a time of day: a number, or
/// `[date ]hours:minutes[:seconds]`. Of a date only the time behind it counts: a clock that goes back a day has passed
/// midnight.
pub(super) fn stamp(cell: &[u8], comma: bool) -> Option<(f64, bool)> {
    let cell = cell.trim_ascii();
    if !cell.contains(&b':') {
        return number(cell, comma).map(|(value, _)| (value, false));
    }
    let from = cell.iter().rposition(|byte| matches!(byte, b'T' | b' '));
    let time = cell[from.map_or(0, |from| from + 1)..].trim_ascii();
    let time = time.strip_suffix(b"Z").unwrap_or(time);
    let mut seconds = 0.0;
    let mut parts = 0;
    for part in time.split(|byte| *byte == b':') {
        let decimal = part.contains(&b',');
        seconds = 60.0 * seconds + number(part, decimal).filter(|(part, _)| *part >= 0.0)?.0;
        parts += 1;
    }
    match parts {
        // Minutes and seconds where the seconds have decimals, else hours and minutes.
        2 if time.contains(&b'.') || time.contains(&b',') => Some((seconds, true)),
        2 => Some((60.0 * seconds, true)),
        3 => Some((seconds, true)),
        _ => None,
    }
}
