//! Of the times the program says 90 %, how often is it right?

use serde::Serialize;

use super::summary::Stratum;

/// The classes of what is said, each up to its number.
const UP_TO: [f64; 8] = [0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0];

/// What was said beside what was so, for one class of stated probabilities.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Class {
    /// Stated probabilities from here.
    pub from: f64,
    /// To here.
    pub to: f64,
    /// How many repairs were advised so.
    #[serde(rename = "repairs")]
    pub times: usize,
    /// The share of all advised repairs, each fault weighed by its probability.
    pub share: f64,
    /// The mean of what was said.
    pub said: f64,
    /// How often it was so.
    pub was: f64,
}

/// How well the stated probabilities of the advised repairs agree with what was so.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Calibration {
    /// The expected calibration error: `Σ share · |said − was|` over the classes. Naeini, Cooper and
    /// Hauskrecht 2015, with classes of our own.
    pub error: f64,
    /// What chance alone would make of it if every statement were right: `Σ share · √(2/π) · s` with `s` the
    /// standard deviation of `was` in the class, the mean of the size of a normal number. Fewer vehicles, more of it.
    pub by_chance: f64,
    /// The classes in which anything was said, ascending.
    pub classes: Vec<Class>,
}

impl Calibration {
    /// Over every repair that was advised, vehicles with an unlisted cause among them.
    pub(super) fn of(strata: &[Stratum<'_>]) -> Self {
        let mut classes = [Class::default(); UP_TO.len()];
        let mut from = 0.0;
        for (class, to) in classes.iter_mut().zip(UP_TO) {
            (class.from, class.to) = (from, to);
            from = to;
        }
        let mut variances = [0.0; UP_TO.len()];
        for stratum in strata {
            #[allow(
                clippy::cast_precision_loss,
                reason = "thousands of vehicles, not 2^53"
            )]
            let weight = stratum.probability / stratum.courses.len().max(1) as f64;
            for tried in stratum.courses.iter().flat_map(|course| &course.tried) {
                let place = UP_TO
                    .iter()
                    .position(|to| tried.stated < *to)
                    .unwrap_or(UP_TO.len() - 1);
                let class = &mut classes[place];
                class.times += 1;
                class.share += weight;
                class.said += weight * tried.stated;
                class.was += if tried.cured { weight } else { 0.0 };
                variances[place] += weight * weight * tried.stated * (1.0 - tried.stated);
            }
        }
        let total: f64 = classes.iter().map(|class| class.share).sum();
        let deviations: f64 = variances
            .iter()
            .map(|variance: &f64| variance.max(0.0).sqrt())
            .sum();
        let by_chance = if total > 0.0 {
            (2.0 / std::f64::consts::PI).sqrt() * deviations / total
        } else {
            0.0
        };
        let classes: Vec<Class> = classes
            .into_iter()
            .filter(|class| class.share > 0.0)
            .map(|class| Class {
                said: class.said / class.share,
                was: class.was / class.share,
                share: class.share / total,
                ..class
            })
            .collect();
        let error = classes
            .iter()
            .map(|class| class.share * (class.said - class.was).abs())
            .sum();
        Self {
            error,
            by_chance,
            classes,
        }
    }
}
