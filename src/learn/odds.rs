//! The odds of the causes, from what was found for each complaint.
//!
//! A job says which of its complaint's candidates was found: `P(H | complaint) = w_H / Σ w`, with the weights of
//! docs/method.md, section 4. The odds `λ` of each cause have the prior `Gamma(W·λ₀, W)`, with the stated odds `λ₀` as its
//! mean. Section 12 has the formulas.

use super::matrix::{Matrix, inverse};

/// No step changes the logarithm of odds by more.
const LONGEST_STEP: f64 = 1.0;
/// Newton's method needs about ten steps; a step that far exceeds it has nothing left to gain.
const MOST_STEPS: usize = 200;

/// A set of causes and `P(complaint | these causes)`.
#[derive(Clone, Debug)]
pub(super) struct Weighed {
    pub(super) causes: Vec<usize>,
    pub(super) given: f64,
}

/// `jobs · log Σ w` over some candidates: above 0 what was found, below 0 what could have been.
#[derive(Clone, Debug)]
pub(super) struct Term {
    pub(super) jobs: f64,
    pub(super) candidates: Vec<Weighed>,
}

/// What the odds are to be found from.
#[derive(Clone, Debug)]
pub(super) struct Problem {
    /// The stated odds of each cause.
    pub(super) stated: Vec<f64>,
    /// For how many jobs they count.
    pub(super) weight: f64,
    /// What the jobs say.
    pub(super) terms: Vec<Term>,
    /// The driveline jobs that those were among, where that is known, and the sets of causes that each could have had.
    pub(super) among: Option<(f64, Vec<Weighed>)>,
}

/// The odds of a cause after the jobs: nearly `Gamma(shape, shape/mean)`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Odds {
    pub(super) mean: f64,
    pub(super) shape: f64,
}

impl Weighed {
    fn weight(&self, log_odds: &[f64]) -> f64 {
        let log: f64 = self.causes.iter().map(|cause| log_odds[*cause]).sum();
        self.given * log.exp()
    }
}

impl Problem {
    /// The mode of the log odds, and the curvature there.
    ///
    /// In the logarithm the mode of a gamma density lies at its mean and has its shape as curvature, so that both are
    /// exact where the posterior is a product of gammas, and where all jobs have one complaint with one cause a candidate.
    pub(super) fn solve(&self) -> Vec<Odds> {
        let mut at: Vec<f64> = self.stated.iter().map(|odds| odds.ln()).collect();
        let mut value = self.value(&at);
        for _ in 0..MOST_STEPS {
            let (slope, curvature) = self.derivatives(&at);
            let step = newton(&slope, &inverted(&curvature));
            let longest = step.iter().fold(0.0_f64, |most, by| most.max(by.abs()));
            let mut share = (LONGEST_STEP / longest).min(1.0);
            let (next, reached) = loop {
                let next: Vec<f64> = at
                    .iter()
                    .zip(&step)
                    .map(|(at, by)| at + share * by)
                    .collect();
                let reached = self.value(&next);
                // Near the top the gain is less than the rounding of the sum.
                if reached >= value - 1e-12 * value.abs() || share < 1e-6 {
                    break (next, reached);
                }
                share /= 2.0;
            };
            (at, value) = (next, reached);
            if longest < 1e-12 {
                break;
            }
        }
        let spread = inverted(&self.derivatives(&at).1);
        let odds = at.iter().enumerate();
        odds.map(|(cause, log)| Odds {
            mean: log.exp(),
            shape: 1.0 / spread[cause][cause],
        })
        .collect()
    }

    /// The logarithm of the posterior density of the log odds, but for a constant.
    fn value(&self, at: &[f64]) -> f64 {
        let prior = self.stated.iter().zip(at);
        let prior: f64 = prior
            .map(|(stated, log)| self.weight * (stated * log - log.exp()))
            .sum();
        let found = self.terms.iter().map(|term| {
            let sum: f64 = term.candidates.iter().map(|one| one.weight(at)).sum();
            term.jobs * sum.ln()
        });
        let expected = self.among.iter().map(|(jobs, sets)| {
            let sum: f64 = sets.iter().map(|one| one.weight(at)).sum();
            -jobs * sum
        });
        prior + found.sum::<f64>() + expected.sum::<f64>()
    }

    /// The slope of [`Problem::value`], and its curvature with the sign turned.
    fn derivatives(&self, at: &[f64]) -> (Vec<f64>, Matrix) {
        let size = self.stated.len();
        let mut slope = vec![0.0; size];
        let mut curvature = vec![vec![0.0; size]; size];
        for (cause, (stated, log)) in self.stated.iter().zip(at).enumerate() {
            slope[cause] = self.weight * (stated - log.exp());
            curvature[cause][cause] = self.weight * log.exp();
        }
        for Term { jobs, candidates } in &self.terms {
            let weights: Vec<f64> = candidates.iter().map(|one| one.weight(at)).collect();
            let sum: f64 = weights.iter().sum();
            let mut shares = vec![0.0; size];
            for (one, weight) in candidates.iter().zip(&weights) {
                let share = weight / sum;
                for cause in &one.causes {
                    shares[*cause] += share;
                    for other in &one.causes {
                        curvature[*cause][*other] -= jobs * share;
                    }
                }
            }
            let in_it: Vec<usize> = (0..size).filter(|cause| shares[*cause] > 0.0).collect();
            for cause in &in_it {
                slope[*cause] += jobs * shares[*cause];
                for other in &in_it {
                    curvature[*cause][*other] += jobs * shares[*cause] * shares[*other];
                }
            }
        }
        if let Some((jobs, sets)) = &self.among {
            for one in sets {
                let expected = jobs * one.weight(at);
                for cause in &one.causes {
                    slope[*cause] -= expected;
                    for other in &one.causes {
                        curvature[*cause][*other] += expected;
                    }
                }
            }
        }
        (slope, curvature)
    }
}

fn newton(slope: &[f64], inverse: &Matrix) -> Vec<f64> {
    let row = |row: &Vec<f64>| row.iter().zip(slope).map(|(a, b)| a * b).sum();
    inverse.iter().map(row).collect()
}

/// The inverse; where jobs whose cause nobody saw leave the curvature indefinite on the way, that of a matrix with
/// more on its diagonal.
fn inverted(curvature: &Matrix) -> Matrix {
    let steeper = |more: f64| {
        let mut steeper = curvature.clone();
        for (place, row) in steeper.iter_mut().enumerate() {
            row[place] += more * (row[place].abs() + 1e-9);
        }
        steeper
    };
    let mores = [0.0]
        .into_iter()
        .chain((-6..=6).map(|power| 10.0_f64.powi(power)));
    let mut inverses = mores.filter_map(|more| inverse(&steeper(more)));
    inverses.next().unwrap_or_else(|| steeper(0.0))
}
