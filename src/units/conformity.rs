//! What a reading says about the bands its true value may lie in (JCGM 106:2012).

use super::normal;
use super::unit::Unit;

/// One end of a band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct End {
    /// The limit.
    pub at: f64,
    /// Whether the limit itself belongs to the band.
    pub closed: bool,
}

/// All values from one end to the other; without an end, for ever.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Band {
    /// The lower end.
    pub from: Option<End>,
    /// The upper end.
    pub to: Option<End>,
}

impl Band {
    /// Whether the value lies in it.
    pub fn holds(self, value: f64) -> bool {
        let above = self
            .from
            .is_none_or(|end| value > end.at || (end.closed && value >= end.at));
        let below = self
            .to
            .is_none_or(|end| value < end.at || (end.closed && value <= end.at));
        above && below
    }

    /// Its lower limit, −∞ without one.
    pub fn lowest(self) -> f64 {
        self.from.map_or(f64::NEG_INFINITY, |end| end.at)
    }

    /// Its upper limit, ∞ without one.
    pub fn highest(self) -> f64 {
        self.to.map_or(f64::INFINITY, |end| end.at)
    }

    /// The same band in another unit than `from`; `None` where that measures something else.
    pub fn converted(self, from: Unit, to: Unit) -> Option<Self> {
        let end = |end: Option<End>| match end {
            None => Some(None),
            Some(end) => from.convert(end.at, to).map(|at| Some(End { at, ..end })),
        };
        Some(Self {
            from: end(self.from)?,
            to: end(self.to)?,
        })
    }
}

/// What is known of the true value after one reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Known {
    /// Normal about `value` with standard uncertainty `u`.
    Normal {
        /// The reading.
        value: f64,
        /// Its standard uncertainty; 0 where the reading is taken at its word.
        u: f64,
    },
    /// The needle swings: anywhere between the ends alike, and on top of that normal with `u`.
    Swing {
        /// The lower end of the swing.
        from: f64,
        /// The upper end of the swing.
        to: f64,
        /// The standard uncertainty of the instrument.
        u: f64,
    },
    /// The needle is against its upper stop: above this, no more is known.
    Above(f64),
    /// The needle is against its lower stop: below this, no more is known.
    Below(f64),
}

impl Known {
    /// The middle and the standard uncertainty of the whole: of a swing `√((b − a)²/12 + u²)`
    /// (JCGM 100, 4.3.7). `None` for an end stop, which has neither.
    pub fn moments(self) -> Option<(f64, f64)> {
        match self {
            Self::Normal { value, u } => Some((value, u)),
            Self::Swing { from, to, u } => Some((
                f64::midpoint(from, to),
                ((to - from) / 12.0_f64.sqrt()).hypot(u),
            )),
            Self::Above(_) | Self::Below(_) => None,
        }
    }

    /// The probability that the true value is at most `limit`; 0 and 1 without uncertainty.
    fn up_to(self, limit: f64) -> f64 {
        match self {
            Self::Normal { value, u } => normal::cumulative((limit - value) / u),
            Self::Swing { from, to, u } => {
                // The average of Φ((limit − s)/u) over s from `from` to `to`.
                normal::average((limit - to) / u, (limit - from) / u)
            }
            Self::Above(_) | Self::Below(_) => 0.0,
        }
    }

    fn within(self, band: Band) -> f64 {
        let (lowest, highest) = (band.lowest(), band.highest());
        if highest < lowest {
            return 0.0;
        }
        match self {
            Self::Normal { value, u } if u > 0.0 => {
                normal::between((lowest - value) / u, (highest - value) / u)
            }
            Self::Swing { from, to, u } if u > 0.0 && to > from => {
                let below = |limit: f64| match limit {
                    f64::NEG_INFINITY => 0.0,
                    f64::INFINITY => 1.0,
                    limit => self.up_to(limit),
                };
                (below(highest) - below(lowest)).max(0.0)
            }
            Self::Swing { from, to, u } if u > 0.0 => Self::Normal {
                value: f64::midpoint(from, to),
                u,
            }
            .within(band),
            Self::Swing { from, to, .. } if to > from => {
                ((highest.min(to) - lowest.max(from)) / (to - from)).clamp(0.0, 1.0)
            }
            Self::Normal { value, .. } | Self::Swing { from: value, .. } => {
                f64::from(u8::from(band.holds(value)))
            }
            Self::Above(stop) => f64::from(u8::from(highest > stop)),
            Self::Below(stop) => f64::from(u8::from(lowest < stop)),
        }
    }
}

/// The weight of each outcome, an outcome being one band or several.
///
/// For a value or a swing it is the probability that the true value lies in its bands, taken as
/// normal about the reading (JCGM 106, 7); the weights of outcomes that cover every value add up to
/// 1. With `u = 0` the outcome that holds the reading has 1, limits counted as the band says.
///
/// Against an end stop (`>6 MPa`) nothing is known but the side. How often a vehicle of some outcome
/// would have driven the needle against the stop depends on where in its bands such vehicles lie,
/// which nobody has stated; so every outcome that reaches beyond the stop has weight 1 and the others
/// 0. Such weights do not add up to 1. They are used as any other: `Σ w·P` is virtual evidence
/// (Pearl 1988), for which only their proportions count.
pub fn weights(known: Known, outcomes: &[Vec<Band>]) -> Vec<f64> {
    outcomes
        .iter()
        .map(|bands| {
            bands
                .iter()
                .map(|&band| known.within(band))
                .sum::<f64>()
                .min(1.0)
        })
        .collect()
}

/// Below this probability of the likeliest outcome, a reading is too close to a limit to call.
pub const CLEAR_AT: f64 = 0.9;

/// The probability at which a better instrument or a repeat has settled the question.
pub const SETTLED_AT: f64 = 0.95;

/// The likeliest outcome of a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Call {
    /// Its place in the list of outcomes.
    pub outcome: usize,
    /// Its share of all the weights.
    pub probability: f64,
    /// Whether that is [`CLEAR_AT`] or more.
    pub clear: bool,
}

/// The likeliest outcome, the first of equals. `None` where no outcome has any weight.
pub fn call(weights: &[f64]) -> Option<Call> {
    let total: f64 = weights.iter().sum();
    let largest = weights.iter().copied().max_by(f64::total_cmp)?;
    let outcome = weights
        .iter()
        .position(|weight| weight.total_cmp(&largest).is_eq())?;
    (total > 0.0).then(|| {
        let probability = largest / total;
        Call {
            outcome,
            probability,
            clear: probability >= CLEAR_AT,
        }
    })
}

/// The largest standard uncertainty with which the same reading would be settled: its own band has
/// [`SETTLED_AT`] or more. Bands of an outcome that touch count as one. `None` where no instrument
/// would settle it, the reading being on the limit or in no band; ∞ where nothing can unsettle it.
pub fn settling_uncertainty(value: f64, outcomes: &[Vec<Band>]) -> Option<f64> {
    let band = outcomes.iter().find_map(|bands| around(value, bands))?;
    let (down, up) = (value - band.lowest(), band.highest() - value);
    let nearest = down.min(up);
    if nearest == f64::INFINITY {
        return Some(f64::INFINITY);
    }
    if nearest <= 0.0 {
        return None;
    }
    // Within one band the probability only falls with u: halving finds where. At a hundredth of the
    // distance it is 1 to the last digit, at the distance itself at most Φ(1) = 0.84.
    let probability = |u: f64| normal::between(-down / u, up / u);
    let (mut settled, mut unsettled) = (nearest / 100.0, nearest);
    for _ in 0..100 {
        let middle = f64::midpoint(settled, unsettled);
        if probability(middle) >= SETTLED_AT {
            settled = middle;
        } else {
            unsettled = middle;
        }
    }
    Some(settled)
}

/// The bands of one outcome that hold the value, as one where they touch.
fn around(value: f64, bands: &[Band]) -> Option<Band> {
    let mut found = bands.iter().copied().find(|band| band.holds(value))?;
    for _ in bands {
        for other in bands {
            if other.lowest() <= found.highest() && other.highest() > found.highest() {
                found.to = other.to;
            }
            if other.highest() >= found.lowest() && other.lowest() < found.lowest() {
                found.from = other.from;
            }
        }
    }
    Some(found)
}

/// Foresight: how often a true value in one outcome's bands is read in another's,
/// `C[true outcome][read outcome]`.
///
/// The true value is taken as anywhere in its band alike, the reading as normal about it with
/// standard uncertainty `u`: with `∫Φ = xΦ(x) + φ(x)`, the share of readings up to `t` from the band
/// `a` to `b` is `u/(b − a) · (∫Φ((t − a)/u) − ∫Φ((t − b)/u))`. How wide an open band is taken does not
/// depend on `u` ([`extent`]), so that a finer instrument never misreads more. An outcome of several
/// bands is the average over them, each with equal weight. Every row adds up to 1; with `u = 0` the
/// matrix is the identity.
pub fn blur(outcomes: &[Vec<Band>], u: f64, open: Option<f64>) -> Vec<Vec<f64>> {
    outcomes
        .iter()
        .enumerate()
        .map(|(truth, bands)| {
            let mut row = vec![0.0; outcomes.len()];
            if u > 0.0 {
                for &band in bands {
                    let (from, to) = extent(band, outcomes, open);
                    let seen = weights(Known::Swing { from, to, u }, outcomes);
                    for (cell, weight) in row.iter_mut().zip(seen) {
                        *cell += weight;
                    }
                }
            }
            let total: f64 = row.iter().sum();
            if total > 0.0 {
                for cell in &mut row {
                    *cell /= total;
                }
            } else {
                row[truth] = 1.0;
            }
            row
        })
        .collect()
}

/// Where a band lies. An open one is as wide as the narrowest bounded one among all the outcomes'; where none is
/// bounded as wide as `open`, else as a fifth of its limit's size. docs/method.md, section 6.
pub fn extent(band: Band, outcomes: &[Vec<Band>], open: Option<f64>) -> (f64, f64) {
    let bounded = outcomes
        .iter()
        .flatten()
        .map(|band| band.highest() - band.lowest())
        .filter(|width| width.is_finite() && *width > 0.0)
        .min_by(f64::total_cmp);
    let width = |limit: f64| bounded.or(open).unwrap_or(limit.abs() / 5.0);
    match (band.from, band.to) {
        (Some(from), Some(to)) => (from.at, to.at),
        (Some(from), None) => (from.at, from.at + width(from.at)),
        (None, Some(to)) => (to.at - width(to.at), to.at),
        (None, None) => (-width(0.0) / 2.0, width(0.0) / 2.0),
    }
}
