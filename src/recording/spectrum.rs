//! The frequency at which uneven samples swing: the Lomb-Scargle periodogram.

use std::array::from_fn;
use std::f64::consts::TAU;

use super::series::float;

/// So many frequencies are tried within the width of a peak.
const OVERSAMPLED: f64 = 5.0;

/// A swing in samples.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swing {
    /// Its frequency, in hertz.
    pub frequency: f64,
    /// The standard uncertainty of that: `√(6/N) · σ / (π·T·A)`, with σ the scatter that is left (Montgomery and
    /// O'Donoghue 1999).
    pub u: f64,
    /// Its amplitude, in the unit of the samples: half of what it goes from top to bottom.
    pub amplitude: f64,
    /// The share of the variance that it explains, 0 to 1.
    pub share: f64,
    /// The probability that noise alone gives as high a peak at any frequency tried (Scargle 1982).
    pub chance: f64,
}

/// So many samples are summed side by side.
const SIDE_BY_SIDE: usize = 4;

/// Samples side by side, with the sine and the cosine of `ωt`.
#[derive(Clone, Copy, Default)]
struct Turned {
    value: [f64; SIDE_BY_SIDE],
    sin: [f64; SIDE_BY_SIDE],
    cos: [f64; SIDE_BY_SIDE],
}

impl Turned {
    /// Samples at a frequency; where none are left, zeros, which add nothing to a sum.
    fn all(times: &[f64], values: &[f64], frequency: f64) -> Vec<Self> {
        let samples = times.chunks(SIDE_BY_SIDE).zip(values.chunks(SIDE_BY_SIDE));
        let turned = samples.map(|(times, values)| {
            let mut turned = Self::default();
            for (place, (time, value)) in times.iter().zip(values).enumerate() {
                let (sin, cos) = (TAU * frequency * time).sin_cos();
                (turned.sin[place], turned.cos[place]) = (sin, cos);
                turned.value[place] = *value;
            }
            turned
        });
        turned.collect()
    }

    /// Turns each sample by the angle of another.
    fn turn(&mut self, by: &Self) {
        let (sin, cos) = (self.sin, self.cos);
        self.sin = from_fn(|i| sin[i] * by.cos[i] + cos[i] * by.sin[i]);
        self.cos = from_fn(|i| cos[i] * by.cos[i] - sin[i] * by.sin[i]);
    }
}

/// The power at a frequency, normalised by the variance, of samples whose mean is 0: Lomb 1976, Scargle 1982.
///
/// `P = (1/2σ²) · [(Σ x·cos ω(t−τ))² / Σ cos² ω(t−τ) + (Σ x·sin ω(t−τ))² / Σ sin² ω(t−τ)]`, with
/// `tan 2ωτ = Σ sin 2ωt / Σ cos 2ωt`.
pub fn power(times: &[f64], values: &[f64], frequency: f64) -> f64 {
    let turned = Turned::all(times, values, frequency);
    power_of(&turned, float(values.len()), variance(values))
}

/// The variance of samples whose mean is 0.
pub(super) fn variance(values: &[f64]) -> f64 {
    let squares: f64 = values.iter().map(|value| value * value).sum();
    squares / (float(values.len()) - 1.0).max(1.0)
}

/// The power by the sines and cosines of `ωt` of so many samples: the shift by `τ` turns the sums and not each sample
/// (Press and Rybicki 1989).
fn power_of(turned: &[Turned], count: f64, variance: f64) -> f64 {
    let mut sums = [[0.0_f64; SIDE_BY_SIDE]; 4];
    for Turned { value, sin, cos } in turned {
        let terms = [(value, sin), (value, cos), (sin, sin), (sin, cos)];
        for (sums, (a, b)) in sums.iter_mut().zip(terms) {
            *sums = from_fn(|i| sums[i] + a[i] * b[i]);
        }
    }
    let [xs, xc, ss, sc] = sums.map(|sums| sums.iter().sum::<f64>());
    let (sin, cos) = (0.5 * f64::atan2(2.0 * sc, count - 2.0 * ss)).sin_cos();
    let of_sin = ss * cos * cos - 2.0 * sc * sin * cos + (count - ss) * sin * sin;
    let part = |x: f64, of: f64| if of > 0.0 { x * x / of } else { 0.0 };
    let parts = part(xc * cos + xs * sin, count - of_sin) + part(xs * cos - xc * sin, of_sin);
    parts / (2.0 * variance)
}

/// The strongest swing between two frequencies, of samples whose slow part is taken out; none of fewer than 8 samples,
/// or where nothing swings.
pub fn swing(times: &[f64], values: &[f64], from: f64, to: f64) -> Option<Swing> {
    let (first, last) = (*times.first()?, *times.last()?);
    let (count, lasts) = (float(times.len()), last - first);
    if times.len() < 8 || lasts <= 0.0 || to <= from {
        return None;
    }
    // Times from the middle keep the angles small.
    let middle = f64::midpoint(first, last);
    let times: Vec<f64> = times.iter().map(|time| time - middle).collect();
    let step = 1.0 / (OVERSAMPLED * lasts);
    let mut best = (f64::NEG_INFINITY, from);
    let variance = variance(values);
    // From one frequency to the next every sample turns by the same angle.
    let mut turning = Turned::all(&times, values, from);
    let turns = Turned::all(&times, values, step);
    let mut frequency = from;
    while frequency <= to {
        let power = power_of(&turning, count, variance);
        if power > best.0 {
            best = (power, frequency);
        }
        frequency += step;
        for (samples, by) in turning.iter_mut().zip(&turns) {
            samples.turn(by);
        }
    }
    // The top of the parabola through the three powers around the highest.
    let at = |frequency| power(&times, values, frequency);
    let (left, right) = (at((best.1 - step).max(step)), at(best.1 + step));
    let bend = left - 2.0 * best.0 + right;
    let shift = if bend < 0.0 {
        (0.5 * (left - right) / bend).clamp(-1.0, 1.0)
    } else {
        0.0
    };
    let frequency = best.1 + shift * step;
    let peak = at(frequency).max(best.0);
    let share = (2.0 * peak / (count - 1.0)).min(1.0);
    let amplitude = (2.0 * variance * share).sqrt();
    let left_over = (variance * (1.0 - share)).sqrt();
    // As many independent frequencies as the width of a peak fits in.
    let tried = ((to - from) * lasts).max(1.0);
    let u = (6.0 / count).sqrt() * left_over / (std::f64::consts::PI * lasts * amplitude);
    (amplitude > 0.0).then_some(Swing {
        frequency,
        u: u.max(1e-6),
        amplitude,
        share,
        chance: -f64::exp_m1(tried * f64::ln_1p(-(-peak).exp())),
    })
}

/// The values without the parabola that fits them best.
pub fn detrended(times: &[f64], values: &[f64]) -> Vec<f64> {
    let middle = f64::midpoint(
        times.first().copied().unwrap_or(0.0),
        times.last().copied().unwrap_or(0.0),
    );
    let half = times
        .last()
        .map_or(1.0, |last| (last - middle).max(f64::EPSILON));
    let base = |time: f64| {
        let x = (time - middle) / half;
        [1.0, x, x * x]
    };
    // The normal equations, 3 by 3, solved by elimination: times within ±1 keep them well conditioned.
    let mut rows = [[0.0_f64; 4]; 3];
    for (time, value) in times.iter().zip(values) {
        let terms = base(*time);
        for (row, of) in rows.iter_mut().zip(terms) {
            let [a, b, c] = terms;
            row.iter_mut()
                .zip([a, b, c, *value])
                .for_each(|(sum, term)| *sum += of * term);
        }
    }
    for pivot in 0..3 {
        if rows[pivot][pivot].abs() < 1e-12 {
            return values.to_vec();
        }
        let by = rows[pivot];
        for (_, row) in rows
            .iter_mut()
            .enumerate()
            .filter(|(place, _)| *place != pivot)
        {
            let factor = row[pivot] / by[pivot];
            row.iter_mut()
                .zip(by)
                .for_each(|(cell, of)| *cell -= factor * of);
        }
    }
    let fitted = |time: f64| {
        let terms = base(time);
        (0..3)
            .map(|place| rows[place][3] / rows[place][place] * terms[place])
            .sum::<f64>()
    };
    times
        .iter()
        .zip(values)
        .map(|(time, value)| value - fitted(*time))
        .collect()
}
