//! How a trace moves: where it holds, its slow part, and stretches in which something is so.

use super::series::median;
use super::trace::Point;

/// The slow part of a trace is the middle of the middles of so long pieces, in seconds,
const PIECE: f64 = 0.5;
/// of so many pieces on either side.
const PIECES: usize = 8;

/// Stretches of times at which something holds, as places of their first and last; a stretch ends at a gap.
pub(super) fn stretches(
    times: &[f64],
    gap: f64,
    holds: impl Fn(usize) -> bool,
) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    for place in (0..times.len()).filter(|place| holds(*place)) {
        match found.last_mut() {
            Some((_, last)) if *last + 1 == place && times[place] - times[*last] <= gap => {
                *last = place;
            }
            _ => found.push((place, place)),
        }
    }
    found
}

/// The slow part of a trace at each of its points: a running median, which a short excursion does not move
/// (Tukey 1977, chapter 7).
pub(super) fn slow_part(points: &[Point]) -> Vec<f64> {
    let piece = |point: &Point| (point.time / PIECE).floor();
    let pieces: Vec<(f64, f64)> = points
        .chunk_by(|a, b| piece(a).total_cmp(&piece(b)).is_eq())
        .map(|of| {
            let mut values: Vec<f64> = of.iter().map(|point| point.value).collect();
            (piece(&of[0]), median(&mut values).unwrap_or(0.0))
        })
        .collect();
    let around = |at: usize| {
        let near = &pieces[at.saturating_sub(PIECES)..pieces.len().min(at + PIECES + 1)];
        let mut values: Vec<f64> = near.iter().map(|(_, value)| *value).collect();
        median(&mut values).unwrap_or(0.0)
    };
    let slow: Vec<f64> = (0..pieces.len()).map(around).collect();
    let mut at = 0;
    points
        .iter()
        .map(|point| {
            while pieces[at].0 < piece(point) {
                at += 1;
            }
            slow[at]
        })
        .collect()
}
