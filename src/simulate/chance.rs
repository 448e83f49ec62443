//! Chance that can be drawn again: every number follows from the seed and from what it is for.

use sha2::{Digest, Sha256};
use statrs::distribution::{ContinuousCDF, Normal};

/// Drawn numbers, one for each thing they are for.
///
/// A number is the start of SHA-256 over the seed and the words for what it decides. So it does not
/// depend on the order of drawing, on the number of cores or on the machine, and two versions of the
/// knowledge meet the same vehicles: common random numbers, as simulation textbooks call it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chance {
    seed: u64,
}

impl Chance {
    /// Chance from a seed.
    pub const fn new(seed: u64) -> Self {
        Self { seed }
    }

    /// A number above 0 and below 1, uniformly distributed.
    pub fn uniform(self, words: &[&str]) -> f64 {
        let mut hash = Sha256::new();
        hash.update(self.seed.to_le_bytes());
        for word in words {
            hash.update(word.as_bytes());
            // No word holds a zero byte, so no two lists run together.
            hash.update([0]);
        }
        let start = hash
            .finalize()
            .iter()
            .take(8)
            .fold(0_u64, |number, byte| number << 8 | u64::from(*byte));
        // 53 bits fill a float; half a step keeps clear of 0.
        #[allow(clippy::cast_precision_loss, reason = "53 bits are exact in a float")]
        let number = ((start >> 11) as f64 + 0.5) / (1_u64 << 53) as f64;
        number
    }

    /// A number from the standard normal distribution.
    pub fn normal(self, words: &[&str]) -> f64 {
        Normal::standard().inverse_cdf(self.uniform(words))
    }
}
