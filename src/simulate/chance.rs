//! Pseudo-random numbers by the words for what they decide.

use statrs::distribution::{ContinuousCDF, Normal};

/// Pseudo-random numbers, one for each thing that they decide.
///
/// A number follows from the seed and the words alone. So it does not depend on the order of drawing, on the number
/// of cores or on the machine, and two versions of the knowledge meet the same vehicles (common random numbers).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chance {
    seed: u64,
}

impl Chance {
    /// Numbers from a seed.
    pub const fn new(seed: u64) -> Self {
        Self { seed }
    }

    /// A number above 0 and below 1, uniformly distributed.
    pub fn uniform(self, words: &[&str]) -> f64 {
        let mut keys = vec![self.seed];
        for word in words {
            let eights = word.as_bytes().chunks(8);
            keys.extend(eights.map(|eight| {
                eight
                    .iter()
                    .fold(0, |key, byte| key << 8 | u64::from(*byte))
            }));
            // The length, so that no two lists of words run together.
            keys.push(word.len() as u64);
        }
        // Half a step of the 53 bits keeps clear of 0.
        crate::decide::uniform(&keys) + f64::EPSILON / 4.0
    }

    /// A number from the standard normal distribution.
    pub fn normal(self, words: &[&str]) -> f64 {
        Normal::standard().inverse_cdf(self.uniform(words))
    }
}

/// The place of one of so many, each equally likely, by a number from 0 to 1.
pub fn share(number: f64, count: usize) -> usize {
    #[allow(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a list has a handful of entries"
    )]
    let place = (number * count as f64) as usize;
    place.min(count.saturating_sub(1))
}
